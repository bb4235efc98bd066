"""Allowances and kerf against published and computed figures, and as other programs measure the files.

*Sources*: Steiner's formula for parallel bodies (area A + P d + pi d^2; MathWorld, "Outer Parallel Body");
mitred corners add d^2 tan(half the turn) each; mitre length over distance is 1 / sin(angle / 2) (SVG 2,
13.5.4); heights of triangles and widths of hexagons with their allowance from L. Clements, The Quilter's
Bible (from memory: + 3/4 in and + 1/2 in for 1/4 in) and teachers' tables (a 1 in hexagon with 3/8 in
takes a strip of 2 1/2 in); a part of 30 mm with 0.2 mm kerf needs a path of 30.2 mm and a hole of 30 mm
one of 29.8 mm (laser cutting services' artwork pages). GDAL and a browser share no code with this program.
"""

import json
import re
import warnings
from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from browser import measured
from hand_blocks import compass_flower, hand_block, kite_pair, one_circle, pinwheel
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Product, Purpose
from convert.geometry import measure
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

INCH = 25.4
LIMIT = 1e-4
BOTH = (Product.CLOTH, Product.WINDOW)


def one_piece(points):
    """Make a block of one piece with straight sides."""
    return hand_block("one", points, [[(k, 0) for k in range(len(points))]])


def regular(count, side):
    """Make a regular polygon of one piece."""
    r = side / 2 / sin(pi / count)
    return one_piece([(r * cos(2 * pi * k / count), r * sin(2 * pi * k / count)) for k in range(count)])


def rhombus(degrees, side):
    """Make a rhombus of one piece."""
    half = radians(degrees) / 2
    x, y = side * cos(half), side * sin(half)
    return one_piece([(0, -y), (x, 0), (0, y), (-x, 0)])


def cuts(block, product, allowance, kerf=0.0):
    """Return the outer and the inner cut of the only shape."""
    choices = CutChoices((product,), allowance)
    (sheet,) = piece_sheets(block, mat(kerf=kerf), product=product, choices=choices)
    outer = [s.chain for s in sheet.strokes if s.purpose is Purpose.OUTER]
    inner = [s.chain for s in sheet.strokes if s.purpose is Purpose.INNER]
    return outer[0], inner[0] if inner else None


@pytest.mark.parametrize(
    ("block", "allowance", "square_inches"),
    [
        (one_piece([(0, 0), (INCH, 0), (INCH, INCH), (0, INCH)]), 0.25, 2.25),
        (regular(6, INCH), 0.375, 5.335215501),
        (regular(6, INCH), 0.25, 4.314582562),
        (rhombus(60, INCH), 0.25, 2.154700538),
        (rhombus(60, INCH), 0.375, 3.015544457),
        (regular(3, INCH), 0.25, 1.507772228),
    ],
)
def test_areas_with_the_allowance(block, allowance, square_inches):
    """Cloth for a 1 in square, hexagon, 60 degree diamond and triangle has the computed area."""
    outer, _ = cuts(block, Product.CLOTH, allowance * INCH)
    assert measure.area(outer) / INCH**2 == pytest.approx(square_inches, abs=1e-8)


def test_ring_of_a_one_inch_hexagon():
    """The frame of a 1 in hexagon with 3/8 in is 2.737139290 square inches."""
    outer, inner = cuts(regular(6, INCH), Product.WINDOW, 0.375 * INCH)
    assert (measure.area(outer) - abs(measure.area(inner))) / INCH**2 == pytest.approx(2.737139290, abs=1e-8)


def _across(outline):
    """Return the least width of an outline of straight sides, over the directions of its sides."""
    way = np.roll(outline.points, -1, axis=0) - outline.points
    normal = np.column_stack((-way[:, 1], way[:, 0])) / np.hypot(*way.T)[:, None]
    return np.ptp(outline.points @ normal.T, axis=0).min()


