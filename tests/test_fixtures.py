"""Every drawing of ours, end to end, against the sizes that geometry says it has."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from fixture_values import ALL, FIXTURES, GOOD, NAMES, Expected, evaluate

import convert

KEYS = {
    "title", "construction", "written", "unit", "curves", "pieces", "own_mirror", "width", "height", "area",
    "warnings", "refused", "place", "where", "template", "fabrics", "names",
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_drawing_tells_its_construction(name: str) -> None:
    """Each drawing has its construction beside it, under the same title, and says nothing unknown."""
    data = tomllib.loads((FIXTURES / f"{name}.expected.toml").read_text("utf-8"))
    assert set(data) <= KEYS
    assert len(data["construction"]) > 80
    root = ET.parse(FIXTURES / f"{name}.svg").getroot()
    assert root.findtext("{http://www.w3.org/2000/svg}title") == data["title"]


def test_no_expectation_lacks_its_drawing() -> None:
    """Expected values are beside a drawing of the same name."""
    assert {p.name.removesuffix(".expected.toml") for p in FIXTURES.glob("*.expected.toml")} == set(NAMES)
    assert len(NAMES) >= 20


@pytest.mark.parametrize("e", GOOD, ids=lambda e: e.name)
def test_expected_areas_add_up(e: Expected) -> None:
    """The closed forms of a drawing's pieces add up to that of the whole, and counts to its pieces."""
    slack = 1e-12 if max(t.tolerance for t in e.templates) <= 1e-4 else 1e-4
    assert sum(t.area * (t.count + t.reversed) for t in e.templates) == pytest.approx(e.area, rel=slack)
    assert sum(t.count + t.reversed for t in e.templates) == e.pieces
    assert [t.area for t in e.templates] == sorted((t.area for t in e.templates), reverse=True)
    assert not e.fabrics or sum(e.fabrics.values()) == e.pieces


def test_computed_drawings_are_what_the_script_makes(tmp_path) -> None:
    """Running make_fixtures.py gives the files that lie here, byte for byte."""
    script = str(FIXTURES / "make_fixtures.py")
    subprocess.run([sys.executable, script, str(tmp_path)], check=True, timeout=60)
    made = sorted(tmp_path.iterdir())
    assert len(made) == 5
    for path in made:
        assert path.read_bytes() == (FIXTURES / path.name).read_bytes(), path.name


def test_demo_drawings_are_these_drawings() -> None:
    """The drawings that the demo converts are copies of tested ones."""
    samples = sorted((Path(convert.__file__).parent / "samples").glob("*.svg"))
    assert len(samples) >= 3
    for path in samples:
        assert path.read_bytes() == (FIXTURES / path.name).read_bytes(), path.name


def test_drawings_are_written_in_many_ways() -> None:
    """Together the drawings use every unit of length, element and command that people's drawings have."""
    text = "\n".join((FIXTURES / f"{name}.svg").read_text("utf-8") for name in NAMES)
    assert {e.unit for e in ALL} == {"mm", "cm", "in", "px", "pt"}
    shapes = ("rect", "circle", "ellipse", "line", "polyline", "polygon", "path")
    for tag in (*shapes, "use", "symbol", "g", "style", "text"):
        assert f"<{tag}" in text, tag
    commands = set(re.findall(r"[A-Za-z]", " ".join(re.findall(r'\sd="([^"]*)"', text))))
    assert commands >= set("MmLlHhVvCQTSAaZz")
    for transform in ("translate", "scale", "rotate", "skewX", "matrix"):
        assert f"{transform}(" in text, transform


@pytest.mark.parametrize("text", ["__import__('os')", "pi.real", "open('x')", "x", "[1]", "1 if 1 else 2"])
def test_closed_forms_are_only_arithmetic(text: str) -> None:
    """An expected value can't run code."""
    with pytest.raises(ValueError, match="not a closed form"):
        evaluate(text, {"pi": 3.0})
