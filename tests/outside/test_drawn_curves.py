"""Written outlines against the curves that were drawn, evaluated by other people's code.

Drawn Béziers and written arcs are both evaluated by svgpathtools (an independent reader of path
data), under matrices written out here; distances are shapely's. Nothing of ours is used but the
program itself. The promise: no written outline is further than 0.01 mm from the drawn curve at
300 mm. Source of elliptical arcs' parametrisation: SVG 2, appendix B.2.4.
"""

from __future__ import annotations

from math import acos, atan, ceil, pi
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import svgpathtools
from fixture_values import FIXTURES, GOOD
from shapely import STRtree, linestrings, points
from variations import Variation, varied

from convert.block import make_block
from convert.cutting.sheet import Arrangement
from convert.job import job_for
from convert.pipeline import convert_drawing, plan_drawing
from convert.profile import load_profile
from convert.reader import read_drawing
from convert.wishes import Size, Wishes

if TYPE_CHECKING:
    from pathlib import Path

SVG = "{http://www.w3.org/2000/svg}"
LARGE = 300.0
PROMISE = 0.01
STEP = 0.1
"""Distance of neighbouring samples, mm; its chord is 2.5e-4 mm off a curve of 5 mm radius."""
CURVED = [e for e in GOOD if e.curves != "lines"]


def _turn(degrees: float) -> np.ndarray:
    a = degrees * pi / 180
    return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0]])


def _moved(samples: np.ndarray, matrix: np.ndarray) -> np.ndarray:
    return samples @ matrix[:, :2].T + matrix[:, 2]


def _samples(path: svgpathtools.Path, unit: float) -> list[np.ndarray]:
    """Return points along every segment, about STEP apart when one unit is `unit` mm."""
    lines = []
    for segment in path:
        if isinstance(segment, svgpathtools.Line):
            z = np.array([segment.start, segment.end])
        elif isinstance(segment, svgpathtools.Arc):
            count = 2 + int(abs(segment.delta) * pi / 180 * abs(segment.radius.real) * unit / STEP)
            z = np.array([segment.point(t) for t in np.linspace(0, 1, count)])
        else:
            control = np.array(segment.bpoints())
            count = 2 + int(np.abs(np.diff(control)).sum() * unit / STEP)
            z = segment.poly()(np.linspace(0, 1, count))
        lines.append(np.column_stack((z.real, z.imag)))
    return lines


def _ellipse(rx: float, ry: float, unit: float) -> np.ndarray:
    t = np.linspace(0, 2 * pi, int(2 * pi * max(rx, ry) * unit / STEP))
    return np.column_stack((rx * np.cos(t), ry * np.sin(t)))


def _path(name: str, key: str) -> svgpathtools.Path:
    root = ET.parse(FIXTURES / f"{name}.svg").getroot()
    (element,) = (el for el in root.iter(f"{SVG}path") if el.get("id") == key)
    return svgpathtools.parse_path(element.get("d"))


def _cosmos(unit: float) -> list[np.ndarray]:
    """Return petals, eye, rays and frame; the frame's upper left corner is the origin."""
    middle = np.array([[1, 0, 240], [0, 1, 240]])
    petal = [line for line in _samples(_path("cosmos", "petal"), unit) if np.hypot(*line.T).min() > 59.9]
    drawn = [_moved(line, _turn(45 * k)) for line in petal for k in range(8)]
    drawn.append(_ellipse(60, 60, unit))
    ends = [240.0 if k % 2 == 0 else 240 * 2**0.5 for k in range(8)]
    drawn += [_moved(np.array([[200.0, 0.0], [end, 0.0]]), _turn(45 * k)) for k, end in enumerate(ends)]
    frame = np.array([[-240, -240], [240, -240], [240, 240], [-240, 240], [-240, -240]])
    return [_moved(line, middle) for line in [*drawn, frame]]


def _river(unit: float) -> list[np.ndarray]:
    corner = np.array([[1, 0, 80], [0, 1, 50]])
    drawn = _samples(_path("river-stones", "river"), unit)
    skew = np.array([[1, np.tan(-25 * pi / 180), 0], [0, 1, 0]])
    drawn.append(_moved(_ellipse(30, 24, unit), skew))
    for x, y in ((-54, 6), (54, -6)):
        drawn.append(_moved(_ellipse(12, 10, unit), np.array([[1, -0.2, x], [0.5, 1, y]])))
    drawn.append(np.array([[-80.0, -50], [80, -50], [80, 50], [-80, 50], [-80, -50]]))
    return [_moved(line, corner) for line in drawn]


def _bell(unit: float) -> list[np.ndarray]:
    """Return petals, circle, seams and frame of the five-petal bell in inches, the middle at the origin."""
    drawn = [_ellipse(2, 2, unit)]
    for segment in _path("five-petal-bell", "petal"):
        if isinstance(segment, svgpathtools.Arc):
            (line,) = _samples(svgpathtools.Path(segment), unit)
            drawn += [_moved(line, _turn(72 * k)) for k in range(5)]
    seam = np.array([[2**0.5, 2**0.5], [2.5, 2.5]])
    frame = np.array([[-2.5, -2.5], [2.5, -2.5], [2.5, 2.5], [-2.5, 2.5], [-2.5, -2.5]])
    return [*drawn, *(_moved(seam, _turn(90 * k)) for k in range(4)), frame]


