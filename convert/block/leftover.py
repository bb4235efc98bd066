"""Ink that became no seam, told: lines that end within a piece, and areas that are solid.

Nothing that was drawn is dropped silently. A line with a free end parts no regions, so the network does not
run along it. In a solid area lines can't be told apart, and seams through its middle would be invented:
that is an error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.snapping import components
from convert.block.visible import Fills, fabrics
from convert.errors import Finding, Place, Severity
from convert.geometry.index import box_pairs
from convert.geometry.intersect import Meeting, intersect
from convert.geometry.measure import boxes, lengths, midpoint
from convert.geometry.nearest import nearest

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.medial import Network
    from convert.block.strands import Strands
    from convert.geometry.chain import Floats, Segments
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]

BESIDE = 1.2
"""Ink further than so many line widths from every seam is not explained by one."""

FULL = 0.35
"""Points aside have a clearance of so many widths where a whole line runs, less in corners of the ink."""

LONG = 1.0
"""What is left over is a line if it is so many line widths long, else a blot."""

SOLID, CROWDED = 3.0, 1.6
"""Ink with a clearance of so many widths is solid; where many lines meet, so many times what that makes."""

REACH = 8.0
"""Line widths round a knot in which its lines crowd."""

ARRIVING, WHOLE, TIP = 2.5, 3.0, 0.8
"""A line that is so many widths long at least was broken if at both ends something is so many widths away at
most; the points that tell it end, at a gap, so many widths before and beyond it."""

BENT, INKED = np.radians(20.0), 0.42
"""A line that turns further within that is at a corner; where the clearance is less, in line widths, is no
ink."""

SWOLLEN, AROUND, STRETCH = 1.3, 3.0, 8.0
"""A line that is so many times wider somewhere than elsewhere may be two; looked at so many line widths away
from its ends and from corners, if it is so long."""

DOUBLED = 1.0
"""Two junctions nearer to each other than so many times the width of the line between them may be one."""

MOST_TOLD = 6
"""Broken lines that are told one by one."""


def leftovers(
    net: Network, found: Strands, seams: Segments, drawing: Drawing, inked: Ints, width: float
) -> list[Finding]:
    """Return what there is to say about ink of the elements `inked` that no seam stands for."""
    wide = [*_solid_on_the_way(net, found, width)]
    look = (net.aside_clearance >= FULL * width) & (net.aside_clearance <= 1e3 * width)
    points, clearance = net.aside[look], net.aside_clearance[look]
    points, clearance = _in_ink(points, clearance, drawing, inked)
    if len(points):
        off = nearest(seams, points)[0] > BESIDE * width
        points, clearance = points[off], clearance[off]
    lines: list[tuple[Floats, float]] = []
    broken: list[tuple[Floats, float]] = []
    blots = []
    clusters = _clusters(points, width)
    for rows in clusters:
        place = points[rows]
        size = float(np.hypot(*(place.max(axis=0) - place.min(axis=0))))
        k = rows[np.argmax(clearance[rows])]
        if clearance[k] > SOLID * width:
            wide.append((points[k], float(2 * clearance[k])))
        elif size >= LONG * width:
            others = np.delete(points, rows, axis=0)
            gap = _gap(place, others, seams, width) if size >= WHOLE * width else None
            if gap is None:
                lines.append((_free_end(place, seams), size + BESIDE * width))
            elif all(np.hypot(*(gap[0] - at)) > WHOLE * width for at, _ in broken):
                broken.append(gap)
        else:
            blots.append(points[k])
    told = [_solid(at, size, drawing) for at, size in wide]
    told += [_broken(at, size, drawing) for at, size in broken[:MOST_TOLD]]
    if len(broken) > MOST_TOLD:
        what = f"{len(broken) - MOST_TOLD} more lines are broken"
        told.append(Finding("BLOCK-028", Severity.ERROR, what, "Close their gaps"))
    told += [_line(at, size, drawing) for at, size in lines]
    told += _swollen(net, drawing, width)
    told += _doubled(net, seams, drawing)
    if blots:
        what = f"{len(blots)} dark spot{'' if len(blots) == 1 else 's'} within pieces left out of account"
        told.append(Finding("BLOCK-031", Severity.NOTE, what, "", _at(blots[0], drawing), float(len(blots))))
    return told


def _gap(place: Floats, others: Floats, seams: Segments, width: float) -> tuple[Floats, float] | None:
    """Return where a line that arrives at both ends is broken, and how wide the gap is; else None.

    The end that is attached is as near to a seam as points are looked at.
    """
    first = place[np.argmax(np.hypot(*(place - place.mean(axis=0)).T))]
    ends = np.stack((first, place[np.argmax(np.hypot(*(place - first).T))]))
    to_seam = nearest(seams, ends)[0]
    to_other = np.full(2, np.inf)
    if len(others):
        to_other = np.hypot(*(ends[:, None] - others[None]).transpose(2, 0, 1)).min(axis=1)
    if np.minimum(to_seam, to_other).max() > ARRIVING * width:
        return None
    k = int(np.argmax(to_seam))
    gap = to_other[k] - TIP * width if to_other[k] < to_seam[k] else to_seam[k] - (TIP + 1) * width / 2
    return ends[k], max(float(gap), 0.0)


def crossed(seams: Segments, drawing: Drawing, same_point: float) -> list[Finding]:
    """Return an error for the first place where two seams cross; they may meet at their ends only."""
    one, other = box_pairs(boxes(seams))
    found = intersect(seams.take(one), seams.take(other), same_point)
    inside = [(t > 0.0) & (t < 1.0) for t in (found.t_a, found.t_b)]
    shared = (found.kind == Meeting.OVERLAP)[:, None]
    row, place = np.nonzero((inside[0] & inside[1]) | (shared & (inside[0] | inside[1])))
    if not len(row):
        return []
    return [
        Finding(
            "BLOCK-029",
            Severity.ERROR,
            "lines meet here too sharply to be told apart: the seams along their middle would cross",
            "Draw these seams as single lines, or use --lines as-drawn",
            _at(found.points[row[0], place[0]], drawing),
        )
    ]


def _free_end(place: Floats, seams: Segments) -> Floats:
    """Return that end of a row of points which is further from all seams."""
    middle = place.mean(axis=0)
    first = place[np.argmax(np.hypot(*(place - middle).T))]
    ends = np.stack((first, place[np.argmax(np.hypot(*(place - first).T))]))
    end: Floats = ends[np.argmax(nearest(seams, ends)[0])]
    return end


def _solid_on_the_way(net: Network, found: Strands, width: float) -> list[tuple[Floats, float]]:
    """Return places on the network where the ink is wider than lines can make it."""
    degree = np.zeros(len(found.knots), np.int64)
    for strand in found.strands:
        for track in strand.tracks:
            for knot in (track.first, track.last):
                if knot >= 0:
                    degree[knot] += 1
    # Tips of d regions round a knot leave it this far.
    crowd = width / 2 / np.sin(np.pi / np.maximum(degree, 3))
    places = []
    for path in net.paths:
        k = int(np.argmax(path.clearance))
        near = np.hypot(*(found.knots - path.points[k]).T) <= REACH * width
        allowed = max(SOLID * width, CROWDED * float(crowd[near].max(initial=0.0)))
        if path.clearance[k] > allowed:
            places.append((path.points[k], float(path.clearance[k])))
    told: list[tuple[Floats, float]] = []
    for at, clearance in sorted(places, key=lambda p: -p[1]):
        if all(np.hypot(*(at - other)) > size for other, size in told):
            told.append((at, 2 * clearance))
    return told


def _swollen(net: Network, drawing: Drawing, width: float) -> list[Finding]:
    """Return a warning for each line that is wider in one place than in another, without a reason."""
    told = []
    for path in net.paths:
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(path.points, axis=0).T))))
        if along[-1] < STRETCH * width:
            continue
        at = np.arange(AROUND * width, along[-1] - AROUND * width, width / 2)
        before, here, after = (
            np.interp(at + k * AROUND * width, along, path.points[:, 0])
            + 1j * np.interp(at + k * AROUND * width, along, path.points[:, 1])
            for k in (-1, 0, 1)
        )
        wide = np.interp(at, along, path.clearance)
        # A median of five, so that what is broad but short doesn't count; corners don't either.
        wide = np.median(np.lib.stride_tricks.sliding_window_view(np.pad(wide, 2, mode="edge"), 5), axis=1)
        straight = np.abs(np.angle((after - here) * np.conj(here - before))) < BENT
        straight &= wide >= INKED * width
        if not straight.any():
            continue
        least, most = float(wide[straight].min()), float(wide[straight].max())
        if most > SWOLLEN * least:
            z = here[straight][np.argmax(wide[straight])]
            told.append(
                Finding(
                    "BLOCK-036",
                    Severity.WARNING,
                    f"this line, {2 * least:.1f} mm wide elsewhere, is {2 * most:.1f} mm wide here; two lines"
                    " with no white between them would look alike, and it is taken for one",
                    "If it is two, draw them thinner, or as single lines",
                    _at(np.array([z.real, z.imag]), drawing),
                    2 * most,
                )
            )
    return told


def _doubled(net: Network, seams: Segments, drawing: Drawing) -> list[Finding]:
    """Return a warning for each two junctions that are nearer to each other than their line is wide."""
    ends, knot = np.unique(np.concatenate((seams.start, seams.end)), axis=0, return_inverse=True)
    knot = knot.reshape(2, -1)
    junction = np.bincount(knot.ravel(), minlength=len(ends)) >= 3
    size = lengths(seams)
    points = np.concatenate([path.points for path in net.paths])
    clearance = np.concatenate([path.clearance for path in net.paths])
    both = np.flatnonzero(junction[knot[0]] & junction[knot[1]] & (size < 2 * DOUBLED * clearance.max()))
    told = []
    for at, apart in zip(midpoint(seams)[both], size[both].tolist(), strict=True):
        wide = float(2 * clearance[np.argmin(((points - at) ** 2).sum(axis=1))])
        if apart < DOUBLED * wide:
            told.append(
                Finding(
                    "BLOCK-037",
                    Severity.WARNING,
                    f"two junctions are {apart:.1f} mm apart here, in ink {wide:.1f} mm wide:"
                    " perhaps one was drawn",
                    "If it is one, draw the lines thinner here, or as single lines",
                    _at(at, drawing),
                    apart,
                )
            )
    return told


def _in_ink(points: Floats, clearance: Floats, drawing: Drawing, inked: Ints) -> tuple[Floats, Floats]:
    inside = np.isin(fabrics(points, Fills.of(drawing)), inked)
    return points[inside], clearance[inside]


def _clusters(points: Floats, width: float) -> list[Ints]:
    """Return groups of points that hang together by less than a line's width."""
    if len(points) == 0:
        return []
    half = width / 4
    one, other = box_pairs(np.hstack((points - half, points + half)))
    group = components(len(points), one.astype(np.int64), other.astype(np.int64))
    return [np.flatnonzero(group == g) for g in np.unique(group)]


def _at(place: Floats, drawing: Drawing) -> Place:
    return Place(at=(float(place[0]), drawing.page[1] - float(place[1])))


def _solid(at: Floats, size: float, drawing: Drawing) -> Finding:
    return Finding(
        "BLOCK-025",
        Severity.ERROR,
        f"an area of the lines' colour, about {size:.1f} mm wide, is solid: seams in it can't be told",
        "Give it a colour that is no line's, draw its outline only, or use --lines as-drawn",
        _at(at, drawing),
        size,
    )


def _broken(at: Floats, gap: float, drawing: Drawing) -> Finding:
    return Finding(
        "BLOCK-028",
        Severity.ERROR,
        f"a drawn line is broken, by about {gap:.1f} mm, so the pieces on its two sides would be one",
        "Close the gap in the drawing",
        _at(at, drawing),
        gap,
    )


def _line(at: Floats, size: float, drawing: Drawing) -> Finding:
    return Finding(
        "BLOCK-026",
        Severity.WARNING,
        f"a drawn line, about {size:.1f} mm of it, ends within a piece; it parts nothing and is left out",
        "Remove it, or draw it on to the line it should meet",
        _at(at, drawing),
        size,
    )
