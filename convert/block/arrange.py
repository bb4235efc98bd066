"""From drawn linework to a planar map of faces: the normaliser's first step.

*Words.* **Noding** cuts all linework where it meets (noding.py, meeting.py). What **shows** is decided by
the fills (visible.py). Lines that part nothing are **loose** (loose.py). What is left bounds **faces**
(faces.py). A face is a **piece** of the block when

- the drawing has no fills, or
- a fill is seen in it, or
- no fill is seen in it but a stroked line runs along its outer boundary: somebody outlined it.

Other faces are holes in the block, and count as outside.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import RayTable, Trace, enclosing, inner_points, trace
from convert.block.loose import closes_nothing, loose_findings, nothing_closed
from convert.block.model import OUTSIDE, PlanarMap
from convert.block.noding import Web, node
from convert.block.repair import repair_findings, sliver_findings
from convert.block.visible import Fills, fabrics, showing
from convert.errors import Finding, Place, Severity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SIDE = 3.0
"""How far beside an edge its sides are looked at, in gaps: noding moves an edge by less."""


@dataclass(frozen=True, slots=True, eq=False)
class Arranged:
    """A drawing as a planar map, in the drawing's own millimetres (y up).

    `fabric` and `name` have one entry per face: the fill seen inside it, and the text that lies in it.
    `repairs` tell what was changed to make lines meet; `warnings` what is doubtful. A warning of
    severity ERROR means that pieces would be lost or wrong: the drawing should be refused.
    """

    map: PlanarMap
    fabric: tuple[str | None, ...]
    name: tuple[str | None, ...]
    repairs: tuple[Finding, ...]
    warnings: tuple[Finding, ...]


def arrange(drawing: Drawing, tolerances: Tolerances) -> Arranged:
    """Return the faces of a drawing.

    *Errors*: GeometryError (BLOCK-018) when lines can't be told apart; everything else is a finding.
    """
    web, changes = node(drawing, tolerances)
    findings = list(_vanished(web, drawing))
    fills = Fills.of(drawing)
    shows, said = showing(web, fills, SIDE * tolerances.gap)
    findings += said
    if not shows.all():
        web = web.keep(shows)
    traced = trace(web.points, web.start, web.end, web.bulge)
    loose = traced.boundary[0::2] == traced.boundary[1::2]
    if len(web) == 0:
        findings.append(nothing_closed(web, drawing))
    elif loose.any():
        if closes_nothing(web, float(traced.area[traced.area > 0].sum())):
            findings.append(nothing_closed(web, drawing))
            loose[:] = True
        else:
            findings += loose_findings(web, loose, drawing)
        web = web.keep(~loose)
        traced = trace(web.points, web.start, web.end, web.bulge)
    planar, tops, told = _faces(web, traced, drawing, fills)
    findings += told
    findings += sliver_findings(planar, drawing, tolerances)
    names, told = _names(planar, drawing)
    findings += told
    return Arranged(
        map=planar,
        fabric=tuple(None if k < 0 else drawing.elements[k].fill for k in tops.tolist()),
        name=names,
        repairs=repair_findings(changes, drawing),
        warnings=tuple(findings),
    )


def _faces(web: Web, traced: Trace, drawing: Drawing, fills: Fills) -> tuple[PlanarMap, Ints, list[Finding]]:
    """Return the map, the topmost element whose fill is seen in each piece (-1 for none), and findings."""
    outer = enclosing(traced, web.points, web.start, web.end, web.bulge)
    face = np.full(len(outer), OUTSIDE, np.int64)
    bounded = np.flatnonzero(traced.area > 0)
    face[bounded] = np.arange(len(bounded))
    face[outer != OUTSIDE] = face[outer[outer != OUTSIDE]]
    planar = _as_map(web, traced.next_half, face[traced.boundary])
    tops = np.full(len(bounded), -1, np.int64)
    findings: list[Finding] = []
    if len(fills) and len(bounded):
        middle = inner_points(planar)
        tops = fabrics(middle, fills)
        bare = tops < 0
        # Whether a stroke runs along a face's outer boundary.
        stroked = np.maximum.reduceat(web.code % 2, web.first[:-1]) == 1
        lined = np.bincount(traced.boundary, np.repeat(stroked, 2), len(traced.area))[bounded]
        every = np.bincount(traced.boundary, minlength=len(traced.area))[bounded]
        hole = bare & (lined == 0)
        findings = [
            Finding(
                "BLOCK-008",
                Severity.WARNING,
                "a face without a fill is only partly outlined; it is taken for a piece",
                "Fill it, or remove the lines that close it if it should be a hole",
                Place(at=(float(middle[k, 0]), drawing.page[1] - float(middle[k, 1]))),
            )
            for k in np.flatnonzero(bare & (lined > 0) & (lined < every)).tolist()
        ]
        if hole.any():
            number = np.where(hole, OUTSIDE, np.cumsum(~hole) - 1)
            face_of = np.where(planar.face_of == OUTSIDE, OUTSIDE, number[planar.face_of])
            planar = _locked(replace(planar, face_of=face_of))
            tops = tops[~hole]
    return planar, tops, findings


def _as_map(web: Web, next_half: Ints, face_of: Ints) -> PlanarMap:
    """Leave out nodes without edges and make the values read-only."""
    used = np.zeros(len(web.points), bool)
    used[web.start] = True
    used[web.end] = True
    number = np.cumsum(used) - 1
    table = PlanarMap(
        points=web.points[used],
        start=number[web.start],
        end=number[web.end],
        bulge=web.bulge,
        next_half=next_half,
        face_of=face_of,
        source_start=web.first,
        sources=web.code // 2,
    )
    return _locked(table)


def _locked(table: PlanarMap) -> PlanarMap:
    for column in fields(table):
        getattr(table, column.name).flags.writeable = False
    return table


def _names(table: PlanarMap, drawing: Drawing) -> tuple[tuple[str | None, ...], list[Finding]]:
    """Return for each face the text that lies in it; texts of one face are read from the top left on."""
    names: list[str | None] = [None] * table.face_count
    if not drawing.texts or not names:
        return tuple(names), []
    rays = RayTable.of(table.points, table.start, table.end, table.bulge)
    texts = sorted(drawing.texts, key=lambda t: (-t.at[1], t.at[0]))
    seen = rays.first_hits(np.array([t.at for t in texts], float))
    findings = []
    for text, half in zip(texts, seen.tolist(), strict=True):
        face = int(table.face_of[half]) if half >= 0 else OUTSIDE
        if face == OUTSIDE:
            findings.append(
                Finding(
                    "BLOCK-009",
                    Severity.NOTE,
                    "a text lies in no piece, so it names none",
                    place=Place(
                        line=text.line, element=text.element, at=(text.at[0], drawing.page[1] - text.at[1])
                    ),
                )
            )
        else:
            names[face] = f"{names[face]} {text.text}" if names[face] else text.text
    return tuple(names), findings


def _vanished(web: Web, drawing: Drawing) -> list[Finding]:
    """Return a warning for every element that is smaller than the gap and so became a point."""
    left = np.zeros(len(drawing.elements), bool)
    left[web.code // 2] = True
    drawn = np.zeros(len(drawing.elements), bool)
    drawn[drawing.element_of] = True
    findings = []
    for k in np.flatnonzero(drawn & ~left).tolist():
        element = drawing.elements[k]
        x, y = drawing.segments.start[np.searchsorted(drawing.element_of, k)].tolist()
        findings.append(
            Finding(
                "BLOCK-013",
                Severity.WARNING,
                f"{element.id} is smaller than the gap that is closed, and is left out",
                place=Place(line=element.line, element=element.id, at=(x, drawing.page[1] - y)),
            )
        )
    return findings
