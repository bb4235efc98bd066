"""How a cut that goes all round ends: closed, open with an overcut, or with bridges left standing.

*Words.* A **nick** is a short stretch that is left uncut, so that a part stays in its sheet until
somebody breaks it out. Nicks lie on straight edges, away from corners, and on the outside of separate
parts only: what falls out of a hole is waste. An **overcut** goes on past the start over what is
already cut, for blades that leave the last corner hanging.

A cut that is opened stays one outline: its strokes carry one `outline` number, and the lengths of
bridges and overlap, so that whoever reads the file back can close it again and compare.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.sheet import CUTS, Purpose, Stroke
from convert.errors import Finding, Severity
from convert.geometry.chain import Chain
from convert.geometry.edit import merge_smooth, part
from convert.geometry.measure import length, lengths
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.sheet import Sheet
    from convert.geometry.chain import Floats
    from convert.profile import NickSettings, Profile

CLEAR_MM = 3.0
"""A nick keeps so far from the ends of its straight edge: a bridge at a corner tears it (our choice)."""
FEWEST = 2
"""On a part that has nicks at all; on one it would hang and turn."""
_SAME_LINE = 1e-6
"""Neighbours within this (mm) of one line are one straight edge."""


def with_ends(sheet: Sheet, profile: Profile) -> Sheet:
    """Return the sheet with its closed cuts ended as the profile says; the order of cuts is kept."""
    nicks, ends = profile.nicks, profile.ends
    if nicks.length == 0.0 and ends.closed:
        return sheet
    strokes: list[Stroke] = []
    unheld: list[Stroke] = []
    for number, stroke in enumerate(sheet.strokes):
        parts = [stroke]
        if stroke.purpose in CUTS and stroke.chain.closed:
            if nicks.length > 0.0 and stroke.purpose is Purpose.OUTER and stroke.copy >= 0:
                parts = nicked(stroke, number, nicks)
                unheld += [stroke] if len(parts) == 1 else []
            if len(parts) == 1 and not ends.closed:
                parts = [overcut(stroke, number, ends.overcut)]
        strokes += parts
    findings = (_unheld(unheld, sheet),) if unheld else ()
    return replace(sheet, strokes=tuple(strokes), findings=(*sheet.findings, *findings))


def nick_places(chain: Chain, nicks: NickSettings) -> Floats:
    """Return the middles of the nicks on a closed chain, in order, as lengths (mm) from its first vertex.

    They stand about `spacing` apart, at least FEWEST of them, each moved to the nearest place on a
    straight edge that is clear of its ends; none where that leaves fewer, or the outline is too short.
    """
    none = np.zeros(0)
    table = chain.segments
    long = lengths(table)
    whole = float(long.sum())
    half = CLEAR_MM + 0.5 * nicks.length
    begin = np.cumsum(long) - long
    roomy = ~table.is_arc & (long >= 2.0 * half)
    if whole < nicks.spacing or not roomy.any():
        return none
    low, high = begin[roomy] + half, begin[roomy] + long[roomy] - half
    first = 0.5 * (low + high)[int(np.argmax(np.round(high - low, 6)))]
    count = max(FEWEST, round(whole / nicks.spacing))
    chosen: list[float] = []
    apart = 0.5 * whole / count
    for wanted in (first + np.arange(count) * whole / count) % whole:
        nearest = np.clip(wanted, low, high)
        away = np.abs(nearest - wanted)
        place = float(nearest[int(np.argmin(np.round(np.minimum(away, whole - away), 6)))])
        if all(min(abs(place - other), whole - abs(place - other)) >= apart for other in chosen):
            chosen.append(place)
    return np.array(sorted(chosen)) if len(chosen) >= FEWEST else none


def nicked(stroke: Stroke, number: int, nicks: NickSettings) -> list[Stroke]:
    """Return the strokes between the nicks of a closed cut; the cut itself where no nicks fit."""
    chain = merge_smooth(stroke.chain, _SAME_LINE)
    middles = nick_places(chain, nicks)
    if not len(middles):
        return [stroke]
    half = 0.5 * nicks.length
    after = np.append(middles[1:], middles[0] + length(chain))
    return [
        replace(stroke, chain=stretch(chain, a + half, b - half), outline=number, bridge=nicks.length)
        for a, b in zip(middles.tolist(), after.tolist(), strict=True)
    ]


def overcut(stroke: Stroke, number: int, tail: float) -> Stroke:
    """Return a closed cut as an open one that comes back to its start and goes on by `tail` mm.

    The tail is never longer than half the cut.
    """
    around = length(stroke.chain)
    tail = min(tail, 0.5 * around)
    chain = stretch(stroke.chain, 0.0, around + tail)
    return replace(stroke, chain=chain, outline=number, overlap=tail)


def stretch(chain: Chain, start: float, end: float) -> Chain:
    """Return the open part of a closed chain between two lengths (mm) from its first vertex.

    `start` lies on the first round, `end` after it on the first or second.
    """
    table = chain.segments
    twice = np.tile(np.arange(len(table)), 2)
    long = lengths(table)[twice]
    begin = np.cumsum(long) - long
    # What is shorter than rounding at either end is no segment.
    least = 1e-9 * max(float(long.sum()), 1.0)
    rows = np.flatnonzero((begin + long > start + least) & (begin < end - least))
    t0 = np.clip((start - begin[rows]) / long[rows], 0.0, 1.0)
    t1 = np.clip((end - begin[rows]) / long[rows], 0.0, 1.0)
    cut = part(
        table.take(twice[rows]),
        np.where(t0 * long[rows] < least, 0.0, t0),
        np.where((1.0 - t1) * long[rows] < least, 1.0, t1),
    )
    return Chain(np.concatenate((cut.start, cut.end[-1:])), cut.bulge, closed=False)


def _unheld(strokes: Sequence[Stroke], sheet: Sheet) -> Finding:
    names = sorted({sheet.copies[stroke.copy].label for stroke in strokes}, key=lambda n: (len(n), n))
    some = ", ".join(names[:8]) + (" …" if len(names) > 8 else "")
    shortest = min(length(stroke.chain) for stroke in strokes)
    return Finding(
        "CUT-050",
        Severity.WARNING,
        f"no nicks fit on {len(strokes)} parts ({some}) of sheet {sheet.name}: they are small, or have too "
        f"little straight edge (the smallest is {format_mm(shortest, digits=1)} round)",
        "Hold them with tape, or make the nicks' spacing shorter in the profile",
        value=float(len(strokes)),
    )
