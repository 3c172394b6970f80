"""Moving, turning, choosing, deleting, copying, and taking all of it back."""
from case import *


class Edit(WindowCase):
    def test_move_lands_on_the_grid_undo_and_redo(self):
        bench = self.draw((PACK, 20, 40))
        start = bench.part('G1')
        bench.drag(start, (start[0] + 93, start[1] + 41))
        bench.wait('moved G1')
        moved = self.saved().place('G1')
        self.assertEqual((moved[0] % 5, moved[1] % 5), (0, 0))
        self.assertNotEqual(moved, (20, 40))
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertEqual(self.saved().place('G1'), (20, 40))
        bench.key('ctrl+shift+z')
        bench.wait('redo')
        self.assertEqual(self.saved().place('G1'), moved)

    def test_undo_of_everything_gives_the_same_bytes(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 140, 100))
        with open(self.path, 'rb') as file:
            before = file.read()
        bench.drag(bench.end('G1:out'), bench.end('Q1:in'))
        bench.wait('plugged')
        bench.drag(bench.shelf(MOTOR), bench.sheet(80, 150))
        bench.wait('placed M1')
        for _ in range(2):
            bench.key('ctrl+z')
            bench.wait('undo')
        self.saved()
        with open(self.path, 'rb') as file:
            self.assertEqual(file.read(), before)

    def test_leads_follow_what_they_join(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 160, 40), (EXTENSION, 100, 60), ('G1:out', 'W1:a'),
                          ('W1:b', 'Q1:in'))
        before = bench.joint('W1:b')
        start = bench.part('Q1')
        bench.drag(start, (start[0], start[1] + 120))
        bench.wait('moved Q1')
        after = bench.joint('W1:b')
        self.assertGreater(abs(after[0] - before[0]) + abs(after[1] - before[1]), 20)

    def test_turn_and_flip(self):
        bench = self.draw((SWITCH, 60, 60))
        bench.click(bench.part('Q1'))
        bench.wait('chosen Q1')
        bench.key('r')
        bench.wait('turned Q1')
        bench.key('f')
        bench.wait('flipped Q1')
        part = self.saved().parts['Q1']
        self.assertEqual((part['turn'], part['flip']), ('90', 'yes'))

    def test_delete_takes_its_joints(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), ('G1:out', 'Q1:in'))
        bench.click(bench.part('Q1'))
        bench.wait('chosen Q1')
        bench.key('Delete')
        bench.wait('removed Q1')
        drawing = self.saved()
        self.assertEqual((list(drawing.parts), drawing.joints), (['G1'], {}))
        bench.key('ctrl+z')
        bench.wait('undo')
        self.assertJoined(self.saved(), 'G1:out', 'Q1:in')

    def test_rubber_band_then_arrow_keys(self):
        bench = self.draw((PACK, 20, 60), (SWITCH, 120, 60))
        bench.drag(bench.sheet(5, 40), bench.sheet(170, 110))
        bench.wait('chosen (G1 Q1|Q1 G1)')
        bench.key('Right', 'Down')
        bench.wait('moved G1')
        bench.quiet()
        drawing = self.saved()
        self.assertEqual((drawing.place('G1'), drawing.place('Q1')), ((25, 65), (125, 65)))

    def test_copy_and_paste_keep_the_joint_and_give_new_designations(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), ('G1:out', 'Q1:in'))
        bench.click(bench.sheet(60, 150))
        bench.key('ctrl+a')
        bench.wait('chosen G1 Q1')
        bench.key('ctrl+c', 'ctrl+v')
        bench.wait('placed G2')
        drawing = self.saved()
        self.assertJoined(drawing, 'G2:out', 'Q2:in')
        bench.key('ctrl+x')
        bench.wait('findings')
        bench.quiet()
        self.assertEqual(sorted(self.saved().parts), ['G1', 'Q1'])
        bench.key('ctrl+v')
        bench.wait('placed G2')

    def test_duplicate(self):
        bench = self.draw((MOTOR, 60, 60))
        bench.click(bench.part('M1'))
        bench.key('ctrl+d')
        bench.wait('placed M2')
        self.assertEqual(self.saved().place('M2'), (70, 70))

    def test_the_tag_names_a_part_and_keeps_a_refused_value(self):
        bench = self.draw((MOTOR, 60, 60))
        bench.click(bench.part('M1'))
        bench.wait('chosen M1')
        bench.click(bench.widget('label'))
        bench.type('Drive left')
        bench.key('Return')
        bench.wait('changed M1')
        bench.click(bench.widget('designation'))
        bench.key('ctrl+a')
        bench.type('left')  # no letter and number
        bench.key('Return')
        bench.quiet()
        self.assertEqual(self.saved().parts['M1']['label'], 'Drive left')

    def test_letters_typed_into_a_field_do_not_turn_parts(self):
        bench = self.draw((SWITCH, 60, 60))
        bench.click(bench.part('Q1'))
        bench.wait('chosen Q1')
        bench.click(bench.widget('label'))
        bench.type('frf')
        bench.key('BackSpace', 'Return')
        bench.wait('changed Q1')
        part = self.saved().parts['Q1']
        self.assertEqual((part['label'], part.get('turn')), ('fr', None))

    def test_zoom_keeps_the_point_under_the_pointer(self):
        bench = self.draw((PACK, 20, 40), (CONTROLLER, 160, 40))
        spot = bench.sheet(100, 80)
        bench.xdotool('mousemove', *spot, 'sleep', .1, 'keydown', 'ctrl', 'click', 4, 'click', 4,
                      'keyup', 'ctrl')
        bench.quiet()
        after = bench.sheet(100, 80)
        self.assertLess(abs(after[0] - spot[0]) + abs(after[1] - spot[1]), 4)

    def test_middle_drag_and_space_drag_pan(self):
        bench = self.draw((PACK, 20, 40))
        spot = bench.sheet(100, 80)
        bench.drag(spot, (spot[0] + 60, spot[1] + 30), button=2)
        after = bench.sheet(100, 80)
        self.assertEqual((after[0] - spot[0], after[1] - spot[1]), (60, 30))
        bench.xdotool('keydown', 'space')
        bench.drag(after, spot)
        bench.xdotool('keyup', 'space')
        self.assertEqual(bench.sheet(100, 80), spot)


    def test_two_clicks_on_a_part_ask_for_its_name(self):
        bench = self.draw((MOTOR, 60, 60))
        spot = bench.part('M1')
        bench.xdotool('mousemove', *spot, 'sleep', .1, 'mousedown', 1, 'sleep', .04, 'mouseup', 1,
                      'sleep', .04, 'mousedown', 1, 'sleep', .04, 'mouseup', 1)
        bench.wait('chosen M1')
        bench.quiet(0.3)
        bench.type('Arm')
        self.assertEqual(self.saved().parts['M1']['label'], 'Arm')  # saving takes what is typed

    def test_menu_key_opens_what_can_be_done(self):
        bench = self.draw((SWITCH, 60, 60))
        bench.click(bench.part('Q1'))
        bench.wait('chosen Q1')
        bench.key('Menu')
        time.sleep(0.5)
        bench.key('Down', 'Down', 'Return')
        bench.quiet(0.3)
        self.assertTrue(bench.happened('(turned|changed) Q1'))


class Scenes(WindowCase):
    def test_plugged_in_the_first_scene_is_plugged_in_all_in_another_only_there(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 140, 40), ('charger-nimh-12v', 140, 120))
        loom_scenes = bench.widget('Scene')
        bench.click((loom_scenes[0] + 122, loom_scenes[1]))
        time.sleep(0.5)
        bench.key('Return')
        bench.wait('scene charging')
        bench.drag(bench.end('G1:out'), bench.end('T1:out'))
        bench.wait('plugged G1:out T1:out')
        bench.key('ctrl+Page_Up')
        bench.wait('scene driving')
        bench.drag(bench.end('G1:out'), bench.end('Q1:in'))
        bench.wait('plugged G1:out Q1:in')
        drawing = self.saved()
        self.assertEqual(drawing.scenes, ['driving', 'charging'])
        self.assertEqual(drawing.scenes_of('G1:out', 'T1:out'), ['charging'])
        self.assertEqual(drawing.scenes_of('G1:out', 'Q1:in'), ['driving'])


if __name__ == '__main__':
    main()
