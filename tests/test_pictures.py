"""The README's pictures are what the program makes today.

Machines round differently in the last digit, and where two places for a label or two ways of the blade are
equally good, or two corners where an outline may start, that decides. So pictures are compared by what they
are made of, in any order: elements, the arcs and corners of their paths, words, page sizes; not by each
coordinate.
"""

import importlib.util
import re
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree as ET

ROOT = Path(__file__).resolve().parent.parent
STEP = re.compile(r"[A-Za-z][^A-Za-z]*")
PLACED = ("x", "y", "transform", "points")


def steps(path):
    """Return the commands of a path, sorted; a line that `Z` draws is a line."""
    drawn = []
    start = last = ()
    for step in STEP.findall(path):
        command, ends = step[0], tuple(step[1:].replace(",", " ").split()[-2:])
        if command == "M":
            start = ends
        elif command == "Z" and last != start:
            drawn.append("L")
        drawn.append(command)
        last = ends
    return "".join(sorted(drawn))


def made_of(text):
    """Return how often each element occurs, its coordinates left out."""
    found = Counter()
    for element in ET.fromstring(text).iter():
        kept = {k: v for k, v in element.attrib.items() if k not in (*PLACED, "id", "d")}
        path = steps(element.get("d", ""))
        found[element.tag, tuple(sorted(kept.items())), path, (element.text or "").strip()] += 1
    return found


def test_the_pictures_are_the_programs_own_output(tmp_path):
    """Made again, they are made of the same, and the README shows each of them."""
    spec = importlib.util.spec_from_file_location("make_pictures", ROOT / "fixtures" / "make_pictures.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")

    made = script.pictures(tmp_path)

    for name, text in made.items():
        kept = (script.FOLDER / name).read_text(encoding="utf-8")
        assert made_of(kept) == made_of(text), f"{name} is out of date: run fixtures/make_pictures.py"
        assert f"fixtures/pictures/{name}" in readme
