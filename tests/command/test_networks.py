#!/usr/bin/python3
"""Networks from outside: written from docs/file-format.md alone, solved by the command."""
import csv
import os
import pathlib
import random
import re
import shlex
import subprocess
import sys
import tempfile
import unittest
from fractions import Fraction

LOOM = os.path.abspath(sys.argv.pop(1))
ROOT = pathlib.Path(__file__).resolve().parents[2]
REFERENCE = ROOT / "tests" / "reference"
HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
FAMILIES = """<family id="post" name="post" ways="1" shape="screw" places="5000" latches="yes"
    accepts="clip" source="invented"/>
<family id="clip" name="clip" ways="1" shape="conductor" source="invented"/>
<kind id="node" name="Node" letter="X" group="distribution" source="invented">
  <end id="p" family="post" gender="terminal" side="left"><contact way="1" name="1" role="pass"/></end>
</kind>
"""
END = '<end id="%s" family="clip" gender="terminal" side="left"><contact way="1" name="1" role="pass"/></end>'


def loom(*words, cwd=None, status=0):
    done = subprocess.run([LOOM, *map(str, words)], cwd=cwd, capture_output=True, timeout=120, text=True,
                          env={**os.environ, "XDG_DATA_HOME": "/nonexistent"})
    if done.returncode != status:
        raise AssertionError(f"loom {words}: {done.returncode}, not {status}: {done.stderr}")
    return done


class Net:
    """Elements between named nodes, each with a kind of its own."""

    def __init__(self):
        self.parts, self.kinds, self.joints, self.nodes = [], [], [], {}

    def node(self, name):
        if name not in self.nodes:
            self.nodes[name] = f"X{len(self.nodes) + 1}"
            self.parts.append((self.nodes[name], "node"))
        return self.nodes[name]

    def add(self, element, figures, *nodes):
        number = len(self.kinds) + 1
        letter = "G" if element == "source" else "R"
        where = " ".join(f'{e}="{e}:1"' for e in "abcd"[: len(nodes)])
        ends = "".join(END % e for e in "abcd"[: len(nodes)])
        self.kinds.append(f'<kind id="k{number}" name="k{number}" letter="{letter}" group="lamp" '
                          f'source="invented">{ends}<{element} {where} {figures}/></kind>\n')
        self.parts.append((f"{letter}{number}", f"k{number}"))
        for end, node in zip("abcd", nodes):
            self.joints.append((f"{letter}{number}:{end}", f"{self.node(node)}:p"))
        return f"{letter}{number}"

    def design(self):
        return "".join([
            HEAD, '<design xmlns="urn:loombook:design:1" version="1.0"><title name="net"/>',
            '<scene name="driving"><state name="on"/></scene>\n',
            *(f'<part designation="{d}" kind="{k}"/>\n' for d, k in self.parts),
            *(f'<joint a="{a}" b="{b}"/>\n' for a, b in self.joints),
            '<catalogue xmlns="urn:loombook:catalogue:1" version="1.0">', FAMILIES, *self.kinds,
            "</catalogue></design>\n"])

    def solve(self, status=0):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "n.loom"
            path.write_text(self.design(), encoding="utf-8")
            done = loom("solve", path, "--csv", status=status)
        self.why = done.stderr
        self.rows = {(r["part"], r["end"]): r for r in csv.DictReader(done.stdout.splitlines())}
        return self

    def volts(self, node, reference):
        return self.potential(node) - self.potential(reference)

    def potential(self, node):
        return float(self.rows[self.nodes[node], "p"]["potential_V"])

    def amps(self, part):
        return float(self.rows[part, "a"]["current_A"])


def exact(n, elements):
    """Nodal analysis by Gauss in fractions; node 0 at no potential. Sources have a resistance."""
    rows = [[Fraction(0)] * (n + 1) for _ in range(n)]
    for kind, a, b, *figures in elements:
        siemens = 1 / Fraction(figures[-1])
        amps = Fraction(figures[0]) * siemens if kind == "source" else 0
        rows[a][a] += siemens
        rows[b][b] += siemens
        rows[a][b] -= siemens
        rows[b][a] -= siemens
        rows[a][n] += amps
        rows[b][n] -= amps
    rows = [r[1:] for r in rows[1:]]
    for k in range(n - 1):
        pivot = next(r for r in range(k, n - 1) if rows[r][k])
        rows[k], rows[pivot] = rows[pivot], rows[k]
        for r in range(n - 1):
            if r != k and rows[r][k]:
                factor = rows[r][k] / rows[k][k]
                rows[r] = [x - factor * y for x, y in zip(rows[r], rows[k])]
    return [0.0] + [float(rows[k][-1] / rows[k][k]) for k in range(n - 1)]


