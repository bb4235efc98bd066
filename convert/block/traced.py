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

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.centreline import seams
from convert.block.choices import Lines
from convert.block.colours import WHITE, luminance
from convert.block.faces import inner_points
from convert.block.ink import BROAD, LIKE, Picture, picture_of, stroked, thin_elements, without_specks
from convert.block.leftover import crossed, leftovers
from convert.block.medial import Borders, network
from convert.block.pieces import half_edge_table, trace_rings
from convert.block.redrawn import redrawn, table_of
from convert.block.strands import strands
from convert.block.tapers import parted
from convert.block.touching import kept_apart
from convert.errors import DrawingError, Finding, Place, Severity
from convert.geometry.chain import Segments
from convert.geometry.measure import lengths, point_at, start_tangent

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.medial import Network
    from convert.block.model import PlanarMap
    from convert.block.tapers import Meeting
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


FOREIGN, CLEARLY = 0.1, 0.6
"""Share of seams that are no ink, up to which a drawing is line work, and from which it clearly is none."""

EVEN, EVEN_SHARE, BROADEST = 0.35, 0.75, 4.0
"""So large a share of the network is as wide as its stretch from junction to junction, give or take that
share, and that is no more than so many times as wide as usual, if the ink is lines."""

SAMPLES, FEWEST, ACROSS = 6.0, 1.6, 1200.0
"""Samples of a border per line width; no fewer than that, nor more than so many across the drawing."""

BESIDE = 0.25
"""Strokes that look like ink count as ink of twice this share of the line's width."""

BESIDE_SCATTER = 0.15
"""Share by which the width that samples beside a stroke give may differ from what it should be."""

FINEST = 3000.0
"""Widths of a line that the drawing may be across: finer lines are not seen, and their middle is costly."""

MOST_SAMPLES, MOST_AN_EDGE = 60_000, 50
"""Samples of all borders, or of a drawing of many edges for each of these: what more need takes too long."""

SAME = 0.15
"""Shapes within so many line widths of each other share a template: nobody draws more exactly than that."""

_ADVICE = "Use --lines as-drawn to keep the shapes, or draw the seams as single lines"


def with_lines(
    drawing: Drawing, tolerances: Tolerances, lines: Lines
) -> tuple[Drawing, tuple[Finding, ...], Tolerances]:
    """Return the drawing with its filled lines as strokes along their middle, and what was done and why.

    The tolerances returned are those for what comes after.

    *Errors*: DrawingError when centre lines are asked for and there are none, or none that can be found.
    """
    thin = () if lines is Lines.AS_DRAWN else thin_elements(drawing, lines)
    if not thin:
        if lines is Lines.CENTRE:
            raise DrawingError.because(
                "BLOCK-020",
                "centre lines are asked for, but no thin filled shape is in the drawing",
                "Leave --lines out",
            )
        broad = thin_elements(drawing, lines, BROAD) if lines is Lines.AUTO else ()
        return drawing, _perhaps(drawing, tolerances, broad), tolerances
    picture = picture_of(drawing, tolerances, thin)
    width, size = _mean_width(picture)
    doubt = _doubt(picture, size, width) if width > 0 else "none of them is seen"
    border = _border(picture, size)
    fine = width > 0 and _too_fine(picture, border, width)
    if fine and lines is Lines.CENTRE:
        what = f"the filled lines are {width:.2g} mm wide, too fine or too many to find their middle"
        place = _where(drawing, thin[0])
        raise DrawingError.because("BLOCK-027", what, "Draw the seams as single lines", place=place)
    if doubt is None and fine:
        doubt = "they are too fine or too many to find their middle"
    if doubt is None or (lines is Lines.CENTRE and width > 0):
        picture, specks = without_specks(picture, width)
        spacing = _spacing(picture, border, width)
        net, borders = _network(picture, width, spacing)
        if net.paths:
            width, even = _usual_width(net, width, spacing)
            if even < EVEN_SHARE:
                doubt = f"only {even:.0%} of their length is about equally wide"
        if net.paths and (doubt is None or lines is Lines.CENTRE):
            same = max(tolerances.shape, SAME * width)
            severity = Severity.NOTE if lines is Lines.CENTRE else Severity.WARNING
            net, meetings = parted(net, borders, width)
            found = _recovered(picture, net, width, spacing, specks, tolerances, severity)
            if found is not None:
                told = found[1] + tuple(_met(meeting, drawing) for meeting in meetings)
                return found[0], told, replace(tolerances, shape=same)
        if lines is Lines.CENTRE:
            what = "the filled lines part nothing from anything, so they have no middle"
            place = _where(drawing, thin[0])
            raise DrawingError.because("BLOCK-027", what, "Leave --lines out", place=place)
        doubt = doubt or "they part nothing from anything"
    return drawing, (_no_lines(drawing, thin, doubt),) if doubt else (), tolerances


