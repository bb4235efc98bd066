"""Lines that come as filled shapes: found, and turned back into the lines that were drawn.

Some tools write each stroke as a thin filled shape; a tracer makes of a line drawing dark regions with white
holes. The eye sees lines there, and the seam runs along their middle.

*Words.* An element is **thin** when its mean width (twice its area over its perimeter) is small against the
drawing and against its own length. The **ink** is what thin elements show. A drawing is **line work** when
nearly all that is seen in it is ink, or strokes that look like it; then, and only then, lines are
recovered without being asked for: a thin dark piece of a drawing whose other pieces simply abut stays one.

*How.* The drawing is arranged as usual; its faces are ink or not. Seams run half way between the faces that
are not ink (medial.py), as few lines and arcs (strands.py, centreline.py). The result is a Drawing of
strokes, with the fills that are seen laid out to the seams.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.arrange import SIDE, map_of
from convert.block.background import WHITE, luminance
from convert.block.centreline import seams
from convert.block.choices import Lines
from convert.block.faces import inner_points, trace
from convert.block.leftover import leftovers
from convert.block.medial import Borders, network
from convert.block.noding import node
from convert.block.pieces import half_edge_table, trace_rings
from convert.block.repair import face_areas
from convert.block.snapping import components, run_starts
from convert.block.strands import strands
from convert.block.visible import Fills, fabrics, showing
from convert.errors import DrawingError, Finding, Place, Severity
from convert.geometry.chain import Segments
from convert.geometry.measure import area_terms, boxes, lengths, midpoint, point_at, start_tangent
from convert.reader.drawing import FillRule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.block.centreline import Seam
    from convert.block.medial import Network
    from convert.block.model import PlanarMap
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing, Element

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


THIN = {Lines.AUTO: 0.02, Lines.CENTRE: 0.06}
"""Mean width of a thin element over the drawing's extent: lines of 3 mm on a block of 150 mm are thin."""

SLENDER = 0.25
"""Mean width of a thin element over half its perimeter: 0.32 for a disc, 0.25 for strokes of 3 to 1."""

DOT = 8.0
"""A dot has a perimeter of less than so many widths of a line."""

DARK = 0.45
"""Relative luminance (0 to 1) below which a fill may be ink; when asked for centre lines any may."""

SPECK = 0.5
"""White spots in the ink of less than so many squares of the line's width are no pieces."""

FOREIGN = 0.1
"""Share of lines that are no ink, up to which a drawing is line work."""

LIKE = 1.6
"""Strokes of the ink's colour, at most so many times wider or narrower, look like ink."""

EVEN, EVEN_SHARE = 0.35, 0.75
"""So large a share of the network has the usual width, give or take that share, if the ink is lines."""

SAMPLES = 6
"""Samples of a border per line width."""

BESIDE = 0.25
"""Strokes that look like ink count as ink of twice this share of the line's width."""

CLOSED = 1e-2
"""Share of the usual gap that is closed where everything is filled."""

BESIDE_SCATTER = 0.15
"""Share by which the width that samples beside a stroke give may differ from what it should be."""

_ADVICE = "Use --lines as-drawn to keep the shapes, or draw the seams as single lines"


@dataclass(frozen=True, slots=True, eq=False)
class _Picture:
    """What is seen.

    *Shapes*: for E edges and F faces (and the outside, the last entry, number -1): `top` (F+1,) is the
    topmost element (-1: no fill); `ink` (F+1,); `region` (F+1,) the number of the region a face belongs
    to: faces that no seen line parts are one, 0 is the outside's; `seen` (E,) says which edges are seen,
    `area` (F+1,) is in mm².
    `inked` are the elements that are seen as ink, `loose` lines that part nothing, and their elements.
    """

    drawing: Drawing
    map: PlanarMap
    top: Ints
    ink: Bools
    region: Ints
    seen: Bools
    area: Floats
    inked: Ints
    loose: tuple[Segments, Ints]

    @property
    def sides(self) -> tuple[Bools, Bools]:
        """(E,), (E,): whether the left and the right of each edge is ink."""
        return self.ink[self.map.face_of[0::2]], self.ink[self.map.face_of[1::2]]


