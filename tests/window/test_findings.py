"""Findings: the line always in sight, the list, the flags, showing and mending."""
from case import *


class Findings(WindowCase):
    def test_the_line_follows_the_drawing(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 60), (CONTROLLER, 200, 20))
        self.assertEqual(bench.label('verdict'), 'Nothing is plugged yet.')
        bench.drag(bench.end('G1:out'), bench.end('Q1:in'))
        bench.wait('findings')
        bench.drag(bench.end('Q1:out'), bench.end('K1:power'))
        bench.wait('findings [1-9]')  # no fuse
        self.assertTrue(bench.label('verdict').startswith('Do not power this: 1 stop'))
        said = loom('check', self.path)
        self.assertEqual(said.count('stop'), 0)  # the file has not been saved yet
        self.saved()
        self.assertIn('No fuse', loom('check', self.path))

    def test_choosing_a_finding_shows_its_place(self):
        bench = self.draw((PACK, 20, 40), (CONTROLLER, 900, 400), (SWITCH, 60, 120),
                          ('G1:out', 'Q1:in'), ('Q1:out', 'K1:power'))
        bench.key('F4')
        bench.wait('shown finding 1')
        bench.quiet()
        x, y = bench.end('G1:out')
        left, top = bench.window_at()
        width, height = bench.extent('canvas')
        corner = bench.sheet_corner()
        self.assertTrue(corner[0] < x < corner[0] + width and corner[1] < y < corner[1] + height)

    def test_one_click_mends(self):
        bench = self.draw((PACK, 20, 40), (FUSE, 100, 40), (SWITCH, 180, 40), (CONTROLLER, 260, 20),
                          ('G1:out', 'F1:in'), ('F1:out', 'Q1:in'), ('Q1:out', 'K1:power'))
        before = loom('check', self.path)
        self.assertIn('tied', before)
        bench.key('F4')
        bench.wait('shown finding 1')
        bench.quiet()
        bench.click(bench.widget('Mend'))
        bench.wait('findings 0 0')
        drawing = self.saved()
        self.assertTrue(any(joint.get('tied') == 'yes' for joint in drawing.joints.values()))
        bench.key('ctrl+z')
        bench.wait('undo Mend')

    def test_a_click_on_a_flag_opens_its_finding(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), (CONTROLLER, 220, 20),
                          ('G1:out', 'Q1:in'), ('Q1:out', 'K1:power'))
        bench.click(bench.where('flag 1'))
        bench.wait('flag 1')
        bench.quiet()
        self.assertGreater(bench.extent('findings')[1], 100)


if __name__ == '__main__':
    main()
