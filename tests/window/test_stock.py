"""Our stock: adding by searching, changing in place, undo, CSV, two programs at once."""
import csv
import shutil

from case import *

TITLE = 'Our stock'


class Stock(WindowCase):
    def open_stock(self, rows=()):
        home = tempfile.mkdtemp(prefix='loombook-home-')
        self.addCleanup(shutil.rmtree, home, True)
        self.boxes = os.path.join(home, 'data', 'loombook', 'stock.csv')
        for row in rows:
            loom('stock', 'set', *row, '--stock', self.boxes)
        bench = self.start(home=home)
        bench.key('ctrl+shift+b')
        bench.wait('stock saved')
        bench.until(lambda: bench.titled(TITLE), 'no window')
        time.sleep(0.5)
        return bench

    @staticmethod
    def click_count(bench):
        """Its digits: left of the middle, where the buttons are."""
        x, y = bench.beside(TITLE, 'count ' + EXTENSION)
        bench.click((x - 40, y))

    def rows(self):
        with open(self.boxes, newline='') as file:
            return {(r['kind'], r['where'], r['condition']): r for r in csv.DictReader(file)}

    def count(self, kind, where='', condition='good'):
        return int(self.rows()[kind, where, condition]['count'])

    def test_a_kind_is_found_added_and_counted_by_keys_alone(self):
        bench = self.open_stock()
        bench.key('ctrl+n')
        bench.wait('stock kinds')
        time.sleep(0.5)
        bench.type('extension 300')
        time.sleep(0.3)
        bench.key('Return')
        bench.wait('stock saved')
        time.sleep(0.4)
        bench.key('ctrl+a')
        bench.type('12')
        bench.key('Tab')
        bench.wait('stock saved')
        bench.type('blue box')
        bench.key('Tab')
        bench.wait('stock saved')
        (kind, where, condition), row = next(iter(self.rows().items()))
        self.assertEqual((where, condition, row['count']), ('blue box', 'good', '12'))
        self.assertEqual(bench.gestures, 0)

    def test_changed_by_the_pointer_and_undone(self):
        bench = self.open_stock([(EXTENSION, 4, 'blue box', 3.20)])
        at = bench.beside(TITLE, 'price ' + EXTENSION)
        bench.click(at)
        bench.key('ctrl+a')
        bench.type('2,75')
        bench.key('Return')
        bench.wait('stock saved')
        self.assertEqual(self.rows()[EXTENSION, 'blue box', 'good']['price'], '2.75')
        bench.key('Escape')  # nothing is being typed: the window closes
        bench.until(lambda: not bench.titled(TITLE), 'it stays open')
        bench.key('ctrl+shift+b')
        bench.until(lambda: bench.titled(TITLE), 'no window')
        bench.wait('stock saved')
        time.sleep(0.5)
        bench.click(bench.beside(TITLE, 'remove ' + EXTENSION))
        bench.wait('stock saved')
        self.assertEqual(self.rows(), {})
        bench.key('ctrl+z')
        bench.wait('stock saved')
        self.assertEqual(self.count(EXTENSION, 'blue box'), 4)

    def test_what_is_no_price_is_marked_and_not_taken(self):
        bench = self.open_stock([(EXTENSION, 4, 'blue box', 3.20)])
        bench.click(bench.beside(TITLE, 'price ' + EXTENSION))
        bench.key('ctrl+a')
        bench.type('dear')
        bench.key('Return')
        bench.quiet()
        self.assertEqual(self.rows()[EXTENSION, 'blue box', 'good']['price'], '3.2')

    def test_closing_takes_what_is_being_typed(self):
        bench = self.open_stock([(EXTENSION, 4)])
        bench.click(bench.beside(TITLE, 'where ' + EXTENSION))
        time.sleep(0.3)
        bench.type('shelf 2')
        bench.key('ctrl+w')
        bench.until(lambda: not bench.titled(TITLE), 'it stays open')
        self.assertEqual(self.count(EXTENSION, 'shelf 2'), 4)

    def test_going_to_another_window_takes_what_is_being_typed(self):
        bench = self.open_stock([(EXTENSION, 4)])
        bench.click(bench.beside(TITLE, 'where ' + EXTENSION))
        time.sleep(0.3)
        bench.type('shelf 3')
        left, top = bench.sheet_corner()
        bench.click((left + 10, top + 10))
        bench.wait('stock saved')
        self.assertEqual(self.count(EXTENSION, 'shelf 3'), 4)

    def test_the_last_window_takes_it_along(self):
        bench = self.open_stock([(EXTENSION, 4)])
        bench.click(bench.beside(TITLE, 'where ' + EXTENSION))
        time.sleep(0.3)
        bench.type('shelf 4')
        bench.act('close')
        bench.app.wait(timeout=15)
        self.assertEqual(self.count(EXTENSION, 'shelf 4'), 4)

    def test_another_program_changes_it_meanwhile(self):
        bench = self.open_stock([(EXTENSION, 4)])
        loom('stock', 'set', EXTENSION, 7, '--stock', self.boxes)
        loom('stock', 'set', SWITCH, 2, '--stock', self.boxes)
        bench.wait('stock saved')  # it has seen it
        bench.quiet()
        self.click_count(bench)
        bench.key('Up')
        bench.wait('stock saved')
        self.assertEqual(self.count(EXTENSION), 8)
        self.assertEqual(self.count(SWITCH), 2)

    def test_two_programs_write_at_once(self):
        bench = self.open_stock([(EXTENSION, 10)])
        self.click_count(bench)
        for i in range(5):
            bench.key('Down')
            loom('stock', 'set', SWITCH, i + 1, 'red box', '--stock', self.boxes)
        bench.quiet()
        self.assertEqual((self.count(EXTENSION), self.count(SWITCH, 'red box')), (5, 5))
        bench.key('ctrl+z', 'ctrl+z')
        bench.quiet()
        self.assertEqual((self.count(EXTENSION), self.count(SWITCH, 'red box')), (7, 5))

    def test_csv_in_and_out(self):
        bench = self.open_stock([(EXTENSION, 4)])
        given = os.path.join(self.folder.name, 'given.csv')
        with open(given, 'w') as file:
            file.write(f'kind,count,where\n{SWITCH},3,red box\n')
        bench.click(bench.beside(TITLE, 'more'))
        time.sleep(0.5)
        bench.key('Return')  # the first entry
        time.sleep(1.5)
        bench.type(given)
        time.sleep(0.3)
        bench.key('Return')
        bench.wait('stock saved')
        self.assertEqual(self.count(SWITCH, 'red box'), 3)
        self.assertEqual(self.count(EXTENSION), 4)
        taken = os.path.join(self.folder.name, 'taken.csv')
        bench.key('ctrl+e')
        time.sleep(1.2)
        bench.key('ctrl+a')
        bench.type(taken)
        bench.key('Return')
        bench.wait('exported')
        with open(taken) as mine, open(self.boxes) as theirs:
            self.assertEqual(mine.read(), theirs.read())


if __name__ == '__main__':
    main()
