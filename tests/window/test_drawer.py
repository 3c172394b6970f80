"""The drawer at the foot of the bench: its pages by key, by button, and the way back."""
from case import *


class Drawer(WindowCase):
    def focus(self):
        """Once the drawer has opened or closed."""
        self.bench.quiet()
        self.bench.ask('focus')
        return self.bench.wait('focus (.*)')[1]

    def test_a_key_opens_a_page_and_gives_it_the_keyboard(self):
        bench = self.draw((PACK, 20, 40), (SWITCH, 120, 40), (CONTROLLER, 220, 20),
                          ('G1:out', 'Q1:in'), ('Q1:out', 'K1:power'))
        bench.key('F7')
        bench.wait('drawer findings')
        self.assertIn('ListBox', self.focus())
        bench.key('Escape')
        bench.wait('drawer closed')
        self.assertNotIn('ListBox', self.focus())

    def test_the_same_key_closes_it(self):
        bench = self.draw((PACK, 20, 40))
        bench.key('F7')
        bench.wait('drawer findings')
        bench.key('F7')
        bench.wait('drawer closed')

    def test_a_click_closes_it(self):
        bench = self.draw((PACK, 20, 40))
        bench.key('F7')
        bench.wait('drawer findings')
        bench.quiet()
        bench.click(bench.widget('drawer-close'))
        bench.wait('drawer closed')


if __name__ == '__main__':
    main()
