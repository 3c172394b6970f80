#!/usr/bin/python3
"""The house: a folder of src/ includes only folders above it; each library has its few doors."""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
ROOMS = ["catalogue", "design", "electric", "rules", "planning", "sheet", "handout", "command", "bench"]
# Which files may include a library's headers, by the start of the header's name.
DOORS = {
    "gtk/": lambda f: f.parts[0] == "bench" or f.name == "loombook.c",
    "gdk/": lambda f: f.parts[0] == "bench" or f.name == "loombook.c",
    "klu": lambda f: str(f) in KLU_FILES,
    "libxml/": lambda f: str(f) in ("catalogue/xml.c", "sheet/ink-svg.c"),
}
LONGEST_FILE = 1000
INCLUDE = re.compile(r'^\s*#\s*include\s+[<"]([^>"]+)[>"]')


def room_of(path):
    return path.parts[0] if path.parts[0] in ROOMS else None


def offences(source, text):
    """Sentences about one file; `source` is relative to src/."""
    room = room_of(source)
    for number, line in enumerate(text.splitlines(), 1):
        match = INCLUDE.match(line)
        if not match:
            continue
        name = match.group(1)
        target = name.split("/")[0]
        if room and "/" in name and target in ROOMS and ROOMS.index(target) > ROOMS.index(room):
            yield f"src/{source}:{number}: {room} stands above {target} and may not include {name}"
        if name.endswith("-private.h") and "/" in name and target in ROOMS:
            yield f"src/{source}:{number}: {name} never leaves its room"
        for start, allowed in DOORS.items():
            if name.startswith(start) and not allowed(source):
                yield f"src/{source}:{number}: <{name}> has its own door"
    if source.parts[0] == "bench" and room_of(source) == "bench" and "command/" in text:
        yield f"src/{source}: the window does not call the command"
    if text.count("\n") > LONGEST_FILE:
        yield f"src/{source}: longer than {LONGEST_FILE} lines"


sources = sorted((ROOT / "src").rglob("*.[ch]"))
KLU_FILES = sorted(
    str(p.relative_to(ROOT / "src")) for p in sources
    if p.parts[-2] == "electric" and re.search(r"#\s*include\s+<klu", p.read_text()))

# The check must be able to fail: it is tried on made-up files first.
probe = list(offences(pathlib.Path("design/x.c"), '#include "rules/rules.h"\n#include <gtk/gtk.h>\n'))
assert len(probe) == 2, probe
assert not list(offences(pathlib.Path("rules/x.c"), '#include "design/edit.h"\n'))

found = []
for path in sources:
    found += offences(path.relative_to(ROOT / "src"), path.read_text())
if len(KLU_FILES) > 1:
    found.append(f"KLU is included in more than one file: {', '.join(KLU_FILES)}")
top = {"README.md", "DEVELOPERS.md", "meson.build", "src", "ui", "data", "tests", "docs", "LICENSE"}
for entry in ROOT.iterdir():
    if not entry.name.startswith(".") and entry.name not in top and not entry.name.startswith("build") \
            and entry.name != "out":
        found.append(f"{entry.name} has no place at the top level")
print("\n".join(found) if found else f"{len(sources)} files keep the house in order")
sys.exit(1 if found else 0)
