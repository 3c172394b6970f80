#!/usr/bin/python3
"""The command from outside: files, exit statuses, CSV as a general-purpose reader sees it."""
import csv
import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

LOOM = os.path.abspath(sys.argv.pop(1))
ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "demo"
COLUMNS = {
    "check": "severity,rule,where,message,remedy",
    "parts": "count,kind,description,designations,length_mm,have,short,price",
    "ports": "controller,module,type,channel,end,device_type,part,name,settings",
    "kinds": "kind,letter,name,ends",
}


def loom(*words, cwd=None, status=0):
    done = subprocess.run([LOOM, *map(str, words)], cwd=cwd, capture_output=True, timeout=120,
                          env={**os.environ, "XDG_DATA_HOME": "/nonexistent"})
    if status is not None and done.returncode != status:
        raise AssertionError(f"loom {words}: {done.returncode}, not {status}: {done.stderr.decode()}")
    return done


def rows(output):
    """RFC 4180: CRLF, a header, the same number of fields in every record."""
    text = output.decode("utf-8")
    assert text.endswith("\r\n") and "\n" not in text.replace("\r\n", ""), "line ends"
    records = list(csv.reader(text.splitlines(keepends=True), strict=True))
    assert len({len(r) for r in records}) == 1, "fields"
    return [dict(zip(records[0], r)) for r in records[1:]], ",".join(records[0])


