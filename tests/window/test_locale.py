"""A window where people write a decimal comma: fields take and show it, the file has a point."""
import os
import subprocess
import tempfile
import unittest

from case import EXTENSION, PACK, WindowCase, main


class Comma(WindowCase):
    def setUp(self):
        super().setUp()
        self.locales = tempfile.TemporaryDirectory(prefix='loombook-locale-')
        self.addCleanup(self.locales.cleanup)
        subprocess.run(['localedef', '-i', 'de_DE', '-f', 'UTF-8', self.locales.name + '/de_DE.UTF-8'],
                       check=True)
        self.options = {'environment': {'LOCPATH': self.locales.name, 'LC_ALL': 'de_DE.UTF-8',
                                        'LANGUAGE': ''}}

    def fill(self, bench, field, text):
        bench.click(bench.widget(field))
        bench.key('ctrl+a')
        bench.type(text)
        bench.key('Return')
        bench.wait('changed W1')

    def test_a_length_is_typed_with_a_comma_or_a_point(self):
        bench = self.draw((EXTENSION, 60, 60))
        bench.click(bench.part('W1'))
        bench.wait('chosen W1')
        self.fill(bench, 'length_mm', '312,5')
        self.assertEqual(self.saved().parts['W1']['length_mm'], '312.5')
        self.fill(bench, 'length_mm', '450.25')
        self.assertEqual(self.saved().parts['W1']['length_mm'], '450.25')

    def test_places_are_told_and_saved_with_a_point(self):
        bench = self.draw((PACK, 20.5, 40.25))
        bench.click(bench.part('G1'))
        bench.wait('chosen G1')
        bench.key('Right')
        bench.wait(r'moved G1 [0-9.-]+ [0-9.-]+$')
        drawing = self.saved()
        self.assertGreater(drawing.place('G1')[0], 20.5)
        self.assertEqual(drawing.place('G1')[1] % 1, 0.25)


if __name__ == '__main__':
    main()
