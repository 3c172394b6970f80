"""What changed: against the saved file and an older one, with real clicks and keys."""
import shutil

from case import *

TITLE = 'What changed'


class Comparing(WindowCase):
    def open_demo(self):
        shutil.copy(os.environ['LOOMBOOK_DATA'] + '/demo/sandpiper.loom', self.path)
        return self.start(self.path)

    def open_without_b2(self):
        bench = self.open_demo()
        bench.click(bench.part('B2'))
        bench.wait('chosen B2')
        bench.key('Delete')
        bench.wait('removed B2')
        bench.key('ctrl+shift+c')
        return bench

    def test_what_changed_since_saving_is_listed_and_shown(self):
        bench = self.open_without_b2()
        n = int(bench.wait(r'compared (\d+)')[1])
        self.assertGreater(n, 0)
        sentences = told_without(self.path, 'B2')
        bench.click(bench.beside(TITLE, sentences[0]))
        bench.wait('change shown B2')

    def test_the_list_follows_the_document(self):
        bench = self.open_demo()
        bench.key('ctrl+shift+c')
        bench.wait('compared 0')
        bench.act('select-all')
        bench.act('delete')
        n = int(bench.wait(r'compared ([1-9]\d*)')[1])
        self.assertGreater(n, 20)
        bench.act('undo')
        bench.wait('compared 0')

    def test_keys_alone_walk_the_list_and_close_it(self):
        bench = self.open_without_b2()
        bench.wait('compared')
        bench.until(lambda: bench.titled(TITLE), 'no window')
        time.sleep(0.4)
        bench.key('Down')
        bench.wait('change shown')
        bench.key('Down')
        bench.wait('change shown')
        bench.key('Escape')
        bench.until(lambda: not bench.titled(TITLE), 'it stays open')
        bench.key('ctrl+z')
        bench.wait('undo')

    def test_an_older_file_is_chosen(self):
        bench = self.open_demo()
        older = os.path.join(self.folder.name, 'older.loom')
        shutil.copy(self.path, older)
        loom('set', older, 'W3', 'length_mm=450')
        bench.act('compare-file')
        time.sleep(1.5)
        bench.type(older)
        time.sleep(0.3)
        bench.key('Return')
        bench.wait('compared 1')

    def test_it_is_closed_while_it_compares(self):
        bench = self.open_demo()
        bench.key('ctrl+shift+c')
        bench.until(lambda: bench.titled(TITLE), 'no window')
        bench.key('Escape')
        bench.until(lambda: not bench.titled(TITLE), 'it stays open')
        self.assertEqual(bench.quit(), 0)


def told_without(path, part):
    """What the command says about the sheet and the same without the part."""
    with tempfile.TemporaryDirectory() as folder:
        now = shutil.copy(path, os.path.join(folder, 'now.loom'))
        loom('remove', now, part)
        return [line for line in loom('compare', path, now).splitlines() if line.startswith(part)]


if __name__ == '__main__':
    main()
