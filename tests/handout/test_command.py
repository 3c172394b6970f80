#!/usr/bin/python3
"""Book, labels, steps and meter from outside: files, exit statuses, CSV, language."""
import csv
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

LOOM = os.path.abspath(sys.argv.pop(1))
ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "demo" / "sandpiper.loom"
TRANSLATIONS = ROOT / "data" / "translations"
COLUMNS = {
    "steps": "step,stage,from,to,sentence",
    "meter": "step,when,red_probe,black_probe,quantity,expected,low,high,unit",
    "labels": "part,end,to,other_end,detail",
}


def loom(*words, status=0, **environment):
    clean = {**os.environ, "XDG_DATA_HOME": "/nonexistent", "LC_ALL": "C.UTF-8", "LANGUAGE": "en"}
    done = subprocess.run([LOOM, *map(str, words)], capture_output=True, timeout=120,
                          env={**clean, **environment})
    if done.returncode != status:
        raise AssertionError(f"loom {words}: {done.returncode}, not {status}: {done.stderr.decode()}")
    return done


def text_of(pdf, *options):
    done = subprocess.run(["pdftotext", *options, str(pdf), "-"], capture_output=True, check=True)
    return re.sub(r"\s+", " ", done.stdout.decode())


def info_of(pdf):
    done = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, check=True)
    return dict(re.split(r":\s*", line, maxsplit=1) for line in done.stdout.decode().splitlines())