def _written(path: Path, folder: Path) -> list[np.ndarray]:
    """Return samples of what the assembled SVG at 300 mm shows, in mm from its upper left."""
    wishes = Wishes(sizes=(Size("large", LARGE),), arrange=(Arrangement.ASSEMBLED,), formats=("svg",))
    convert_drawing(path, job_for(path, wishes), folder)
    (file,) = folder.rglob("assembled*.svg")
    root = ET.parse(file).getroot()
    page_mm = float(root.get("width").removesuffix("mm"))
    unit = page_mm / float(root.get("viewBox").split()[2])
    lines = []
    for group in root.iter(f"{SVG}g"):
        if group.findtext(f"{SVG}title") in {"CUT-SEAM", "CUT-OUTER", "CUT-INNER"}:
            for element in group.iter(f"{SVG}path"):
                lines += [line * unit for line in _samples(svgpathtools.parse_path(element.get("d")), unit)]
    corner = np.min([line.min(axis=0) for line in lines], axis=0)
    return [line - corner for line in lines]


def _apart(these: list[np.ndarray], those: list[np.ndarray]) -> float:
    """Return how far a sample of these lines can be from the nearest of those lines."""
    tree = STRtree(linestrings(np.concatenate([np.stack((c[:-1], c[1:]), axis=1) for c in those])))
    _, far = tree.query_nearest(points(np.concatenate(these)), return_distance=True, all_matches=False)
    return float(far.max())


@pytest.mark.parametrize(
    ("name", "drawn", "units"), [("cosmos", _cosmos, 480.0), ("river-stones", _river, 160.0)]
)
def test_written_outlines_keep_to_the_drawn_curves(name: str, drawn, units: float, tmp_path) -> None:
    """At 300 mm every written point is within 0.01 mm of a drawn line, and the other way round."""
    written, scale = _written(FIXTURES / f"{name}.svg", tmp_path), LARGE / units
    curves = [line * scale for line in drawn(scale)]
    assert _apart(written, curves) < PROMISE
    assert _apart(curves, written) < PROMISE


@pytest.mark.parametrize("matrix", [(1.3, 0.2, -0.1, 0.8), (1.0, 0.0, 0.7, 1.0), (-0.4, 0.3, 0.9, 1.0)])
def test_arcs_under_a_skew_keep_to_the_drawn_ellipses(matrix, tmp_path) -> None:
    """Skewed, arcs become parts of ellipses; those of touching shapes still agree with what was drawn."""
    a, b, c, d = matrix
    path = tmp_path / "bell.svg"
    text = (FIXTURES / "five-petal-bell.svg").read_text("utf-8")
    path.write_text(varied(text, Variation(matrix=matrix)), "utf-8")
    written = _written(path, tmp_path)
    shape = np.array([[a, c, 0], [b, d, 0]])
    curves = [_moved(line, shape) for line in _bell(2 * LARGE / 5)]
    low = np.min([line.min(axis=0) for line in curves], axis=0)
    wide = max(line[:, 0].max() for line in curves) - low[0]
    curves = [(line - low) * (LARGE / wide) for line in curves]
    assert _apart(written, curves) < PROMISE
    assert _apart(curves, written) < PROMISE


def _nodes(name: str) -> tuple[int, int]:
    """Return the nodes of all outlines at 300 mm, and those that flattening to the same tolerance needs."""
    path = FIXTURES / f"{name}.svg"
    wishes = Wishes(sizes=(Size("large", LARGE),), profile=load_profile("laser-600x400"))
    (size,) = plan_drawing(path, job_for(path, wishes)).sizes
    arcs, chords = 0, 0
    for template in size.block.templates:
        table = template.outline.segments
        for bulge, chord in zip(table.bulge, np.hypot(*(table.end - table.start).T), strict=True):
            sweep = 4 * atan(abs(bulge))
            radius = chord * (1 + bulge * bulge) / (4 * abs(bulge)) if bulge else np.inf
            # Chords of a circle of radius r stay within e of it up to a half angle of acos(1 - e / r).
            need = ceil(sweep / (2 * acos(max(1 - PROMISE / radius, 0.0)))) if sweep else 1
            arcs += template.count + template.reversed_count
            chords += need * (template.count + template.reversed_count)
    return arcs, chords


def test_a_fifth_of_the_nodes_of_flattening() -> None:
    """Over the drawings with curves, arcs need at most a fifth of the nodes that straight chords need."""
    counts = [_nodes(e.name) for e in CURVED]
    assert sum(arcs for arcs, _ in counts) * 5 <= sum(chords for _, chords in counts)
    assert len(counts) >= 9


@pytest.mark.parametrize("name", ["sun-in-a-diamond", "stacked-sun", "cosmos", "lily-pond"])
def test_a_circle_has_at_most_four_nodes(name: str) -> None:
    """A drawn circle stays a circle: at most four nodes, all of one radius."""
    path = FIXTURES / f"{name}.svg"
    block = make_block(read_drawing(path))
    round_ones = [t for t in block.templates if (t.outline.bulge > 0.2).all() and not t.holes]
    assert round_ones
    for template in round_ones:
        assert len(template.outline) <= 4
        radius = (template.area / pi) ** 0.5
        middle = template.outline.points.mean(axis=0)
        radii = np.hypot(*(template.outline.points - middle).T)
        assert radii == pytest.approx([radius] * len(radii), rel=1e-9)