class Folder(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.path = pathlib.Path(self.folder.name) / "r.loom"

    def tearDown(self):
        self.folder.cleanup()

    def kind(self, *words):
        found, _ = rows(loom("kinds", "--csv", *words).stdout)
        return found[0]["kind"]


class Building(Folder):
    def test_a_chain_is_built_and_read_back(self):
        loom("new", self.path, "--name", "Chain")
        pack = self.kind("pack-nimh-12v-3ah")
        self.assertEqual(loom("add", self.path, pack, "--at", "20,20").stdout, b"G1\n")
        before = self.path.read_bytes()
        failed = loom("add", self.path, "no-such-kind", status=3)
        self.assertIn(b"no kind no-such-kind", failed.stderr)
        self.assertEqual(self.path.read_bytes(), before)
        loom("set", self.path, "G1", "label=Main pack", "x_mm=40")
        self.assertIn('label="Main pack"', self.path.read_text())
        loom("remove", self.path, "G1")
        self.assertNotIn("<part", self.path.read_text())

    def test_new_does_not_overwrite(self):
        loom("new", self.path)
        before = self.path.read_bytes()
        loom("new", self.path, status=3)
        self.assertEqual(self.path.read_bytes(), before)

    def test_what_does_not_mate_is_refused_unless_wished(self):
        loom("new", self.path)
        pack = self.kind("pack-nimh-12v-3ah")
        loom("add", self.path, pack)
        loom("add", self.path, pack)
        failed = loom("plug", self.path, "G1:out", "G2:out", status=3)
        self.assertIn(b"do not mate", failed.stderr)
        loom("plug", self.path, "G1:out", "G2:out", "--anyway")
        self.assertEqual(loom("check", self.path, "--csv", status=2).returncode, 2)

    def test_scenes_and_states(self):
        loom("new", self.path)
        loom("add", self.path, "scene:charging")
        loom("add", self.path, "state:charging/slow")
        loom("add", self.path, "state:charging/slow", status=3)
        loom("add", self.path, "state:nowhere/slow", status=3)
        loom("remove", self.path, "state:charging/slow", "scene:charging")
        loom("remove", self.path, "scene:driving", status=3)

    def test_sandpiper_from_nothing_by_calls_alone(self):
        script = ROOT / "tests" / "files" / "robots" / "sandpiper.txt"
        loom("new", self.path, "--name", "Sandpiper")
        for line in script.read_text().splitlines():
            words = shlex.split(line, comments=True)
            if words:
                loom(words[0], self.path, *words[1:])
        # Everything but the places on the sheet, which both get from the same tidying.
        shipped = pathlib.Path(self.folder.name) / "shipped.loom"
        shipped.write_bytes((DEMO / "sandpiper.loom").read_bytes())
        loom("tidy", self.path)
        loom("tidy", shipped)
        self.assertEqual(self.path.read_bytes(), shipped.read_bytes())


class Reading(Folder):
    def test_csv_columns_are_a_contract(self):
        robot = DEMO / "sandpiper.loom"
        for command, columns in COLUMNS.items():
            words = [] if command == "kinds" else [robot]
            found, header = rows(loom(command, *words, "--csv").stdout)
            self.assertEqual(header, columns)
            self.assertTrue(found or command == "check")

    def test_the_port_map_is_what_is_wired(self):
        found, _ = rows(loom("ports", DEMO / "sandpiper.loom", "--csv").stdout)
        motors = [r for r in found if r["type"] == "motor"]
        self.assertEqual([r["channel"] for r in motors], ["1", "2", "3"])
        self.assertTrue(all(re.fullmatch(r"[a-z_][a-z0-9_]*", r["name"]) for r in motors))
        everything, _ = rows(loom("ports", DEMO / "sandpiper.loom", "--csv", "--all").stdout)
        self.assertGreater(len(everything), len(found))

    def test_the_demo_is_quiet_and_the_teaching_file_is_not(self):
        found, _ = rows(loom("check", DEMO / "sandpiper.loom", "--csv").stdout)
        self.assertTrue(all(r["severity"] == "note" for r in found), found)
        found, _ = rows(loom("check", DEMO / "find-the-mistakes.loom", "--csv", status=2).stdout)
        self.assertGreaterEqual(sum(r["severity"] != "note" for r in found), 12)

    def test_parts_are_counted_once(self):
        found, _ = rows(loom("parts", DEMO / "sandpiper.loom", "--csv").stdout)
        text = (DEMO / "sandpiper.loom").read_text()
        placed = set(re.findall(r'<part designation="([A-Z]+[0-9]+)"', text))
        listed = [d for r in found for d in r["designations"].split(", ")]
        self.assertEqual(set(listed), placed)
        for row in found:
            self.assertEqual(int(row["count"]), len(row["designations"].split(", ")))


class Documents(Folder):
    """What the pages in docs/ tell people to type does what they say."""

    def shell(self, text):
        env = {**os.environ, "PATH": f"{os.path.dirname(os.path.abspath(LOOM))}:{os.environ['PATH']}",
               "XDG_DATA_HOME": "/nonexistent"}
        done = subprocess.run(["sh", "-e"], input=text, cwd=self.folder.name, env=env,
                              capture_output=True, text=True, timeout=300)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout

    def test_the_tutorial_can_be_typed(self):
        page = (ROOT / "docs" / "tutorial.md").read_text()
        typed = "\n".join(re.findall(r"^    (.*)$", page.split("## With the command")[1], re.M))
        output = self.shell(typed)
        self.assertIn("Nothing speaks against powering this", output)
        self.assertIn("drive_left", output)
        self.assertTrue((pathlib.Path(self.folder.name) / "first.pdf").exists())

    def test_a_switch_is_drawn_as_the_state_has_it(self):
        out = pathlib.Path(self.folder.name) / "r.svg"
        for words, says in (((), "Main switch, off"), (("--readings", "--state", "pushing"), "Main switch, on")):
            loom("draw", DEMO / "sandpiper.loom", *words, "-o", out)
            self.assertIn(says, out.read_text())

    def test_readings_are_those_of_solve(self):
        """Every volt and ampere on the drawing is one that `solve` says, to its last place."""
        out = pathlib.Path(self.folder.name) / "r.svg"
        demo = DEMO / "sandpiper.loom"
        for state, charge in (("resting", 100), ("pushing", 40)):
            choice = ("--state", state, "--charge", charge)
            loom("draw", demo, "--readings", *choice, "-o", out)
            at = {}
            for row in rows(loom("solve", demo, *choice, "--csv").stdout)[0]:
                at.setdefault((row["part"], row["end"]), []).append(row)
            for group in ElementTree.parse(out).getroot().iter("{http://www.w3.org/2000/svg}g"):
                match = re.fullmatch("reading-([A-Z]+[0-9]+)-(.+)", group.get("id", ""))
                text = "".join(group.itertext()).strip()
                if not match or text == "off":
                    continue
                volts = [float(row["potential_V"]) for row in at[match[1], match[2]] if row["potential_V"]]
                pairs = {f"{abs(a - b):.2f}" for a in volts for b in volts}
                self.assertIn(text.split(" V")[0].lstrip("-"), pairs, group.get("id"))
            self.assertIn(f"State {state}, packs {charge} % charged.", out.read_text())

    def test_the_network_of_bare_elements(self):
        page = (ROOT / "docs" / "file-format.md").read_text()
        section = page.split("## Any network")[1]
        catalogue = re.search(r"```xml\n(.*?)```", section, re.S).group(1)
        (pathlib.Path(self.folder.name) / "bare.xml").write_text(catalogue)
        typed = "\n".join(re.findall(r"^    (.*)$", section.split("```")[2], re.M))
        found, header = rows("\r\n".join(l for l in self.shell(typed).splitlines() if "," in l)
                             .encode() + b"\r\n")
        self.assertEqual(header, "state,part,end,contact,potential_V,current_A")
        at = {(r["part"], r["end"]): r for r in found}
        # 12 V behind 0.5 ohm into 4 ohm and 12 ohm in parallel (3 ohm): 12 / 3.5 A, by Ohm's law.
        volts = float(at["R1", "a"]["potential_V"]) - float(at["R1", "b"]["potential_V"])
        self.assertAlmostEqual(volts, 12 * 3 / 3.5, places=6)
        self.assertAlmostEqual(float(at["R1", "a"]["current_A"]), 12 * 3 / 3.5 / 4, places=6)
        self.assertAlmostEqual(abs(float(at["G1", "a"]["current_A"])), 12 / 3.5, places=6)

    def test_fuses_and_shorts(self):
        demo = DEMO / "sandpiper.loom"
        found, header = rows(loom("fuses", demo, "--csv").stdout)
        self.assertEqual(header, "part,size_mm2,fuse,fuse_A,load_A,carries_A,short_A,opens_s,lives_s,"
                                 "fits,outlives,wanted_fuse_A,wanted_mm2")
        guarded = [r for r in found if r["fuse"]]
        self.assertTrue(guarded)
        for r in guarded:
            self.assertEqual(r["fits"], "yes" if float(r["fuse_A"]) <= float(r["carries_A"]) else "no", r)
            # I^2 t = k^2 S^2 with k = 115 for copper in PVC: IEC 60364-4-43
            lives = (115 * float(r["size_mm2"]) / float(r["short_A"])) ** 2
            self.assertAlmostEqual(float(r["lives_s"]) / lives, 1, places=6, msg=str(r))
        shorts, header = rows(loom("shorts", demo, "--csv").stdout)
        self.assertEqual(header, "part,end,short_A")
        amps = {(r["part"], r["end"]): float(r["short_A"]) for r in shorts}
        chain = [("G1", "out"), ("F1", "in"), ("F1", "out"), ("W1", "a"), ("W1", "b"), ("Q1", "in")]
        self.assertEqual(sorted((amps[c] for c in chain), reverse=True), [amps[c] for c in chain])
        self.assertIn(b"G1:out", loom("shorts", demo).stdout)
        self.assertIn("suits", loom("fuses", demo).stdout.decode())

    def test_a_file_may_leave_its_kinds_to_the_catalogue(self):
        folder = pathlib.Path(self.folder.name)
        page = (ROOT / "docs" / "file-format.md").read_text().split("## Any network")[1]
        bare = folder / "bare.xml"
        bare.write_text(re.search(r"```xml\n(.*?)```", page, re.S).group(1))
        self.path.write_text(
            '<design xmlns="urn:loombook:design:1" version="1.0"><title name="n"/>'
            '<scene name="s"><state name="on"/></scene>'
            '<part designation="G1" kind="source-12"/><part designation="R1" kind="resistor-4"/>'
            '<part designation="X1" kind="node"/><part designation="X2" kind="node"/>'
            '<joint a="G1:a" b="X1:p"/><joint a="R1:a" b="X1:p"/>'
            '<joint a="G1:b" b="X2:p"/><joint a="R1:b" b="X2:p"/></design>')
        self.assertIn(b"source-12", loom("solve", self.path, "--csv", status=3).stderr)
        found, _ = rows(loom("solve", self.path, "--csv", "--catalogue", bare).stdout)
        amps = [float(r["current_A"]) for r in found if (r["part"], r["end"]) == ("R1", "a")]
        self.assertAlmostEqual(amps[0], 12 / 4.5, places=9)  # Ohm's law
        loom("set", self.path, "design", "name=whole", "--catalogue", bare)
        loom("check", self.path, status=None)
        self.assertIn("resistor-4", self.path.read_text().split("<catalogue")[1])
        loom("solve", self.path)  # it carries them now

    def test_a_file_may_name_kinds_of_the_built_in_catalogue(self):
        self.path.write_text(
            '<design xmlns="urn:loombook:design:1" version="1.0"><title name="n"/>'
            '<scene name="s"/><part designation="G1" kind="pack-nimh-12v-3ah"/></design>')
        found, _ = rows(loom("parts", self.path, "--csv").stdout)
        self.assertEqual(found[0]["kind"], "pack-nimh-12v-3ah")


class Hostile(Folder):
    def bad(self, content, says, name="bad.loom"):
        path = pathlib.Path(self.folder.name) / name
        path.write_bytes(content)
        for command in (["check"], ["parts"], ["ports"], ["draw", "-o", "out.svg"], ["tidy"],
                        ["set", "design", "name=x"]):
            words = [command[0], path, *command[1:]]
            done = loom(*words, cwd=self.folder.name, status=3)
            message = done.stderr.decode()
            self.assertRegex(message, rf"^loom: {re.escape(str(path))}:\d+: .*{says}.*\n$")
            self.assertEqual(message.count("\n"), 1)
            self.assertEqual(done.stdout, b"")
            self.assertEqual(path.read_bytes(), content)
        self.assertEqual(sorted(p.name for p in pathlib.Path(self.folder.name).iterdir()), [name])

    def test_files_that_are_none(self):
        good = (DEMO / "sandpiper.loom").read_bytes()
        self.bad(b"", "empty")
        self.bad(b"just words", "not well-formed")
        self.bad(good[: len(good) // 2], "not well-formed")
        self.bad(bytes(range(256)), "UTF-8")
        self.bad(good.replace(b'version="1.0"', b'version="2.0"', 2), "version")
        self.bad(b'<!DOCTYPE a [<!ENTITY a "aaaaaaaa">]>' + good, "refused")
        self.bad(b'<!DOCTYPE a SYSTEM "file:///etc/passwd">' + good, "refused")
        self.bad(good.replace(b'x_mm="', b'x_mm="NaN', 1), "not a number")
        self.bad(good.replace(b'x_mm="', b'x_mm="1e308', 1), "not (between|a number)")

    def test_a_hundred_megabytes(self):
        path = pathlib.Path(self.folder.name) / "big.loom"
        with path.open("wb") as f:
            f.truncate(100 << 20)
        done = loom("check", path, status=3)
        self.assertIn(b"larger than", done.stderr)

    def test_files_that_are_not_there(self):
        for path in ("/nonexistent/x.loom", "/tmp", "/dev/zero"):
            self.assertEqual(loom("check", path, status=3).stderr.count(b"\n"), 1)

    def test_a_folder_that_cannot_be_written(self):
        robot = DEMO / "sandpiper.loom"
        loom("draw", robot, "-o", "/nonexistent/x.svg", status=3)
        loom("draw", robot, "-o", self.path.with_suffix(".xyz"), status=3)
        self.assertEqual(list(pathlib.Path(self.folder.name).iterdir()), [])

    def test_a_full_device(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([LOOM, "kinds"], stdout=full, stderr=subprocess.PIPE)
        self.assertEqual(done.returncode, 3)


class Calls(unittest.TestCase):
    def test_wrong_calls_are_64(self):
        for words in ([], ["fly"], ["check"], ["check", "a", "b"], ["check", "--flag", "x"],
                      ["check", "x", "--at", "1,2"], ["draw", DEMO / "sandpiper.loom"], ["set", "x", "y"]):
            done = loom(*words, status=64)
            self.assertTrue(done.stderr)

    def test_help_and_version(self):
        self.assertIn(b"loom check FILE", loom("--help").stdout)
        for words in (["help", "draw"], ["draw", "--help"], ["draw", "x", "--help"]):
            said = loom(*words).stdout.decode()
            self.assertIn("loom draw FILE", said)
            self.assertIn("--scene NAME", said)
            self.assertNotIn("--margins", said)
        loom("help", "fly", status=64)
        self.assertRegex(loom("--version").stdout, rb"^loom \d+\.\d+\.\d+\n$")


if __name__ == "__main__":
    unittest.main(verbosity=1)
