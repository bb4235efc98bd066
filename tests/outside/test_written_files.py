"""What other programs make of the files: widths and heights as independent readers measure them.

*Sources*: GDAL's DXF driver (through pyogrio), which turns bulges into points on the arc;
svgpathtools for path data; a browser (headless Chromium) for the CSS size and the shapes' boxes as
drawn; the SVG 2 notes on elliptical arcs; ISO 216 and the CSS inch for page sizes. None of them
shares code with this program.
"""

import re
import warnings
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
from browser import measured
from hand_blocks import ALL, pinwheel
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Purpose
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

LIMIT = 1e-4
SVG = "{http://www.w3.org/2000/svg}"


def _gdal(path):
    """Return {layer name: list of lines} as GDAL reads a DXF file, arcs in steps of 0.01 degrees."""
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.01", "DXF_CLOSED_LINE_AS_POLYGON": "FALSE"})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        _, _, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
    found = {}
    for blob, layer in zip(geometry, fields[0], strict=True):
        found.setdefault(layer, []).append(shapely.from_wkb(blob))
    return found


@pytest.mark.parametrize(("version", "unit"), [("R2000", "mm"), ("R2000", "in"), ("R12", "mm")])
@pytest.mark.parametrize("make", ALL)
def test_gdal_measures_the_finished_size(make, version, unit, tmp_path):
    """GDAL finds the block's outside as wide and high as the block, to 1e-4 mm.

    GDAL puts points on each arc 0.01 degrees apart: where an arc reaches furthest it may fall
    short by radius · (1 - cos(0.005°)), which is allowed for on curved outsides only.
    """
    profile = mat(dxf={"version": version, "unit": unit, "digits": 7})
    block = make()
    path = tmp_path / "whole.dxf"
    path.write_bytes(dxf_bytes(assembled_sheet(block, profile), profile))
    lines = _gdal(path)[profile.layers[Purpose.OUTER].name]
    scale = 25.4 if unit == "in" else 1.0
    low_x, low_y, high_x, high_y = np.multiply(shapely.total_bounds(lines), scale)
    short = (
        60.0 * (1 - np.cos(np.radians(0.005))) * 2
        if any(chain.bulge.any() for chain in block.outside)
        else 0.0
    )
    assert short < LIMIT
    assert (high_x - low_x, high_y - low_y) == pytest.approx((block.width, block.height), abs=LIMIT)
    assert all(line.coords[0] == pytest.approx(line.coords[-1]) for line in lines)


@pytest.mark.parametrize("version", ["R2000", "R12"])
@pytest.mark.parametrize("make", ALL)
def test_gdal_measures_the_pieces(make, version, tmp_path):
    """GDAL finds every piece, closed, with its template's area and length; its words too."""
    profile = mat(dxf={"version": version})
    block = make()
    wanted, found = [], []
    for sheet in piece_sheets(block, profile):
        path = tmp_path / f"{sheet.name}.dxf"
        path.write_bytes(dxf_bytes(sheet, profile))
        layers = _gdal(path)
        found += [shapely.Polygon(line.coords) for line in layers[profile.layers[Purpose.OUTER].name]]
        wanted += [block.templates[copy.template] for copy in sheet.copies]
        words = [s for s in sheet.strokes if s.purpose is Purpose.LETTER]
        assert len(layers[profile.layers[Purpose.LETTER].name]) == len(words)
    areas = [polygon.area for polygon in found]
    assert areas == pytest.approx([t.area for t in wanted], rel=2e-7)
    assert [p.length for p in found] == pytest.approx([t.perimeter for t in wanted], rel=2e-7)
    assert all(polygon.is_valid for polygon in found)


def _millimetres(root):
    """Return mm per user unit by width and viewBox, as CSS has it (1in = 96px = 25.4mm)."""
    number, unit = re.fullmatch(r"([\d.]+)(mm|in|px|)", root.get("width")).groups()
    size = float(number) * {"mm": 1.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96}[unit]
    return size / float(root.get("viewBox").split()[2])


