"""Line drawings as filled shapes, as tools that outline strokes and tracers make them, from known lines.

Made with shapely (and a tracer where one is installed), which share nothing with what recovers the lines.
"""

from __future__ import annotations

import subprocess
from functools import cache
from shutil import which
from typing import TYPE_CHECKING

import numpy as np
import shapely
from fixture_values import FIXTURES

from convert.block import make_block
from convert.block.scale import scaled
from convert.geometry.chain import Segments
from convert.geometry.measure import lengths, point_at
from convert.reader import read_drawing

if TYPE_CHECKING:
    from pathlib import Path

SIZE, EDGE = 150.0, 10.0
"""The larger side of every block, and the paper round it, mm."""

TRACER = which("potrace")


@cache
def block_with_lines(name):
    """Return a fixture's block, 150 mm large, and its seams (y up), flattened to a thousandth of a mm."""
    block = make_block(read_drawing(FIXTURES / f"{name}.svg"))
    block = scaled(block, SIZE / max(block.width, block.height))
    planar = block.map
    table = Segments(planar.points[planar.start], planar.points[planar.end], planar.bulge)
    share = np.linspace(0, 1, 65)
    rows = point_at(table, np.tile(share, (len(table), 1)))
    rows[~table.is_arc] = (
        np.linspace(0, 1, 65)[:, None] * (table.end - table.start)[~table.is_arc, None]
        + (table.start[~table.is_arc, None])
    )
    lines = [shapely.LineString(r if arc else r[[0, -1]]) for r, arc in zip(rows, table.is_arc, strict=True)]
    return block, shapely.MultiLineString(lines)


def page(body):
    """Return an SVG page of `body`, drawn in mm from the upper left corner of a block."""
    side = SIZE + 2 * EDGE
    box = f'width="{side}mm" height="{side}mm" viewBox="{-EDGE} {-EDGE} {side} {side}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{body}</svg>'


def turned_down(lines):
    """Return lines with y down."""
    return shapely.transform(lines, lambda p: np.column_stack((p[:, 0], SIZE - p[:, 1])))


def path(polygon, fill="#000", **more):
    """Return a path element of a polygon with holes."""
    rings = [polygon.exterior, *polygon.interiors]
    data = " ".join("M" + " ".join(f"{x:.4f},{y:.4f}" for x, y in ring.coords[:-1]) + "Z" for ring in rings)
    extra = "".join(f' {key}="{value}"' for key, value in more.items())
    return f'<path fill="{fill}" fill-rule="evenodd" d="{data}"{extra}/>'


def one_shape(lines, width=1.0, noise=0.02, seed=7, join="round"):
    """Return a page on which all lines are one filled shape, its outline off by `noise` mm (one sigma)."""
    ink = shapely.union_all(turned_down(lines)).buffer(width / 2, quad_segs=4, join_style=join)
    rng = np.random.default_rng(seed)

    def shaken(ring):
        points = np.array(shapely.segmentize(ring, 0.4).coords)[:-1]
        return points + rng.normal(0, noise, points.shape)

    parts = ink.geoms if hasattr(ink, "geoms") else [ink]
    shapes = (shapely.Polygon(shaken(p.exterior), [shaken(r) for r in p.interiors]) for p in parts)
    return page("".join(path(shape) for shape in shapes))


def each_stroke(lines, width=1.0):
    """Return a page on which every stroke, from junction to junction, is a filled shape of its own."""
    strokes = [s.buffer(width / 2, quad_segs=8) for s in shapely.line_merge(turned_down(lines)).geoms]
    return page("".join(path(s, "#111", id=f"s{k}") for k, s in enumerate(strokes)))


def traced(lines, folder: Path, width=1.0, dpi=300):
    """Return what a tracer makes of the lines, scanned with about so many pixels per inch."""
    ink = shapely.union_all(turned_down(lines)).buffer(width / 2, quad_segs=16)
    shapely.prepare(ink)
    # A whole number of pixels, so that the tracer's page is as large as the scan.
    count = round((SIZE + 2 * EDGE) * dpi / 25.4)
    per_mm = count / (SIZE + 2 * EDGE)
    at = (np.arange(count) + 0.5) / per_mm - EDGE
    rows = np.array([shapely.contains_xy(ink, at, np.full(count, y)) for y in at])
    return _traced(rows, folder, 25.4 * per_mm)


