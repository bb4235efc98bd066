"""Cut order: what the machine does first, where each cut starts, and the shortest way between.

Everything drawn or scored comes before anything is cut, because cut card moves. Within a piece the
inner cuts (windows, holes) come before the outer one, for the same reason. Between pieces the
shortest way is sought, unless the profile wants the card to stay whole near the machine as long
as possible: then pieces are done in bands from the far side inward.

A closed cut may start anywhere on it. A swivel blade lines up only after it has been dragged a
little, so it starts in the middle of a straight edge and never at a point; a beam marks the card
where it first pierces, so it starts at a corner, where a mark does no harm (common practice both).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.die import is_circle
from convert.cutting.sheet import Purpose, segments_of
from convert.cutting.tour import shortest_tour
from convert.geometry.chain import Chain
from convert.geometry.edit import reverse
from convert.geometry.measure import end_tangent, lengths, midpoint, radius, start_tangent
from convert.profile import Home, StartAt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.sheet import Sheet, Stroke
    from convert.geometry.chain import Floats
    from convert.profile import Profile

DRAWN = (Purpose.LETTER, Purpose.MARK)
"""Done with a pen or a scorer, before any cut."""
CUTS = (Purpose.INNER, Purpose.SEAM, Purpose.OUTER)
"""Done with the blade or beam, in this order within a piece."""
_CORNER = np.radians(3.0)
"""A turn sharper than this is a corner: less can't be felt in cut card (our own choice)."""


@dataclass(frozen=True, slots=True)
class CutOrder:
    """What the profile says about order. `home` is where the tool waits, mm on the sheet."""

    start: StartAt
    far_side_first: bool
    home: tuple[float, float]


def cut_order(profile: Profile, sheet: Sheet) -> CutOrder:
    """Return the order that a profile asks for on a sheet."""
    order = profile.order
    right = order.home in {Home.LOWER_RIGHT, Home.UPPER_RIGHT}
    upper = order.home in {Home.UPPER_LEFT, Home.UPPER_RIGHT}
    home = (sheet.width if right else 0.0, sheet.height if upper else 0.0)
    return CutOrder(order.start, order.far_side_first, home)


@dataclass(frozen=True, slots=True)
class Work:
    """What one sheet takes to make.

    mm drawn, and mm cut; `shared` is how much of that two neighbours share, so that cutting it once
    saves as much again; `smallest_bend` is the least radius of a cut, round holes aside, mm, None where all
    is straight.
    For a machine that follows the file, mm moved lifted, and how often the tool goes down to cut.
    """

    draw_length: float
    cut_length: float
    shared: float
    smallest_bend: float | None
    travel: float | None
    pierces: int | None


def in_cutting_order(sheet: Sheet, order: CutOrder) -> tuple[Sheet, Work]:
    """Return the sheet with its strokes in the order and direction to be done, and the work that takes.

    Strokes of Purpose.CHECK are left at the end: no tool touches them.
    """
    drawn = [s for s in sheet.strokes if s.purpose in DRAWN]
    cuts = [_begun(s, order.start) for s in sheet.strokes if s.purpose in CUTS]
    # What belongs to no copy is cut from one whole: its outside comes last, or the rest would shift.
    last = [s for s in cuts if s.copy < 0 and s.purpose is Purpose.OUTER]
    cuts = [s for s in cuts if s.copy >= 0 or s.purpose is not Purpose.OUTER]
    rest = [s for s in sheet.strokes if s.purpose not in DRAWN and s.purpose not in CUTS]
    done: list[Stroke] = []
    for strokes, far_side_first in ((drawn, False), (cuts, order.far_side_first), (last, False)):
        here = _last_point(done[-1].chain) if done else order.home
        done += _ordered(strokes, here, far_side_first=far_side_first)
    ordered = replace(sheet, strokes=(*done, *rest))
    return ordered, work_of(ordered, order.home)


def work_of(sheet: Sheet, home: tuple[float, float] | None) -> Work:
    """Return the work that a sheet takes when its strokes are done as they stand.

    `home` is where the tool waits, None when no machine follows the file.
    """
    done = [s for s in sheet.strokes if s.purpose in DRAWN or s.purpose in CUTS]
    cuts = [s for s in done if s.purpose in CUTS]
    bends = radius(segments_of(s for s in cuts if not is_circle(s.chain)))
    smallest = float(bends.min(initial=np.inf))
    travel = None
    if home is not None:
        start = np.array([s.chain.points[0] for s in done]).reshape(-1, 2)
        end = np.array([home, *(_last_point(s.chain) for s in done)])[: len(done)]
        travel = float(np.hypot(*(start - end).T).sum())
    return Work(
        draw_length=_long([s for s in done if s.purpose in DRAWN]),
        cut_length=_long(cuts),
        shared=_long([s for s in cuts if s.purpose is Purpose.SEAM]),
        smallest_bend=smallest if np.isfinite(smallest) else None,
        travel=travel,
        pierces=None if home is None else len(cuts),
    )


