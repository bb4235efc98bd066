"""Lines that come together gently: where their ink runs into one, both are told from its two sides.

*Words.* Two lines that touch, or meet at a few degrees, leave no white between them long before they meet:
their ink is one, as wide as both at the **tip** of the white between them, and narrows to the width of one
line where they meet. That is a **taper**; a bold line is as wide all along. On the way each line runs, as
everywhere, half its width from the region on its outer side.

*How.* In the network a taper is a path from a junction (the tip), along which the clearance falls. The two
lines that part the white there are prolonged along it, half a line from the region on either side, to
where they meet: in the knot at its other end, if that may be, else where a parabola through the distance
between the two lines says.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.medial import Network
from convert.block.spurs import spurs_of, with_spurs
from convert.geometry.chain import Segments
from convert.geometry.measure import point_at
from convert.geometry.nearest import nearest

if TYPE_CHECKING:
    from convert.block.medial import Borders, Path
    from convert.block.spurs import Spur
    from convert.geometry.chain import Floats

OPEN, SHUT = 0.55, 0.3
"""In widths of a line, two lines are at least so far apart where the white between them ends, and at most so
far where they are nearest to each other: else what is there is a bold line."""

LEAST = 2.5
"""Tapers are so many line widths long at least; knots tell shorter ones."""

ROUNDED, WIDENED = 1.5, 1.5
"""So many line widths from a knot the ink is widened by what meets there: taken for so many times as wide."""

FAINT, DISTINCT, SLIGHT = 0.12, 0.04, 0.1
"""In widths of a line: how much of the distance of two lines is left where it drowns in the noise, and from
which distance on they meet elsewhere than in a knot; and by how much two that touch may seem to cross."""

USUAL = (1.5, 10.0)
"""Between so many line widths from the tip the width of each line is measured."""

FAR, ENOUGH, STRAY = 2.5, 6, 0.06
"""Up to so many line widths the distance of two lines tells where they meet; so many points are needed, and
such is the root mean square, in line widths, by which a parabola through them may be off."""


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """Where two lines come together (a point), and for how many mm their ink is one before."""

    at: Floats
    length: float


@dataclass(frozen=True, slots=True, eq=False)
class _Taper:
    """A taper along `stem`, a path that begins at the tip.

    `number` is the number of that path in the network, `last` whether the tip is at its last end there;
    `branches` are the path ends (number, whether it is the last) of the lines on the left and on the right of
    the stem, `half` their half widths, `sides` the borders there. `along` (n,) is how far from the tip the
    points of the stem are, `meet` where the lines meet, `near` up to where they might as well. They are
    `touching` there, or cross. Beyond `clear` the ink is widened by what else meets; `noise` (n,) is by how
    much the ink's half width differs from what is expected.
    """

    number: int
    last: bool
    stem: Path
    branches: tuple[tuple[int, bool], tuple[int, bool]]
    half: tuple[float, float]
    sides: tuple[Segments, Segments]
    along: Floats
    meet: float
    near: float
    touching: bool
    clear: float
    noise: Floats


def parted(net: Network, borders: Borders, width: float) -> tuple[Network, tuple[Meeting, ...]]:
    """Return the network with the lines of all tapers prolonged to where they meet, and these places."""
    spurs = spurs_of(net, borders, width)
    while True:
        trial, stems = with_spurs(net, spurs)
        tapers = _found(trial, borders, stems)
        tapering = {t.number for t in tapers}
        if tapering >= stems.keys():
            break
        spurs = [spur for number, spur in stems.items() if number in tapering]
    net = trial
    paths: dict[int, Path] = dict(enumerate(net.paths))
    junctions = net.junctions.copy()
    meetings = []
    placed: set[int] = set()
    touching: set[int] = set()
    for number in sorted({t.number for t in tapers}):
        pair = [t for t in tapers if t.number == number]
        reach = float(pair[0].along[-1])
        knots = [t.stem.first for t in pair]
        if len(pair) == 2 and sum(t.near for t in pair) >= reach:
            # Two lines that cross, or touch in passing.
            middle = (pair[0].meet + reach - pair[1].meet) / 2
            pair = [replace(t, meet=m, clear=m) for t, m in zip(pair, (middle, reach - middle), strict=True)]
            junctions[knots[0]] = _at(pair[0], middle)
            knots[1] = knots[0]
            del paths[number]
        elif number in stems or (len(pair) == 1 and pair[0].near >= pair[0].clear):
            if number not in stems or pair[0].near >= reach - ROUNDED * sum(pair[0].half):
                pair = [replace(pair[0], meet=reach)]
            else:
                # What goes on alone is a line with a free end.
                junctions[pair[0].stem.last] = _at(pair[0], pair[0].meet)
            knots = [pair[0].stem.last]
            del paths[number]
        else:
            for t, knot in zip(pair, knots, strict=True):
                junctions[knot] = _at(t, t.meet)
                paths[number] = _shortened(paths[number], t, junctions[knot])
        for t, knot in zip(pair, knots, strict=True):
            if number in stems or knot != t.stem.last:
                placed.add(knot)
            if number not in stems and knot != t.stem.last and t.touching:
                touching.add(knot)
            meetings.append(Meeting(junctions[knot], t.meet))
            for side, (which, last) in enumerate(t.branches):
                paths[which] = _prolonged(paths[which], (which, last), t, side, knot)
    kept = tuple(paths.values())
    parts = Network(junctions, kept, net.aside, net.aside_clearance, frozenset(placed), frozenset(touching))
    return parts, tuple(meetings)


def _found(net: Network, borders: Borders, spurs: dict[int, Spur]) -> list[_Taper]:
    """Return the tapers of a network; no path is a taper and the prolonged line of another one.

    Of the paths that are `spurs` it is known what is on their two sides.
    """
    ends: dict[int, list[tuple[int, bool]]] = {}
    for k, path in enumerate(net.paths):
        for junction, last in ((path.first, False), (path.last, True)):
            if junction >= 0:
                ends.setdefault(junction, []).append((k, last))
    found = []
    for here in ends.values():
        if len(here) == 3:
            for end in here:
                taper = _taper(net, borders, end, [e for e in here if e != end], spurs.get(end[0]))
                if taper is not None:
                    found.append(taper)
    stems: set[int] = set()
    lines: set[int] = set()
    kept = []
    for taper in sorted(found, key=lambda t: -t.meet):
        branches = {k for k, _ in taper.branches}
        if taper.number not in lines and not branches & stems:
            stems.add(taper.number)
            lines |= branches
            kept.append(taper)
    return kept


def _taper(
    net: Network, borders: Borders, end: tuple[int, bool], others: list[tuple[int, bool]], spur: Spur | None
) -> _Taper | None:
    """Return the taper that begins at one end of a path, of which `others` are the other two paths' ends."""
    stem, *lines = (_from(net.paths[k], last=last) for k, last in (end, *others))
    if lines[0].right != stem.left:
        others, lines = others[::-1], lines[::-1]
    inner = lines[0].left
    around = (lines[0].right, lines[1].left, lines[1].right)
    if around != (stem.left, stem.right, inner):
        return None
    if inner in (stem.left, stem.right) or (stem.left == stem.right and spur is None):
        return None
    half = [_half_width(line, stem) for line in lines]
    wide = half[0] + half[1]
    along = _along(stem.points)
    apart = 2 * stem.clearance - wide
    if along[-1] < LEAST * wide or apart[0] < OPEN * wide:
        return None
    reach = float(along[-1])
    clear = reach if spur else reach - ROUNDED * wide
    use = along <= clear
    parabola = _parabola(along[use], apart[use], _before(lines[0], lines[1], wide), wide)
    if parabola is None:
        return None
    meet, near, touching = _meeting(parabola, wide)
    if meet < LEAST * wide:
        return None
    noise = (apart - np.polyval(parabola, along)) / 2
    left, right = (borders.table.take(np.flatnonzero(borders.region == r)) for r in (stem.left, stem.right))
    sides = spur.sides if spur else (left, right)
    if not (len(sides[0]) and len(sides[1])):
        return None
    ends = (others[0], others[1])
    return _Taper(
        end[0],
        end[1],
        stem,
        ends,
        (half[0], half[1]),
        sides,
        along,
        min(meet, reach),
        near,
        touching,
        clear,
        noise,
    )


