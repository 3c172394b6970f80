"""What the tests of the window share: a sheet of their own, and what is in it once it is saved."""
import os
import subprocess
import sys
import tempfile
import time
import unittest
import xml.etree.ElementTree as ElementTree

from driver import Bench, Lost, missing_programs

SPACE = '{urn:loombook:design:1}'
PACK, FUSE, SWITCH = 'pack-nimh-12v-3ah', 'fuse-lead-15', 'switch-main-20'
EXTENSION, CONTROLLER, MOTOR = 'extension-30-300', 'controller-rover', 'motor-medium'
FLAT_PACK, ADAPTOR = 'pack-nimh-12v-3ah-flat', 'adaptor-flat-30'


def loom(*words):
    """The command, for making sheets and looking at them."""
    done = subprocess.run([os.environ['LOOM'], *[str(word) for word in words]],
                          capture_output=True, text=True)
    if done.returncode > 2:
        raise AssertionError(done.stderr)
    return done.stdout


class Drawing:
    """A saved sheet, read by a general-purpose XML reader."""

    def __init__(self, path):
        root = ElementTree.parse(path).getroot()
        self.title = root.find(SPACE + 'title').attrib
        self.parts = {part.get('designation'): part.attrib for part in root.iter(SPACE + 'part')}
        self.joints = {frozenset((joint.get('a'), joint.get('b'))): joint
                       for joint in root.iter(SPACE + 'joint')}
        self.scenes = [scene.get('name') for scene in root.findall(SPACE + 'scene')]

    def place(self, designation):
        part = self.parts[designation]
        return float(part['x_mm']), float(part['y_mm'])

    def scenes_of(self, a, b):
        """Names of the scenes that the joint is confined to."""
        return [use.get('scene') for use in self.joints[frozenset((a, b))].iter() if use.get('scene')]

    def kinds(self):
        return sorted(part['kind'] for part in self.parts.values())


class WindowCase(unittest.TestCase):
    """Every test has a desktop and a home of its own. `draw` lists parts (kind, x, y) and joints that
    the sheet begins with."""

    options = {}

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix='loombook-test-')
        self.addCleanup(self.folder.cleanup)
        self.path = os.path.join(self.folder.name, 'robot.loom')

    def draw(self, *things, **options):
        loom('new', self.path)
        for thing in things:
            if len(thing) == 3:
                loom('add', self.path, thing[0], f'--at={thing[1]},{thing[2]}')
            else:
                loom('plug', self.path, *thing)
        return self.start(self.path, **options)

    def start(self, *files, **options):
        self.bench = Bench(*files, **{**self.options, **options})
        self.bench.__enter__()
        self.addCleanup(self.bench.close)
        return self.bench

    def saved(self):
        self.bench.key('ctrl+s')
        self.bench.wait('saved')
        return Drawing(self.path)

    def assertJoined(self, drawing, a, b):
        self.assertIn(frozenset((a, b)), drawing.joints)

    def assertNotJoined(self, drawing, a, b):
        self.assertNotIn(frozenset((a, b)), drawing.joints)


def main():
    absent = missing_programs()
    if absent:
        print('not run, missing:', ', '.join(absent), file=sys.stderr)
        sys.exit(77)
    unittest.main(verbosity=2)
