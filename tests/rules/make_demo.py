#!/usr/bin/python3
"""Makes data/demo anew from the scripts in tests/files/robots:  make_demo.py BUILD/src/loom

The same calls that a person would type: new, then each line of the script, then tidy."""
import pathlib
import shlex
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMOS = {"sandpiper": "Sandpiper", "find-the-mistakes": "Find the mistakes"}


def main(loom):
    for name, title in DEMOS.items():
        out = ROOT / "data" / "demo" / f"{name}.loom"
        out.unlink(missing_ok=True)
        script = (ROOT / "tests" / "files" / "robots" / f"{name}.txt").read_text()
        lines = [shlex.split(line, comments=True) for line in script.splitlines()]
        for words in [["new", "--name", title], *filter(None, lines), ["tidy"]]:
            subprocess.run([loom, words[0], out, *words[1:]], check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    main(*sys.argv[1:])
