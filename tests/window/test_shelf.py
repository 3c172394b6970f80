"""From the shelf to the bench: drag, double click, Enter, search."""
from case import *


class Shelf(WindowCase):
    def test_drag_places_a_part_on_the_grid(self):
        bench = self.draw()
        bench.drag(bench.shelf(PACK), bench.sheet(62, 51))
        bench.wait('placed G1')
        x, y = self.saved().place('G1')
        self.assertEqual((x % 5, y % 5), (0, 0))
        self.assertLess(abs(x - 42), 5)  # the pointer holds the middle of a part 40 mm wide

    def test_drag_onto_a_mating_end_plugs_in_the_same_gesture(self):
        bench = self.draw((PACK, 20, 40))
        bench.drag(bench.shelf(FUSE), bench.end('G1:out'))
        bench.wait('plugged G1:out F1:in')
        drawing = self.saved()
        self.assertJoined(drawing, 'G1:out', 'F1:in')
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertEqual(list(self.saved().parts), ['G1'])  # one step

    def test_drag_onto_an_end_that_does_not_mate_only_places(self):
        bench = self.draw((PACK, 20, 40))
        bench.drag(bench.shelf('servo-standard'), bench.end('G1:out'))
        bench.wait('placed M1')
        self.assertFalse(self.saved().joints)

    def test_drop_outside_the_bench_places_nothing(self):
        bench = self.draw()
        bench.drag(bench.shelf(PACK), bench.widget('Revision'))
        bench.quiet()
        self.assertFalse(bench.happened('placed'))

    def test_search_and_enter_place_at_a_free_place(self):
        bench = self.draw((PACK, 20, 40))
        bench.key('ctrl+f')
        bench.type('rover')
        bench.quiet(0.3)
        bench.key('Return')
        bench.wait('placed K1')
        self.assertIn('K1', self.saved().parts)

    def test_search_finds_the_everyday_word_for_the_gender(self):
        bench = self.draw()
        bench.key('ctrl+f')
        bench.type('female 7.2')
        bench.quiet(0.3)
        bench.key('Return')
        bench.wait('placed G1')
        self.assertEqual(self.saved().kinds(), ['pack-nimh-7.2v-3ah'])


if __name__ == '__main__':
    main()
