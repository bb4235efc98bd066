"""From drawn linework to a planar map of faces: the normaliser's first step.

*Words.* **Noding** cuts all linework where it meets (noding.py, meeting.py). What **shows** is decided by
the fills (visible.py). Lines that part nothing are **loose** (loose.py). What is left bounds **faces**
(faces.py). A face is a **piece** of the block when

- the drawing has no fills, or
- a fill is seen in it, or
- no fill is seen in it but a stroked line runs along its outer boundary: somebody outlined it.

Other faces are holes in the block, and count as outside. The maker can decide for all faces without a fill
alike (Unfilled), and is told what was decided.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.choices import Unfilled
from convert.block.faces import Trace, enclosing, inner_points, trace
from convert.block.loose import closes_nothing, loose_findings, nothing_closed
from convert.block.model import OUTSIDE, PlanarMap
from convert.block.naming import names_in
from convert.block.noding import Web, node
from convert.block.repair import face_areas, repair_findings, sliver_findings
from convert.block.visible import Fills, fabrics, showing
from convert.errors import Finding, Place, Severity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SIDE = 3.0
"""How far beside an edge its sides are looked at, in gaps: noding moves an edge by less."""


@dataclass(frozen=True, slots=True, eq=False)
class Arranged:
    """A drawing as a planar map, in the drawing's own millimetres (y up).

    `fabric`, `name` and `fabric_name` have one entry per face: the fill seen inside it, and what the text
    that lies in it says of the piece or of its fabric.
    `repairs` tell what was changed to make lines meet; `warnings` what is doubtful. A warning of
    severity ERROR means that pieces would be lost or wrong: the drawing should be refused.
    """

    map: PlanarMap
    fabric: tuple[str | None, ...]
    name: tuple[str | None, ...]
    fabric_name: tuple[str | None, ...]
    repairs: tuple[Finding, ...]
    warnings: tuple[Finding, ...]


def arrange(drawing: Drawing, tolerances: Tolerances, unfilled: Unfilled = Unfilled.AUTO) -> Arranged:
    """Return the faces of a drawing; `unfilled` decides about those without a fill.

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
    planar, tops, told = _faces(web, traced, drawing, fills, unfilled)
    findings += told
    findings += sliver_findings(planar, drawing, tolerances)
    names = names_in(planar, drawing)
    findings += names.findings
    return Arranged(
        map=planar,
        fabric=tuple(None if k < 0 else drawing.elements[k].fill for k in tops.tolist()),
        name=names.piece,
        fabric_name=names.fabric,
        repairs=repair_findings(changes, drawing),
        warnings=tuple(findings),
    )


def _faces(
    web: Web, traced: Trace, drawing: Drawing, fills: Fills, unfilled: Unfilled
) -> tuple[PlanarMap, Ints, list[Finding]]:
    """Return the map, the topmost element whose fill is seen in each piece (-1 for none), and findings."""
    planar = map_of(web, traced)
    bounded = np.flatnonzero(traced.area > 0)
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
        if unfilled is not Unfilled.AUTO:
            hole = bare & (unfilled is Unfilled.HOLE)
        else:
            findings = [
                Finding(
                    "BLOCK-008",
                    Severity.WARNING,
                    "a face without a fill is only partly outlined; it is taken for a piece",
                    "Fill it, or use --unfilled hole if it should be a hole",
                    Place(at=(float(middle[k, 0]), drawing.page[1] - float(middle[k, 1]))),
                )
                for k in np.flatnonzero(bare & (lined > 0) & (lined < every)).tolist()
            ]
        area = face_areas(planar)
        for rows, code, what, advice in (
            (np.flatnonzero(hole), "BLOCK-014", "a hole", "Fill it, or use --unfilled piece"),
            (np.flatnonzero(bare & ~hole), "BLOCK-015", "a piece", "Use --unfilled hole if it is none"),
        ):
            if len(rows):
                findings.append(_bare(rows, code, what, advice, drawing, middle, area))
        if hole.any():
            number = np.where(hole, OUTSIDE, np.cumsum(~hole) - 1)
            face_of = np.where(planar.face_of == OUTSIDE, OUTSIDE, number[planar.face_of])
            planar = _locked(replace(planar, face_of=face_of))
            tops = tops[~hole]
    return planar, tops, findings


def _bare(
    rows: Ints, code: str, what: str, advice: str, drawing: Drawing, middle: Floats, area: Floats
) -> Finding:
    """Return a note about faces without a fill; it names the place of the largest one."""
    largest = int(rows[np.argmax(area[rows])])
    which = "a face without a fill counts"
    if len(rows) > 1:
        which = f"{len(rows)} faces without a fill count each"
    return Finding(
        code,
        Severity.NOTE,
        f"{which} as {what}; the largest has {area[largest]:.1f} mm²",
        advice,
        Place(at=(float(middle[largest, 0]), drawing.page[1] - float(middle[largest, 1]))),
        float(area[largest]),
    )


def map_of(web: Web, traced: Trace) -> PlanarMap:
    """Return the map of all bounded faces, in the order of their outer boundaries; nodes without edges go."""
    outer = enclosing(traced, web.points, web.start, web.end, web.bulge)
    face = np.full(len(outer), OUTSIDE, np.int64)
    bounded = np.flatnonzero(traced.area > 0)
    face[bounded] = np.arange(len(bounded))
    face[outer != OUTSIDE] = face[outer[outer != OUTSIDE]]
    used = np.zeros(len(web.points), bool)
    used[web.start] = True
    used[web.end] = True
    number = np.cumsum(used) - 1
    table = PlanarMap(
        points=web.points[used],
        start=number[web.start],
        end=number[web.end],
        bulge=web.bulge,
        next_half=traced.next_half,
        face_of=face[traced.boundary],
        source_start=web.first,
        sources=web.code // 2,
    )
    return _locked(table)


def _locked(table: PlanarMap) -> PlanarMap:
    for column in fields(table):
        getattr(table, column.name).flags.writeable = False
    return table


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
