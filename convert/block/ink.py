"""What of a drawing is ink: thin dark elements, and the picture of faces that they and all others make.

*Words.* An element is **thin** when its mean width (twice its area over its perimeter) is small against the
drawing and against its own length. The **ink** is what thin elements show. A **region** is what the ink
and other seen lines part: a face, or several that nothing seen parts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.arrange import SIDE, map_of
from convert.block.choices import Lines
from convert.block.colours import WHITE, luminance
from convert.block.faces import inner_points, trace
from convert.block.noding import node
from convert.block.repair import face_areas
from convert.block.snapping import components, run_starts
from convert.block.visible import Fills, fabrics, showing
from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.index import box_pairs
from convert.geometry.measure import area_terms, boxes, lengths, midpoint
from convert.reader.drawing import FillRule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.block.model import PlanarMap
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing, Element

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

THIN, BROAD = 0.02, 0.06
"""Mean width of a thin element over the drawing's extent: lines of 3 mm on a block of 150 mm are thin. When
asked for centre lines, broader ones may be."""

SLENDER = 0.25
"""Mean width of a thin element over half its perimeter: 0.32 for a disc, 0.25 for strokes of 3 to 1."""

MOST_SHEETS = 100
"""Dark elements that are looked at for windows laid on them, the largest first."""

DOT = 8.0
"""A dot has a perimeter of less than so many widths of a line."""

DARK = 0.45
"""Relative luminance (0 to 1) below which a fill may be ink; when asked for centre lines any may."""

LIKE, OTHER = 1.6, 1.3
"""Strokes of the ink's colour are lines if at most so many times wider or narrower; thin shapes of another
dark colour if at most so many times wider on average, a leaf being half as wide as in its middle."""

SHADE = 25.0
"""A lighter thin element is a shade of the ink, as a smoothed edge has it, if each part of its colour, 0 to
255, is within this of a mixture of the ink's colour and white."""

SPECK, SLIT = 0.5, 0.4
"""White spots in the ink of less than so many squares of the line's width are no pieces, nor are white slits
of less than such a share of its width, as some tracers leave between two shades of one line."""

