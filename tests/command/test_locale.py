#!/usr/bin/python3
"""Where people write a decimal comma: they read it, programs and files never do. The locales are made
here from the descriptions that glibc brings (localedef, package locales), so nothing is skipped."""
import csv
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
from xml.etree import ElementTree

LOOM = os.path.abspath(sys.argv.pop(1))
ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "demo" / "sandpiper.loom"
TABLES = (["check"], ["solve"], ["solve", "--margins"], ["fuses"], ["shorts"], ["outing"], ["parts"],
          ["ports", "--all"], ["labels"], ["steps"], ["meter"], ["kinds"], ["faults", "--dead", "K1"])
EDITS = (  # every place is given: free ones are looked for around the words of the drawing
    ["new", "FILE"], ["add", "FILE", "pack-nimh-12v-3ah", "--at", "12.5,40.25"],
    ["add", "FILE", "fuse-lead-7.5", "--at", "80.5,40"], ["add", "FILE", "extension-30-300", "--at", "140,40"],
    ["plug", "FILE", "G1:out", "F1:in"], ["plug", "FILE", "F1:out", "W1:a"],
    ["set", "FILE", "F1", "rated_A=7.5"], ["set", "FILE", "W1", "length_mm=312.5", "reach_mm=1234.5"],
    ["set", "FILE", "design", "ambient_C=22.5"])


def setUpModule():
    global LOCALES
    LOCALES = tempfile.TemporaryDirectory()
    for name in ("de_DE", "en_US", "en_GB"):
        subprocess.run(["localedef", "-i", name, "-f", "UTF-8", f"{LOCALES.name}/{name}.UTF-8"], check=True)


def tearDownModule():
    LOCALES.cleanup()


def run(*words, locale="de_DE.UTF-8", language="", data="/nonexistent", statuses=(0,)):
    environment = {**os.environ, "LOCPATH": LOCALES.name, "LC_ALL": locale, "LANGUAGE": language,
                   "XDG_DATA_HOME": str(data)}
    done = subprocess.run([LOOM, *map(str, words)], capture_output=True, timeout=120, env=environment)
    if done.returncode not in statuses:
        raise AssertionError(f"loom {words}: {done.returncode}: {done.stderr.decode()}")
    return done.stdout


class Folder(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.path = pathlib.Path(self.folder.name)

    def tearDown(self):
        self.folder.cleanup()


class People(Folder):
    def test_numbers_have_a_comma(self):
        self.assertRegex(run("solve", DEMO).decode(), r"\d,\d\d\d V")
        self.assertRegex(run("solve", DEMO, locale="en_GB.UTF-8").decode(), r"\d\.\d\d\d V")
        run("draw", DEMO, "-o", self.path / "x.svg")
        self.assertIn("1,5 mm²", (self.path / "x.svg").read_text())

    def test_words_are_german(self):
        text = run("check", DEMO).decode()
        self.assertRegex(text, r"(?m)^Hinweis: ")
        self.assertIn("2 Hinweise", text)  # a plural
        self.assertIn("Akku 12 V 3 Ah", run("parts", DEMO).decode())  # of the catalogue
        run("draw", DEMO, "-o", self.path / "x.svg")
        self.assertIn("So liest man das", (self.path / "x.svg").read_text())

    def test_paper_is_the_usual_one(self):
        for locale, paper in (("de_DE", "A4"), ("en_GB", "A4"), ("en_US", "letter")):
            pdf = self.path / f"{locale}.pdf"
            run("handout", DEMO, "-o", pdf, "--pages", "cover", locale=f"{locale}.UTF-8")
            info = subprocess.run(["pdfinfo", pdf], capture_output=True, check=True).stdout.decode()
            self.assertIn(f"({paper})", info)


class Programs(Folder):
    def test_tables_are_the_same_bytes(self):
        for words in TABLES:
            call = [words[0], DEMO, *words[1:], "--csv"] if words[0] != "kinds" else ["kinds", "--csv"]
            self.assertEqual(run(*call, language="en"), run(*call, locale="C.UTF-8"), words)

    def test_columns_of_numbers_are_the_same_in_german(self):
        records = list(csv.DictReader(run("solve", DEMO, "--csv").decode().splitlines()))
        self.assertGreater(len(records), 50)
        for record in records:
            float(record["potential_V"] or 0)
            float(record["current_A"] or 0)

    def test_files_are_the_same_bytes(self):
        written = []
        for locale in ("C.UTF-8", "de_DE.UTF-8"):
            path = self.path / locale / "robot.loom"
            path.parent.mkdir()
            for words in EDITS:
                run(*(path if word == "FILE" else word for word in words), locale=locale)
            written.append(path.read_bytes())
        self.assertEqual(written[0], written[1])
        for number in (b'"7.5"', b'"312.5"', b'"1234.5"', b'"22.5"'):
            self.assertIn(number, written[1])

    def test_a_file_is_read_and_written_as_it_was(self):
        copies = [self.path / "a.loom", self.path / "b.loom"]
        for copy, locale in zip(copies, ("C.UTF-8", "de_DE.UTF-8")):
            copy.write_bytes(DEMO.read_bytes())
            run("set", copy, "design", "revision=9", locale=locale)
        self.assertEqual(copies[0].read_bytes(), copies[1].read_bytes())
        self.assertEqual(run("compare", *copies, "--csv").decode().splitlines(),
                         ["change,where,old,new,sentence"])

    def test_a_comma_is_no_number_for_a_program(self):
        path = self.path / "x.loom"
        path.write_bytes(DEMO.read_bytes())
        run("set", path, "W1", "length_mm=12,5", statuses=(3,))
        self.assertEqual(path.read_bytes(), DEMO.read_bytes())

    def test_differences_keep_their_values(self):
        other = self.path / "x.loom"
        other.write_bytes(DEMO.read_bytes())
        run("set", other, "W1", "length_mm=312.5")
        table = [list(csv.DictReader(run("compare", DEMO, other, "--csv", locale=locale, statuses=(0, 1))
                                     .decode().splitlines())) for locale in ("C.UTF-8", "de_DE.UTF-8")]
        plain, german = ([(r["change"], r["old"], r["new"]) for r in records] for records in table)
        self.assertIn("312.5 mm", [new for _, _, new in plain])
        self.assertEqual(plain, german)
        self.assertIn("312,5 mm", run("compare", DEMO, other, statuses=(0, 1)).decode())

    def test_a_stock_is_the_same_bytes(self):
        written = []
        for locale in ("C.UTF-8", "de_DE.UTF-8"):
            data = self.path / locale
            run("stock", "set", "fuse-blade-20", "3", "box", "2.25", locale=locale, data=data)
            written.append((data / "loombook" / "stock.csv").read_bytes())
        self.assertEqual(written[0], written[1])
        self.assertIn(b"2.25", written[1])
        self.assertIn("2,25", run("stock", data=data).decode())

    def test_a_drawing_has_numbers_with_points(self):
        run("draw", DEMO, "-o", self.path / "x.svg")
        n = 0
        for element in ElementTree.parse(self.path / "x.svg").iter():
            for key in ("x", "y", "width", "height", "stroke-width", "font-size"):
                if key in element.attrib:
                    float(re.sub("(mm|px|pt)$", "", element.attrib[key]))
                    n += 1
        self.assertGreater(n, 100)


if __name__ == "__main__":
    unittest.main()
