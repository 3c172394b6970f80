"""Dark, high contrast, text twice the size, and what a screen reader is told."""
import json
import subprocess

from case import *

EVERY_PART = ((PACK, 20, 40), (FUSE, 100, 40), (CONTROLLER, 180, 20), ('G1:out', 'F1:in'))


class Look(WindowCase):
    def with_preferences(self, **keys):
        home = os.path.join(self.folder.name, 'home')
        os.makedirs(home + '/config/loombook')
        with open(home + '/config/loombook/preferences.ini', 'w') as file:
            file.write('[look]\n' + ''.join(f'{key}={value}\n' for key, value in keys.items()))
        return self.draw(*EVERY_PART, home=home)

    def brightness(self, x_mm, y_mm):
        x, y = self.bench.sheet(x_mm, y_mm)
        picture = os.path.join(self.folder.name, 'screen.png')
        self.bench.screenshot(picture)
        text = subprocess.run(['convert', picture, '-crop', f'1x1+{x}+{y}', '-colorspace', 'Gray',
                               '-format', '%[fx:mean]', 'info:'], capture_output=True, text=True)
        return float(text.stdout)

    def test_light_paper(self):
        self.with_preferences(look='light')
        self.assertGreater(self.brightness(130, 120), 0.9)

    def test_dark_paper(self):
        self.with_preferences(look='dark')
        self.assertLess(self.brightness(130, 120), 0.25)

    def test_high_contrast_paper_is_white(self):
        self.with_preferences(look='contrast')
        self.assertGreater(self.brightness(130, 120), 0.99)

    def test_text_twice_the_size_and_still_all_of_it_in_the_window(self):
        names = ('Open', 'Save', 'Scene')
        bench = self.draw(*EVERY_PART)
        ordinary = {name: bench.extent(name) for name in names}
        bench.close()
        os.remove(self.path)
        bench = self.with_preferences(**{'text-size': 200})
        width = int(bench.size.split('x')[0])
        for name in names:
            large = bench.extent(name)
            self.assertGreater(large[0], 1.7 * ordinary[name][0], name)
            x, _ = bench.widget(name)
            self.assertLess(x, width, name)
        self.assertLess(bench.widget('Revision')[0], width)

    def test_text_size_can_be_changed_while_it_runs(self):
        bench = self.draw(*EVERY_PART)
        before = bench.extent('Scene')[0]
        bench.key('ctrl+alt+plus')
        bench.until(lambda: bench.extent('Scene')[0] > before, 'the text does not grow')
        bench.key('ctrl+alt+minus')
        bench.until(lambda: bench.extent('Scene')[0] == before, 'the text does not shrink again')


class ScreenReader(WindowCase):
    def tree(self):
        text = subprocess.run(['/usr/bin/python3', os.path.join(os.path.dirname(__file__), 'tree.py')],
                              env=self.bench.environment, capture_output=True, text=True,
                              timeout=60).stdout
        return [json.loads(line) for line in text.splitlines()]

    def test_parts_are_told_with_what_they_are_joined_to(self):
        self.draw(*EVERY_PART, a11y=True)
        items = {name: told for _, role, name, told in self.tree() if role == 'list item' and told}
        self.assertEqual(items['G1, Pack 12 V 3 Ah'], 'out is plugged into F1:in.')
        self.assertIn('out is free', items['F1, Fuse lead 15 A'])

    def test_the_end_with_the_focus_is_told(self):
        bench = self.draw(*EVERY_PART, a11y=True)
        bench.click(bench.part('F1'))
        bench.wait('chosen F1')
        bench.key('Tab', 'Tab')
        bench.wait('chosen F1:out')
        told = [told for _, role, name, told in self.tree() if name == 'F1:out, sockets (female)']
        self.assertTrue(told and told[0].startswith('free.'), told)

    def test_every_button_and_entry_has_a_name(self):
        self.draw(*EVERY_PART, a11y=True)
        roles = ('push button', 'toggle button', 'text', 'entry', 'check box')
        things = [entry for entry in self.tree() if entry[1] in roles]
        self.assertGreater(len(things), 15)
        self.assertEqual([entry for entry in things if not entry[2]], [])


if __name__ == '__main__':
    main()
