"""Blocks whose pieces, areas and counts are known in closed form.

*Sources*: regular polygons, circular segments and lenses: Zwillinger (ed.), CRC Standard Mathematical
Tables and Formulae. The tangram and the eight-pointed star are traditional; the star's factor
1/(2 + sqrt 2) is common practice and computed. Rhombic rosettes and tilings: Grünbaum and Shephard,
Tilings and Patterns. Other blocks are our own, their areas computed by hand from their construction.
"""

from __future__ import annotations

from math import pi, sqrt

import known_blocks as known
import numpy as np
import pytest

INCH2 = known.INCH**2

# name: vertices, edges, pieces, {letter: (as it is, reversed, area in mm²)}
EXPECTED = {
    "tangram": (
        10,
        16,
        7,
        {"A": (2, 0, 2500), "B": (1, 0, 1250), "C": (1, 0, 1250), "D": (1, 0, 1250), "E": (2, 0, 625)},
    ),
    "star": (
        21,
        36,
        16,
        {
            "A": (4, 0, 12.35324702 * INCH2),
            "B": (8, 0, 8.735064736 * INCH2),
            "C": (4, 0, 6.176623509 * INCH2),
        },
    ),
    "rosette": (24, 30, 7, {"A": (7, 0, 2.5980762114 * INCH2)}),
    "ring of seven": (30, 42, 13, {"A": (7, 0, 2.5980762114 * INCH2), "B": (6, 0, sqrt(3) / 2 * INCH2)}),
    "twelve rhombs": (
        37,
        60,
        24,
        {"A": (12, 0, sqrt(3) / 2 * 2.25 * INCH2), "B": (12, 0, 2.25 / 2 * INCH2)},
    ),
    "moth": (
        22,
        40,
        19,
        {
            "A": (1, 1, 3143),
            "B": (1, 1, 1880),
            "C": (1, 1, 1560),
            "D": (1, 1, 1550),
            "E": (1, 1, 1035),
            "F": (1, 1, 1030),
            "G": (1, 1, 968),
            "H": (1, 1, 710),
            "I": (1, 1, 624),
            "J": (1, 0, 600),
        },
    ),
    "bell": (
        14,
        27,
        14,
        {
            "A": (4, 0, 3.108407346 * INCH2),
            "B": (5, 0, 1.978667125 * INCH2),
            "C": (5, 0, 0.5346069979 * INCH2),
        },
    ),
    "clams": (None, None, 8, {"A": (8, 0, 1.125 * INCH2)}),
    "turnstile": (12, 16, 5, {"A": (4, 0, 8 * INCH2), "B": (1, 0, 4 * INCH2)}),
    "split leaves": (21, 36, 16, {"A": (4, 4, 2.745 * INCH2), "B": (4, 4, 1.755 * INCH2)}),
    "lattice": (16, 28, 13, {"A": (5, 0, 4 * INCH2), "B": (8, 0, 2 * INCH2)}),
    "sun": (
        None,
        None,
        9,
        {"A": (4, 0, 1800), "B": (4, 0, 1800 - 100 * pi), "C": (1, 0, 400 * pi)},
    ),
    "pinwheel kite": (13, 24, 12, {"A": (6, 6, 450 * sqrt(3))}),
    "bloom": (7, 18, 12, {"A": (6, 0, 0.3424266282 * 4 * INCH2), "B": (6, 0, 0.1811721474 * 4 * INCH2)}),
    "triangles": (12, 12, 4, {"A": (2, 1, 2400), "B": (1, 0, 2415)}),
}


@pytest.mark.parametrize("name", list(known.ALL))
def test_pieces_templates_and_areas_are_the_known_ones(name):
    """Every known block has its vertices, edges, pieces, templates, reversed ones and areas."""
    vertices, edges, pieces, templates = EXPECTED[name]
    block = known.block_of(known.ALL[name]())
    if vertices is not None:
        assert (len(block.map.points), block.map.edge_count) == (vertices, edges)
    assert len(block.pieces) == pieces
    found = {t.label: (t.count, t.reversed_count) for t in block.templates}
    assert found == {label: counts[:2] for label, counts in templates.items()}
    for t in block.templates:
        # D16's twin with 0.05 mm of error may be the pattern; all others are closed forms.
        assert t.area == pytest.approx(templates[t.label][2], rel=2e-9)
    for p in block.pieces:
        tolerance = 1e-3 if name == "triangles" else 2e-9
        assert p.area == pytest.approx(templates[block.templates[p.template].label][2], rel=tolerance)