def sampled_seams(block, step=0.3):
    """Return points along all seams of a block, where they lie in the block that was drawn at EDGE, EDGE."""
    planar = block.map
    table = Segments(planar.points[planar.start], planar.points[planar.end], planar.bulge)
    count = np.maximum(1, (lengths(table) / step).astype(int))
    row = np.repeat(np.arange(len(table)), count)
    place = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    at = point_at(table.take(row), (place + 0.5) / count[row])
    return at + np.array(block.origin) - EDGE


def junctions(block, shift=(0.0, 0.0)):
    """Return the points where three or more seams meet, and how many."""
    planar = block.map
    degree = np.bincount(np.concatenate((planar.start, planar.end)), minlength=len(planar.points))
    many = degree >= 3
    return planar.points[many] + np.array(shift), degree[many]


def bold_border(lines, width=1.0, border=2.5):
    """Return a page on which all lines are one filled shape, those round the block `border` mm wide."""
    lines = turned_down(lines)
    rim = shapely.union_all(shapely.polygonize(lines.geoms)).boundary
    ink = lines.buffer(width / 2, quad_segs=8).union(rim.buffer(border / 2, quad_segs=8))
    return page("".join(path(part) for part in (ink.geoms if hasattr(ink, "geoms") else [ink])))


def seams_off(block, lines):
    """Return how far seams are from lines and lines from seams: root mean squares in mm."""
    drawn = shapely.get_coordinates(shapely.segmentize(lines, 0.5))
    # Chords 0.05 mm long: even those of a circle of 5 mm are less than a thousandth off.
    rows = sampled_seams(block, 0.05)
    there = _apart(sampled_seams(block), lines.geoms)
    back = _apart(drawn, shapely.points(rows))
    # Distances to points 0.05 mm apart are too long: near a line by half of that at most.
    back = np.sqrt(np.maximum(back**2 - 0.025**2, 0.0))
    return float(np.sqrt((there**2).mean())), float(np.sqrt((back**2).mean()))


def _apart(points, shapes):
    """Return the distance from each point to the nearest of some shapes."""
    tree = shapely.STRtree(list(shapes))
    (row, _), apart = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    out = np.full(len(points), np.inf)
    out[row] = apart
    return out


def junctions_off(block, true):
    """Return how far junctions are from the nearest ones drawn, at most, in mm; inf if others meet there."""
    found, degree = junctions(block, np.array(block.origin) - EDGE)
    drawn, wanted = junctions(true)
    if not len(drawn) or not len(found):
        return 0.0 if len(drawn) == len(found) else np.inf
    apart = np.hypot(*(drawn[:, None] - found[None]).transpose(2, 0, 1))
    if len(found) == len(drawn) and (degree[apart.argmin(axis=1)] != wanted).any():
        return np.inf
    return float(max(apart.min(axis=0).max(), apart.min(axis=1).max()))


def traced_in_greys(lines, folder: Path, width=1.0, dpi=150):
    """Return what a tracer with four colours makes of a smoothed scan: shades stacked from light to dark."""
    ink = shapely.union_all(turned_down(lines)).buffer(width / 2, quad_segs=16)
    shapely.prepare(ink)
    count = round((SIZE + 2 * EDGE) * dpi / 25.4)
    fine = 3 * count
    at = (np.arange(fine) + 0.5) * (SIZE + 2 * EDGE) / fine - EDGE
    rows = np.array([shapely.contains_xy(ink, at, np.full(fine, y)) for y in at])
    dark = rows.reshape(count, 3, count, 3).mean(axis=(1, 3))
    layers = []
    for share, colour in ((0.1, "#c8c8c8"), (0.35, "#8a8a8a"), (0.6, "#4d4d4d"), (0.85, "#0a0a0a")):
        layer = _traced(dark >= share, folder, 25.4 * count / (SIZE + 2 * EDGE)).replace("#000000", colour)
        layers.append(layer[layer.index("<g ") : layer.index("</svg>")])
    return layer[: layer.index("<g ")] + "".join(layers) + "</svg>"


def _traced(bits, folder: Path, dpi: float) -> str:
    scan, out = folder / "scan.pbm", folder / "traced.svg"
    rows = np.packbits(bits, axis=1)
    scan.write_bytes(f"P4\n{len(bits)} {len(bits)}\n".encode() + rows.tobytes())
    command = [TRACER, "-s", "-r", f"{dpi:.9f}", str(scan), "-o", str(out)]
    subprocess.run(command, check=True, timeout=60)
    return out.read_text("utf-8")
