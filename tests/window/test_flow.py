"""What flows: state and charge on the bench, readings, the way to a load, an outing's curve."""
import csv
import re

from case import *

DEMO = os.path.join(os.environ['LOOMBOOK_DATA'], 'demo', 'sandpiper.loom')


class Flow(WindowCase):
    def demo(self):
        bench = self.start(DEMO)
        bench.quiet()
        return bench

    def open_page(self, bench):
        bench.key('F5')
        bench.wait('drawer flow')
        bench.wait('flow ')
        bench.quiet()

    def pack_volts(self, state, charge):
        """By the command, at the pack's end."""
        said = loom('solve', DEMO, '--csv', f'--state={state}', f'--charge={charge}')
        rows = {(row['part'], row['end'], row['contact']): float(row['potential_V'] or 'nan')
                for row in csv.DictReader(said.splitlines())}
        return rows['G1', 'out', '+'] - rows['G1', 'out', '-']

    def test_nothing_is_solved_that_nobody_sees(self):
        bench = self.demo()
        bench.key('ctrl+a')
        bench.quiet()
        self.assertFalse(bench.happened('flow '))

    def test_a_key_writes_the_readings_and_takes_them_away(self):
        bench = self.demo()
        bench.key('v')
        bench.wait('flow resting 100')
        bench.key('v')
        bench.quiet()
        self.assertEqual(bench.label('hint'), 'Readings are off.')

    def test_the_slider_answers_while_it_moves(self):
        bench = self.demo()
        self.open_page(bench)
        x, y = bench.widget('flow-charge')
        width = bench.extent('flow-charge')[0]
        lines = len(bench.events())
        bench.drag((x + width // 2 - 12, y), (x - width // 4, y), steps=12)
        bench.quiet()
        seen = [line for line in bench.events()[lines:] if line.startswith('flow resting')]
        self.assertGreater(len(seen), 3)
        self.assertEqual(len(seen), len(set(seen)), 'solved twice for one charge')

    def test_of_many_wishes_the_newest_is_solved_last(self):
        """Of a large sheet, that is solved in a thread; what was wished in between may be left out."""
        subprocess.run([os.environ['MANY'], '600', self.path], check=True)
        bench = self.start(self.path)
        self.open_page(bench)
        x, y = bench.widget('flow-charge')
        width = bench.extent('flow-charge')[0]
        bench.drag((x + width // 2 - 12, y), (x - width // 4, y), steps=40)
        bench.quiet(1)
        shown = bench.label('flow-charge-text')
        flows = [line for line in bench.events() if line.startswith('flow ')]
        self.assertEqual(flows[-1].split()[-1] + ' %', shown)
        self.assertEqual(len(flows), len(set(flows)))

    def test_keys_move_the_charge_and_the_figures_are_those_of_the_command(self):
        bench = self.demo()
        self.open_page(bench)
        bench.key('shift+v')
        bench.wait('flow driving 100')
        bench.click(bench.widget('flow-charge'))
        bench.quiet()
        bench.key('Home')
        bench.wait('flow driving 0')
        bench.key('Page_Up')
        bench.wait('flow driving 10')
        bench.click(bench.part('M1'))
        bench.quiet()
        heading = bench.label('drop-heading')
        match = re.match(r'M1: ([0-9.]+) V of the ([0-9.]+) V that G1 makes', heading)
        self.assertTrue(match, heading)
        self.assertGreater(float(match[2]), self.pack_volts('driving', 10))
        self.assertLess(float(match[1]), self.pack_volts('driving', 10))

    def test_a_click_on_a_piece_chooses_it(self):
        bench = self.demo()
        self.open_page(bench)
        bench.key('shift+v')
        bench.wait('flow driving 100')
        bench.quiet()
        x, y = bench.where('corner drop-bars')
        bench.click((x + 60, y + 10))
        bench.wait('chosen G1')

    def test_an_outing_is_read_with_pointer_and_keys(self):
        bench = self.demo()
        self.open_page(bench)
        bench.click(bench.widget('view-outing'))
        bench.wait('outing practice ([0-9]+)')
        bench.quiet()
        bench.click(bench.widget('outing-curve'))
        read = bench.wait(r'read ([0-9.]+) s, driving: ([0-9.]+) V')
        said = loom('outing', DEMO, '--csv')
        volts = [float(row['pack_V']) for row in csv.DictReader(said.splitlines())]
        self.assertTrue(min(volts) < float(read[2]) < max(volts))
        bench.key('Home')
        bench.wait(r'read 0\.0 s, resting')
        bench.key('End')
        bench.wait(r'read 135\.0 s, ')
        self.assertIn('A full pack is good for', bench.label('outing-summary'))

    def test_the_curve_is_exported_as_the_command_gives_it(self):
        bench = self.demo()
        self.open_page(bench)
        for suffix in ('csv', 'svg'):
            path = os.path.join(self.folder.name, 'outing.' + suffix)
            bench.act('export-outing')
            time.sleep(1.2)
            bench.key('ctrl+a')
            bench.type(path)
            bench.key('Return')
            bench.wait('exported .*' + suffix)
        with open(os.path.join(self.folder.name, 'outing.csv')) as file:
            self.assertEqual(file.read(), loom('outing', DEMO, '--csv'))
        root = ElementTree.parse(os.path.join(self.folder.name, 'outing.svg')).getroot()
        words = ' '.join(''.join(text.itertext()) for text in root.iter() if text.tag.endswith('text'))
        self.assertIn('lowest 12.96 V', words)

    def long_outing(self):
        """On the page of an outing that takes minutes."""
        subprocess.run([os.environ['MANY'], '600', self.path], check=True)
        loom('add', self.path, 'outing:driving/long')
        loom('set', self.path, 'outing:driving/long', 'legs=' + ', '.join(['resting 1000'] * 80))
        bench = self.start(self.path)
        self.open_page(bench)
        bench.click(bench.widget('view-outing'))
        bench.wait('outing runs')
        bench.quiet()
        return bench

    def test_a_long_outing_is_cancelled_and_run_again(self):
        bench = self.long_outing()
        bench.click(bench.widget('outing-cancel'))
        bench.wait('outing cancelled')
        bench.quiet()
        self.assertEqual(bench.label('outing-summary'), 'The outing was cancelled.')
        bench.click(bench.widget('outing-again'))
        bench.wait('outing runs')
        bench.click(bench.widget('view-limits'))  # out of sight it ends by itself
        bench.quiet(1)
        self.assertFalse(bench.happened('outing long'))

    def test_an_export_that_is_cancelled_writes_nothing(self):
        bench = self.long_outing()
        path = os.path.join(self.folder.name, 'outing.csv')
        bench.act('export-outing')
        time.sleep(1.2)
        bench.key('ctrl+a')
        bench.type(path)
        bench.key('Return')
        bench.quiet(1)
        self.assertFalse(bench.happened('exported'))
        bench.click(bench.widget('outing-cancel'))
        bench.wait('outing cancelled')
        bench.quiet()
        self.assertEqual(bench.label('hint'), 'The export was cancelled.')
        self.assertFalse(os.path.exists(path))

    def test_another_sheet_is_solved_anew(self):
        """Two sheets that have just been opened have the same revision."""
        bench = self.start()
        self.open_page(bench)
        bench.act('start')
        bench.wait('flow resting 100')
        bench.quiet()
        self.assertRegex(bench.label('drop-heading'), '^K1: ')

    def test_a_change_is_solved_once(self):
        bench = self.draw((PACK, 20, 40), (FUSE, 100, 40), (SWITCH, 180, 40), (CONTROLLER, 260, 20),
                          ('G1:out', 'F1:in'), ('F1:out', 'Q1:in'), ('Q1:out', 'K1:power'))
        bench.key('v')
        bench.wait('flow resting 100')
        bench.click(bench.part('Q1'))
        bench.wait('chosen Q1')
        bench.quiet()
        lines = len(bench.events())
        bench.key('s')
        bench.wait('changed Q1')
        bench.quiet()
        self.assertEqual([line for line in bench.events()[lines:] if line.startswith('flow')],
                         ['flow resting 100'])


if __name__ == '__main__':
    main()