def with_lines(drawing: Drawing, tolerances: Tolerances, lines: Lines) -> tuple[Drawing, tuple[Finding, ...]]:
    """Return the drawing with its filled lines as strokes along their middle, and what was done and why.

    *Errors*: DrawingError when centre lines are asked for and there are none.
    """
    thin = () if lines is Lines.AS_DRAWN else _thin(drawing, lines)
    if not thin:
        if lines is Lines.CENTRE:
            raise DrawingError.because(
                "BLOCK-020",
                "centre lines are asked for, but no thin filled shape is in the drawing",
                "Leave --lines out",
            )
        return drawing, ()
    picture = _seen(drawing, tolerances, thin)
    left, right = picture.sides
    border = left != right
    size = lengths(_edges(picture.map))
    width = float(2 * picture.area[picture.ink].sum() / size[border].sum()) if border.any() else 0.0
    doubt = _doubt(picture, size, width) if width > 0 else "none of them is seen"
    if doubt is None or (lines is Lines.CENTRE and width > 0):
        picture, specks = _without_specks(picture, width)
        net = _network(picture, width)
        width, even = _usual_width(net, width)
        if even < EVEN_SHARE:
            doubt = doubt or f"only {even:.0%} of their length is about equally wide"
        if doubt is None or lines is Lines.CENTRE:
            return _recovered(picture, net, width, specks)
    told = Finding(
        "BLOCK-021",
        Severity.NOTE,
        f"{_many(len(thin), 'thin dark shape')} could be lines, but {doubt}; they are taken for pieces",
        "If they are lines, use --lines centre",
        _where(drawing, thin[0]),
    )
    return drawing, (told,)