def _no_lines(drawing: Drawing, thin: tuple[int, ...], doubt: str) -> Finding:
    return Finding(
        "BLOCK-021",
        Severity.NOTE,
        f"{_many(len(thin), 'thin dark shape')} could be lines, but {doubt}; they are taken for pieces",
        "If they are lines, use --lines centre",
        _where(drawing, thin[0]),
    )


def _met(meeting: Meeting, drawing: Drawing) -> Finding:
    x, y = meeting.at.tolist()
    return Finding(
        "BLOCK-035",
        Severity.NOTE,
        f"two lines run into one for {meeting.length:.1f} mm and are taken to meet here",
        "Look at this point in the assembled sheet",
        Place(at=(x, drawing.page[1] - y)),
        meeting.length,
    )


def _perhaps(drawing: Drawing, tolerances: Tolerances, broad: tuple[int, ...]) -> tuple[Finding, ...]:
    """Return a note if a drawing is all of broad lines, as it seems, or of dark strips between its pieces."""
    if not broad:
        return ()
    picture = picture_of(drawing, tolerances, broad)
    width, size = _mean_width(picture)
    if width == 0.0 or _doubt(picture, size, width) is not None:
        return ()
    return (_no_lines(drawing, broad, f"they are {width:.1f} mm wide"),)


def _mean_width(picture: Picture) -> tuple[float, Floats]:
    """Return the mean width of the ink, 0 if none is seen, and the lengths of all edges (E,)."""
    left, right = picture.sides
    border = left != right
    size = lengths(_edges(picture.map))
    return float(2 * picture.area[picture.ink].sum() / size[border].sum()) if border.any() else 0.0, size


