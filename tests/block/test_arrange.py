"""Drawings of the demo blocks, by their coordinates, give the faces that geometry says they have."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from drawings import (
    Shape,
    arc_round,
    arcs,
    areas,
    circle,
    line,
    make_drawing,
    moved,
    polygon,
    rectangle,
    turned,
)

from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.errors import Severity
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity
from convert.geometry.tolerance import Tolerances

INCH = 25.4


def arranged(shapes, texts=(), page=(200.0, 200.0), gap=None):
    """Return the arrangement of shapes, after checking every invariant of its map."""
    drawing = make_drawing(shapes, texts, page)
    table = drawing.segments
    both = np.concatenate((table.start, table.end))
    tolerances = Tolerances.for_extent(float(np.ptp(both, axis=0).max()) if len(both) else 0.0)
    if gap is not None:
        tolerances = Tolerances(tolerances.same_point, gap, tolerances.fit, tolerances.shape)
    result = arrange(drawing, tolerances)
    assert check_map(result.map, touching=tolerances.gap) == []
    return result


def counts(result):
    """Return V, E and F of the map."""
    return len(result.map.points), result.map.edge_count, result.map.face_count


def codes(findings):
    """Return the codes of findings."""
    return [f.code for f in findings]


def hexagon(x=0.0, y=0.0, side=1.0, first=0.0):
    """Return a regular hexagon."""
    a = radians(first) + np.arange(6) * pi / 3
    return polygon(*zip(x + side * np.cos(a), y + side * np.sin(a), strict=True))


def rosette(rings):
    """Return the hexagons of a rosette, side 1."""
    return [
        hexagon(1.5 * q, sqrt(3) * (r + q / 2))
        for q in range(-rings, rings + 1)
        for r in range(max(-rings, -q - rings), min(rings, rings - q) + 1)
    ]


MOTH = {
    "A": (0, 0), "T": (80, 0), "h": (80, 30), "m": (46, 20), "u": (12, 30), "s": (30, 60), "b": (74, 70),
    "W": (0, 75), "l": (22, 105), "n": (58, 118), "t": (80, 130), "F": (0, 160), "B": (80, 160),
}  # fmt: skip
MOTH_EDGES = "AT Th hm mu uA us sb bm bh sW AW sl lb bn ln nt tb WF Fl FB Bt"


def moth(*, torn=False):
    """Return the moth's lines, drawn one by one, y up (so turned over: areas stay)."""
    lines = []
    for name in MOTH_EDGES.split():
        p, q = MOTH[name[0]], MOTH[name[1]]
        lines.append(line(p, (3, 74) if torn and name == "sW" else q))
        lines.append(line((160 - p[0], p[1]), (160 - q[0], q[1])))
    return lines


MOTH_AREAS = sorted([600.0] + 2 * [624.0, 710.0, 968.0, 1030.0, 1035.0, 1550.0, 1560.0, 1880.0, 3143.0])