@pytest.mark.parametrize("make", ALL)
def test_svgpathtools_measures_the_finished_size(make):
    """The library svgpathtools finds the block's outside as wide and high as the block, to 1e-4 mm."""
    svgpathtools = pytest.importorskip("svgpathtools")
    profile = mat()
    block = make()
    root = ET.fromstring(svg_bytes(assembled_sheet(block, profile), profile))
    layer = next(g for g in root.iter(f"{SVG}g") if g.get("id") == profile.layers[Purpose.OUTER].name)
    boxes = np.array([svgpathtools.parse_path(p.get("d")).bbox() for p in layer.iter(f"{SVG}path")])
    scale = _millimetres(root)
    size = ((boxes[:, 1].max() - boxes[:, 0].min()) * scale, (boxes[:, 3].max() - boxes[:, 2].min()) * scale)
    assert size == pytest.approx((block.width, block.height), abs=LIMIT)


@pytest.mark.parametrize("make", ALL)
def test_svgpathtools_measures_the_pieces(make):
    """The library svgpathtools finds every piece closed, and of its template's length."""
    svgpathtools = pytest.importorskip("svgpathtools")
    profile = mat()
    block = make()
    for sheet in piece_sheets(block, profile):
        root = ET.fromstring(svg_bytes(sheet, profile))
        scale = _millimetres(root)
        layer = next(g for g in root.iter(f"{SVG}g") if g.get("id") == profile.layers[Purpose.OUTER].name)
        paths = [svgpathtools.parse_path(p.get("d")) for p in layer.iter(f"{SVG}path")]
        assert all(path.isclosed() for path in paths)
        # Circular arcs: length is radius times turn; the library's own integration is slower and no truer.
        long = [
            sum(
                abs(np.radians(s.delta)) * s.radius.real if hasattr(s, "radius") else s.length() for s in path
            )
            * scale
            for path in paths
        ]
        assert long == pytest.approx([block.templates[c.template].perimeter for c in sheet.copies], abs=LIMIT)


PAGE = """<!DOCTYPE html><html><body style="margin:0">%s<pre id="out"></pre><script>
const rows = [];
for (const svg of document.querySelectorAll("svg")) {
  const page = svg.getBoundingClientRect();
  const layer = svg.querySelector("#" + CSS.escape("%s"));
  let left = 1e9, top = 1e9, right = -1e9, bottom = -1e9, length = 0;
  for (const path of layer.querySelectorAll("path")) {
    const b = path.getBBox();
    left = Math.min(left, b.x); top = Math.min(top, b.y);
    right = Math.max(right, b.x + b.width); bottom = Math.max(bottom, b.y + b.height);
    length += path.getTotalLength();
  }
  const ctm = svg.getScreenCTM();
  rows.push([page.width, page.height, (right - left) * ctm.a, (bottom - top) * ctm.d, length * ctm.a]);
}
document.getElementById("out").textContent = JSON.stringify(rows);
</script></body></html>"""


@pytest.mark.browser
def test_a_browser_measures_the_finished_size(tmp_path):
    """Headless Chromium draws page and block at true size (its numbers are single precision)."""
    profile = mat()
    blocks = [make() for make in ALL]
    drawings = [
        svg_bytes(assembled_sheet(block, profile), profile).decode().split("?>", 1)[1] for block in blocks
    ]
    rows = measured(tmp_path, PAGE % ("".join(drawings), profile.layers[Purpose.OUTER].name))
    for block, (page_width, page_height, width, height, _) in zip(blocks, rows, strict=True):
        assert (page_width, page_height) == pytest.approx((1152.0, 1152.0), abs=1e-3)
        # Single precision at 1152 px is about 6e-5 px, twice for a difference.
        assert np.multiply((width, height), 25.4 / 96) == pytest.approx(
            (block.width, block.height), abs=LIMIT
        )


@pytest.mark.parametrize(("units", "factor"), [(72.0, 25.4 / 72), (90.0, 25.4 / 90), (96.0, 25.4 / 96)])
def test_bare_coordinates_are_true_in_programs_with_other_units(units, factor):
    """A program that looks at bare coordinates and takes 72, 90 or 96 units per inch is right too.

    *Source*: 90 and 72 are the habits of older drawing programs; 96 is CSS (1in = 96px).
    """
    svgpathtools = pytest.importorskip("svgpathtools")
    profile = mat(svg={"units_per_inch": units})
    block = pinwheel()
    root = ET.fromstring(svg_bytes(assembled_sheet(block, profile), profile))
    layer = next(g for g in root.iter(f"{SVG}g") if g.get("id") == profile.layers[Purpose.OUTER].name)
    left, right, top, bottom = svgpathtools.parse_path(next(layer.iter(f"{SVG}path")).get("d")).bbox()
    assert ((right - left) * factor, (bottom - top) * factor) == pytest.approx(
        (block.width, block.height), abs=LIMIT
    )