def test_strips_as_books_have_them():
    """With 1/4 in a hexagon's and a diamond's strip is 1/2 in wider, a triangle's 3/4 in."""
    for block, more in (
        (regular(6, INCH), 0.5),
        (rhombus(60, INCH), 0.5),
        (rhombus(45, INCH), 0.5),
        (regular(3, INCH), 0.75),
    ):
        outer, inner = cuts(block, Product.WINDOW, 0.25 * INCH)
        assert (_across(outer) - _across(inner)) / INCH == pytest.approx(more, abs=1e-9)
    outer, _ = cuts(regular(6, INCH), Product.CLOTH, 0.375 * INCH)
    assert _across(outer) / INCH == pytest.approx(2.4820508076, abs=1e-9)


@pytest.mark.parametrize(("degrees", "mitred"), [(45, 2.060660172), (36, 2.013110656)])
def test_sharp_diamonds_lose_their_tips(degrees, mitred):
    """A sharp diamond's area is the mitred one less two tips, each (m - 1)^2 d^2 tan(half the angle)."""
    d, half = 0.25, radians(degrees / 2)
    outer, _ = cuts(rhombus(degrees, INCH), Product.CLOTH, d * INCH)
    tip = (1 / sin(half) - 1) ** 2 * d**2 * tan(half)
    assert measure.area(outer) / INCH**2 == pytest.approx(mitred - 2 * tip, abs=1e-8)


@pytest.mark.parametrize("allowance", [6.35, 9.525, 10.0])
def test_a_circle_has_a_larger_circle(allowance):
    """Steiner's formula for a disc: pi (r + d)^2, and the frame's width is the allowance everywhere."""
    outer, inner = cuts(one_circle(20.0), Product.WINDOW, allowance)
    assert measure.area(outer) == pytest.approx(pi * (20.0 + allowance) ** 2, rel=1e-12)
    assert abs(measure.area(inner)) == pytest.approx(pi * 400.0, rel=1e-12)


def test_arcs_keep_their_angle():
    """A petal's arcs have radius r + d and the same bulge; webs with arcs that bend inward r - d."""
    flower = compass_flower(60.0)
    choices = CutChoices((Product.CLOTH,), 6.35)
    for sheet in piece_sheets(flower, mat(), product=Product.CLOTH, choices=choices):
        for stroke in (s for s in sheet.strokes if s.purpose is Purpose.OUTER):
            table = stroke.chain.segments
            found = {
                (round(r, 6), bool(b > 0))
                for r, b in zip(measure.radius(table), table.bulge, strict=True)
                if b
            }
            assert found <= {(66.35, True), (53.65, False)}


@pytest.mark.parametrize("kerf", [0.2])
def test_kerf_of_a_thirty_millimetre_part(kerf):
    """A part of 30 mm is cut on a path of 30.2 mm, and a hole of 30 mm on one of 29.8 mm."""
    square = one_piece([(0, 0), (30, 0), (30, 30), (0, 30)])
    outer, _ = cuts(square, Product.FINISHED, 0.0, kerf)
    box = measure.box(outer)
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((30.2, 30.2), abs=1e-9)
    _, inner = cuts(square, Product.WINDOW, 6.35, kerf)
    box = measure.box(inner)
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((29.8, 29.8), abs=1e-9)


def _sheets():
    choices = CutChoices(BOTH, 6.35, junction_holes=True, centre_lines=True)
    for make in (kite_pair, compass_flower, pinwheel, one_circle):
        for product in BOTH:
            for kerf in (0.0, 0.2):
                profile = mat(kerf=kerf)
                for sheet in piece_sheets(make(), profile, product=product, choices=choices):
                    yield sheet, profile


def _of(sheet, purpose):
    return [s.chain for s in sheet.strokes if s.purpose is purpose and s.chain.closed]


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_gdal_measures_cloth_and_windows(version, tmp_path):
    """GDAL finds each ring and each opening closed, with our area and length, and openings inside rings."""
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.01", "DXF_CLOSED_LINE_AS_POLYGON": "FALSE"})
    for number, (sheet, profile) in enumerate(_sheets()):
        path = tmp_path / f"{number}.dxf"
        profile = mat(kerf=profile.kerf, dxf={"version": version})  # noqa: PLW2901
        path.write_bytes(dxf_bytes(sheet, profile))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _, _, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
        shapes = {}
        for purpose in (Purpose.OUTER, Purpose.INNER):
            name = profile.layers[purpose].name
            lines = [
                shapely.from_wkb(g) for g, layer in zip(geometry, fields[0], strict=True) if layer == name
            ]
            shapes[purpose] = [shapely.Polygon(line.coords) for line in lines]
            mine = _of(sheet, purpose)
            assert [p.area for p in shapes[purpose]] == pytest.approx(
                [abs(measure.area(c)) for c in mine], rel=2e-7
            )
            assert [p.length for p in shapes[purpose]] == pytest.approx(
                [measure.length(c) for c in mine], rel=2e-7
            )
        for opening in shapes[Purpose.INNER]:
            (frame,) = [ring for ring in shapes[Purpose.OUTER] if ring.contains(opening)]
            least = frame.exterior.distance(opening)
            assert least == pytest.approx(6.35 + profile.kerf - 0.6 * (least < 6.0), abs=2e-4)


