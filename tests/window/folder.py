"""A small window of another program whose one label drags the file named as argument, as a file
manager's would. Runs in the environment of a Bench."""
import sys

import gi
gi.require_version('Gdk', '4.0')
gi.require_version('Gtk', '4.0')
from gi.repository import Gdk, Gio, GLib, Gtk


def list_file(*_):
    uri = Gio.File.new_for_path(sys.argv[1]).get_uri()
    return Gdk.ContentProvider.new_for_bytes('text/uri-list', GLib.Bytes.new(f'{uri}\r\n'.encode()))


def activate(application):
    window = Gtk.ApplicationWindow(application=application, title='Folder', decorated=False,
                                   default_width=160, default_height=100)
    label = Gtk.Label(label='A file')
    source = Gtk.DragSource()
    source.connect('prepare', list_file)
    label.add_controller(source)
    window.set_child(label)
    window.present()


program = Gtk.Application(flags=Gio.ApplicationFlags.NON_UNIQUE)
program.connect('activate', activate)
program.run([])
