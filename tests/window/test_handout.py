"""The handout in its own window: turning pages, choosing, saving as PDF, printing."""
import shutil
import subprocess

from case import *

DEMO = os.path.join(os.environ['LOOMBOOK_DATA'], 'demo', 'sandpiper.loom')
LOADED = 'preview made ([0-9]+)'


class Preview:
    """The window of the handout; the bench's own driver looks only at sheets."""

    def __init__(self, bench):
        self.bench = bench
        bench.key('ctrl+p')
        self.pages = int(bench.wait(LOADED)[1])
        self.page(1, 2)
        self.window = bench.until(self.find, 'no preview')
        bench.number = 2
        bench.window = lambda: self.window

    def find(self):
        ids = self.bench.run('xdotool', 'search', '--onlyvisible', '--name', '^Handout of').split()
        return ids[-1] if ids else None

    def click(self, name):
        self.bench.click(self.bench.widget(name))

    def page(self, number, shown='[0-9]+'):
        return self.bench.wait(f'preview page {number} {shown} [0-9]+ (.*)')


def words_of(pdf, *pages):
    return subprocess.run(['pdftotext', *pages, pdf, '-'], capture_output=True, text=True,
                          check=True).stdout


def fact_of(pdf, name):
    facts = subprocess.run(['pdfinfo', pdf], capture_output=True, text=True, check=True).stdout
    return dict(line.split(':', 1) for line in facts.splitlines())[name].strip()


class Handout(WindowCase):
    options = {'size': '1400x1000'}

    def open(self, *files):
        self.bench = self.start(*files or [DEMO])
        return Preview(self.bench)

    def save(self, name):
        target = os.path.join(self.folder.name, name)
        self.bench.key('ctrl+s')
        time.sleep(1.3)
        self.bench.key('ctrl+a')
        self.bench.type(target)
        time.sleep(0.3)
        self.bench.key('Return')
        self.bench.wait('preview saved')
        return target

    def test_pages_are_turned_by_keys_buttons_and_number(self):
        preview, bench = self.open(), self.bench
        two = 2  # side by side, as this desktop is wide
        bench.key('Page_Down')
        preview.page(1 + two)
        bench.key('Page_Up')
        preview.page(1)
        bench.key('End')
        chapter = preview.page(preview.pages, 1)[1]
        pdf = os.path.join(self.folder.name, 'book.pdf')
        loom('handout', DEMO, '-o', pdf)
        last = words_of(pdf, '-f', str(preview.pages)).splitlines()
        self.assertIn('Sign-off', last)
        self.assertIn(chapter, last)  # in the running head
        bench.key('Home')
        preview.page(1)
        preview.click('to_next')
        preview.page(1 + two)
        preview.click('to_last')
        preview.page(preview.pages)
        preview.click('to_first')
        preview.page(1)
        preview.click('page')
        bench.key('ctrl+a')
        bench.type('5')
        bench.key('Return')
        preview.page(5)

    def test_zoom_shows_one_page_and_the_fit_brings_two_back(self):
        preview, bench = self.open(), self.bench
        bench.key('ctrl+0')
        preview.page(1, 1)
        bench.key('ctrl+9')
        preview.page(1, 2)

    def test_the_pdf_is_that_of_the_command(self):
        self.open()
        pdf = self.save('book.pdf')
        other = os.path.join(self.folder.name, 'other.pdf')
        loom('handout', DEMO, '-o', other)
        with open(pdf, 'rb') as ours, open(other, 'rb') as theirs:
            self.assertEqual(ours.read(), theirs.read())
        self.assertEqual(fact_of(pdf, 'Title'), 'Sandpiper: the book for the build day')

    def test_chapters_paper_and_greys_are_chosen(self):
        preview, bench = self.open(), self.bench
        for chapter in ('cover', 'kit', 'wires', 'diagram', 'meter', 'power', 'dark', 'charging', 'signoff'):
            preview.click(f'chapter-{chapter}')
        bench.wait(LOADED)
        bench.quiet(0.6)
        preview.click('paper')
        time.sleep(0.4)
        bench.key('Down', 'Return')
        bench.wait(LOADED)
        preview.click('grey')
        bench.wait(LOADED)
        pdf = self.save('part.pdf')
        self.assertIn('letter', fact_of(pdf, 'Page size').lower())
        words = words_of(pdf)
        self.assertIn('Port map', words)
        self.assertNotIn('Kit check', words)
        self.assertLess(int(fact_of(pdf, 'Pages')), preview.pages)
        subprocess.run(['pdftoppm', '-r', '20', pdf, os.path.join(self.folder.name, 'page')], check=True)
        for name in os.listdir(self.folder.name):
            if name.endswith('.ppm'):
                with open(os.path.join(self.folder.name, name), 'rb') as file:
                    pixels = file.read().split(b'\n', 3)[3]
                # A hair of rounding is no colour.
                self.assertLessEqual(max(abs(r - g) + abs(g - b) for r, g, b in
                                         zip(pixels[::3], pixels[1::3], pixels[2::3])), 6)

    def test_labels(self):
        preview, bench = self.open(), self.bench
        preview.click('what')
        time.sleep(0.4)
        bench.key('Down', 'Return')
        self.assertLess(int(bench.wait(LOADED)[1]), 4)
        pdf = self.save('labels.pdf')
        self.assertIn('W3:b to K1:power', words_of(pdf))

    def test_the_pages_follow_the_drawing(self):
        loom('new', self.path)
        loom('add', self.path, PACK)
        preview, bench = self.open(self.path), self.bench
        bench.number = 1
        bench.act('select-all')
        bench.wait('chosen G1')
        bench.act('duplicate')
        bench.wait('placed G2')
        bench.number = 2
        bench.wait(LOADED)
        self.assertIn('G2', words_of(self.save('two.pdf')))

    def test_making_a_large_book_can_be_stopped(self):
        subprocess.run([os.environ['MANY'], '200', self.path], check=True)
        bench = self.start(self.path)
        bench.key('ctrl+p')
        bench.number = 2
        bench.until(lambda: bench.run('xdotool', 'search', '--onlyvisible', '--name', '^Handout of'),
                    'no preview')
        bench.act('cancel')
        bench.wait('preview stopped')
        self.assertFalse(bench.happened('preview made'))
        preview = bench.run('xdotool', 'search', '--onlyvisible', '--name', '^Handout of').split()[-1]
        bench.window = lambda: preview
        bench.click(bench.widget('chapter-steps'))  # another choice makes them anew
        bench.wait(LOADED)

    def test_printing_to_a_file(self):
        shutil.copy(DEMO, self.path)
        preview, bench = self.open(self.path), self.bench
        bench.key('ctrl+p')
        bench.until(lambda: bench.run('xdotool', 'search', '--onlyvisible', '--name', '^Print$'),
                    'no printer dialogue')
        time.sleep(1.0)
        bench.key('Tab', 'Down', 'space')  # the only printer there is writes into a file
        time.sleep(0.5)
        bench.key('alt+p')
        bench.wait('preview printed')
        pdf = os.path.join(self.folder.name, 'Sandpiper handout.pdf')
        bench.until(lambda: os.path.exists(pdf) and 'Pages' in subprocess.run(
            ['pdfinfo', pdf], capture_output=True, text=True).stdout, 'nothing printed')
        self.assertEqual(int(fact_of(pdf, 'Pages')), preview.pages)
        self.assertIn('Before you touch anything', words_of(pdf))


if __name__ == '__main__':
    main()
