"""What a die maker needs to know: bends too tight, rules too near each other, where nicks belong.

*Words.* A **rule** is the strip of steel bent along one cut; it cuts the whole line at once. Foam on
both sides of it pushes the pieces out again and needs room; a **nick** is a notch in the rule that
leaves a bridge. Nicks are marked, not cut out of the line: every rule stays one polyline.

*Source*: die makers' pages for distances, one craft-trade article for bends; the values stand in the
profile. That pieces sharing a rule are hard to eject is from memory.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.ends import nick_places, stretch
from convert.cutting.sheet import CUTS, Product, Purpose, Stroke, segments_of
from convert.errors import Finding, OutputError, Severity
from convert.geometry.chain import Chain, Segments
from convert.geometry.index import box_pairs
from convert.geometry.measure import area, boxes, centre, length, lengths, midpoint, radius
from convert.geometry.nearest import distance_pairs
from convert.geometry.segment import point_at
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.sheet import Sheet
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Ints
    from convert.profile import NickSettings, Profile

TICK_MM = 2.0
"""A nick is marked by a line so long from the rule inwards (our choice)."""
_TOUCH = 1e-6
"""Rules nearer than this (mm) meet: that is a joint, no gap."""
_ROUND_A_CORNER = 2.0
"""Places of one rule may be near each other if the rule between them is no longer than so many least gaps."""


@dataclass(frozen=True, slots=True, eq=False)
class NearRules:
    """k pairs of rules nearer than they may be: numbers of the strokes, distance and place, mm.

    For each pair of strokes (`first` <= `second`) its nearest place is listed.
    """

    first: Ints
    second: Ints
    distance: Floats
    place: Floats


def checked_for_die(sheet: Sheet, profile: Profile) -> Sheet:
    """Return the sheet with nicks marked and with findings about what a die maker can't do.

    *Errors*: OutputError (CUT-071) when the two rules of a window template are too near each other.
    """
    cuts = [stroke for stroke in sheet.strokes if stroke.purpose in CUTS]
    findings = [*_tight_bends(cuts, sheet, profile.smallest.bend)]
    near = near_rules(cuts, profile.smallest.gap)
    if sheet.product is Product.WINDOW:
        _refuse_thin_rings(cuts, near, sheet, profile.smallest.gap)
    findings += _near(cuts, near, sheet, profile.smallest.gap)
    if any(stroke.purpose is Purpose.SEAM for stroke in cuts):
        findings.append(
            Finding(
                "CUT-073",
                Severity.WARNING,
                f"on sheet {sheet.name} pieces share rules, so that foam can't push them all out well",
                "Have the die made from the separate pieces",
            )
        )
    marks = [mark for stroke in cuts for mark in nick_marks(stroke, profile.nicks)]
    return replace(sheet, strokes=(*marks, *sheet.strokes), findings=(*sheet.findings, *findings))


def nick_marks(stroke: Stroke, nicks: NickSettings) -> list[Stroke]:
    """Return a short line inwards from each place on a part's outside where a nick belongs."""
    if nicks.length == 0.0 or stroke.purpose is not Purpose.OUTER or stroke.copy < 0:
        return []
    side = 1.0 if area(stroke.chain) > 0.0 else -1.0
    marks = []
    for place in nick_places(stroke.chain, nicks).tolist():
        half = 0.5 * nicks.length
        along = stretch(stroke.chain, place - half, place + half)
        (x0, y0), (x1, y1) = along.points[0].tolist(), along.points[-1].tolist()
        across = np.array([y0 - y1, x1 - x0]) * (side * TICK_MM / np.hypot(x1 - x0, y1 - y0))
        middle = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)])
        tick = Chain(np.stack((middle, middle + across)), np.zeros(1), closed=False)
        marks.append(Stroke(tick, Purpose.MARK, stroke.copy))
    return marks


def near_rules(cuts: Sequence[Stroke], least: float) -> NearRules:
    """Return where rules come nearer than `least` mm without meeting."""
    table = segments_of(cuts)
    sizes = np.array([len(stroke.chain.segments) for stroke in cuts], dtype=np.intp)
    owner = np.repeat(np.arange(len(cuts)), sizes)
    grow = 0.5 * least * np.array([-1.0, -1.0, 1.0, 1.0])
    i, j = box_pairs(boxes(table) + grow) if least > 0.0 else (np.zeros(0, np.intp), np.zeros(0, np.intp))
    distance, p, t_i, t_j = nearest_of_pairs(table.take(i), table.take(j))
    long = lengths(table)
    begin = np.cumsum(long) - long
    around = np.array([length(stroke.chain) for stroke in cuts])
    # The way along the rule between two places of it.
    between = np.abs(begin[i] + t_i * long[i] - begin[j] - t_j * long[j])
    closed = np.array([stroke.chain.closed for stroke in cuts], dtype=bool)
    between = np.where(closed[owner[i]], np.minimum(between, around[owner[i]] - between), between)
    apart = (owner[i] != owner[j]) | (between > _ROUND_A_CORNER * least)
    near = np.flatnonzero((distance < least - _TOUCH) & (distance > _TOUCH) & apart)
    order = near[np.lexsort((distance[near], owner[j[near]], owner[i[near]]))]
    first, second = owner[i[order]], owner[j[order]]
    new = np.r_[True, (np.diff(first) != 0) | (np.diff(second) != 0)][: len(order)]
    order = order[new]
    return NearRules(owner[i[order]], owner[j[order]], distance[order], p[order])


