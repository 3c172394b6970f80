"""What a first-time student does: pack, adaptor, switch, extension, controller.

The job is held to at most one gesture a part and one a joint; every drag and every click counts."""
from case import *

CHAIN = (FLAT_PACK, ADAPTOR, SWITCH, EXTENSION, CONTROLLER)
JOINTS = (('G1:out', 'W1:a'), ('W1:b', 'Q1:in'), ('Q1:out', 'W2:a'), ('W2:b', 'K1:power'))


class Student(WindowCase):
    def check(self):
        drawing = self.saved()
        self.assertEqual(drawing.kinds(), sorted(CHAIN))
        for a, b in JOINTS:
            self.assertJoined(drawing, a, b)

    def test_pointer_alone_from_the_shelf(self):
        bench = self.draw()
        started = time.monotonic()
        bench.drag(bench.shelf(CHAIN[0]), bench.sheet(40, 60))
        bench.wait('placed')
        for kind, (end, _) in zip(CHAIN[1:], JOINTS):
            bench.drag(bench.shelf(kind), bench.end(end))
            bench.wait('plugged')
        gestures, seconds = bench.gestures, time.monotonic() - started
        self.check()
        print(f'{gestures} gestures, {seconds:.1f} s of program and script')
        self.assertEqual(gestures, len(CHAIN))  # a part and its joint are one gesture
        self.assertLess(seconds, 60)

    def test_pointer_alone_by_offers(self):
        bench = self.draw()
        bench.drag(bench.shelf(CHAIN[0]), bench.sheet(40, 60))
        bench.wait('placed')
        for kind, (end, _) in zip(CHAIN[1:], JOINTS):
            bench.click(bench.end(end))
            bench.wait('offers')
            time.sleep(0.4)
            bench.click(bench.offer(kind))
            bench.wait('plugged')
        self.assertLessEqual(bench.gestures, len(CHAIN) + len(JOINTS))
        self.check()

    def test_keyboard_alone(self):
        bench = self.draw()
        names = {ADAPTOR: 'adaptor flat 30', SWITCH: 'main switch 20', EXTENSION: 'extension 300',
                 CONTROLLER: 'rover'}
        bench.key('ctrl+f')
        bench.type('12 V flat')
        bench.quiet(0.3)
        bench.key('Return')
        bench.wait('placed G1')
        bench.key('Return')  # from the pack to its free end
        bench.wait('chosen G1:out')
        for kind in CHAIN[1:]:
            bench.key('Return')
            bench.wait('offers')
            time.sleep(0.4)
            bench.type(names[kind])
            bench.quiet(0.3)
            bench.key('Return')
            bench.wait('plugged')
            bench.quiet(0.3)
        self.assertEqual(bench.gestures, 0)
        self.check()


if __name__ == '__main__':
    main()