def _from(path: Path, *, last: bool) -> Path:
    """Return a path walked from one of its ends."""
    return path.reversed() if last else path


def _half_width(branch: Path, stem: Path) -> float:
    """Return the usual clearance of a path a little away from its beginning."""
    along = _along(branch.points)
    wide = 2 * float(stem.clearance.min())
    there = (along >= USUAL[0] * wide) & (along <= USUAL[1] * wide)
    return float(np.median(branch.clearance[there] if there.any() else branch.clearance))


def _along(points: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))


def _before(one: Path, other: Path, wide: float) -> tuple[Floats, Floats]:
    """Return how far from the tip some points of two lines are, before it, and their distance there."""
    along, across = _along(one.points), _along(other.points)
    use = (along >= ROUNDED * wide) & (along <= USUAL[1] * wide)
    there = other.points[across <= 2 * USUAL[1] * wide]
    if not use.any() or len(there) < 2:
        return np.zeros(0), np.zeros(0)
    apart = nearest(Segments(there[:-1], there[1:], np.zeros(len(there) - 1)), one.points[use])[0]
    far = np.flatnonzero(apart > FAR * wide)
    count = int(far[0]) if len(far) else len(apart)
    return along[use][:count], apart[:count]


def _parabola(along: Floats, apart: Floats, before: tuple[Floats, Floats], wide: float) -> Floats | None:
    """Return how the distance of two lines falls with the way (coefficients); None if they don't meet.

    `before` is the same before the tip, where they are still apart.
    """
    if len(along) < ENOUGH:
        return None
    step = max(1, round(wide / 2 / (along[-1] / len(along))))
    smooth = np.convolve(np.pad(apart, step, mode="edge"), np.ones(2 * step + 1) / (2 * step + 1), "valid")
    low = np.flatnonzero(smooth < FAINT * wide)
    count = int(low[0]) if len(low) else int(np.argmin(smooth)) + 1
    if count < ENOUGH or along[count - 1] < wide or smooth.min() > SHUT * wide:
        return None
    s = np.concatenate((-before[0], along[:count]))
    d = np.concatenate((before[1], apart[:count]))
    order = np.argsort(s, kind="stable")
    s, d = s[order], d[order]
    weight = np.sqrt(np.gradient(s))
    parabola = np.polyfit(s, d, 2, w=weight)
    if parabola[0] <= 0.0:
        parabola = np.concatenate(([0.0], np.polyfit(s, d, 1, w=weight)))
    off = np.sqrt(np.average((np.polyval(parabola, s) - d) ** 2, weights=weight**2))
    return parabola if parabola[1] < 0.0 and off <= STRAY * wide else None