CLOSED = 1e-2
"""Share of the usual gap that is closed where everything is filled."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
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


def _is_ink(element: Element, lines: Lines) -> bool:
    return _is_plain(element) and (lines is Lines.CENTRE or luminance(element.fill or "") < DARK)


def _is_plain(element: Element) -> bool:
    """Tell whether an element is of one opaque colour, stroke and all."""
    if element.fill is None or element.fill_opacity < 1 or not element.fill.startswith("#"):
        return False
    return element.stroke is None or element.stroke == element.fill


def _cloth(elements: Sequence[Element], thin: Bools, width: Floats, perimeter: Floats) -> Bools:
    """Return which thin elements (e,) are pieces among lines: of another dark colour, and broader."""
    rows = np.flatnonzero(thin)
    fills = [str(elements[k].fill) for k in rows.tolist()]
    names, which = np.unique(fills, return_inverse=True)
    most = int(np.argmax(np.bincount(which, perimeter[rows])))
    main = which == most
    usual = float(np.average(width[rows][main], weights=perimeter[rows][main]))
    other = ~main & ~_shades([elements[k] for k in rows.tolist()], {str(names[most])})
    found = np.zeros(len(elements), bool)
    found[rows[other & (width[rows] > OTHER * usual)]] = True
    return found


def _shades(elements: Sequence[Element], inked: set[str]) -> Bools:
    """Return which elements (e,) are a shade between white and one of the colours in `inked`."""
    fills = [e.fill if e.fill and _is_plain(e) and luminance(e.fill) < WHITE else None for e in elements]
    light: Floats = 255.0 - np.array([_rgb(fill or "#ffffff") for fill in fills])
    found = np.zeros(len(elements), bool)
    for colour in sorted(inked):
        ink = 255.0 - np.array(_rgb(colour))
        if not ink.any():
            continue  # white has no shades
        share = np.clip(light @ ink / (ink @ ink), 0.0, 1.0)
        found |= np.abs(light - share[:, None] * ink).max(axis=1) <= SHADE
    known: Bools = found & np.array([fill is not None for fill in fills], bool)
    return known


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (float(int(colour[k : k + 2], 16)) for k in (1, 3, 5))
    return red, green, blue


def thin_elements(drawing: Drawing, lines: Lines, most: float | None = None) -> tuple[int, ...]:
    """Return the elements that are thin and dark, and dots of the same colours.

    `most` is the greatest mean width over the drawing's extent, if another than the usual one.
    """
    most = most or (BROAD if lines is Lines.CENTRE else THIN)
    inky = np.array([_is_ink(e, lines) for e in drawing.elements], bool)
    drawn = np.unique(drawing.element_of)
    if not inky[drawn].any():
        return ()
    area, perimeter, box = _sizes(drawing)
    extent = float((box[drawn, 2:].max(axis=0) - box[drawn, :2].min(axis=0)).max())
    filled = np.array([e.fill is not None and e.fill_opacity >= 1 for e in drawing.elements], bool)
    fat = np.flatnonzero(inky & (2 * area > most * extent * perimeter))
    for k in fat[np.argsort(-area[fat], kind="stable")][:MOST_SHEETS].tolist():
        # Windows laid on a dark sheet leave thin strips of it to be seen.
        inside = (box[:, :2] >= box[k, :2]).all(axis=1) & (box[:, 2:] <= box[k, 2:]).all(axis=1)
        windows = np.flatnonzero(inside & filled & ~inky & (np.arange(len(box)) > k))
        windows = _outermost(drawing, windows, box)
        left = area[k] - area[windows].sum()
        if left > 0:
            area[k], perimeter[k] = left, perimeter[k] + perimeter[windows].sum()
    with np.errstate(divide="ignore", invalid="ignore"):
        width = np.where(perimeter > 0, 2 * area / perimeter, np.inf)
        slim = (area > 0) & (width <= most * extent) & (width <= SLENDER * perimeter / 2)
    thin = inky & slim
    if not thin.any():
        return ()
    thin &= ~_cloth(drawing.elements, thin, width, perimeter)
    inky &= thin | ~slim
    inked = {str(drawing.elements[k].fill) for k in np.flatnonzero(thin)}
    shade = _shades(drawing.elements, inked)
    inky |= shade
    thin = inky & slim
    # Ends and crossings of lines are sometimes dots of their own.
    usual = float(width[thin] @ area[thin] / area[thin].sum())
    colours = {drawing.elements[k].fill for k in np.flatnonzero(thin)}
    dots = inky & (perimeter > 0) & (perimeter < DOT * usual)
    same = np.array([e.fill in colours for e in drawing.elements], bool)
    return tuple(np.flatnonzero(thin | (dots & (same | shade))).tolist())


def _outermost(drawing: Drawing, windows: Ints, box: Floats) -> Ints:
    """Return those of some filled elements that lie in none of the others."""
    pair = np.concatenate(box_pairs(box[windows])).reshape(2, -1).astype(np.int64)
    outer, inner = np.hstack((windows[pair], windows[pair[::-1]]))
    within = (box[inner, :2] >= box[outer, :2]).all(axis=1) & (box[inner, 2:] <= box[outer, 2:]).all(axis=1)
    outer, inner = outer[within], inner[within]
    begin = np.searchsorted(drawing.element_of, np.arange(len(drawing.elements) + 1))
    held = windings(drawing.segments, begin, outer, drawing.segments.start[begin[inner]]) != 0
    kept: Ints = np.setdiff1d(windows, inner[held])
    return kept


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


def picture_of(drawing: Drawing, tolerances: Tolerances, thin: tuple[int, ...]) -> Picture:
    """Return the picture of a drawing. An edge is seen if its sides differ, or for a stroke on top of it."""
    if not stroked(drawing.elements).any():
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
    return Picture(drawing, planar, top, ink, region, seen, area, np.unique(top[ink]), loose)


def stroked(elements: Sequence[Element]) -> Bools:
    """Return which elements have a stroke (e,)."""
    return np.array([e.stroke is not None for e in elements], bool)


def without_specks(picture: Picture, width: float) -> tuple[Picture, int]:
    """Return the picture with white spots and slits smaller than the line is wide inked over; how many."""
    table = picture.map
    area = np.bincount(picture.region, picture.area)
    size = lengths(Segments(table.points[table.start], table.points[table.end], table.bulge))
    left, right = (picture.region[table.face_of[k::2]] for k in (0, 1))
    size[left == right] = 0.0
    rim = np.bincount(left, size, len(area)) + np.bincount(right, size, len(area))
    small = area < SPECK * width * width
    if len({picture.drawing.elements[k].fill for k in picture.inked.tolist()}) > 1:
        small |= 2 * area < SLIT * width * rim
    speck = ~picture.ink & small[picture.region]
    count = len(np.unique(picture.region[speck]))
    return replace(picture, ink=picture.ink | speck), count