def _many(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _where(drawing: Drawing, element: int) -> Place:
    e = drawing.elements[element]
    return Place(line=e.line, element=e.id)


def _edges(table: PlanarMap) -> Segments:
    return Segments(table.points[table.start], table.points[table.end], table.bulge)


def _is_ink(element: Element, lines: Lines) -> bool:
    if element.fill is None or element.fill_opacity < 1 or not element.fill.startswith("#"):
        return False
    if element.stroke is not None and element.stroke != element.fill:
        return False
    return lines is Lines.CENTRE or luminance(element.fill) < DARK


def _thin(drawing: Drawing, lines: Lines) -> tuple[int, ...]:
    """Return the elements that are thin and dark, and dots of the same colours."""
    inky = np.array([_is_ink(e, lines) for e in drawing.elements], bool)
    drawn = np.unique(drawing.element_of)
    if not inky[drawn].any():
        return ()
    area, perimeter, box = _sizes(drawing)
    extent = float((box[drawn, 2:].max(axis=0) - box[drawn, :2].min(axis=0)).max())
    filled = np.array([e.fill is not None and e.fill_opacity >= 1 for e in drawing.elements], bool)
    for k in np.flatnonzero(inky & ((box[:, 2:] - box[:, :2]).max(axis=1) > extent / 2)).tolist():
        # Windows laid on a dark sheet leave thin strips of it to be seen.
        inside = (box[:, :2] >= box[k, :2]).all(axis=1) & (box[:, 2:] <= box[k, 2:]).all(axis=1)
        windows = np.flatnonzero(inside & filled & ~inky & (np.arange(len(box)) > k))
        left = area[k] - area[windows].sum()
        if left > 0:
            area[k], perimeter[k] = left, perimeter[k] + perimeter[windows].sum()
    with np.errstate(divide="ignore", invalid="ignore"):
        width = np.where(perimeter > 0, 2 * area / perimeter, np.inf)
        thin = inky & (width <= THIN[lines] * extent) & (width <= SLENDER * perimeter / 2)
    if not thin.any():
        return ()
    # Ends and crossings of lines are sometimes dots of their own.
    usual = float(np.median(width[thin]))
    colours = {drawing.elements[k].fill for k in np.flatnonzero(thin)}
    dots = inky & (perimeter > 0) & (perimeter < DOT * usual)
    return tuple(
        k for k in np.flatnonzero(thin | dots).tolist() if thin[k] or drawing.elements[k].fill in colours
    )


def _sizes(drawing: Drawing) -> tuple[Floats, Floats, Floats]:
    """Return by element: filled area (e,), perimeter (e,) and box (e, 4), nan where nothing is drawn."""
    table, whose, ring = drawing.segments, drawing.element_of, drawing.subpath_of
    count, rings = len(drawing.elements), int(drawing.subpath_of.max()) + 1
    middle = (table.start.min(axis=0) + table.start.max(axis=0)) / 2
    terms = area_terms(Segments(table.start - middle, table.end - middle, table.bulge))
    signed = np.bincount(ring, terms, rings)
    owner = np.zeros(rings, np.int64)
    owner[ring] = whose
    # Outlines that run against each other are holes; so is, under the even-odd rule, all but the largest.
    area = np.abs(np.bincount(owner, signed, count))
    most = np.zeros(count)
    np.maximum.at(most, owner, np.abs(signed))
    nested = 2 * most - np.bincount(owner, np.abs(signed), count)
    evenodd = np.array([e.fill_rule is FillRule.EVENODD for e in drawing.elements], bool)
    area = np.where(evenodd & (nested > 0), np.minimum(area, nested), area)
    each = boxes(table)
    box = np.full((count, 4), np.nan)
    first = run_starts(whose)
    box[whose[first]] = np.hstack(
        (np.minimum.reduceat(each[:, :2], first), np.maximum.reduceat(each[:, 2:], first))
    )
    return area, np.bincount(whose, lengths(table), count).astype(np.float64), box


def _seen(drawing: Drawing, tolerances: Tolerances, thin: tuple[int, ...]) -> _Picture:
    """Return the picture of a drawing. An edge is seen if its sides differ, or for a stroke on top of it."""
    if not _stroked(drawing.elements).any():
        # Fills are closed as they are, and a tracer's outline may wobble by as much as the usual gap.
        tolerances = replace(tolerances, gap=CLOSED * tolerances.gap)
    web, _ = node(drawing, tolerances)
    fills = Fills.of(drawing)
    by_stroke = np.maximum.reduceat(web.code % 2, web.first[:-1]) == 1
    if by_stroke.any():
        shows, _ = showing(web, fills, SIDE * tolerances.gap)
        web = web.keep(shows | ~by_stroke)
        by_stroke = by_stroke[shows | ~by_stroke]
    traced = trace(web.points, web.start, web.end, web.bulge)
    apart = traced.boundary[0::2] != traced.boundary[1::2]
    hanging = web.keep(~apart & by_stroke)
    web = web.keep(apart)
    planar = map_of(web, trace(web.points, web.start, web.end, web.bulge))
    top = np.append(fabrics(inner_points(planar), fills), -1)
    ink = np.isin(top, thin)
    left, right = planar.face_of[0::2], planar.face_of[1::2]
    seen = (top[left] != top[right]) | by_stroke[apart]
    outside = len(top) - 1
    same = ~seen | (ink[left] & ink[right])
    one = components(len(top), left[same] % len(top), right[same] % len(top))
    _, region = np.unique(one, return_inverse=True)
    # The outside's number and 0 change places.
    region = np.where(region == region[outside], 0, np.where(region == 0, region[outside], region))
    table, source = hanging.segments, hanging.code[hanging.first[:-1]] // 2
    # Inside the ink there is nothing to be seen of a line of the same colour.
    free = ~np.isin(fabrics(midpoint(table), fills), thin)
    area = np.append(face_areas(planar), np.inf)
    loose = (table.take(free), source[free])
    return _Picture(drawing, planar, top, ink, region, seen, area, np.unique(top[ink]), loose)


def _stroked(elements: Sequence[Element]) -> Bools:
    return np.array([e.stroke is not None for e in elements], bool)


def _doubt(picture: _Picture, size: Floats, width: float) -> str | None:
    """Return why the drawing can't be told to be line work; None when it can."""
    left, right = picture.sides
    border, plain = left != right, picture.seen & ~left & ~right
    elements = picture.drawing.elements
    # The rim of something white on white paper is not seen.
    pale = np.array([e.fill is None or (e.fill[0] == "#" and luminance(e.fill) >= WHITE) for e in elements])
    white = (picture.top < 0) | pale[picture.top]
    unlined = np.maximum.reduceat(_stroked(elements)[picture.map.sources], picture.map.source_start[:-1]) == 0
    plain &= ~(unlined & white[picture.map.face_of[0::2]] & white[picture.map.face_of[1::2]])
    colours = {elements[k].fill for k in picture.inked.tolist()}
    like = np.array(
        [
            e.stroke in colours and width / LIKE <= e.stroke_width <= width * LIKE
            for e in elements
        ],
        bool,
    )
    source = picture.map.sources[picture.map.source_start[:-1]]
    foreign = float(size[plain & ~like[source]].sum())
    every = float(size[border].sum()) / 2 + float(size[plain].sum())
    if len(np.unique(picture.region[~picture.ink])) < 2:
        return "they enclose nothing"
    if foreign > FOREIGN * every:
        return f"{foreign / every:.0%} of all seams are no such shapes"
    return None


def _without_specks(picture: _Picture, width: float) -> tuple[_Picture, int]:
    """Return the picture with white spots that are smaller than the line is wide inked over; their number."""
    area = np.bincount(picture.region, picture.area)
    speck = ~picture.ink & (area[picture.region] < SPECK * width * width)
    count = len(np.unique(picture.region[speck]))
    return replace(picture, ink=picture.ink | speck), count


def _network(picture: _Picture, width: float) -> Network:
    """Return the network between the regions that are no ink."""
    planar = picture.map
    rings = trace_rings(planar)
    other = planar.face_of[np.arange(len(planar.face_of)) ^ 1]
    here, there = picture.ink[planar.face_of], picture.ink[other]
    half = rings.half
    ring = np.repeat(np.arange(len(rings.start) - 1), np.diff(rings.start))
    rim = np.flatnonzero(~here[half] & there[half])
    _, number = np.unique(ring[rim], return_inverse=True)
    borders = Borders(rings.table.take(rim), picture.region[planar.face_of[half[rim]]], number)
    points, region = borders.sampled(width / SAMPLES)
    plain = np.flatnonzero(~here & ~there & (picture.region[planar.face_of] != picture.region[other]))
    if len(plain):
        beside, own = _beside(picture, plain, width)
        points, region = np.concatenate((points, beside)), np.concatenate((region, own))
    return network(points, region)


def _beside(picture: _Picture, plain: Ints, width: float) -> tuple[Floats, Ints]:
    """Return samples on the left of half-edges that are no ink, and their regions: as if they were ink."""
    _, halves = half_edge_table(picture.map)
    table = halves.take(plain)
    off, spacing = BESIDE * width, width / SAMPLES
    size = lengths(table)
    count = np.maximum(1, np.ceil(size / spacing)).astype(np.int64)
    row = np.repeat(np.arange(len(plain)), count)
    place = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    share = (place + 0.5) / count[row]
    clear = np.minimum(share, 1 - share) * size[row] > np.minimum(off, size[row] / 4)
    row, share = row[clear], share[clear]
    at = point_at(table.take(row), share)
    # The direction at a share of an arc: from there on to its end, half the sweep before the chord.
    rest = Segments(at, table.end[row], np.tan(np.arctan(table.bulge[row]) * (1 - share)))
    way = start_tangent(rest)
    normal = np.stack((-way[:, 1], way[:, 0]), axis=1)
    return at + off * normal, picture.region[picture.map.face_of[plain[row]]]


def _usual_width(net: Network, mean: float) -> tuple[float, float]:
    """Return the usual width along a network, and for which share of its length that is about right.

    `mean` is the ink's mean width. What is exactly as wide as `_beside` makes it is no ink and doesn't count.
    """
    if not net.paths:
        return 0.0, 0.0
    step = np.concatenate([np.hypot(*np.diff(p.points, axis=0).T) for p in net.paths])
    wide = np.concatenate([p.clearance[1:] + p.clearance[:-1] for p in net.paths])
    made = 2 * BESIDE * mean
    ink = np.abs(wide - made) > BESIDE_SCATTER * made
    if not ink.any():
        return mean, 0.0
    step, wide = step[ink], wide[ink]
    order = np.argsort(wide)
    running = np.cumsum(step[order])
    usual = float(wide[order[np.searchsorted(running, running[-1] / 2)]])
    even = step[np.abs(wide - usual) <= EVEN * usual].sum() / running[-1]
    # Circles through samples h apart on both sides of a line are wider than it by h² / 3w on average.
    return usual / (1.0 + 1.0 / (3 * SAMPLES**2)), float(even)


def _recovered(
    picture: _Picture, net: Network, width: float, specks: int
) -> tuple[Drawing, tuple[Finding, ...]]:
    joining: frozenset[int] = frozenset()
    while True:
        found = strands(net, width, joining)
        rows, more = seams(found, width)
        if not more:
            break
        joining |= more
    drawing = picture.drawing
    inked = picture.inked.tolist()
    what = (
        f"{_many(len(inked), 'filled shape')} {'is' if len(inked) == 1 else 'are'} taken for drawn lines,"
        f" {width:.2f} mm wide on average; the seams run along their middle"
    )
    findings = [Finding("BLOCK-022", Severity.NOTE, what, _ADVICE, _where(drawing, inked[0]), width)]
    if specks:
        what = f"{_many(specks, 'white spot')} smaller than the lines are wide"
        findings.append(
            Finding("BLOCK-023", Severity.NOTE, f"{what} left out of account", value=float(specks))
        )
    for region in found.lost:
        x, y = inner_points(picture.map)[np.flatnonzero(picture.region == region)[0]].tolist()
        findings.append(
            Finding(
                "BLOCK-024",
                Severity.WARNING,
                "a white spot is hardly larger than the lines round it are wide and is taken for no piece",
                "Enlarge it, or draw thinner lines",
                Place(at=(x, drawing.page[1] - y)),
            )
        )
    redrawn = _redrawn(picture, rows, width)
    findings += leftovers(net, found, redrawn.segments, drawing, picture.inked, width)
    return redrawn, tuple(findings)


def _redrawn(picture: _Picture, rows: list[Seam], width: float) -> Drawing:
    """Return the drawing that the seams make: the fills that are seen, then the seams, then loose lines."""
    drawing = picture.drawing
    elements = list(drawing.elements)
    start: list[complex] = []
    end: list[complex] = []
    bulge: list[float] = []
    element: list[int] = []
    subpath: list[int] = []
    closed: list[bool] = []

    def add(parts: list[tuple[complex, complex, float]], whose: int, *, loop: bool) -> None:
        for p, q, b in parts:
            start.append(p)
            end.append(q)
            bulge.append(b)
            element.append(whose)
            subpath.append(len(closed))
        closed.append(loop)

    for region, loops in sorted(_loops(rows).items()):
        top = int(picture.top[np.flatnonzero(picture.region == region)[-1]])
        if top >= 0:
            elements.append(replace(drawing.elements[top], stroke=None, fill_rule=FillRule.NONZERO))
            for loop in loops:
                add(loop, len(elements) - 1, loop=True)
    source = _source(picture, rows)
    for whose in np.unique(source).tolist():
        fill = drawing.elements[whose].fill
        elements.append(replace(drawing.elements[whose], fill=None, stroke=fill, stroke_width=width))
        for k in np.flatnonzero(source == whose).tolist():
            add([(rows[k].start, rows[k].end, rows[k].bulge)], len(elements) - 1, loop=False)
    table, sources = picture.loose
    for k, whose in enumerate(sources.tolist()):
        elements.append(replace(drawing.elements[whose], fill=None))
        ends = complex(*table.start[k].tolist()), complex(*table.end[k].tolist())
        add([(*ends, float(table.bulge[k]))], len(elements) - 1, loop=False)
    return replace(
        drawing,
        elements=tuple(elements),
        segments=Segments(_points(start), _points(end), np.array(bulge)),
        element_of=np.array(element, np.int64),
        subpath_of=np.array(subpath, np.int64),
        closed=np.array(closed, bool),
        implied=np.zeros(len(start), bool),
    )


def _points(z: list[complex]) -> Floats:
    row = np.array(z, np.complex128)
    return np.stack((row.real, row.imag), axis=1)


def _loops(rows: list[Seam]) -> dict[int, list[list[tuple[complex, complex, float]]]]:
    """Return the closed outlines of each region: its seams, walked with the region on the left."""
    ways: dict[int, dict[complex, list[tuple[complex, complex, float]]]] = {}
    for s in rows:
        for region, way in ((s.left, (s.start, s.end, s.bulge)), (s.right, (s.end, s.start, -s.bulge))):
            ways.setdefault(region, {}).setdefault(way[0], []).append(way)
    found = {}
    for region, by_start in ways.items():
        loops = []
        for begin in list(by_start):
            while by_start.get(begin):
                loop = [by_start[begin].pop()]
                while by_start.get(loop[-1][1]):
                    loop.append(by_start[loop[-1][1]].pop())
                loops.append(loop)
        found[region] = loops
    return found


def _source(picture: _Picture, rows: list[Seam]) -> Ints:
    """Return for each seam the element whose ink it runs in."""
    table = Segments(
        _points([s.start for s in rows]), _points([s.end for s in rows]), np.array([s.bulge for s in rows])
    )
    top = fabrics(midpoint(table), Fills.of(picture.drawing))
    return np.where(np.isin(top, picture.inked), top, picture.inked[0])
