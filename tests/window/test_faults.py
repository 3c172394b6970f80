"""Fault finding in the window: ticking, the next test and its answers, marks, undo, keyboard."""
from case import *

SANDPIPER = os.path.join(os.environ['LOOMBOOK_DATA'], 'demo', 'sandpiper.loom')
VIEW = 'F3'


class FaultFinding(WindowCase):
    def open_view(self, **options):
        bench = self.start(SANDPIPER, **options)
        bench.key(VIEW)
        bench.wait('faults [12][0-9]+ tests')
        bench.wait('suspects')
        bench.quiet()
        return bench

    def say(self, bench, button):
        bench.click(bench.widget(button))
        found = bench.wait(r'suspects (\d+) next (\S+)')
        bench.quiet()
        return found

    def test_a_blown_fuse_is_found(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        self.assertIn('suspects 26 next switch-Q1', '\n'.join(bench.events()))
        self.assertIn('Main switch', bench.label('fault-todo'))
        self.say(bench, 'on')
        self.assertIn('fuse', bench.label('fault-todo'))
        self.say(bench, 'blown')
        self.assertIn('suspects 1 next none', '\n'.join(bench.events()))
        self.assertIn('The fuse in F1 (Main fuse) is blown.', bench.label('fault-todo'))

    def test_answers_are_taken_back_and_forgotten(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        self.say(bench, 'on')
        self.assertIn('suspects 25 next fuse-F1', bench.events()[-1] + '\n'.join(bench.events()))
        bench.click(bench.widget('undo_answer'))
        bench.wait('answers 1')
        bench.wait('suspects 26 next switch-Q1')
        bench.quiet()
        bench.click(bench.widget('Cannot tell'))
        bench.wait('answer switch-Q1 0')
        bench.quiet()
        bench.click(bench.widget('afresh'))
        bench.wait('answers 0')
        bench.wait('suspects')
        bench.quiet()
        self.assertIn('Tick on the left', bench.label('fault-todo'))

    def test_ticking_once_more_takes_the_tick_away(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        self.say(bench, 'K1 Controller: dark')
        self.assertIn('forgot lamp-K1', bench.events())

    def test_volts_at_the_end_that_is_clicked(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        bench.click(bench.where('joint Q1:out'))
        bench.wait('chosen (W2:a|Q1:out|.*joint)')
        bench.quiet()
        bench.click(bench.widget('volts'))
        bench.type('12.1')
        bench.key('Return')
        bench.wait('answer volts-Q1:out 1')
        bench.wait('suspects')
        self.assertIn('W3:b', self.suspects_text(bench))

    def suspects_text(self, bench):
        """The command is asked the same."""
        done = subprocess.run([os.environ['LOOM'], 'faults', SANDPIPER, '--all', '--dead', 'K1', '--volts',
                               'Q1:out=12.1'], capture_output=True, text=True, check=True)
        shown = [event for event in bench.events() if event.startswith('suspects')][-1].split()[1]
        self.assertIn(f'{int(shown):4}. ', done.stdout)
        self.assertNotIn(f'{int(shown) + 1:4}. ', done.stdout)
        return done.stdout

    def test_a_suspect_is_shown_on_the_drawing(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        bench.click(bench.widget('The fuse in F1 (Main fuse) is blown.'))
        bench.wait('shown suspect F1')

    def test_by_keyboard_alone(self):
        bench = self.open_view()
        bench.click(bench.widget('K1 Controller: lit'))
        bench.wait('suspects')
        bench.quiet()
        bench.key('Tab')
        bench.key('space')
        bench.wait('answer lamp-K1 2')
        bench.wait('suspects')
        bench.key(VIEW)
        bench.key(VIEW)
        bench.quiet()
        bench.click(bench.widget('off'))
        bench.wait('answer switch-Q1 2')
        bench.quiet()
        bench.key(VIEW)
        bench.key('ctrl+q')

    def test_answers_outlive_a_change_of_the_drawing(self):
        bench = self.open_view()
        self.say(bench, 'K1 Controller: dark')
        before = [event for event in bench.events() if event.startswith('suspects')][-1]
        bench.click(bench.where('part B2'))
        bench.wait('chosen B2')
        bench.key('Delete')
        bench.wait('faults')
        bench.wait('suspects')
        after = [event for event in bench.events() if event.startswith('suspects')][-1]
        self.assertEqual(before, after)


if __name__ == '__main__':
    main()