class Handout(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.pdf = pathlib.Path(self.folder.name) / "book.pdf"

    def tearDown(self):
        self.folder.cleanup()

    def test_a_book_is_written(self):
        loom("handout", DEMO, "-o", self.pdf, "--paper", "letter")
        info = info_of(self.pdf)
        self.assertEqual(info["Title"], "Sandpiper: the book for the build day")
        self.assertIn("letter", info["Page size"])
        self.assertIn("Before you touch anything", text_of(self.pdf))

    def test_the_same_design_gives_the_same_bytes(self):
        books = []
        for _ in range(2):
            loom("handout", DEMO, "-o", self.pdf, "--pages", "cover,steps,charging")
            books.append(self.pdf.read_bytes())
        self.assertEqual(books[0], books[1])

    def test_pages_and_day_can_be_chosen(self):
        loom("handout", DEMO, "-o", self.pdf, "--pages", "charging", "--day", "2,13:15,20")
        text = text_of(self.pdf)
        self.assertIn("13:35 Outing 2", text)
        self.assertNotIn("Outing 3", text)
        self.assertNotIn("Kit check", text)

    def test_wrong_calls_are_told(self):
        for words in (["handout", DEMO], ["handout", DEMO, "-o", self.pdf, "--paper", "a3"],
                      ["handout", DEMO, "-o", self.pdf, "--pages", "poem"],
                      ["handout", DEMO, "-o", self.pdf, "--day", "soon"],
                      ["labels", DEMO, "-o", self.pdf, "--size", "1x1"],
                      ["labels", DEMO, "-o", self.pdf, "--skip", "-1"]):
            message = loom(*words, status=64).stderr.decode()
            self.assertRegex(message, r"^loom: [^\n]+\.\n$")
            self.assertFalse(self.pdf.exists())

    def test_failures_leave_no_file(self):
        bad = pathlib.Path(self.folder.name) / "bad.loom"
        bad.write_text("<design")
        for what in ("handout", "labels"):
            message = loom(what, bad, "-o", self.pdf, status=3).stderr.decode()
            self.assertRegex(message, r"bad\.loom:\d+: ")
            loom(what, DEMO, "-o", pathlib.Path(self.folder.name) / "no" / "x.pdf", status=3)
        self.assertEqual(os.listdir(self.folder.name), ["bad.loom"])

    def test_csv_keeps_its_columns(self):
        for what, columns in COLUMNS.items():
            output = loom(what, DEMO, "--csv").stdout.decode()
            records = list(csv.reader(output.splitlines(keepends=True), strict=True))
            self.assertEqual(",".join(records[0]), columns)
            self.assertGreater(len(records), 5)
            self.assertEqual({len(r) for r in records}, {len(records[0])})

    def test_steps_and_meter_print_for_people(self):
        self.assertIn("Stage B: ", loom("steps", DEMO).stdout.decode())
        meter = loom("meter", DEMO).stdout.decode()
        self.assertIn("The meter cannot see:", meter)
        self.assertIn("red probe on G1:out:+", meter)

    def test_labels_are_printed(self):
        loom("labels", DEMO, "-o", self.pdf, "--size", "70x37", "--skip", "2")
        self.assertIn("W3:b to K1:power", text_of(self.pdf))
        self.assertIn("A4", info_of(self.pdf)["Page size"])


def words_in(catalogue):
    return set(re.findall(r'^msgid (.*?)^msgstr', catalogue, re.S | re.M)) - {'""\n'}


def words_of(files, *options):
    done = subprocess.run(["xgettext", *options, "--from-code=UTF-8", "--no-wrap", "-o", "-", *files],
                          cwd=ROOT, capture_output=True, check=True,
                          env={**os.environ, "GETTEXTDATADIRS": str(TRANSLATIONS)})
    return words_in(done.stdout.decode())


def words_of_sources():
    return words_of([*sorted((ROOT / "src").rglob("*.[ch]")), TRANSLATIONS / "other-words.h"],
                    "--language=C", "-k_", "-kN_", "-kngettext:1,2", "-kC_:1c,2", "-kNC_:1c,2")


class Language(unittest.TestCase):
    def test_the_book_speaks_german(self):
        with tempfile.TemporaryDirectory() as folder:
            pdf = pathlib.Path(folder) / "book.pdf"
            loom("handout", DEMO, "-o", pdf, LANGUAGE="de")
            text = text_of(pdf)
        for words in ("Das Heft für den Bautag", "Bevor du etwas anfasst", "Abschnitt B: Die Versorgung allein",
                      "Das sieht das Messgerät nicht"):
            self.assertIn(words, text)

    def test_translations_compile(self):
        for language in (TRANSLATIONS / "LINGUAS").read_text().split():
            subprocess.run(["msgfmt", "-c", "-o", os.devnull, TRANSLATIONS / f"{language}.po"],
                           capture_output=True, check=True)

    def test_every_word_is_translated(self):
        asked = words_of_sources() | words_of(sorted((ROOT / "data" / "catalogue").glob("*.xml")))
        self.assertGreater(len(asked), 2000)
        self.assertEqual(asked - words_in((TRANSLATIONS / "loombook.pot").read_text()), set(),
                         "ninja loombook-pot loombook-update-po takes them up")
        for language in (TRANSLATIONS / "LINGUAS").read_text().split():
            for lack in ("--untranslated", "--only-fuzzy"):
                done = subprocess.run(["msgattrib", lack, "--no-obsolete", "--no-wrap",
                                       TRANSLATIONS / f"{language}.po"], capture_output=True,
                                      check=True)
                self.assertEqual(words_in(done.stdout.decode()), set())
            done = subprocess.run(["msgattrib", "--translated", "--no-fuzzy", "--no-wrap",
                                   TRANSLATIONS / f"{language}.po"], capture_output=True, check=True)
            self.assertEqual(asked - words_in(done.stdout.decode()), set())

    def test_every_source_with_words_is_listed(self):
        listed = (TRANSLATIONS / "POTFILES").read_text().split()
        for source in [*(ROOT / "src").rglob("*.[ch]"), *(ROOT / "ui").glob("*.ui")]:
            if re.search(r'\b(?:N?_|ngettext|N?C_)\(\s*"|translatable="yes"', source.read_text()):
                self.assertIn(str(source.relative_to(ROOT)), listed)
        for catalogue in (ROOT / "data" / "catalogue").glob("*.xml"):
            self.assertIn(str(catalogue.relative_to(ROOT)), listed)
        self.assertEqual([name for name in listed if not (ROOT / name).exists()], [])


if __name__ == "__main__":
    unittest.main(verbosity=1)
