"""Outlines that are written open, closed again before they are compared with the block.

A cut may be written with bridges left standing, or run on past its start (`Stroke.outline`). Whether
it does so rightly is checked here on what was read: a bridge is straight, goes on in the direction
of the cuts on both its sides and has its length; a tail lies on the beginning of its own cut. Then the
bridges are put back and the tails taken off, so that every later check sees the whole outline.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Chain
from convert.proof.against_sheet import LIMIT, Record
from convert.proof.outlines import Table, lengths, point_at, table_of

if TYPE_CHECKING:
    from convert.cutting.sheet import Sheet, Stroke
    from convert.proof.outlines import Floats, Points

    Rows = tuple[Points, Points, Floats]

SAMPLES = 9
"""So many places along a tail are compared with the beginning of its cut."""


def closed_again(found: Table, sheet: Sheet, record: Record) -> tuple[Table, Sheet]:
    """Return what was read, and its sheet, with each opened outline as one closed path."""
    if all(stroke.outline < 0 for stroke in sheet.strokes):
        return found, sheet
    groups = _groups(sheet)
    planned = table_of([stroke.chain for stroke in sheet.strokes])
    read = [_whole(found, sheet, group, record) for group in groups]
    sizes = [len(p) for p, _, _ in read]
    p, q, sweep = (np.concatenate(column) for column in zip(*read, strict=True))
    table = Table(p, q, sweep, np.repeat(np.arange(len(read)), sizes), len(read))
    strokes = []
    for group in groups:
        stroke = sheet.strokes[group[0]]
        if stroke.outline >= 0:
            points, _, turns = _whole(planned, sheet, group, Record(""))
            chain = Chain(np.column_stack((points.real, points.imag)), np.tan(0.25 * turns), closed=True)
            stroke = replace(stroke, chain=chain, outline=-1, bridge=0.0, overlap=0.0)
        strokes.append(stroke)
    return table, replace(sheet, strokes=tuple(strokes))


def _groups(sheet: Sheet) -> list[list[int]]:
    """Return the numbers of the strokes that are one outline, in order; a stroke of none is alone."""
    groups: list[list[int]] = []
    for number, stroke in enumerate(sheet.strokes):
        before = sheet.strokes[groups[-1][0]].outline if groups else -1
        if stroke.outline >= 0 and stroke.outline == before:
            groups[-1].append(number)
        else:
            groups.append([number])
    return groups


def _whole(table: Table, sheet: Sheet, group: list[int], record: Record) -> Rows:
    rows = [np.flatnonzero(table.path == number) for number in group]
    parts = [(table.p[r], table.q[r], table.sweep[r]) for r in rows]
    strokes = [sheet.strokes[number] for number in group]
    if strokes[0].outline < 0:
        return parts[0]
    return _untailed(parts[0], strokes[0], record) if len(group) == 1 else _bridged(parts, strokes, record)


def _bridged(tables: list[Rows], strokes: list[Stroke], record: Record) -> Rows:
    """Return the strokes of one outline with straight lines over the bridges between them."""
    joined: list[Rows] = []
    for k, (p, q, sweep) in enumerate(tables):
        after_p, after_q, after_sweep = tables[(k + 1) % len(tables)]
        stroke = strokes[k]
        here, there = q[-1], after_p[0]
        gap = there - here
        record.checked += 1
        off = abs(abs(gap) - stroke.bridge)
        # A line that turns by an angle leaves the other's line by its sine times the bridge.
        along = gap / max(abs(gap), 1e-300)
        before = (q[-1] - p[-1]) * np.exp(0.5j * sweep[-1])
        after = (after_q[0] - after_p[0]) * np.exp(-0.5j * after_sweep[0])
        turns = [abs((along.conjugate() * way).imag) / max(abs(way), 1e-300) for way in (before, after)]
        off = max(off, abs(gap) * max(turns))
        back = min((along.conjugate() * way).real for way in (before, after)) <= 0.0
        record.measure(off)
        if off > LIMIT or back:
            what = f"the bridge at {here.real:.3f}, {here.imag:.3f} mm, is "
            what += f"{abs(gap):.4f} mm long instead of {stroke.bridge:g}, or not straight"
            record.fail("PROOF-020", what, float(off))
        joined += [(p, q, sweep), (here[None], there[None], np.zeros(1))]
    p, q, sweep = (np.concatenate(column) for column in zip(*joined, strict=True))
    return p, q, sweep


def _untailed(table: Rows, stroke: Stroke, record: Record) -> Rows:
    """Return one open stroke without its tail, closed at its start."""
    p, q, sweep = table
    t = Table(p, q, sweep, np.zeros(len(p), np.int64), 1)
    long = lengths(t)
    begin = np.cumsum(long) - long
    around = float(long.sum()) - stroke.overlap

    def at(place: Floats) -> Points:
        row = np.clip(np.searchsorted(begin, place, side="right") - 1, 0, len(p) - 1)
        share = np.divide(place - begin[row], long[row], out=np.zeros(len(row)), where=long[row] > 0.0)
        return point_at(t.take(row), np.clip(share, 0.0, 1.0))

    tail = np.linspace(0.0, stroke.overlap, SAMPLES)
    off = float(np.abs(at(around + tail) - at(tail)).max())
    record.checked += 1
    record.measure(off)
    if off > LIMIT or around <= 0.0:
        what = f"the tail of a cut that starts at {p[0].real:.3f}, {p[0].imag:.3f} mm lies {off:.6f} mm off"
        record.fail("PROOF-021", f"{what} the beginning of that cut", off)
        return p, q, sweep
    # The last segment that begins before the way round is done ends at the start; what follows is tail.
    kept = int(np.flatnonzero(begin < around - LIMIT)[-1]) + 1
    share = (around - begin[kept - 1]) / long[kept - 1]
    turned = sweep[:kept].copy()
    turned[-1] *= min(share, 1.0)
    ends = q[:kept].copy()
    ends[-1] = p[0]
    return p[:kept], ends, turned
