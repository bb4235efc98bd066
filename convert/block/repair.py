"""What noding changed, told; and faces that are too thin to be pieces.

*Words.* The **mean width** of a face is twice its area divided by its perimeter. A **sliver** is a face
that is thin all along: most likely one line drawn twice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import boundary_terms, half_edges, half_table
from convert.block.model import OUTSIDE
from convert.block.noding import Change, Repairs
from convert.errors import Finding, Place, Severity
from convert.geometry.chain import Segments
from convert.geometry.measure import end_tangent, lengths, start_tangent
from convert.geometry.plane import cross, dot, to_complex

if TYPE_CHECKING:
    from convert.block.model import PlanarMap
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing

MOST_TOLD = 10
"""Repairs of one kind that are told one by one, the largest first."""

THIN = 5.0
"""A face whose mean width is below this many gaps can't be a piece."""

POINTED = np.radians(3.0)
"""Corners below this are taken for a drawing fault (our suggestion; no published number was found)."""

SLENDER = 0.02
"""Mean width over half the perimeter below which a face with two such corners is a sliver."""

CODES = {
    Change.JOINED: ("BLOCK-010", "ends of lines were joined", "moved by"),
    Change.ONTO: ("BLOCK-011", "the end of a line was moved onto the line it meets", "by"),
    Change.DOUBLED: ("BLOCK-012", "two lines that run side by side were made one", "apart by"),
}


def repair_findings(changes: Repairs, drawing: Drawing) -> tuple[Finding, ...]:
    """Return a note for each large repair, and one for all the smaller ones of a kind together."""
    findings = []
    for kind in Change:
        code, what, how = CODES[kind]
        mine = np.flatnonzero(changes.kind == kind)
        # Equal sizes are told from the top left of the page on, whatever the order of the elements.
        place = changes.at[mine]
        mine = mine[np.lexsort((place[:, 0].round(6), -place[:, 1].round(6), -changes.size[mine].round(9)))]
        for k in mine[:MOST_TOLD].tolist():
            x, y = changes.at[k].tolist()
            size = float(changes.size[k])
            where = Place(at=(x, drawing.page[1] - y))
            findings.append(
                Finding(code, Severity.NOTE, f"{what} ({how} {size:.4f} mm)", place=where, value=size)
            )
        if len(mine) > MOST_TOLD:
            size = float(changes.size[mine[MOST_TOLD]])
            more = f"{len(mine) - MOST_TOLD} more places: {what} ({how} at most {size:.4f} mm)"
            findings.append(Finding(code, Severity.NOTE, more, value=size))
    return tuple(findings)


def sliver_findings(table: PlanarMap, drawing: Drawing, tolerances: Tolerances) -> list[Finding]:
    """Return a finding for every sliver: an error when it can't be a piece, else a warning."""
    count = table.face_count
    if count == 0:
        return []
    edges = Segments(table.points[table.start], table.points[table.end], table.bulge)
    length = lengths(edges)
    perimeter, area = _per_face(table, length, length), face_areas(table)
    width = 2 * area / perimeter
    slender = width < SLENDER * perimeter / 2
    hopeless = slender & (width < THIN * tolerances.gap)
    pointed = np.zeros(count, np.int64)
    if slender.any():
        inside = np.flatnonzero(table.face_of != OUTSIDE)
        look = inside[slender[table.face_of[inside]]]
        half = half_table(table.points, table.start, table.end, table.bulge)
        back = -end_tangent(half.take(look))
        on = start_tangent(half.take(table.next_half[look]))
        to, fro = to_complex(on), to_complex(back)
        angle = np.arctan2(cross(to, fro), dot(to, fro)) % (2 * np.pi)
        sharp = (angle < POINTED) | (angle > 2 * np.pi - 1e-9)
        pointed += np.bincount(table.face_of[look[sharp]], minlength=count)
    findings = []
    for k in np.flatnonzero(hopeless | (slender & (pointed >= 2))).tolist():
        edge = int(np.flatnonzero(table.face_of == k)[0]) // 2
        element = drawing.elements[int(table.sources[table.source_start[edge]])]
        mine = table.points[half_edges(table.start, table.end)[0][table.face_of == k]]
        x, y = ((mine.min(axis=0) + mine.max(axis=0)) / 2).tolist()
        findings.append(
            Finding(
                "BLOCK-007",
                Severity.ERROR if hopeless[k] else Severity.WARNING,
                f"{width[k]:.2g} mm wide on average, this is a sliver, probably one line drawn twice",
                "Remove one of the two lines, or draw them as one",
                Place(line=element.line, element=element.id, at=(x, drawing.page[1] - y)),
                float(width[k]),
            )
        )
    return findings


def face_areas(table: PlanarMap) -> Floats:
    """Return the area of each face, holes taken out, (F,) mm²."""
    terms = boundary_terms(table.points, table.start, table.end, table.bulge)
    return _per_face(table, terms, -terms)


def _per_face(table: PlanarMap, left: Floats, right: Floats) -> Floats:
    """Add up values (E,) of the edges for the faces on their left and on their right."""
    count = table.face_count + 1
    on_left, on_right = table.face_of[0::2], table.face_of[1::2]
    # OUTSIDE is -1, so that it falls into the last place, which is left out.
    total = np.bincount(on_left % count, left, count) + np.bincount(on_right % count, right, count)
    return np.asarray(total[:-1], np.float64)
