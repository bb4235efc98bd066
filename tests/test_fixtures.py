"""Every drawing of ours, end to end, against the sizes that geometry says it has."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import tomllib
from collections import Counter
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from fixture_values import ALL, FIXTURES, GOOD, NAMES, Expected, evaluate

import convert
from convert.block import make_block
from convert.block.scale import scaled
from convert.errors import DrawingError, Severity
from convert.reader import read_drawing

KEYS = {
    "title", "construction", "written", "unit", "curves", "pieces", "own_mirror", "width", "height", "area",
    "warnings", "refused", "place", "where", "template", "fabrics", "names",
}  # fmt: skip
KINDS = {
    "READ-015": "guessed size", "READ-046": "unit doubt",
    "BLOCK-001": "nothing closed", "BLOCK-002": "loose end", "BLOCK-007": "sliver",
    "BLOCK-014": "unfilled", "BLOCK-015": "outlined", "BLOCK-030": "paper", "BLOCK-032": "named",
    "BLOCK-050": "hole", "BLOCK-051": "cusp", "BLOCK-052": "clamshell", "BLOCK-053": "many points",
    "BLOCK-054": "sharp corner", "BLOCK-055": "inside corner", "BLOCK-056": "narrow",
    "BLOCK-057": "short edge", "BLOCK-058": "tight curve", "BLOCK-059": "T-junction",
    "BLOCK-060": "partial seam", "BLOCK-061": "nearly the same",
}  # fmt: skip
"""What the findings' codes are about, in the words of the `.expected.toml` files."""
GOOD_DRAWINGS = pytest.mark.parametrize("e", GOOD, ids=lambda e: e.name)


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


@GOOD_DRAWINGS
def test_expected_areas_add_up(e: Expected) -> None:
    """The closed forms of a drawing's pieces add up to that of the whole, and counts to its pieces."""
    slack = 1e-12 if max(t.tolerance for t in e.templates) <= 1e-4 else 1e-4
    assert sum(t.area * (t.count + t.reversed) for t in e.templates) == pytest.approx(e.area, rel=slack)
    assert sum(t.count + t.reversed for t in e.templates) == e.pieces
    if "nearly the same" not in e.warnings:  # a near miss stands behind the template it nearly equals
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


@cache
def block_of(name: str):
    """Return a drawing's block, made once."""
    return make_block(read_drawing(FIXTURES / f"{name}.svg"))


@GOOD_DRAWINGS
def test_pieces_and_templates(e: Expected) -> None:
    """Pieces, templates and reversed ones are as many as the construction says, the largest first."""
    block = block_of(e.name)
    assert len(block.pieces) == e.pieces
    found = [(t.count + t.reversed_count, *sorted((t.count, t.reversed_count))) for t in block.templates]
    assert found == [(t.count + t.reversed, *sorted((t.count, t.reversed))) for t in e.templates]
    assert Counter(p.template for p in block.pieces) == {
        i: t.count + t.reversed for i, t in enumerate(e.templates)
    }
    assert block.own_mirror == e.own_mirror


@GOOD_DRAWINGS
def test_areas(e: Expected) -> None:
    """Every template and every piece has the area of its closed form, and together they fill the block."""
    block = block_of(e.name)
    for i, (template, want) in enumerate(zip(block.templates, e.templates, strict=True)):
        assert template.area == pytest.approx(want.area, rel=want.tolerance), template.label
        for piece in block.pieces:
            if piece.template == i:
                assert piece.area == pytest.approx(want.area, rel=want.tolerance), piece.label
    together = sum(p.area for p in block.pieces)
    assert together == pytest.approx(e.area, rel=1e-4 if e.curves == "beziers" else 1e-6)
    assert together == pytest.approx(sum(_signed_area(ring) for ring in block.outside), rel=1e-9)


def _signed_area(chain) -> float:
    """Return the area inside a closed chain by plain arithmetic, shared with nothing."""
    total = 0.0
    count = len(chain.points)
    for i in range(count):
        (x0, y0), (x1, y1) = chain.points[i], chain.points[(i + 1) % count]
        total += (x0 * y1 - x1 * y0) / 2
        if bulge := chain.bulge[i]:
            chord = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
            half = 2 * math.atan(bulge)
            radius = chord / 2 / math.sin(half)
            total += radius**2 * (half - math.sin(half) * math.cos(half))
    return total


@GOOD_DRAWINGS
def test_width_and_height(e: Expected) -> None:
    """As drawn, a block has the real size that its document states."""
    block = block_of(e.name)
    drawing = read_drawing(e.path)
    slack = 2 * drawing.fit if e.curves == "beziers" else 1e-6
    assert (block.width, block.height) == pytest.approx((e.width, e.height), abs=slack)
    assert drawing.unit == e.unit
    assert drawing.sized == (e.unit != "px"), "px may mean an inch of 96, 90 or 72"