PAGE = """<!DOCTYPE html><html><body style="margin:0">%s<pre id="out"></pre><script>
const rows = [];
for (const svg of document.querySelectorAll("svg")) {
  const scale = svg.getScreenCTM().a;
  const row = {};
  for (const name of %s) {
    row[name] = [];
    for (const group of svg.querySelectorAll("g")) {
      const title = group.querySelector("title");
      if (!title || title.textContent !== name) continue;
      for (const path of group.querySelectorAll("path")) {
        const b = path.getBBox();
        row[name].push([b.width * scale, b.height * scale, path.getTotalLength() * scale]);
      }
    }
  }
  rows.push(row);
}
document.getElementById("out").textContent = JSON.stringify(rows);
</script></body></html>"""


@pytest.mark.browser
def test_a_browser_measures_cloth_and_windows(tmp_path):
    """Headless Chromium finds each ring and opening as wide, high and long as we do (single precision)."""
    sheets = list(_sheets())
    layers = {p: sheets[0][1].layers[p].name for p in (Purpose.OUTER, Purpose.INNER)}
    drawings = [svg_bytes(sheet, profile).decode().split("?>", 1)[1] for sheet, profile in sheets]
    rows = measured(tmp_path, PAGE % ("".join(drawings), json.dumps(list(layers.values()))))
    for (sheet, _), row in zip(sheets, rows, strict=True):
        for purpose, layer in layers.items():
            mine = _of(sheet, purpose)
            assert len(row[layer]) == len(mine)
            for (width, height, long), chain in zip(row[layer], mine, strict=True):
                box = measure.box(chain)
                assert np.multiply((width, height), INCH / 96) == pytest.approx(
                    (box[2] - box[0], box[3] - box[1]), abs=LIMIT
                )
                assert long * INCH / 96 == pytest.approx(measure.length(chain), rel=2e-4)


@pytest.mark.parametrize("kerf", [0.08, 0.2])
def test_svgpathtools_measures_a_kerfs_outside(kerf):
    """The whole block's outer cut is a kerf wider and higher than the block (a square one, mitred)."""
    svgpathtools = pytest.importorskip("svgpathtools")
    block, profile = pinwheel(), mat(kerf=kerf)
    text = svg_bytes(assembled_sheet(block, profile), profile).decode()
    group = text[text.index(f'id="{profile.layers[Purpose.OUTER].name}"') :]
    left, right, top, bottom = svgpathtools.parse_path(re.search(r' d="([^"]+)"', group)[1]).bbox()
    size = ((right - left) * INCH / 96, (bottom - top) * INCH / 96)
    assert size == pytest.approx((block.width + kerf, block.height + kerf), abs=LIMIT)


def test_the_least_hexagon_without_overlap():
    """The allowance meets itself on the back of a hexagon of less than 0.289 in (1/4) or 0.433 in (3/8)."""
    for edge, allowance in ((0.2886751, 0.25), (0.4330127, 0.375)):
        for factor, overlaps in ((0.99, True), (1.01, False)):
            block = regular(6, edge * factor * INCH)
            assert block.templates[0].clearance == pytest.approx(edge * factor * INCH * sqrt(3) / 2, rel=1e-6)
            choices = CutChoices((Product.CLOTH,), allowance * INCH)
            (sheet,) = piece_sheets(block, mat(), product=Product.CLOTH, choices=choices)
            assert ("CUT-013" in {f.code for f in sheet.findings}) == overlaps