def _long(strokes: Sequence[Stroke]) -> float:
    return float(lengths(segments_of(strokes)).sum())


def _ordered(strokes: Sequence[Stroke], home: tuple[float, float], *, far_side_first: bool) -> list[Stroke]:
    """Return strokes group by group; a group is what belongs to one copy."""
    groups: dict[tuple[int, int], list[Stroke]] = {}
    for number, stroke in enumerate(strokes):
        key = (stroke.copy, 0) if stroke.copy >= 0 else (-1, number)
        groups.setdefault(key, []).append(stroke)
    inside = [_within_group(g) for g in groups.values()]
    here = home
    done: list[Stroke] = []
    for band in _bands(inside) if far_side_first else [inside]:
        entry = np.array([g[0].chain.points[0] for g in band]).reshape(-1, 2)
        leave = np.array([_last_point(g[-1].chain) for g in band]).reshape(-1, 2)
        # A group of several cuts has an order of its own: only single cuts may be done backwards.
        fixed = np.array([len(g) > 1 for g in band], dtype=bool)
        # A pen's way matters less than a blade's, and there is more of it.
        drawn = all(g[0].purpose in DRAWN for g in band)
        tour = shortest_tour(entry, leave, here, fixed, kicked=not drawn)
        for stop, back in zip(tour.order.tolist(), tour.backwards.tolist(), strict=True):
            group = band[stop]
            done += [replace(group[0], chain=_backwards(group[0].chain))] if back else group
        here = _last_point(done[-1].chain) if done else here
    return done


def _within_group(strokes: list[Stroke]) -> list[Stroke]:
    """Return what is drawn, in the order of writing; then inner cuts by the shortest way; then outer ones."""
    done = [s for purpose in DRAWN for s in strokes if s.purpose is purpose]
    for purpose in CUTS:
        same = [s for s in strokes if s.purpose is purpose]
        if len(same) < 2:
            done.extend(same)
            continue
        here = _last_point(done[-1].chain) if done else tuple(same[0].chain.points[0].tolist())
        entry = np.array([s.chain.points[0] for s in same])
        leave = np.array([_last_point(s.chain) for s in same])
        tour = shortest_tour(entry, leave, here)
        for stop, back in zip(tour.order.tolist(), tour.backwards.tolist(), strict=True):
            chain = same[stop].chain
            done.append(replace(same[stop], chain=_backwards(chain)) if back else same[stop])
    return done


def _bands(groups: list[list[Stroke]]) -> list[list[list[Stroke]]]:
    """Split groups into bands across the sheet, farthest from the front edge (y = 0) first.

    A band holds the groups whose middles lie within half the height of the tallest group.
    """
    if not groups:
        return []
    lows = np.array([min(float(s.chain.points[:, 1].min()) for s in g) for g in groups])
    highs = np.array([max(float(s.chain.points[:, 1].max()) for s in g) for g in groups])
    middles = 0.5 * (lows + highs)
    depth = 0.5 * float((highs - lows).max(initial=0.0))
    bands: list[list[list[Stroke]]] = []
    edge = np.inf
    for number in np.argsort(-middles, kind="stable").tolist():
        if middles[number] < edge:
            bands.append([])
            edge = middles[number] - depth
        bands[-1].append(groups[number])
    return bands


def _begun(stroke: Stroke, start: StartAt) -> Stroke:
    """Return a closed cut turned round so that it begins where the profile says."""
    if not stroke.chain.closed:
        return stroke
    chain = stroke.chain
    table = chain.segments
    turn = _turns(chain)
    if start is StartAt.CORNER:
        return replace(stroke, chain=_rolled(chain, int(np.argmax(np.round(np.abs(turn), 6)))))
    span = np.round(np.where(table.is_arc, 0.5, 1.0) * lengths(table), 6)
    longest = int(np.argmax(span))
    middle = midpoint(table)[longest]
    half = np.tan(0.5 * np.arctan(chain.bulge[longest]))
    points = np.insert(chain.points, longest + 1, middle, axis=0)
    bulge = np.insert(chain.bulge, longest + 1, half)
    bulge[longest] = half
    return replace(stroke, chain=_rolled(Chain(points, bulge), longest + 1))


def _turns(chain: Chain) -> Floats:
    """Return the turn at each vertex of a closed chain, radians, left positive."""
    table = chain.segments
    after, before = start_tangent(table), np.roll(end_tangent(table), 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.arctan2(cross, (before * after).sum(axis=1))
    return np.asarray(np.where(np.abs(turn) < _CORNER, 0.0, turn))


def _rolled(chain: Chain, first: int) -> Chain:
    return Chain(np.roll(chain.points, -first, axis=0), np.roll(chain.bulge, -first), closed=True)


def _backwards(chain: Chain) -> Chain:
    """Return the other way round; a closed chain keeps its first vertex."""
    return _rolled(reverse(chain), len(chain) - 1) if chain.closed else reverse(chain)


def _last_point(chain: Chain) -> tuple[float, float]:
    x, y = chain.points[0 if chain.closed else -1].tolist()
    return x, y
