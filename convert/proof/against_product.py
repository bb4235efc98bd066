"""Read-back shapes with an allowance, a kerf or added holes against the Block.

Each copy's template is laid on the sheet by the copy's own placement, which must be a true turn and
shift, flipped where it has to be. Its cuts are then measured from the finished outline: papers half
a kerf away, rings at the allowance and half a kerf, the opening of a window half a kerf inside.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.cutting.sheet import Facing, Product, Purpose
from convert.proof.against_sheet import LIMIT
from convert.proof.outlines import Table, areas, circles, distances, flattened, table_from, table_of
from convert.proof.parallel import Distance, deviations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block, Template
    from convert.cutting.parts import CutChoices
    from convert.cutting.sheet import Copy, Sheet
    from convert.geometry.chain import Chain
    from convert.geometry.similarity import Similarity
    from convert.proof.against_sheet import Record
    from convert.proof.outlines import Floats, Points

RING_LONGEST, RING_PAST = 2.05, 1.0
"""Points of cloth are whole up to so many allowances from the corner; longer ones are cut so many past it."""
KERF_LONGEST = 4.0
"""The same for the cut itself, in halves of the kerf."""
JUNCTION, REMOVAL, RIM = 1.2, 5.0, 4.0
"""Diameters (mm) of junction and removal holes, and the least card round the latter."""
FINE = 1e-3
TRUE = 1e-9
CORNER = pi / 360.0

Outline = tuple["Points", "Floats"]
"""Vertices and sweeps of a closed path."""


def check_shapes(
    found: Table, sheet: Sheet, block: Block, kerf: float, choices: CutChoices, record: Record
) -> None:
    """Check every shape of a sheet; `kerf` in mm."""
    allowance = 0.0 if sheet.product is Product.FINISHED else choices.allowance_mm
    checker = _Checker(found, 0.5 * kerf, allowance, record)
    inner: dict[int, list[int]] = {number: [] for number in range(len(sheet.copies))}
    outer: dict[int, int] = {}
    for number, stroke in enumerate(sheet.strokes):
        if stroke.purpose is Purpose.INNER and stroke.copy >= 0:
            inner[stroke.copy].append(number)
        elif stroke.purpose is Purpose.OUTER:
            outer[stroke.copy] = number
    for number, copy in enumerate(sheet.copies):
        template = block.templates[copy.template]
        name = f"{_what(sheet.product)} {number + 1}, {copy.label}{' reversed' if copy.reversed else ''},"
        record.checked += 1
        if abs(copy.placement.scale - 1.0) > TRUE:
            record.fail("PROOF-017", f"{name} is laid down larger or smaller than it is")
        checker.add(
            outer[number], placed(template.outline, copy.placement, 1.0), name, is_ring=allowance > 0.0
        )
        if sheet.product is Product.WINDOW:
            _check_window(checker, inner[number], template, copy, choices, name)
        else:
            _check_inside(checker, inner[number], template, copy, choices, name)
    checker.finish()


def check_outside(found: Table, sheet: Sheet, block: Block, kerf: float, record: Record) -> None:
    """Check that the cuts round an assembled block lie half of `kerf` (mm) outside it."""
    placement = sheet.copies[0].placement
    flipped = placement.flipped != (sheet.facing is Facing.BACK) and sheet.facing is not Facing.EITHER
    if flipped or abs(placement.scale - 1.0) > TRUE:
        record.fail("PROOF-010", "the block is laid down larger, smaller or flipped")
        return
    checker = _Checker(found, 0.5 * kerf, 0.0, record)
    left = [n for n, s in enumerate(sheet.strokes) if s.purpose in {Purpose.OUTER, Purpose.INNER}]
    if len(left) != len(block.outside):
        record.fail("PROOF-014", f"{len(left)} cuts stand for {len(block.outside)} outlines of the block")
        return
    for ring in block.outside:
        turning = 1.0 if areas(table_of([ring]))[0] > 0.0 else -1.0
        wanted = placed(ring, placement, turning)
        off = [checker.off(cut, wanted, is_ring=False) for cut in left]
        checker.add(left.pop(int(np.argmin(off))), wanted, "the outside of the block", is_ring=False)
    checker.finish()


def placed(chain: Chain, placement: Similarity, turning: float) -> Outline:
    """Return a closed chain on the sheet, counter-clockwise (`turning` 1) or clockwise (-1)."""
    points, sweep = chain.points[:, 0] + 1j * chain.points[:, 1], 4.0 * np.arctan(chain.bulge)
    if placement.flipped:
        points, sweep = points.conj(), -sweep
    points = complex(placement.a, placement.b) * points + complex(placement.dx, placement.dy)
    if areas(table_from([(points, sweep, True)]))[0] * turning < 0.0:
        points, sweep = points[::-1], -np.roll(sweep[::-1], -1)
    return points, sweep


class _Checker:
    """Cuts and the outlines they belong to, gathered and then measured all at once."""

    def __init__(self, found: Table, half_kerf: float, allowance: float, record: Record) -> None:
        self.found, self.half_kerf, self.allowance, self.record = found, half_kerf, allowance, record
        self._start = np.searchsorted(found.path, np.arange(found.count + 1))
        self._cuts: list[int] = []
        self._wanted: list[Outline] = []
        self._names: list[str] = []
        self._rings: list[bool] = []

    def add(self, cut: int, wanted: Outline, name: str, *, is_ring: bool) -> None:
        """Note that a path must run at its distance right of an outline."""
        self._cuts.append(cut)
        self._wanted.append(wanted)
        self._names.append(name)
        self._rings.append(is_ring)

    def path(self, number: int) -> Table:
        """Return one path that was read."""
        rows = np.arange(self._start[number], self._start[number + 1])
        return _renumbered([self.found.take(rows)])

    def off(self, cut: int, wanted: Outline, *, is_ring: bool) -> float:
        """Return how far one path is from where an outline puts it."""
        return float(self._off([cut], [wanted], np.array([is_ring]))[0])

    def finish(self) -> None:
        """Measure everything and report what is off."""
        if not self._cuts:
            return
        off = self._off(self._cuts, self._wanted, np.array(self._rings))
        self.record.checked += len(off)
        self.record.measure(float(off[np.isfinite(off)].max(initial=0.0)))
        for number in np.flatnonzero(off > LIMIT).tolist():
            size = f"{off[number]:.6f} mm" if np.isfinite(off[number]) else "far"
            what = f"{self._names[number]} is cut {size} from where its finished outline"
            wide = f" with {self.allowance:g} mm allowance" if self._rings[number] else ""
            kerf = f" and a kerf of {2.0 * self.half_kerf:g} mm" if self.half_kerf else ""
            self.record.fail("PROOF-017", f"{what}{wide}{kerf} puts it", float(off[number]))

    def _off(self, cuts: Sequence[int], wanted: Sequence[Outline], ring: Floats) -> Floats:
        allowance = np.where(ring, self.allowance, 0.0)
        distance = Distance(
            allowance + self.half_kerf,
            np.where(ring, RING_LONGEST, KERF_LONGEST),
            np.where(ring, RING_PAST * allowance + self.half_kerf, KERF_LONGEST * self.half_kerf),
        )
        paths = _renumbered([self.path(cut) for cut in cuts])
        return deviations(paths, table_from([(*outline, True) for outline in wanted]), distance)


def _renumbered(tables: Sequence[Table]) -> Table:
    """Return tables of one path each as one table, numbered in order."""
    return Table(
        np.concatenate([t.p for t in tables]),
        np.concatenate([t.q for t in tables]),
        np.concatenate([t.sweep for t in tables]),
        np.repeat(np.arange(len(tables)), [len(t.p) for t in tables]),
        len(tables),
    )


def _what(product: Product) -> str:
    return {Product.FINISHED: "piece", Product.CLOTH: "cloth shape", Product.WINDOW: "window"}[product]


def _check_inside(
    checker: _Checker, inner: list[int], template: Template, copy: Copy, choices: CutChoices, name: str
) -> None:
    """Match a shape's inner cuts with its template's holes, and with a removal hole."""
    is_ring = checker.allowance > 0.0
    left = list(inner)
    for hole in template.holes:
        wanted = placed(hole, copy.placement, -1.0)
        off = [checker.off(cut, wanted, is_ring=is_ring) for cut in left]
        best = int(np.argmin(off)) if off else -1
        if off and off[best] <= LIMIT:
            checker.add(left.pop(best), wanted, f"a hole of {name}", is_ring=is_ring)
        elif not is_ring or _radius_of(wanted) > checker.allowance + checker.half_kerf + FINE:
            checker.record.fail("PROOF-017", f"a hole of {name} is missing or not where it belongs")
    if left and choices.removal_holes and not is_ring:
        outline = placed(template.outline, copy.placement, 1.0)
        holes = [placed(hole, copy.placement, -1.0) for hole in template.holes]
        if not _is_removal_hole(checker.path(left.pop()), [outline, *holes], checker.half_kerf):
            checker.record.fail(
                "PROOF-017", f"the removal hole of {name} is not a round one with card about it"
            )
    if left:
        checker.record.fail("PROOF-017", f"{name} has {len(left)} inner cuts that do not belong")


def _radius_of(outline: Outline) -> float:
    """Return the radius of the largest circle in an outline."""
    ring = flattened(table_from([(*outline, True)]), FINE)[0]
    shape = shapely.Polygon(np.column_stack((ring.real, ring.imag)))
    return float(shapely.maximum_inscribed_circle(shape, tolerance=FINE).length)


def _is_removal_hole(path: Table, around: list[Outline], half_kerf: float) -> bool:
    if len(path.p) < 2 or not path.sweep.all():
        return False
    centre, radius = circles(path)
    lines = table_from([(*outline, True) for outline in around])
    middle = np.full(len(lines.p), centre.mean())
    ring = flattened(table_from([(*around[0], True)]), FINE)[0]
    shape = shapely.Polygon(np.column_stack((ring.real, ring.imag)))
    return bool(
        np.abs(centre - centre.mean()).max() < LIMIT
        and np.abs(radius - 0.5 * REMOVAL + half_kerf).max() < LIMIT
        and abs(abs(path.sweep.sum()) - 2.0 * pi) < FINE
        and distances(middle, lines).min() > 0.5 * REMOVAL + RIM - LIMIT
        and shape.contains(shapely.Point(centre.mean().real, centre.mean().imag))
    )


def _check_window(
    checker: _Checker, inner: list[int], template: Template, copy: Copy, choices: CutChoices, name: str
) -> None:
    """Check the one opening of a window template, with whatever holes at its corners were cut."""
    if len(inner) != 1:
        checker.record.fail("PROOF-017", f"{name} has {len(inner)} openings instead of one")
        return
    wanted = placed(template.outline, copy.placement, -1.0)
    if choices.junction_holes:
        wanted = _with_holes(wanted, checker.path(inner[0]), checker.half_kerf)
    checker.add(inner[0], wanted, f"the opening of {name}", is_ring=False)


def _with_holes(outline: Outline, cut: Table, half_kerf: float) -> Outline:
    """Return a clockwise opening with a round hole about each corner where the cut has one."""
    points, sweep = outline
    r = 0.5 * JUNCTION
    ends = np.roll(points, -1)
    chord = ends - points
    leave = chord * np.exp(-0.5j * sweep) / np.abs(chord)
    arrive = np.roll(chord * np.exp(0.5j * sweep) / np.abs(chord), 1)
    turn = np.angle(leave * arrive.conj())
    # Clockwise, the outside is on the left; the hole reaches r (less half a kerf) out along the bisector.
    outward = 1j * (arrive + leave)
    outward = outward / np.maximum(np.abs(outward), 1e-300)
    row = np.repeat(np.arange(len(points)), len(cut.p))
    every = cut.take(np.tile(np.arange(len(cut.p)), len(points)))
    away = distances((points + (r - half_kerf) * outward)[row], every).reshape(len(points), -1).min(axis=1)
    pierced = (np.abs(turn) > CORNER) & (away < LIMIT)
    if not pierced.any():
        return outline
    out: list[complex] = []
    turned: list[float] = []
    with np.errstate(divide="ignore"):
        radius = np.where(sweep == 0.0, np.inf, 0.5 * np.abs(chord) / np.abs(np.sin(0.5 * sweep)))
    # Along an arc of radius R, a chord of r turns through 2 asin(r / 2R).
    step = 2.0 * np.arcsin(r / (2.0 * radius)) * np.sign(sweep)
    for i in range(len(points)):
        before, after = i - 1, (i + 1) % len(points)
        start, left = points[i], sweep[i]
        if pierced[i]:
            first = points[i] - r * arrive[i] * np.exp(-0.5j * step[before])
            start = points[i] + r * leave[i] * np.exp(0.5j * step[i])
            left -= step[i]
            half = np.angle((start - points[i]) / (first - points[i])) % (-2.0 * pi) / 2.0
            out += [first, points[i] + (first - points[i]) * np.exp(1j * half)]
            turned += [half, half]
        if pierced[after]:
            left -= step[i]
        out.append(start)
        turned.append(float(left))
    return np.array(out), np.array(turned)
