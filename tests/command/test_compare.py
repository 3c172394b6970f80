#!/usr/bin/python3
"""`loom compare` from outside: exit statuses, columns, sentences, nothing written."""
import csv
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

LOOM = os.path.abspath(sys.argv.pop(1))
DEMO = pathlib.Path(__file__).resolve().parents[2] / "data" / "demo"


def loom(*words, status=0):
    done = subprocess.run([LOOM, *map(str, words)], capture_output=True, timeout=120,
                          env={**os.environ, "XDG_DATA_HOME": "/nonexistent"})
    if done.returncode != status:
        raise AssertionError(f"loom {words}: {done.returncode}, not {status}: {done.stderr.decode()}")
    return done.stdout.decode("utf-8")


class Comparing(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.old = DEMO / "sandpiper.loom"
        self.new = pathlib.Path(self.folder.name) / "new.loom"
        self.new.write_bytes(self.old.read_bytes())

    def tearDown(self):
        self.folder.cleanup()

    def test_the_same_file_does_not_differ(self):
        self.assertEqual(loom("compare", self.old, self.new), "Nothing differs.\n")
        self.assertEqual(loom("compare", "--csv", self.old, self.new),
                         "change,where,old,new,sentence\r\n")

    def test_every_change_is_a_row_and_a_line(self):
        loom("set", self.new, "W3", "length_mm=450")
        loom("unplug", self.new, "M1:poles")
        loom("unplug", self.new, "M2:poles")
        loom("plug", self.new, "K1:motor-1", "M2:poles")
        loom("plug", self.new, "K1:motor-2", "M1:poles")
        before = self.new.read_bytes()
        text = loom("compare", "--csv", self.old, self.new, status=1)
        self.assertTrue(text.endswith("\r\n"))
        rows = list(csv.DictReader(text.splitlines(keepends=True), strict=True))
        self.assertEqual(list(rows[0]), ["change", "where", "old", "new", "sentence"])
        drawn = [(r["change"], r["where"], r["old"], r["new"]) for r in rows
                 if r["change"] in ("replugged", "length")]
        self.assertEqual(drawn, [("replugged", "M1:poles", "K1:motor-1", "K1:motor-2"),
                                 ("replugged", "M2:poles", "K1:motor-2", "K1:motor-1"),
                                 ("length", "W3", "300 mm", "450 mm")])
        lines = loom("compare", self.old, self.new, status=1).splitlines()
        self.assertEqual(lines, [r["sentence"] for r in rows])
        self.assertEqual(self.new.read_bytes(), before)

    def test_a_finding_that_stops_comes_first(self):
        loom("remove", self.new, "F1")
        loom("plug", self.new, "G1:out", "W1:a", "--anyway")
        first = loom("compare", self.old, self.new, status=1).splitlines()[0]
        self.assertTrue(first.startswith("New finding (stop, G1:out): No fuse"), first)

    def test_both_revisions_on_one_drawing(self):
        loom("remove", self.new, "B2")
        loom("set", self.new, "W3", "length_mm=450")
        folder = pathlib.Path(self.folder.name)
        said = loom("compare", self.old, self.new, status=1)
        for name, begins in (("x.svg", b"<?xml"), ("x.pdf", b"%PDF"), ("x.png", b"\x89PNG")):
            self.assertEqual(loom("compare", self.old, self.new, "-o", folder / name, status=1), said)
            self.assertTrue((folder / name).read_bytes().startswith(begins), name)
        ids = {e.get("id") for e in ElementTree.parse(folder / "x.svg").iter()}
        self.assertIn("gone-part-B2", ids)
        self.assertIn("changed-part-W3", ids)
        self.assertFalse([i for i in ids if i and i.startswith("new-")])
        loom("compare", self.old, self.new, "-o", folder / "x.txt", status=3)
        self.assertFalse((folder / "x.txt").exists())
        loom("compare", self.old, self.new, "-o", folder / "y.svg", "--scene", "nowhere", status=3)

    def test_wrong_calls_and_files(self):
        loom("compare", self.old, status=64)
        loom("compare", self.old, self.new, self.new, status=64)
        loom("compare", self.old, "/nonexistent.loom", status=3)
        self.new.write_text("no design")
        loom("compare", self.old, self.new, status=3)


if __name__ == "__main__":
    unittest.main()