def _meeting(parabola: Floats, wide: float) -> tuple[float, float, bool]:
    """Return where a parabola says that lines meet, up to where they may as well, and whether they touch."""
    a, b, c = parabola.tolist()
    most = DISTINCT * wide
    if a == 0.0:
        return -c / b, (-most - c) / b, False
    lowest, least = -b / (2 * a), c - b * b / (4 * a)
    if least < -SLIGHT * wide:
        return lowest - float(np.sqrt(-least / a)), lowest - float(np.sqrt((-most - least) / a)), False
    return lowest, lowest + float(np.sqrt(max(most - max(least, 0.0), 0.0) / a)), True


def _at(taper: _Taper, along: float) -> Floats:
    """Return the point of a taper's stem so far from its tip."""
    points = taper.stem.points
    return np.array([np.interp(along, taper.along, points[:, k]) for k in (0, 1)])


def _shortened(path: Path, taper: _Taper, knot: Floats) -> Path:
    """Return what is left of a taper's path beyond the place where its lines meet."""
    way = _from(path, last=taper.last)
    begin = len(way.points) - int(np.count_nonzero(taper.along > taper.meet))
    points = np.concatenate((knot[None], way.points[begin:]))
    clearance = np.concatenate(([sum(taper.half) / 2], way.clearance[begin:]))
    return _from(replace(way, points=points, clearance=clearance), last=taper.last)


def _prolonged(path: Path, end: tuple[int, bool], taper: _Taper, side: int, knot: int) -> Path:
    """Return the path of a line, of which one end is at the tip, prolonged along the taper to its knot."""
    way = _from(path, last=end[1])
    half, wide = taper.half[side], sum(taper.half)
    # Between the tip and where the line is as wide as usual the white's end is rounded.
    usual = (way.clearance <= half * (1 + DISTINCT)) | (_along(way.points) > 2 * ROUNDED * wide)
    count = int(np.argmax(usual)) if usual.any() else 0
    stem = taper.stem.points
    there = taper.along <= taper.meet
    told, last = there & (taper.along <= taper.clear), there & (taper.along > taper.clear)
    points = (
        stem[last][::-1],
        _beside(stem[told][::-1], taper.sides[side], half),
        _beside(way.points[:count], taper.sides[side], half),
        way.points[count:],
    )
    clearance = (
        np.maximum(taper.stem.clearance[last], WIDENED * half)[::-1],
        half + taper.noise[told][::-1],
        np.full(count, half),
        way.clearance[count:],
    )
    way = replace(way, points=np.concatenate(points), clearance=np.concatenate(clearance), first=knot)
    return _from(way, last=end[1])


def _beside(points: Floats, border: Segments, half: float) -> Floats:
    """Return for each point (n, 2) the one on the way to a border that is half a line from it."""
    if not len(points):
        return points
    away, row, share = nearest(border, points)
    foot = point_at(border.take(row), share)
    return foot + (points - foot) * (half / away)[:, None]
