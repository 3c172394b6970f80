#!/usr/bin/python3
"""`loom faults` from outside: what was seen goes in, suspects and the next test come out."""
import csv
import os
import pathlib
import re
import subprocess
import sys
import unittest

LOOM = os.path.abspath(sys.argv.pop(1))
SANDPIPER = pathlib.Path(__file__).resolve().parents[2] / "data" / "demo" / "sandpiper.loom"
COLUMNS = ["rank", "suspect", "fault", "likelihood", "next_test", "expected_if_so",
           "expected_if_not"]


def run(*words):
    return subprocess.run([LOOM, "faults", *map(str, words)], capture_output=True, timeout=120,
                          text=True, env={**os.environ, "XDG_DATA_HOME": "/nonexistent"})


def rows(*words):
    done = run(SANDPIPER, "--csv", *words)
    assert done.returncode == 0, done.stderr
    found = list(csv.DictReader(done.stdout.splitlines(keepends=True), strict=True))
    assert found and list(found[0]) == COLUMNS
    return found


def said(*words):
    done = run(SANDPIPER, *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


class Faults(unittest.TestCase):
    def refused(self, status, sentence, *words):
        done = run(*words)
        self.assertEqual((done.returncode, done.stdout, done.stderr), (status, "", f"loom: {sentence}\n"))

    def test_csv_has_the_agreed_columns_and_adds_up(self):
        found = rows("--dead", "K1")
        ranks = [int(r["rank"]) for r in found]
        self.assertEqual(ranks, sorted(ranks))
        by_rank = {r["rank"]: float(r["likelihood"]) for r in found}
        self.assertAlmostEqual(sum(by_rank.values()), 1, places=2)
        likelihoods = list(by_rank.values())
        self.assertEqual(likelihoods, sorted(likelihoods, reverse=True))
        self.assertEqual({r["next_test"] for r in found}, {"position of Q1 (Main switch)"})
        off = next(r for r in found if r["fault"] == "Q1 (Main switch) is off.")
        self.assertEqual((off["suspect"], off["expected_if_so"], off["expected_if_not"]),
                         ("Q1", "off", "on"))

    def test_only_the_supply_can_keep_the_controller_dark(self):
        suspects = " ".join(r["suspect"] for r in rows("--dead", "K1"))
        for name in ("G1", "F1", "Q1", "W1", "W2", "W3"):
            self.assertIn(name, suspects)
        for name in ("M1", "M4", "B1", "S1"):
            self.assertNotIn(name, suspects)

    def test_a_reading_halves_the_supply(self):
        whole = rows("--dead", "K1")
        before = rows("--dead", "K1", "--volts", "Q1:out=0")
        behind = rows("--dead", "K1", "--volts", "Q1:out=12.1")
        self.assertLess(len(before), len(whole))
        self.assertLess(len(behind), len(whole))
        self.assertIn("F1", {r["suspect"] for r in before})
        self.assertNotIn("F1", {r["suspect"] for r in behind})
        self.assertIn("W3:b and K1:power", {r["suspect"] for r in behind})
        self.assertFalse({r["fault"] for r in before} & {r["fault"] for r in behind})

    def test_motors(self):
        self.assertIn("The plugs at K1:motor-1 and K1:motor-2 have changed places.",
                      said("--instead", "M1=M2"))
        self.assertIn("M2 (Drive right) runs backwards", said("--backwards", "M2"))
        wrong = {r["fault"].split(":")[0] for r in rows("--wrong", "M2")}
        self.assertIn("M2 (Drive right) runs backwards", wrong)
        dead = rows("--works", "K1", "--dead", "M1")
        self.assertTrue(all(re.search("M1|K1:motor-1", r["fault"]) for r in dead), dead)
        self.assertIn("The port K1:motor-1 (Controller) is dead: its driver is burnt out, the rest of K1 lives. "
                      "Use another port like it, and name that one in the program.", {r["fault"] for r in dead})
        looked = said("--works", "K1", "--dead", "M1", "--found", "look-K1:motor-1=a",
                      "--found", "encoder-M1=a")
        self.assertIn("Pull the plug out of K1:motor-1 and push it into K1:motor-", looked)
        self.assertIn("--found port-M1=", looked)

    def test_servos_and_sensors(self):
        self.assertTrue(all(re.search("M4|servo-1", r["fault"]) for r in rows("--works", "K1", "--works",
                                                                            "M5", "--dead", "M4")))
        faults = " ".join(r["fault"] for r in rows("--works", "K1", "--dead", "B2"))
        self.assertIn("W9", faults)

    def test_restarting_under_load(self):
        first = rows("--resets")[0]
        self.assertEqual(first["fault"], "G1 (Robot pack) is nearly empty: it wants charging.")
        self.assertNotIn("touch badly", " ".join(r["fault"] for r in rows("--dead", "K1", "--steady")))

    def test_following_the_tests_leads_to_the_fault(self):
        """Plays a blown fuse: every answer is what a blown fuse shows."""
        shows = {"switch-Q1": "a", "fuse-F1": "b"}
        words = ["--dead", "K1"]
        for _ in range(12):
            text = said(*words)
            key = re.search(r"--cannot-tell (\S+)\.\n$", text)
            if not key:
                break
            key = key.group(1)
            if key.startswith("volts-"):
                behind = key != "volts-G1:out"
                words += ["--volts", f"{key[6:]}={0 if behind else 12.2}"]
            else:
                words += ["--found", f"{key}={shows.get(key, 'a')}"]
        self.assertIn("There is nothing more to test: The fuse in F1 (Main fuse) is blown.", text)

    def test_cannot_tell_leads_to_another_test(self):
        before = rows("--dead", "K1")
        after = rows("--dead", "K1", "--cannot-tell", "switch-Q1")
        self.assertNotEqual(after[0]["next_test"], before[0]["next_test"])
        self.assertEqual({r["fault"] for r in after}, {r["fault"] for r in before})

    def test_what_no_single_fault_explains_is_said(self):
        text = said("--dead", "M1", "--dead", "M4", "--works", "K1")
        self.assertIn("No single fault explains all of this: 1 answer does not fit.", text)

    def test_nothing_amiss(self):
        self.assertTrue(said("--works", "K1").startswith("Nothing that was told is amiss"))

    def test_wrong_arguments(self):
        self.refused(3, "There is no part X9.", SANDPIPER, "--dead", "X9")
        self.refused(3, "W1 does nothing that one could see or hear in this scene.", SANDPIPER,
                     "--dead", "W1")
        self.refused(3, "K1 is lit or dark; it does not turn.", SANDPIPER, "--wrong", "K1")
        self.refused(3, "No volts are read at W2:a; of that joint they are read at Q1:out, with the "
                        "two apart.", SANDPIPER, "--volts", "W2:a=0")
        self.refused(3, "A reading is written as END=VOLTS, as in W2:b=12.1, not W2:b.", SANDPIPER,
                     "--volts", "W2:b")
        self.refused(3, "M4 cannot answer in the place of M1.", SANDPIPER, "--instead", "M1=M4")
        self.refused(3, "What moves instead is written as M2=M1, where M2 was told to move and M1 "
                        "did, not M1.", SANDPIPER, "--instead", "M1")
        self.refused(3, "There is no test fuse-F9; each test is printed with its key.", SANDPIPER,
                     "--found", "fuse-F9=a")
        self.refused(3, "The answer to fuse-F1 is one letter from a to b, as in fuse-F1=a.",
                     SANDPIPER, "--found", "fuse-F1=c")
        self.refused(3, "There are two different answers about what M1 (Drive left) does.", SANDPIPER,
                     "--dead", "M1", "--works", "M1")
        self.refused(64, "Either --resets or --steady: it cannot do both.", SANDPIPER, "--resets",
                     "--steady")
        self.assertEqual(run().returncode, 64)
        self.assertEqual(run(SANDPIPER, "--dead").returncode, 64)
        self.assertEqual(run("/nonexistent.loom", "--dead", "K1").returncode, 3)
        self.refused(3, "There is no scene sailing.", SANDPIPER, "--scene", "sailing")


if __name__ == "__main__":
    unittest.main()