class Networks(unittest.TestCase):
    def test_the_page_keeps_its_word(self):
        page = (ROOT / "docs" / "file-format.md").read_text(encoding="utf-8").split("## Any network")[1]
        with tempfile.TemporaryDirectory() as folder:
            xml = re.search(r"```xml\n(.*?)```", page, re.S).group(1)
            (pathlib.Path(folder) / "bare.xml").write_text(xml, encoding="utf-8")
            for line in re.findall(r"^    (loom .*)$", page, re.M):
                for call in line.split("#")[0].split("&&"):
                    done = loom(*shlex.split(call)[1:], cwd=folder)
        rows = {(r["part"], r["end"]): r for r in csv.DictReader(done.stdout.splitlines())}
        self.assertAlmostEqual(float(rows["X1", "p"]["potential_V"]), 12 * 3 / 3.5, 12)
        self.assertAlmostEqual(float(rows["G1", "a"]["current_A"]), -12 / 3.5, 12)

    def test_published_examples(self):
        def table(name):
            with open(REFERENCE / f"{name}.csv", encoding="utf-8", newline="") as file:
                return list(csv.DictReader(file))
        elements, expected = table("dc_network_elements"), table("dc_network_expected")
        names = [n for n in table("dc_networks") if n["network"].startswith("DC")]
        self.assertEqual(len(names), 19)
        figure = {"source": "emf_V", "resistor": "ohm", "current": "current_A"}
        for row in names:
            net, parts = Net(), {}
            for e in (e for e in elements if e["network"] == row["network"]):
                sign = -1 if e["kind"] == "source" else 1
                part = net.add(e["kind"], f'{figure[e["kind"]]}="{e["value"]}"', e["from"], e["to"])
                parts[e["element"]] = (part, sign)
            net.solve()
            for x in (x for x in expected if x["network"] == row["network"]):
                if x["quantity"] == "potential":
                    found = net.volts(x["of"], "return")
                else:
                    found = parts[x["of"]][1] * net.amps(parts[x["of"]][0])
                want, tolerance = float(x["value"]), max(float(row["tolerance_rel"]), 1e-9)
                self.assertLessEqual(abs(found - want), tolerance * abs(want), (row["network"], x["of"]))

    def test_random_networks_against_fractions(self):
        for seed in range(12):
            rng = random.Random(seed)
            n, elements, net = rng.randrange(3, 26), [], Net()
            for node in range(1, n):
                elements.append(("resistor", node, rng.randrange(node), 10 ** rng.uniform(-3, 3)))
            for _ in range(n):
                a, b = rng.sample(range(n), 2)
                elements.append(("resistor", a, b, 10 ** rng.uniform(-3, 3)))
            for _ in range(3):
                a, b = rng.sample(range(n), 2)
                elements.append(("source", a, b, rng.uniform(1, 20), 10 ** rng.uniform(-3, 1)))
            for kind, a, b, *f in elements:
                figures = f'emf_V="{f[0]!r}" ohm="{f[1]!r}"' if kind == "source" else f'ohm="{f[0]!r}"'
                net.add(kind, figures, a, b)
            net.solve()
            want = exact(n, elements)
            scale = max(map(abs, want))
            for node in range(n):
                self.assertLessEqual(abs(net.volts(node, 0) - want[node]), 1e-9 * scale, seed)

    def test_what_floats_is_empty(self):
        net = Net()
        net.add("source", 'emf_V="12"', "a", "0")
        net.add("resistor", 'ohm="3"', "a", "0")
        lone = net.add("resistor", 'ohm="7"', "p", "q")
        net.solve()
        self.assertEqual(net.rows[lone, "a"]["potential_V"], "")
        self.assertEqual(float(net.rows[lone, "a"]["current_A"]), 0)

    def test_without_an_answer(self):
        for figures in (('emf_V="12"', 'emf_V="9"'), ('emf_V="12"', 'emf_V="12"')):
            net = Net()
            for f in figures:
                net.add("source", f, "a", "0")
            net.add("resistor", 'ohm="1"', "a", "0")
            net.solve(status=2)
            self.assertEqual(net.rows, {})
            self.assertEqual(net.why.count("\n"), 1)

    def test_both_sides_of_the_greatest_power(self):
        """E = 12 V, r = 1 ohm: V = 6 + sqrt(36 - P) up to 36 W, nothing beyond."""
        for watt, status in ((10, 0), (35.999, 0), (36.01, 2), (36.0001, 2)):
            net = Net()
            net.add("source", 'emf_V="12" ohm="1"', "a", "0")
            net.add("power", f'power_W="{watt}"', "a", "0")
            net.solve(status)
            if status == 0:
                self.assertAlmostEqual(net.volts("a", "0"), 6 + (36 - watt) ** 0.5, 6)
            else:
                asks, gives = map(float, re.search(r"asks for (\S+) W.*more than (\S+) W", net.why).groups())
                self.assertEqual(asks, watt)
                self.assertAlmostEqual(gives, 36, delta=36e-4)


if __name__ == "__main__":
    unittest.main()
