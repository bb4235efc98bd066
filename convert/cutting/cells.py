"""Cells: the upright box round each shape, turned to lie low where there is room for it.

*Words.* A **cell** is the upright box round a part that was turned. The **space** is what is usable of a
sheet; a corner of it may be taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.legend import strip_height
from convert.cutting.sheet import Product
from convert.errors import Finding, OutputError, Severity
from convert.geometry.chain import Segments
from convert.geometry.measure import boxes
from convert.geometry.similarity import Similarity
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.parts import Part
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Flags
    from convert.profile import Profile

TRIED_EDGES = 24
"""So many of a template's longest segments are tried as its base."""
ROUND = 4
"""Sizes are compared after rounding to so many digits (mm), so that equal ones don't differ by rounding."""
_THINGS = {
    Product.FINISHED: "piece",
    Product.CLOTH: "the cloth of piece",
    Product.WINDOW: "the window template of piece",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """A part turned by `angle_rad`; `left`, `low` are the corner of its box then, and its size, mm."""

    angle_rad: float
    left: float
    low: float
    width: float
    height: float

    def placement(self, x: float, y: float, *, flipped: bool) -> Similarity:
        """Return the map that lays the part with its box's lower left corner at (x, y).

        A flipped part is the mirror image, top to bottom, of the turned one: its box is the same.
        """
        turn = Similarity.turn(-self.angle_rad if flipped else self.angle_rad, flipped=flipped)
        low = -(self.low + self.height) if flipped else self.low
        return Similarity.shift(x - self.left, y - low).after(turn)


@dataclass(frozen=True, slots=True)
class Space:
    """The usable part of a sheet, mm; at its lower right a corner may be `taken`: width and height."""

    width: float
    height: float
    taken: tuple[float, float] = (0.0, 0.0)

    def holds(self, width: Floats | float, height: Floats | float) -> Flags:
        """Tell which upright boxes can lie in it somewhere."""
        aside, above = (width <= end + 1e-9 for end in (self.width - self.taken[0], self.width))
        low, high = (height <= end + 1e-9 for end in (self.height - self.taken[1], self.height))
        flags: Flags = np.asarray((aside & high) | (above & low))
        return flags

    def across(self, low: float) -> float:
        """Return how wide a row may be whose lower edge is at `low`."""
        return self.width - (self.taken[0] if low < self.taken[1] - 1e-9 else 0.0)


def usable_cells(
    parts: Sequence[Part], profile: Profile, taken: tuple[float, float] = (0.0, 0.0)
) -> tuple[Space, tuple[Cell, ...]]:
    """Return the usable area, of which a corner may be `taken`, and a cell that fits it for each part.

    *Errors*: OutputError (CUT-001), a finding for each part that fits at no angle tried.
    """
    margins = profile.margins
    room = Space(
        profile.width - margins.left - margins.right,
        profile.height - margins.bottom - margins.top - strip_height(margins),
        taken,
    )
    cells = _cells_of([part.outline for part in parts], room, profile.turn_step_deg)
    _refuse_large(parts, cells, room, profile)
    return room, cells


def _cells_of(outlines: Sequence[Chain], room: Space, step_deg: float | None) -> tuple[Cell, ...]:
    """Return for each outline the lowest cell that fits, standing on a segment or across it.

    Where none fits, every degree is tried; where none of those fits, the lowest cell is returned.
    Where parts may be turned in steps only (0: not at all), those are tried and no others.
    """
    tables = [outline.segments for outline in outlines]
    if step_deg is None:
        angles = [_standing(table) for table in tables]
    else:
        # A half turn changes no box.
        steps = np.arange(0.0, 180.0 - 1e-9, step_deg) if step_deg > 0.0 else np.zeros(1)
        angles = [np.radians(steps)] * len(tables)
    cells = []
    for table, tried, box in zip(tables, angles, _turned_boxes(tables, angles), strict=True):
        cell, fits = _lowest(tried, box, room)
        if not fits and step_deg is None:
            degrees = np.arange(180.0) * (pi / 180.0)
            other, fits = _lowest(degrees, _turned_boxes([table], [degrees])[0], room)
            cell = other if fits else cell
        cells.append(cell)
    return tuple(cells)


def _standing(table: Segments) -> Floats:
    """Return the turns that make each of the longest chords level, then those that make it upright."""
    along = table.end - table.start
    length = np.hypot(along[:, 0], along[:, 1])
    longest = np.argsort(-np.round(length, ROUND), kind="stable")[:TRIED_EDGES]
    base: Floats = -np.arctan2(along[longest, 1], along[longest, 0])
    return np.concatenate((base, base + 0.5 * pi))


def _lowest(angles: Floats, box: Floats, room: Space) -> tuple[Cell, bool]:
    """Return the lowest (then narrowest, then least turned) of the boxes that fit, and whether one does."""
    width, height = box[:, 2] - box[:, 0], box[:, 3] - box[:, 1]
    fits = room.holds(width, height)
    turned = np.abs(np.arctan2(np.sin(angles), np.cos(angles)))
    order = np.lexsort((np.round(turned, 6), np.round(width, ROUND), np.round(height, ROUND), ~fits))
    i = order[0]
    cell = Cell(float(angles[i]), float(box[i, 0]), float(box[i, 1]), float(width[i]), float(height[i]))
    return cell, bool(fits[i])


def _turned_boxes(tables: Sequence[Segments], angles: Sequence[Floats]) -> list[Floats]:
    """Return for each outline its boxes (m, 4) when turned by each of its m angles."""
    starts, ends, bulges, sizes = [], [], [], []
    for table, turns in zip(tables, angles, strict=True):
        turn = np.exp(1j * turns)[:, None]
        starts.append((turn * (table.start[:, 0] + 1j * table.start[:, 1])).ravel())
        ends.append((turn * (table.end[:, 0] + 1j * table.end[:, 1])).ravel())
        bulges.append(np.tile(table.bulge, len(turns)))
        sizes.append(np.full(len(turns), len(table)))
    start, end = np.concatenate(starts), np.concatenate(ends)
    each = boxes(
        Segments(
            np.column_stack((start.real, start.imag)),
            np.column_stack((end.real, end.imag)),
            np.concatenate(bulges),
        )
    )
    size = np.concatenate(sizes)
    first = np.cumsum(size) - size
    whole = np.column_stack(
        (np.minimum.reduceat(each[:, :2], first, axis=0), np.maximum.reduceat(each[:, 2:], first, axis=0))
    )
    return np.split(whole, np.cumsum([len(turns) for turns in angles])[:-1])


def _refuse_large(parts: Sequence[Part], cells: tuple[Cell, ...], room: Space, profile: Profile) -> None:
    findings = {
        part.template: Finding(
            "CUT-001",
            Severity.ERROR,
            f"{_THINGS[part.product]} {part.label} measures "
            f"{format_mm(cell.width)} x {format_mm(cell.height)} at best; the usable sheet of profile "
            f"{profile.name} is {format_mm(room.width)} x {format_mm(room.height)}{_without(room)}",
            "Ask for a smaller size, use a profile with a larger sheet, or split the piece with a seam",
            value=max(cell.width, cell.height),
        )
        for part, cell in zip(parts, cells, strict=True)
        if not room.holds(cell.width, cell.height)
    }
    if findings:
        raise OutputError(*findings.values())


def _without(room: Space) -> str:
    taken = " x ".join(map(format_mm, room.taken))
    return f" without a corner of {taken}" if room.taken[0] else ""