TANGRAM = [
    polygon((0, 0), (4, 0), (2, 2)), polygon((0, 0), (2, 2), (0, 4)), polygon((4, 0), (4, 2), (3, 3), (3, 1)),
    polygon((2, 2), (3, 1), (3, 3)), polygon((2, 2), (3, 3), (2, 4), (1, 3)), polygon((4, 2), (4, 4), (2, 4)),
    polygon((2, 4), (0, 4), (1, 3)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("shapes", "expected"),
    [
        (rosette(1), (24, 30, 7)),
        (rosette(2), (54, 72, 19)),
        ([rectangle(i, j, 1, 1) for i in range(3) for j in range(3)], (16, 24, 9)),
        (
            [
                line((0, 2), (4, 2)), line((4, 0), (4, 4)), line((2, 4), (6, 4)), line((2, 2), (2, 6)),
                rectangle(0, 0, 6, 6),
            ],
            (12, 16, 5),
        ),
        ([polygon((0, 0), *p) for p in (
            ((sqrt(3) / 2, -0.5), (sqrt(3), 0), (sqrt(3) / 2, 0.5)),
            ((sqrt(3) / 2, 0.5), (0, 1), (-sqrt(3) / 2, 0.5)),
            ((-sqrt(3) / 2, 0.5), (-sqrt(3) / 2, -0.5), (0, -1), (sqrt(3) / 2, -0.5)),
        )], None),
        (TANGRAM, (10, 16, 7)),
    ],
    ids=["rosette-7", "rosette-19", "nine-patch", "pinwheel", "blocks", "tangram"],
)  # fmt: skip
def test_euler_numbers(shapes, expected):
    """Pieces = E - V + 1 with the numbers of well-known blocks. Source: Euler's formula for plane graphs."""
    result = arranged(shapes)
    v, e, f = counts(result)
    assert f == e - v + 1
    if expected:
        assert (v, e, f) == expected
    assert result.warnings == ()


def test_tangram_areas():
    """The tangram's seven pieces in a square of side 4 have their traditional areas."""
    assert areas(arranged(TANGRAM).map) == pytest.approx([1, 1, 2, 2, 2, 4, 4], rel=1e-12)


def test_ring_of_seven():
    """Seven hexagons and six 60-degree diamonds fill a hexagon of side 3."""
    shapes = [hexagon(first=30, side=1)]
    corner = [
        hexagon(sqrt(3) * cos(radians(30 + 60 * k)), sqrt(3) * sin(radians(30 + 60 * k))) for k in range(6)
    ]
    shapes = [hexagon(), *corner, hexagon(side=3)]
    result = arranged(shapes)
    assert counts(result) == (30, 42, 13)
    assert areas(result.map) == pytest.approx(6 * [sqrt(3) / 2] + 7 * [1.5 * sqrt(3)], rel=1e-12)


def test_frost_dozen():
    """Two rings of rhombs of 30 and 60 degrees: V37 E60 F24."""
    v = [np.array((cos(radians(30 * k)), sin(radians(30 * k)))) for k in range(14)]
    shapes = [polygon((0, 0), v[k], v[k] + v[k + 1], v[k + 1]) for k in range(12)]
    shapes += [
        polygon(v[k + 1], v[k] + v[k + 1], v[k] + v[k + 1] + v[k + 2], v[k + 1] + v[k + 2]) for k in range(12)
    ]
    result = arranged(shapes)
    assert counts(result) == (37, 60, 24)
    assert areas(result.map) == pytest.approx(12 * [0.5] + 12 * [sqrt(3) / 2], rel=1e-12)


def test_dusk_moth():
    """The moth has 19 pieces with whole areas that add up to 25600 mm²."""
    result = arranged(moth())
    assert counts(result) == (22, 40, 19)
    assert areas(result.map) == pytest.approx(MOTH_AREAS, rel=1e-12)
    assert result.warnings == ()
    assert result.repairs == ()


def test_five_petal_bell():
    """Petals and webs of arcs in a circle in a square; four seams meet the circle in Ts."""
    r, big = 2.0, 2.613125930
    tips = [(2.5 + r * cos(radians(72 * k - 90)), 2.5 + r * sin(radians(72 * k - 90))) for k in range(5)]
    bulge = tan(radians(45) / 4)
    petals = [arcs((2.5, 2.5, bulge), (*p, bulge), closed=True) for p in tips]
    corner = [(0, 0), (5, 0), (5, 5), (0, 5)]
    edge = [
        (2.5 + r * sx / sqrt(2), 2.5 + r * sy / sqrt(2)) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    shapes = [
        *petals,
        circle(2.5, 2.5, 2),
        rectangle(0, 0, 5, 5),
        *(line(p, q) for p, q in zip(corner, edge, strict=True)),
    ]
    result = arranged(shapes)
    expected = 5 * [0.5346069979] + 5 * [1.978667125] + 4 * [3.108407346]
    assert result.map.face_count == 14
    assert areas(result.map) == pytest.approx(sorted(expected), rel=1e-9)
    assert big == pytest.approx(r / (2 * sin(radians(22.5))), rel=1e-9)


def shell(x, y, r):
    """Return a clam shell: a half circle over two quarter circles that bend inwards; y up."""
    q = tan(pi / 8)
    return arcs((x + r, y, 1.0), (x - r, y, -q), (x, y - r, -q), closed=True)


def test_tide():
    """Eight clam shells share their arcs; every shell has area 2 r², cusps and all."""
    shapes = [
        shell(1.5 * i + (0.75 if j % 2 else 0), -0.75 * j, 0.75)
        for j, n in enumerate((3, 2, 3))
        for i in range(n)
    ]
    result = arranged([*shapes])
    assert areas(result.map) == pytest.approx(8 * [1.125], rel=1e-12)


def test_turnstile():
    """Four rectangles turn round a square."""
    shapes = [
        rectangle(0, 0, 6, 6),
        line((0, 2), (4, 2)),
        line((4, 0), (4, 4)),
        line((2, 4), (6, 4)),
        line((2, 2), (2, 6)),
    ]
    assert areas(arranged(shapes).map) == pytest.approx([4, 8, 8, 8, 8], rel=1e-12)


def test_split_leaves():
    """Sixteen pieces, leaf halves and backgrounds, in mirror pairs."""
    quadrant = [
        Shape(polygon((0, 0), (2.2, 0.9), (2.7, 2.7))),
        Shape(polygon((0, 0), (3, 0), (3, 3), (2.7, 2.7), (2.2, 0.9))),
    ]
    both = quadrant + [Shape([Chain(c.points[:, ::-1], c.bulge) for c in s.subpaths]) for s in quadrant]
    shapes = [t for k in range(4) for t in turned(both, k * pi / 2)]
    result = arranged(shapes)
    assert counts(result) == (21, 36, 16)
    assert areas(result.map) == pytest.approx(8 * [1.755] + 8 * [2.745], rel=1e-12)


def test_lattice():
    """Long lines that cross without nodes: V16 E28 F13 inside (the lines end on the outline)."""
    shapes = [line((0, y), (6, y)) for y in (0, 2, 4, 6)] + [line((x, 0), (x, 6)) for x in (0, 2, 4, 6)]
    shapes += [line((0, 2), (2, 0)), line((4, 0), (6, 2)), line((6, 4), (4, 6)), line((2, 6), (0, 4))]
    result = arranged(shapes)
    assert counts(result) == (16, 28, 13)
    assert areas(result.map) == pytest.approx(8 * [2.0] + 5 * [4.0], rel=1e-12)


def sun():
    """Return the filled shapes of the sun in a diamond."""
    corners = [
        polygon((0, 0), (60, 0), (0, 60)), polygon((120, 0), (120, 60), (60, 0)),
        polygon((120, 120), (60, 120), (120, 60)), polygon((0, 120), (0, 60), (60, 120)),
    ]  # fmt: skip
    quarters = []
    for k in range(4):
        a, b = k * pi / 2, (k + 1) * pi / 2
        inner, outer = (60 + 20 * cos(a), 60 + 20 * sin(a)), (60 + 60 * cos(a), 60 + 60 * sin(a))
        next_outer, next_inner = (60 + 60 * cos(b), 60 + 60 * sin(b)), (60 + 20 * cos(b), 60 + 20 * sin(b))
        quarters.append(
            arcs(
                (*inner, 0),
                (*outer, 0),
                (*next_outer, 0),
                arc_round(60, 60, next_inner, inner, left=False),
                closed=True,
            )
        )
    return [Shape(c, None, "#223344") for c in [*corners, *quarters, circle(60, 60, 20, turned=0.7)]]


def test_sun_in_a_diamond():
    """Abutting fills without strokes: nine pieces, each with its fabric."""
    result = arranged(sun())
    expected = 4 * [1800.0] + 4 * [1485.840735] + [1256.637061]
    assert areas(result.map) == pytest.approx(sorted(expected), rel=1e-9)
    assert set(result.fabric) == {"#223344"}
    assert result.warnings == ()


def test_stacked_sun():
    """Of shapes stacked on each other only what is seen is pieced: 9400, 3743.362939 and 1256.637061 mm²."""
    shapes = [
        Shape(rectangle(0, 0, 120, 120), None, "#aa0000"),
        Shape(polygon((60, 10), (110, 60), (60, 110), (10, 60)), None, "#00aa00"),
        Shape(circle(60, 60, 20), None, "#0000aa"),
    ]
    result = arranged(shapes)
    assert areas(result.map) == pytest.approx([1256.637061, 3743.362939, 9400], rel=1e-9)
    assert sorted(result.fabric) == ["#0000aa", "#00aa00", "#aa0000"]


def test_pinwheel_kite():
    """Twelve congruent triangles round a point, six of them mirrored."""
    t = [Shape(polygon((0, 0), (60, 0), (45, 25.980762113533157)))]
    shapes = [s for k in range(6) for s in turned(t, k * pi / 3) + turned(t, k * pi / 3, flipped=True)]
    assert areas(arranged(shapes).map) == pytest.approx(12 * [779.422863], rel=1e-9)


def test_torn_moth_is_refused():
    """A seam that stops short names its free end, the corner it misses, the gap and the lost pieces."""
    result = arranged(moth(torn=True), page=(200.0, 160.0))
    errors = [f for f in result.warnings if f.severity is Severity.ERROR]
    assert codes(errors) == ["BLOCK-002"]
    assert errors[0].place.at == pytest.approx((3, 160 - 74))
    assert errors[0].value == pytest.approx(hypot(3, 1))
    for part in ("loose end", "3.16 mm", "0.00, 85.00", "1035", "1550"):
        assert part in errors[0].line()
    assert result.map.face_count == 18
    assert 2585.0 in [round(a, 6) for a in areas(result.map)]


def shaky_star():
    """Return the 24 strokes of the shaky star, as its construction says (y down turned up)."""

    def direction(k):
        return np.array((cos(radians(45 * k - 90)), sin(radians(45 * k - 90))))

    def j(n):
        return np.array((0.25 * sin(17 * n), 0.25 * cos(29 * n)))

    o = np.array((100.0, 100.0))
    a = [o + 40 * direction(k) for k in range(9)]
    strokes = [(o, a[k]) for k in range(8)]
    for k in range(8):
        b = a[k] + a[k + 1] - o
        strokes += [(a[k], b), (a[k + 1], b)]
    shapes = []
    for i, (ideal_p, ideal_q) in enumerate(strokes):
        p, q = ideal_p + j(2 * i), ideal_q + j(2 * i + 1)
        along = (q - p) / hypot(*(q - p))
        q += along * (0.6 if i % 3 == 0 else -0.4 if i % 2 else 0.0)
        shapes.append(line((p[0], 200 - p[1]), (q[0], 200 - q[1])))
    return shapes


def test_shaky_star_gets_one_clear_refusal():
    """Hand-drawn lines that close nothing are refused in one sentence: how many ends, how wide a gap."""
    result = arranged(shaky_star())
    assert codes(result.warnings) == ["BLOCK-001"]
    said = result.warnings[0].line()
    assert "nothing closed" in said
    assert "loose ends" in said
    assert 0.5 < result.warnings[0].value < 2
    assert result.map.face_count == 0


@pytest.mark.parametrize("gap", [1.0, 1.2, 1.5, 2.0])
def test_shaky_star_closes_with_a_wider_gap(gap):
    """With a gap of 1 to 2 mm the same lines give eight pieces of 1100 to 1160 mm²."""
    result = arranged(shaky_star(), gap=gap)
    assert result.map.face_count == 8
    assert 1100 < min(areas(result.map)) <= max(areas(result.map)) < 1160


def test_vanishing_square():
    """The sliver of the vanishing square is named as one line drawn twice; the other pieces are right."""
    shapes = [
        rectangle(0, 0, 13, 5), line((0, 0), (8, 3)), line((8, 0), (8, 3)), line((8, 3), (13, 5)),
        line((0, 0), (5, 2)), line((5, 2), (13, 5)), line((5, 2), (5, 5)),
    ]  # fmt: skip
    result = arranged(moved([Shape(s) for s in shapes], Similarity(INCH, 0)), page=(400, 200))
    assert counts(result) == (8, 12, 5)
    assert areas(result.map) == pytest.approx([a * INCH**2 for a in (1, 12, 12, 20, 20)], rel=1e-12)
    assert codes(result.warnings) == ["BLOCK-007"]
    assert "sliver, probably one line drawn twice" in result.warnings[0].line()


def test_compass_bloom():
    """Six petals fill the circle's centre: petals .1811721474 r² and webs .3424266282 r², cusps and all."""
    tips = [(cos(k * pi / 3), sin(k * pi / 3)) for k in range(6)]
    petals = []
    for k in range(6):
        ahead, behind, tip = tips[(k + 1) % 6], tips[k - 1], tips[k]
        petals.append(arcs(arc_round(*ahead, (0, 0), tip), arc_round(*behind, tip, (0, 0)), closed=True))
    result = arranged([circle(0, 0, 1), *petals])
    assert areas(result.map) == pytest.approx(6 * [0.1811721474] + 6 * [0.3424266282], rel=1e-9)
