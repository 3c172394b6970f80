"""Prints what a screen reader finds in the program: one JSON list a line: depth, role, name,
description. Runs in the environment of a Bench."""
import json

import gi
gi.require_version('Atspi', '2.0')
from gi.repository import Atspi


def walk(node, depth):
    if node is None:
        return
    print(json.dumps([depth, node.get_role_name(), node.get_name(), node.get_description()]))
    for index in range(node.get_child_count()):
        walk(node.get_child_at_index(index), depth + 1)


desktop = Atspi.get_desktop(0)
for number in range(desktop.get_child_count()):
    walk(desktop.get_child_at_index(number), 0)