@GOOD_DRAWINGS
def test_fabrics_and_names(e: Expected) -> None:
    """A piece's fabric is the fill that is seen; a title in a shape or a text lying in it names the piece."""
    block = block_of(e.name)
    if e.fabrics:
        assert Counter(p.fabric for p in block.pieces) == e.fabrics
    else:
        assert {p.fabric for p in block.pieces} == {None}
    names = {p.name: p.fabric for p in block.pieces if p.name}
    assert names == e.names


@GOOD_DRAWINGS
@pytest.mark.parametrize("inches", [4, 6, 9])
def test_three_sizes(e: Expected, inches: int) -> None:
    """At another finished size counts and labels stay, lengths grow by the factor and areas by its square."""
    block = block_of(e.name)
    factor = inches * 25.4 / block.width
    sized = scaled(block, factor)
    assert sized.width == pytest.approx(inches * 25.4, abs=1e-9)
    close = 1e-4 if e.curves == "beziers" else 1e-8
    assert sized.height == pytest.approx(e.height * inches * 25.4 / e.width, rel=close)
    assert [p.label for p in sized.pieces] == [p.label for p in block.pieces]
    whole = inches * 25.4 / e.width
    for template, want in zip(sized.templates, e.templates, strict=True):
        assert template.area == pytest.approx(want.area * whole**2, rel=2 * want.tolerance)


@GOOD_DRAWINGS
def test_remarks(e: Expected) -> None:
    """Each drawing gets remarks of exactly the kinds that its construction calls for, and no repair."""
    block = block_of(e.name)
    findings = (*read_drawing(e.path).findings, *block.warnings)
    assert {KINDS.get(f.code, f.line()) for f in findings} == set(e.warnings)
    assert block.repairs == ()


def _places(name: str, code: str, value: float, digits: int = 1) -> set[tuple[float, float]]:
    """Return the places on the page of a drawing's findings of one code and value."""
    found = [f for f in block_of(name).warnings if f.code == code and round(f.value, digits) == value]
    return {(round(f.place.at[0], 3), round(f.place.at[1], 3)) for f in found}


def test_places_of_remarks() -> None:
    """Remarks point at the very corners on the page that the constructions name."""
    ten = 10.0  # the moth's page begins ten millimetres before the moth
    assert _places("dusk-moth", "BLOCK-054", 11.4) == {(80 + ten, 130 + ten)}
    assert _places("dusk-moth", "BLOCK-054", 17.1) == {(80 + ten, 30 + ten)}
    assert _places("dusk-moth", "BLOCK-054", 24.1) == {(74 + ten, 70 + ten), (86 + ten, 70 + ten)}
    assert _places("dusk-moth", "BLOCK-055", 212.8) == {(46 + ten, 20 + ten), (114 + ten, 20 + ten)}
    assert _places("dusk-moth", "BLOCK-055", 189.2) == {(12 + ten, 30 + ten), (148 + ten, 30 + ten)}
    assert _places("vanishing-square", "BLOCK-051", 1.2) == {(12.7, 12.7), (342.9, 139.7)}
    assert _places("split-leaves", "BLOCK-053", 16.0) == {(81.28, 81.28)}
    # 9 degrees of a circle of 2 in, between a petal's tip and a corner's seam.
    assert len(_places("five-petal-bell", "BLOCK-057", round(2 * 25.4 * math.pi / 20, 1))) == 2
    assert len(_places("turnstile", "BLOCK-060", 1.0)) == 1


REFUSED = [e for e in ALL if e.refused]


@pytest.mark.parametrize("e", REFUSED, ids=lambda e: e.name)
def test_refused_drawings(e: Expected) -> None:
    """A drawing that can't be pieced as it is, is refused for the reason that its construction gives."""
    with pytest.raises(DrawingError) as caught:
        block_of(e.name)
    errors = [f for f in caught.value.findings if f.severity is Severity.ERROR]
    assert {KINDS[f.code] for f in errors} == set(e.refused)
    assert all(f.advice for f in errors)
    if e.place:
        assert errors[0].place.at == pytest.approx(e.place, abs=1e-6)


def test_a_torn_line_is_told_in_full() -> None:
    """The gap in the moth is told with its two ends, its width and the two pieces that ran together."""
    with pytest.raises(DrawingError) as caught:
        block_of("torn-moth")
    (line,) = [f.line() for f in caught.value.findings]
    for words in ("13.00, 84.00", "10.00, 85.00", "3.16 mm", "1035", "1550", "left-sW"):
        assert words in line


def test_wrong_rulers_are_told_in_both_readings() -> None:
    """A page drawn at 72 units to the inch: 4.5 in by the standard, 6 in as was most likely meant."""
    (doubt,) = [f for f in read_drawing(FIXTURES / "wrong-rulers.svg").findings if f.code == "READ-046"]
    for words in ("75 %", "114.30 x 114.30 mm", "72 units per inch", "152.40 x 152.40 mm"):
        assert words in doubt.line()
