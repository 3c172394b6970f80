"""Dragging ends: onto an end that mates, one that does not, into the open; pulling a plug."""
from case import *


class Joint(WindowCase):
    def test_end_dropped_on_a_mating_end_plugs(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 100))
        bench.drag(bench.end('G1:out'), bench.end('Q1:in'))
        bench.wait('plugged G1:out Q1:in')
        self.assertJoined(self.saved(), 'G1:out', 'Q1:in')

    def test_dropped_on_a_part_goes_to_its_only_mating_end(self):
        bench = self.draw((PACK, 20, 40), (CONTROLLER, 140, 20))
        bench.drag(bench.end('G1:out'), bench.part('K1'))
        bench.wait('plugged G1:out K1:power')

    def test_dropped_where_it_does_not_mate_it_explains_and_links_up(self):
        bench = self.draw((FLAT_PACK, 20, 40), (CONTROLLER, 140, 20))
        bench.drag(bench.end('G1:out'), bench.end('K1:power'))
        why = bench.wait('explained (.*)')[1]
        self.assertRegex(why, r'G1:out.*K1:power.*do not mate')
        bench.wait('offers G1:out')
        self.assertFalse(bench.happened('plugged'))
        time.sleep(0.4)
        bench.key('Return')  # the first chain: an adaptor
        bench.wait('placed W1')
        drawing = self.saved()
        self.assertEqual(len(drawing.joints), 2)
        self.assertIn(ADAPTOR, drawing.kinds())
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertEqual(sorted(self.saved().parts), ['G1', 'K1'])

    def test_an_answer_is_shown_as_a_ghost_before_it_is_taken(self):
        bench = self.draw((FLAT_PACK, 20, 40), (CONTROLLER, 190, 20))
        bench.drag(bench.end('G1:out'), bench.end('K1:power'))
        bench.wait(r'ghost [1-9]')  # the first answer
        bench.wait('offers G1:out')
        time.sleep(0.4)
        bench.key('Down')
        bench.wait(r'ghost [1-9]')
        x, y = bench.offer(ADAPTOR)
        for step in range(4):  # a frame each: moves within one count as one
            bench.move((x + step, y))
            time.sleep(0.1)
        bench.wait(r'ghost [1-9]')
        bench.key('Escape')
        bench.quiet()
        self.assertFalse(bench.happened('placed') or bench.happened('plugged'))
        bench.key('ctrl+z')
        bench.quiet()
        self.assertFalse(bench.happened('undo'))

    def test_a_lead_is_turned_round(self):
        bench = self.draw((PACK, 20, 40), (EXTENSION, 120, 100))
        bench.drag(bench.end('W1:b'), bench.end('G1:out'))
        bench.wait('explained')
        bench.wait(r'ghost [1-9]')
        time.sleep(0.4)
        bench.key('Return')
        bench.wait('plugged W1:a G1:out|plugged G1:out W1:a')
        self.assertEqual(sorted(self.saved().parts), ['G1', 'W1'])
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertFalse(self.saved().joints)

    def test_where_nothing_can_be_done_it_says_what_would_have_to_exist(self):
        bench = self.draw((PACK, 20, 40), ('sensor-distance', 150, 40))
        bench.drag(bench.end('G1:out'), bench.end('B1:port'))
        why = bench.wait('explained (.*)')[1]
        self.assertRegex(why, r'G1:out.*B1:port.*there would have to be a lead')
        bench.quiet()
        self.assertFalse(bench.happened('ghost'))

    def test_dropped_in_the_open_offers_leads_ready_placed(self):
        bench = self.draw((PACK, 20, 40))
        drop = bench.sheet(130, 90)
        bench.drag(bench.end('G1:out'), drop)
        bench.wait('offers G1:out')
        time.sleep(0.4)
        bench.type('extension round')
        bench.key('Return')
        bench.wait('plugged G1:out W1:a')
        x, y = self.saved().place('W1')
        self.assertLess(abs(x - 130) + abs(y - 90), 12)

    def test_a_leads_free_end_is_picked_up_and_plugged(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 160, 100), (EXTENSION, 80, 140))
        bench.drag(bench.end('W1:a'), bench.end('G1:out'))
        bench.wait('plugged W1:a G1:out')
        bench.drag(bench.end('W1:b'), bench.end('Q1:in'))
        bench.wait('plugged W1:b Q1:in')
        drawing = self.saved()
        self.assertJoined(drawing, 'W1:a', 'G1:out')
        self.assertJoined(drawing, 'W1:b', 'Q1:in')

    def test_a_leads_free_end_dropped_in_the_open_hangs_there(self):
        bench = self.draw((EXTENSION, 60, 60))
        bench.drag(bench.end('W1:b'), bench.sheet(140, 110))
        bench.wait('moved W1')
        self.assertFalse(self.saved().joints)

    def test_a_plug_is_pulled_by_dragging_it_away(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), ('G1:out', 'Q1:in'))
        bench.drag(bench.end('Q1:in'), bench.sheet(60, 120))
        bench.wait('unplugged')
        self.assertFalse(self.saved().joints)

    def test_a_pulled_plug_goes_to_another_end(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 140, 20), (FUSE, 140, 100), (EXTENSION, 90, 60),
                          ('G1:out', 'W1:a'), ('W1:b', 'Q1:in'))
        bench.drag(bench.joint('W1:b'), bench.end('F1:in'))
        bench.wait('plugged W1:b F1:in')
        drawing = self.saved()
        self.assertNotJoined(drawing, 'W1:b', 'Q1:in')
        self.assertJoined(drawing, 'W1:b', 'F1:in')

    def test_escape_gives_up_a_drag(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 100))
        bench.drag(bench.end('G1:out'), bench.end('Q1:in'), hold=lambda: bench.key('Escape'))
        bench.quiet()
        self.assertFalse(bench.happened('plugged'))


class Offers(WindowCase):
    def test_click_on_a_free_end_places_and_plugs_in_one_act(self):
        bench = self.draw((PACK, 20, 40))
        bench.click(bench.end('G1:out'))
        bench.wait('offers G1:out')
        time.sleep(0.4)
        bench.key('Return')  # the commonest
        bench.wait(r'plugged G1:out F1:in')
        self.assertIn(FUSE, self.saved().kinds())
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertEqual(list(self.saved().parts), ['G1'])

    def test_what_is_on_the_bench_comes_first(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 140, 100))
        bench.click(bench.end('G1:out'))
        bench.wait('offers G1:out')
        time.sleep(0.4)
        bench.key('Return')
        bench.wait('plugged G1:out Q1:in')

    def test_a_taken_end_offers_nothing(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), ('G1:out', 'Q1:in'))
        bench.click(bench.end('Q1:in'))
        bench.wait('chosen')
        bench.quiet()
        self.assertFalse(bench.happened('offers'))


if __name__ == '__main__':
    main()