def _many(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _where(drawing: Drawing, element: int) -> Place:
    e = drawing.elements[element]
    return Place(line=e.line, element=e.id)


def _edges(table: PlanarMap) -> Segments:
    return Segments(table.points[table.start], table.points[table.end], table.bulge)


def _doubt(picture: Picture, size: Floats, width: float) -> str | None:
    """Return why the drawing can't be told to be line work; None when it can, "" if it is clearly none."""
    left, right = picture.sides
    border, plain = left != right, picture.seen & ~left & ~right
    elements = picture.drawing.elements
    # The rim of something white on white paper is not seen.
    pale = np.array([e.fill is None or (e.fill[0] == "#" and luminance(e.fill) >= WHITE) for e in elements])
    white = (picture.top < 0) | pale[picture.top]
    unlined = np.maximum.reduceat(stroked(elements)[picture.map.sources], picture.map.source_start[:-1]) == 0
    plain &= ~(unlined & white[picture.map.face_of[0::2]] & white[picture.map.face_of[1::2]])
    colours = {elements[k].fill for k in picture.inked.tolist()}
    like = np.array(
        [e.stroke in colours and width / LIKE <= e.stroke_width <= width * LIKE for e in elements],
        bool,
    )
    source = picture.map.sources[picture.map.source_start[:-1]]
    foreign = float(size[plain & ~like[source]].sum())
    every = float(size[border].sum()) / 2 + float(size[plain].sum())
    if len(np.unique(picture.region[~picture.ink])) < 2:
        return "they enclose nothing"
    if foreign > CLEARLY * every:
        return ""
    if foreign > FOREIGN * every:
        return f"{foreign / every:.0%} of all seams are no such shapes"
    return None


def _border(picture: Picture, size: Floats) -> float:
    """Return how many mm are sampled: borders of the ink, and both sides of what else parts regions.

    `size` (E,) are the lengths of the edges.
    """
    left, right = picture.sides
    one, other = (picture.region[picture.map.face_of[k::2]] for k in (0, 1))
    return float(size[left != right].sum() + 2 * size[~left & ~right & (one != other)].sum())


def _too_fine(picture: Picture, border: float, width: float) -> bool:
    """Return whether so many mm of borders can't be sampled within reason."""
    across = float(np.ptp(picture.map.points, axis=0).max())
    return across > FINEST * width or border > _most_samples(picture) * _spacing(picture, border, width)


def _spacing(picture: Picture, border: float, width: float) -> float:
    """Return how far apart samples of the borders are: what is exact enough for the whole drawing will do."""
    across = float(np.ptp(picture.map.points, axis=0).max())
    enough = max(across / ACROSS, border / _most_samples(picture))
    return max(width / SAMPLES, min(width / FEWEST, enough))


def _most_samples(picture: Picture) -> int:
    return max(MOST_SAMPLES, MOST_AN_EDGE * len(picture.map.start))


def _network(picture: Picture, width: float, spacing: float) -> tuple[Network, Borders]:
    """Return the network between the regions that are no ink, and what lies round the ink."""
    planar = picture.map
    rings = trace_rings(planar)
    other = planar.face_of[np.arange(len(planar.face_of)) ^ 1]
    here, there = picture.ink[planar.face_of], picture.ink[other]
    half = rings.half
    ring = np.repeat(np.arange(len(rings.start) - 1), np.diff(rings.start))
    rim = np.flatnonzero(~here[half] & there[half])
    _, number = np.unique(ring[rim], return_inverse=True)
    borders = Borders(rings.table.take(rim), picture.region[planar.face_of[half[rim]]], number)
    points, region = borders.sampled(spacing)
    plain = np.flatnonzero(~here & ~there & (picture.region[planar.face_of] != picture.region[other]))
    if len(plain):
        beside, own = _beside(picture, plain, width, spacing)
        points, region = np.concatenate((points, beside)), np.concatenate((region, own))
    return network(points, region), borders


def _beside(picture: Picture, plain: Ints, width: float, spacing: float) -> tuple[Floats, Ints]:
    """Return samples on the left of half-edges that are no ink, and their regions: as if they were ink."""
    _, halves = half_edge_table(picture.map)
    table = halves.take(plain)
    off = BESIDE * width
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


def _usual_width(net: Network, mean: float, spacing: float) -> tuple[float, float]:
    """Return the usual width along a network, and for which share of its length that is about right.

    `mean` is the ink's mean width. What is exactly as wide as `_beside` makes it is no ink and doesn't count.
    """
    if not net.paths:
        return 0.0, 0.0
    step = np.concatenate([np.hypot(*np.diff(p.points, axis=0).T) for p in net.paths])
    wide = np.concatenate([p.clearance[1:] + p.clearance[:-1] for p in net.paths])
    each = np.array([len(p.points) - 1 for p in net.paths])
    there = np.repeat([2 * np.median(p.clearance) for p in net.paths], each)
    made = 2 * BESIDE * mean
    ink = np.abs(wide - made) > BESIDE_SCATTER * made
    if not ink.any():
        return mean, 0.0
    step, wide, there = step[ink], wide[ink], there[ink]
    order = np.argsort(wide)
    running = np.cumsum(step[order])
    usual = float(wide[order[np.searchsorted(running, running[-1] / 2)]])
    even = step[(np.abs(wide - there) <= EVEN * there) & (there <= BROADEST * usual)].sum() / running[-1]
    # Circles through samples h apart on both sides of a line are wider than it by h² / 3w on average.
    return (usual + float(np.sqrt(max(usual**2 - 4 * spacing**2 / 3, 0.0)))) / 2, float(even)


def _recovered(
    picture: Picture,
    net: Network,
    width: float,
    spacing: float,
    specks: int,
    tolerances: Tolerances,
    severity: Severity,
) -> tuple[Drawing, tuple[Finding, ...]] | None:
    """Return the drawing with seams for lines, and what is told of them; None where no seam is left."""
    joining: frozenset[int] = frozenset()
    while True:
        found = strands(net, width, spacing, joining)
        rows, more = seams(found, width)
        if not more:
            break
        joining |= more
    if not rows:
        return None
    rows = kept_apart(rows, width)
    drawing = picture.drawing
    inked = picture.inked.tolist()
    what = (
        f"{_many(len(inked), 'filled shape')} {'is' if len(inked) == 1 else 'are'} taken for drawn lines,"
        f" {width:.2f} mm wide on average; the seams run along their middle,"
        f" so pieces reach {width / 2:.2f} mm further"
    )
    findings = [Finding("BLOCK-022", severity, what, _ADVICE, _where(drawing, inked[0]), width)]
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
    drawn = redrawn(picture, rows, width)
    lines = table_of(rows)
    findings += leftovers(net, found, lines, drawing, picture.inked, width)
    findings += crossed(lines, drawing, tolerances.same_point)
    return drawn, tuple(findings)
