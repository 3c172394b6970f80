"""Files: save, reopen, export, the question about unsaved work, work that survives a kill."""
import csv
import subprocess

from case import *


class Files(WindowCase):
    def choose_file(self, path):
        """Types into the file dialogue that is opening."""
        time.sleep(1.3)
        self.bench.key('ctrl+a')
        self.bench.type(path)
        time.sleep(0.3)
        self.bench.key('Return')

    def test_save_as_and_reopen(self):
        bench = self.start()
        bench.drag(bench.shelf(PACK), bench.sheet(60, 60))
        bench.wait('placed G1')
        bench.key('ctrl+s')
        self.choose_file(self.path)
        bench.wait('saved ' + self.path)
        self.assertEqual(bench.quit(), 0)
        bench.files = (self.path,)
        bench.start()
        self.assertTrue(bench.happened('opened ' + self.path))
        self.assertEqual(list(self.saved().parts), ['G1'])

    def test_open_dialogue(self):
        loom('new', self.path)
        loom('add', self.path, CONTROLLER)
        bench = self.start()
        bench.key('ctrl+o')
        self.choose_file(self.path)
        bench.wait('opened ' + self.path)
        self.assertTrue(bench.end('K1:power'))

    def test_a_file_dragged_in_from_another_program_opens(self):
        loom('new', self.path)
        loom('add', self.path, CONTROLLER)
        bench = self.start(size='1500x900')
        folder = subprocess.Popen(['/usr/bin/python3', os.path.join(os.path.dirname(__file__), 'folder.py'),
                                   self.path], env=bench.environment, stderr=subprocess.DEVNULL)
        bench.processes.append(folder)
        window = bench.until(lambda: bench.titled('Folder'), 'no window to drag from')
        bench.xdotool('windowmove', '--sync', window, 1310, 300)
        bench.drag((1390, 350), bench.sheet(60, 60), steps=20)
        bench.wait('opened ' + self.path)
        self.assertTrue(bench.end('K1:power'))

    def test_a_broken_file_is_one_sentence_and_changes_nothing(self):
        with open(self.path, 'w') as file:
            file.write('<design')
        bench = self.start(self.path)
        sentences = [line for line in bench.events() if line.startswith('error')]
        self.assertEqual(len(sentences), 1)
        self.assertIn('robot.loom:1: ', sentences[0])

    def export(self, key, name):
        target = os.path.join(self.folder.name, name)
        self.bench.key(key)
        self.choose_file(target)
        self.bench.wait('exported')
        return target

    def test_export_svg_pdf_png(self):
        self.draw((PACK, 20, 40), (SWITCH, 120, 40), ('G1:out', 'Q1:in'))
        svg = self.export('ctrl+e', 'robot.svg')
        text = ''.join(ElementTree.parse(svg).getroot().itertext())
        self.assertIn('Q1', text)
        pdf = self.export('ctrl+e', 'robot.pdf')
        words = subprocess.run(['pdftotext', pdf, '-'], capture_output=True, text=True).stdout
        self.assertIn('Q1', words)
        with open(self.export('ctrl+e', 'robot.png'), 'rb') as file:
            self.assertEqual(file.read(8), b'\x89PNG\r\n\x1a\n')

    def test_the_lists_are_what_the_command_writes(self):
        bench = self.draw((PACK, 20, 40), (CONTROLLER, 140, 20), (MOTOR, 280, 20),
                          ('K1:motor-1', 'M1:poles'))
        for action, command, name in (('export-parts', 'parts', 'p.csv'),
                                      ('export-ports', 'ports', 'q.csv')):
            bench.act(action)
            target = os.path.join(self.folder.name, name)
            self.choose_file(target)
            bench.wait('exported')
            with open(target, newline='') as file:
                rows = list(csv.reader(file))
            ours = list(csv.reader(loom(command, self.path, '--csv').splitlines()))
            self.assertEqual(rows, ours)
            self.assertGreater(len(rows), 1)


class Unsaved(WindowCase):
    def change(self):
        bench = self.draw((PACK, 20, 40))
        start = bench.part('G1')
        bench.drag(start, (start[0] + 90, start[1]))
        bench.wait('moved G1')
        bench.key('ctrl+w')
        bench.wait('asked to save')
        time.sleep(0.5)
        return bench

    def test_save(self):
        bench = self.change()
        bench.key('Return')
        bench.wait('saved')
        self.assertEqual(bench.app.wait(timeout=10), 0, bench.stderr())
        self.assertNotEqual(Drawing(self.path).place('G1'), (20, 40))

    def test_cancel_keeps_the_window(self):
        bench = self.change()
        bench.key('Escape')
        time.sleep(0.5)
        self.assertIsNone(bench.app.poll())
        self.assertTrue(bench.part('G1'))

    def test_close_without_saving(self):
        bench = self.change()
        bench.key('alt+w')
        self.assertEqual(bench.app.wait(timeout=10), 0, bench.stderr())
        self.assertEqual(Drawing(self.path).place('G1'), (20, 40))
        bench.start()  # and nothing comes back
        self.assertFalse(bench.happened('recovered'))

    def test_no_question_where_nothing_changed(self):
        bench = self.draw((PACK, 20, 40))
        self.assertEqual(bench.quit(), 0)


class Recovery(WindowCase):
    def killed(self):
        bench = self.draw((PACK, 20, 40))
        start = bench.part('G1')
        bench.drag(start, (start[0] + 90, start[1]))
        x = bench.wait(r'moved G1 (\S+)')[1]
        bench.wait('draft written')
        bench.kill()
        bench.files = ()
        bench.start()
        self.assertTrue(bench.happened('recovered ' + self.path))
        return bench, float(x)

    def test_work_survives_a_kill(self):
        bench, x = self.killed()
        self.assertEqual(Drawing(self.path).place('G1'), (20, 40))
        self.assertEqual(self.saved().place('G1')[0], x)
        self.assertEqual(bench.quit(), 0)
        bench.start()
        self.assertFalse(bench.happened('recovered'))

    def test_recovered_work_can_be_thrown_away(self):
        bench, _ = self.killed()
        bench.click(bench.widget('Throw It Away'))
        bench.wait('opened ' + self.path)
        self.assertEqual(bench.quit(), 0)


if __name__ == '__main__':
    main()