def nearest_of_pairs(a: Segments, b: Segments) -> tuple[Floats, Floats, Floats, Floats]:
    """Return how near row i of `a` and row i of `b`, which don't cross, come to each other.

    Distance (n,), the middle between the two nearest points (n, 2), and the fractions of both (n,).
    *Source*: the nearest points are an end of one and the foot of its perpendicular on the other, or lie on
    a common normal; a circle's normals go through its centre.
    """
    best = np.full(len(a), np.inf)
    t_a, t_b = np.zeros(len(a)), np.zeros(len(a))
    tried = [a.start, a.end, np.where(a.is_arc[:, None], np.nan_to_num(centre(a)), a.start)]
    for swap, points in [(False, p) for p in tried] + [
        (True, p) for p in (b.start, b.end, np.where(b.is_arc[:, None], np.nan_to_num(centre(b)), b.start))
    ]:
        mine, other = (b, a) if swap else (a, b)
        _, on_other = distance_pairs(other, points)
        away, on_mine = distance_pairs(mine, point_at(other, on_other))
        better = away < best
        best = np.where(better, away, best)
        t_a = np.where(better, on_other if swap else on_mine, t_a)
        t_b = np.where(better, on_mine if swap else on_other, t_b)
    return best, 0.5 * (point_at(a, t_a) + point_at(b, t_b)), t_a, t_b


def _refuse_thin_rings(cuts: Sequence[Stroke], near: NearRules, sheet: Sheet, least: float) -> None:
    """Refuse windows whose opening, the longest inner cut of a template, is too near its outside."""
    opening: dict[int, int] = {}
    for number, stroke in enumerate(cuts):
        longest = opening.get(stroke.copy)
        if stroke.purpose is Purpose.INNER and (
            longest is None or length(stroke.chain) > length(cuts[longest].chain)
        ):
            opening[stroke.copy] = number
    thin: dict[str, float] = {}
    for i, j, distance in zip(near.first.tolist(), near.second.tolist(), near.distance.tolist(), strict=True):
        copy = cuts[i].copy
        rings = {cuts[i].purpose, cuts[j].purpose} == {Purpose.INNER, Purpose.OUTER}
        if copy == cuts[j].copy and rings and opening.get(copy) in {i, j}:
            label = sheet.copies[copy].label
            thin[label] = min(distance, thin.get(label, np.inf))
    if thin:
        narrowest = min(thin.values())
        raise OutputError.because(
            "CUT-071",
            f"the two rules of window templates ({_some(thin)}) are {format_mm(narrowest, digits=2)} apart; "
            f"the die needs {format_mm(least, digits=2)} between rules",
            "Use a wider allowance, or have the windows cut by a laser or blade",
            value=narrowest,
        )


def _near(cuts: Sequence[Stroke], near: NearRules, sheet: Sheet, least: float) -> list[Finding]:
    """Return a finding for each pair of templates with rules too near each other, with the nearest place."""
    worst: dict[tuple[str, str], int] = {}
    times: Counter[tuple[str, str]] = Counter()
    for k in np.argsort(near.distance, kind="stable").tolist():
        low, high = sorted(_name(cuts[int(n[k])], sheet) for n in (near.first, near.second))
        worst.setdefault((low, high), k)
        times[low, high] += 1
    found = []
    for pair, k in worst.items():
        x, y = near.place[k].tolist()
        who = f"in {pair[0]}" if pair[0] == pair[1] else f"between {pair[0]} and {pair[1]}"
        count = f", and in {times[pair] - 1} more places" if times[pair] > 1 else ""
        value = float(near.distance[k])
        found.append(
            Finding(
                "CUT-070",
                Severity.WARNING,
                f"rules {who} are {format_mm(value, digits=2)} apart on sheet {sheet.name}, {_place(x, y)}"
                f"{count}; the least is {format_mm(least, digits=2)}",
                "Make the block larger, redraw the place wider, or ask your die maker",
                value=value,
            )
        )
    return found


def is_circle(chain: Chain) -> bool:
    """Tell whether a chain is one full circle: such a hole is punched, not cut by a bent rule."""
    table = chain.segments
    if not chain.closed or not table.is_arc.all():
        return False
    middles = np.column_stack((centre(table), radius(table)))
    return bool(np.ptp(middles, axis=0).max() < _TOUCH)


def _tight_bends(cuts: Sequence[Stroke], sheet: Sheet, least: float) -> list[Finding]:
    cuts = [stroke for stroke in cuts if not is_circle(stroke.chain)]
    table = segments_of(cuts)
    bend = radius(table)
    tight = np.flatnonzero(bend < least - _TOUCH)
    if not len(tight):
        return []
    owner = np.repeat(np.arange(len(cuts)), [len(stroke.chain.segments) for stroke in cuts])
    k = int(tight[np.argmin(np.round(bend[tight], 6))])
    x, y = midpoint(table)[k].tolist()
    names = {_name(cuts[n], sheet): 0.0 for n in owner[tight].tolist()}
    value = float(bend[k])
    return [
        Finding(
            "CUT-072",
            Severity.WARNING,
            f"bends on sheet {sheet.name} ({_some(names)}) are tighter than {format_mm(least)}: "
            f"the tightest has a radius of {format_mm(value, digits=2)}, {_place(x, y)}",
            "Ask your die maker, make the block larger, or redraw the curve wider",
            value=value,
        )
    ]


def _place(x: float, y: float) -> str:
    return f"{x:.1f} mm from its left and {y:.1f} mm from its lower edge"


def _name(stroke: Stroke, sheet: Sheet) -> str:
    return sheet.copies[stroke.copy].label if stroke.copy >= 0 else "the block"


def _some(names: dict[str, float]) -> str:
    every = sorted(names, key=lambda name: (len(name), name))
    return ", ".join(every[:8]) + (" …" if len(every) > 8 else "")
