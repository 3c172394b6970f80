"""Drives the real window with real pointer and key events.

A Bench is a whole desktop of its own: X server, session bus, window manager, empty home, and the program
in it. Pointer and keys go through XTEST (xdotool); where things lie, and when they are done, the
program says in its event log (LOOMBOOK_EVENTS, see src/bench/events.h and window-tell.c). Nothing waits
for a fixed time where an event can be waited for.

    with Bench() as bench:
        bench.drag(bench.shelf('pack-nimh-12v-3ah'), bench.sheet(60, 60))
        bench.wait(r'placed G1 ')
"""
import os
import re
import shutil
import signal
import subprocess
import tempfile
import time

PATIENCE = float(os.environ.get('LOOMBOOK_TEST_PATIENCE', '15'))
NEEDED = ('Xvfb', 'dbus-daemon', 'openbox', 'xdotool', 'xprop')
BUS_NAME = 'org.loombook.Loombook'


def missing_programs():
    return [name for name in NEEDED if not shutil.which(name)]


class Lost(Exception):
    """What was waited for did not come."""


class Bench:
    def __init__(self, *files, program=None, size='1280x900', home=None, manager='openbox',
                 environment=None, a11y=False, wrapper=()):
        self.program = program or os.environ['LOOMBOOK']
        self.size = size
        self.home = home or tempfile.mkdtemp(prefix='loombook-home-')
        self.own_home = home is None
        self.manager = manager
        self.files = files
        self.wrapper = list(wrapper)
        self.gestures = 0
        self.keys_pressed = 0
        self.mark = 0
        self.processes = []
        self.app = None
        self.environment = dict(os.environ)
        self.environment.update({
            'HOME': self.home, 'XDG_CONFIG_HOME': self.home + '/config',
            'XDG_DATA_HOME': self.home + '/data', 'XDG_STATE_HOME': self.home + '/state',
            'XDG_CACHE_HOME': self.home + '/cache', 'XDG_RUNTIME_DIR': self.home,
            'GSETTINGS_BACKEND': 'memory', 'GDK_BACKEND': 'x11', 'LC_ALL': 'C.UTF-8',
            'GTK_USE_PORTAL': '0', 'NO_AT_BRIDGE': '0'})
        self.environment.setdefault('GSK_RENDERER', 'cairo')
        if self.environment['GSK_RENDERER'] == 'cairo':
            self.environment['GDK_DEBUG'] = 'gl-disable'
        if not a11y:
            self.environment['GTK_A11Y'] = 'none'
        self.environment.pop('WAYLAND_DISPLAY', None)
        self.environment.update(environment or {})
        self.events_path = os.path.join(self.home, 'events')
        self.environment['LOOMBOOK_EVENTS'] = self.events_path

    # Life.

    def __enter__(self):
        try:
            self.start_desktop()
            self.start()
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(self, *_):
        self.close()

    def start_desktop(self):
        read, write = os.pipe()
        self.processes.append(subprocess.Popen(
            ['Xvfb', '-noreset', '-displayfd', str(write), '-screen', '0', self.size + 'x24'],
            pass_fds=[write], stderr=subprocess.DEVNULL))
        os.close(write)
        with os.fdopen(read) as pipe:
            self.environment['DISPLAY'] = ':' + pipe.readline().strip()
        bus = subprocess.Popen(['dbus-daemon', '--session', '--nofork', '--print-address=1'],
                               stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
                               env=self.environment)
        self.processes.append(bus)
        self.environment['DBUS_SESSION_BUS_ADDRESS'] = bus.stdout.readline().strip()
        command = ['xfwm4', '--compositor=on'] if self.manager == 'xfwm4' else [self.manager]
        self.processes.append(subprocess.Popen(command, env=self.environment,
                                               stdout=subprocess.DEVNULL,
                                               stderr=subprocess.DEVNULL))
        self.until(lambda: 'window id' in self.run('xprop', '-root', '_NET_SUPPORTING_WM_CHECK'),
                   'no window manager')

    def start(self):
        """Starts the program (again) in the same home."""
        self.mark = self.started = len(self.events())
        with open(os.path.join(self.home, 'stderr'), 'a') as errors:
            self.app = subprocess.Popen(self.wrapper + [self.program, *self.files],
                                        env=self.environment, stderr=errors)
        self.wait('ready')
        self.until(self.window, 'no window')
        self.until(lambda: self.run('xdotool', 'getactivewindow').strip().isdigit(),
                   'no window gets the focus')
        time.sleep(0.2)

    def close(self):
        if self.app and self.app.poll() is None:
            self.app.terminate()
            self.app.wait()
        for process in reversed(self.processes):
            process.terminate()
            process.wait()
            if process.stdout:
                process.stdout.close()
        self.processes = []
        if self.own_home and not os.environ.get('LOOMBOOK_KEEP_HOME'):
            shutil.rmtree(self.home, ignore_errors=True)

    def kill(self):
        """As a power cut would."""
        self.app.send_signal(signal.SIGKILL)
        self.app.wait()

    def quit(self):
        self.key('ctrl+q')
        return self.app.wait(timeout=PATIENCE)

    def stderr(self):
        with open(os.path.join(self.home, 'stderr')) as file:
            return file.read()

    # Waiting.

    def until(self, condition, complaint):
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            result = condition()
            if result:
                return result
            if self.app and self.app.poll() is not None:
                raise Lost(f'{complaint}: the program ended ({self.app.returncode})\n' + self.stderr())
            time.sleep(0.01)
        raise Lost(complaint + '\n' + '\n'.join(self.events()[-15:]) + self.stderr())

    def events(self):
        try:
            with open(self.events_path) as file:
                return file.read().splitlines()
        except FileNotFoundError:
            return []

    def wait(self, pattern):
        """The first line after the last one waited for that matches; a Match."""
        def look():
            lines = self.events()
            for index in range(self.mark, len(lines)):
                match = re.match(pattern, lines[index])
                if match:
                    self.mark = index + 1
                    return match
            return None
        return self.until(look, f'no event “{pattern}”')

    def quiet(self, seconds=0.4):
        """Waits until nothing more happens; for saying that something did not."""
        before = len(self.events())
        time.sleep(seconds)
        while len(self.events()) != before:
            before = len(self.events())
            time.sleep(seconds)

    def happened(self, pattern):
        """Since the program was last started."""
        return any(re.match(pattern, line) for line in self.events()[self.started:])

    # Pointer and keys.

    def run(self, *command):
        return subprocess.run(command, env=self.environment, capture_output=True, text=True).stdout

    def xdotool(self, *words):
        self.run('xdotool', *[str(word) for word in words])

    def windows(self):
        return self.run('xdotool', 'search', '--onlyvisible', '--name', 'Loombook$').split()

    def window(self):
        ids = self.windows()
        return ids[-1] if ids else None

    def window_at(self):
        text = self.run('xdotool', 'getwindowgeometry', '--shell', self.window())
        place = dict(line.split('=') for line in text.split())
        return int(place['X']), int(place['Y'])

    def on_screen(self, x, y):
        left, top = self.window_at()
        return round(left + x), round(top + y)

    def click(self, at, button=1, count=True):
        # A press without length can lose its release to the window manager's own grab of the button.
        self.gestures += count
        self.xdotool('mousemove', *at, 'sleep', .08, 'mousedown', button, 'sleep', .04, 'mouseup', button)

    def drag(self, start, end, button=1, steps=10, hold=None, count=True):
        self.gestures += count
        words = ['mousemove', *start, 'sleep', .05, 'mousedown', button, 'sleep', .05]
        for i in range(1, steps + 1):
            words += ['mousemove', round(start[0] + (end[0] - start[0]) * i / steps),
                      round(start[1] + (end[1] - start[1]) * i / steps), 'sleep', .02]
        self.xdotool(*words, 'sleep', .08)
        if hold:
            hold()
        self.xdotool('mouseup', button)

    def move(self, at):
        self.xdotool('mousemove', *at)

    def key(self, *keys):
        for key in keys:
            self.keys_pressed += 1
            self.xdotool('key', key)

    def type(self, text):
        self.keys_pressed += len(text)
        self.xdotool('type', '--delay', 15, text)

    # Asking the program.

    def ask(self, question):
        self.act('tell', question)

    def act(self, action, parameter=None):
        """Activates an action of the window."""
        import gi
        gi.require_version('Gio', '2.0')
        from gi.repository import Gio, GLib
        if not hasattr(self, 'bus'):
            self.bus = Gio.DBusConnection.new_for_address_sync(
                self.environment['DBUS_SESSION_BUS_ADDRESS'],
                Gio.DBusConnectionFlags.AUTHENTICATION_CLIENT |
                Gio.DBusConnectionFlags.MESSAGE_BUS_CONNECTION, None, None)
        path = '/org/loombook/Loombook/window/%d' % self.window_number()
        self.bus.call_sync(BUS_NAME, path, 'org.gtk.Actions', 'Activate',
                           GLib.Variant('(sava{sv})', (
                               action, [GLib.Variant('s', parameter)] if parameter else [], {})),
                           None, Gio.DBusCallFlags.NONE, 5000, None)

    def window_number(self):
        """GtkApplication counts its windows up; the one with the focus has the highest number here."""
        return getattr(self, 'number', 1)

    def answer(self, question):
        lines = len(self.events())
        self.ask(question)
        pattern = f'screen {re.escape(question)} (-?[0-9]+) (-?[0-9]+)'

        def look():
            for line in self.events()[lines:]:
                match = re.match(pattern, line)
                if match:
                    return match
            return None
        match = self.until(look, f'no answer to “{question}”')
        return int(match[1]), int(match[2])

    def where(self, question):
        """Asked until the answer stays: what has just been shown may still be on its way."""
        before, now = None, self.answer(question)
        while now != before:
            time.sleep(0.06)
            before, now = now, self.answer(question)
        return self.on_screen(*now)

    def end(self, name):
        return self.where('end ' + name)

    def part(self, name):
        return self.where('part ' + name)

    def joint(self, name):
        return self.where('joint ' + name)

    def sheet(self, x_mm, y_mm):
        return self.where(f'sheet {x_mm} {y_mm}')

    def shelf(self, kind):
        return self.where('shelf ' + kind)

    def offer(self, kind):
        """The row of the open list of offers."""
        return self.where('offer ' + kind)

    def widget(self, name):
        return self.where('widget ' + name)

    def beside(self, title, name):
        """A widget in the window of that title; names are as for `widget`."""
        self.until(lambda: self.titled(title), f'no window “{title}”')
        before, now = None, self.answer('beside ' + name)
        while now != before:
            time.sleep(0.06)
            before, now = now, self.answer('beside ' + name)
        text = self.run('xdotool', 'getwindowgeometry', '--shell', self.titled(title))
        place = dict(line.split('=') for line in text.split())
        return int(place['X']) + now[0], int(place['Y']) + now[1]

    def titled(self, title):
        ids = self.run('xdotool', 'search', '--onlyvisible', '--name', f'^{title}$').split()
        return ids[-1] if ids else None

    def says(self, name):
        """Text of the label within a widget of another window."""
        self.ask('says ' + name)
        return self.wait(f'says {re.escape(name)} (.*)')[1]

    def extent(self, name):
        """Width and height of a widget."""
        self.ask('size ' + name)
        match = self.wait(f'size {re.escape(name)} ([0-9]+) ([0-9]+)')
        return int(match[1]), int(match[2])

    def label(self, name):
        """Text of the label within a widget."""
        self.ask('label ' + name)
        return self.wait(f'label {re.escape(name)} (.*)')[1]

    def sheet_corner(self):
        """Upper left corner of the canvas on the screen."""
        return self.where('corner canvas')

    # Seeing.

    def screenshot(self, path):
        time.sleep(0.4)
        self.run('import', '-window', 'root', path)
