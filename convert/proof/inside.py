"""Whatever is drawn for a piece lies in it: marks and words that were read, against the outlines.

Separate shapes are those whose cuts were read from the same file; in an assembled block they are the
block's own pieces.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.cutting.sheet import Arrangement, Purpose
from convert.proof.against_product import placed
from convert.proof.outlines import flattened, point_at, table_from

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.cutting.sheet import Sheet
    from convert.proof.against_sheet import Record
    from convert.proof.outlines import Points, Table

FINE = 1e-3
"""Outlines are looked at as polygons no farther than this (mm) from their arcs."""
_DRAWN = (Purpose.MARK, Purpose.LETTER)


def check_drawn(found: Table, sheet: Sheet, block: Block, record: Record) -> None:
    """Check that every stroke that is drawn for a copy lies in that copy.

    A tick begins on the outline. A paper's outline is its template's, which is as far from the piece
    whose marks it bears as the piece's misfit says.
    """
    drawn = np.array([s.purpose in _DRAWN and s.copy >= 0 for s in sheet.strokes], dtype=bool)
    if not drawn.any():
        return
    shapes = _shapes(found, sheet, block)
    owner = np.array([stroke.copy for stroke in sheet.strokes])
    segments = found.take(drawn[found.path])
    last = np.flatnonzero(np.append(np.diff(segments.path) != 0, True))
    middle = point_at(segments, np.full(len(segments.p), 0.5))
    z = np.concatenate((segments.p, middle, segments.q[last]))
    copy = owner[np.concatenate((segments.path, segments.path, segments.path[last]))]
    record.checked += int(drawn.sum())
    outside = np.flatnonzero(~shapely.contains_xy(shapes[copy], z.real, z.imag))
    if not len(outside):
        return
    away = shapely.distance(shapely.points(z.real[outside], z.imag[outside]), shapes[copy[outside]])
    misfit = np.array([block.pieces[c.piece].misfit if c.piece >= 0 else 0.0 for c in sheet.copies])
    for row in np.flatnonzero(away > 2.0 * FINE + misfit[copy[outside]])[:1].tolist():
        at, where = z[outside[row]], sheet.copies[int(copy[outside[row]])]
        record.fail(
            "PROOF-018",
            f"what is drawn at {at.real:.2f}, {at.imag:.2f} mm is {away[row]:.4f} mm outside piece "
            f"{where.label}, number {int(copy[outside[row]]) + 1} on the sheet",
            float(away[row]),
        )


def _shapes(found: Table, sheet: Sheet, block: Block) -> shapely.Polygon:
    """Return the polygon of each copy, prepared for many questions (an array)."""
    rims: list[list[Points]] = [[] for _ in sheet.copies]
    if sheet.arrangement is Arrangement.ASSEMBLED:
        outlines = [
            (number, placed(chain, copy.placement, turning))
            for number, (copy, piece) in enumerate(zip(sheet.copies, block.pieces, strict=False))
            for chain, turning in [(piece.outline, 1.0), *((hole, -1.0) for hole in piece.holes)]
        ]
        table = table_from([(*outline, True) for _, outline in outlines])
        owner = [number for number, _ in outlines]
    else:
        cut = [s.purpose in {Purpose.OUTER, Purpose.INNER} and s.copy >= 0 for s in sheet.strokes]
        # The outer line comes first.
        numbers = sorted(
            np.flatnonzero(cut).tolist(), key=lambda n: sheet.strokes[n].purpose is Purpose.INNER
        )
        place = np.full(found.count, -1)
        place[numbers] = np.arange(len(numbers))
        rows = np.flatnonzero(place[found.path] >= 0)
        rows = rows[np.argsort(place[found.path[rows]], kind="stable")]
        table = found.take(rows)
        owner = [sheet.strokes[n].copy for n in numbers]
    for number, ring in zip(owner, flattened(table, FINE), strict=True):
        rims[number].append(ring)
    polygons = [
        shapely.Polygon(
            np.column_stack((rings[0].real, rings[0].imag)),
            [np.column_stack((ring.real, ring.imag)) for ring in rings[1:]],
        )
        for rings in rims
    ]
    array = np.array(polygons, dtype=object)
    shapely.prepare(array)
    return array