TOTALS = {
    "tangram": 100**2,
    "star": 144 * INCH2,
    "ring of seven": 23.382686 * INCH2,
    "twelve rhombs": 16.392305 * 2.25 * INCH2,
    "moth": 25600,
    "bell": 25 * INCH2,
    "clams": 9 * INCH2,
    "turnstile": 36 * INCH2,
    "split leaves": 36 * INCH2,
    "lattice": 36 * INCH2,
    "sun": 14400,
    "pinwheel kite": 5400 * sqrt(3),
    "bloom": 4 * pi * INCH2,
}


@pytest.mark.parametrize("name", list(TOTALS))
def test_areas_add_up_to_the_outline(name):
    """Nothing is lost: the pieces' areas add up to the closed form of the whole."""
    block = known.block_of(known.ALL[name]())
    assert sum(p.area for p in block.pieces) == pytest.approx(TOTALS[name], rel=1e-7)


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("tangram", 100, 100),
        ("star", 12 * 25.4, 12 * 25.4),
        ("rosette", 5 * 25.4, 5.196152423 * 25.4),
        ("ring of seven", 6 * 25.4, 3 * sqrt(3) * 25.4),
        ("bell", 127, 127),
        ("clams", 4.5 * 25.4, 3 * 25.4),
        ("pinwheel kite", 120, 60 * sqrt(3)),
        ("bloom", 101.6, 101.6),
    ],
)
def test_width_and_height_are_exact(name, width, height):
    """The stated size is that of the exact outline, arcs included."""
    block = known.block_of(known.ALL[name]())
    assert (block.width, block.height) == pytest.approx((width, height), abs=1e-6)


@pytest.mark.parametrize(
    ("name", "angles"),
    [
        ("rosette", [120] * 6),
        ("twelve rhombs", [60, 60, 120, 120]),
        ("pinwheel kite", [30, 60, 90]),
        ("lattice", [90] * 4),
        ("clams", [0, 90, 90]),
    ],
)
def test_corners_of_the_first_template_are_the_known_angles(name, angles):
    """Interior angles, measured between tangents, are those of the construction."""
    template = known.block_of(known.ALL[name]()).templates[0]
    assert sorted(np.degrees(template.corners)) == pytest.approx(angles, abs=1e-6)


ONE_HANDED = ("tangram", "turnstile", "triangles")


@pytest.mark.parametrize("name", list(known.ALL))
def test_blocks_that_are_their_own_mirror_image_are_told(name):
    """Facing does not matter for a block that equals its mirror image, and for no other."""
    assert known.block_of(known.ALL[name]()).own_mirror is (name not in ONE_HANDED)


def test_full_rosette_of_twelve_is_a_regular_twelve_sided_block():
    """Five rings of twelve rhombs have 60 pieces in three templates and the area of a 12-gon of side 2."""
    block = known.block_of(known.rhomb_rings(12, 5, s=25.4))
    assert [(t.count, t.reversed_count) for t in block.templates] == [(12, 0), (24, 0), (24, 0)]
    assert sum(p.area for p in block.pieces) == pytest.approx(44.784610 * INCH2, rel=1e-7)


@pytest.mark.parametrize(("rings", "count", "edges"), [(1, 7, 30), (2, 19, 72), (3, 37, 132)])
def test_hexagon_rosettes_have_one_template(rings, count, edges):
    """A rosette of n rings has 1 + 3 n (n + 1) hexagons; Euler: pieces = edges - vertices + 1."""
    block = known.block_of(known.hexagon_rosette(rings))
    assert [(t.count, t.own_mirror) for t in block.templates] == [(count, True)]
    assert block.map.edge_count - len(block.map.points) + 1 == count
    assert block.map.edge_count == edges


def test_a_stack_has_pieces_with_holes_of_the_known_areas():
    """A disc in a diamond in a square: two pieces with holes, areas 9400, 5000 - 400 π and 400 π."""
    block = known.block_of(known.sun_stack())
    assert [t.area for t in block.templates] == pytest.approx([9400, 5000 - 400 * pi, 400 * pi], rel=1e-9)
    assert [len(t.holes) for t in block.templates] == [1, 1, 0]
    assert [f.code for f in block.warnings].count("BLOCK-050") == 2
