"""What the eye sees: linework under a later opaque fill is gone, and the topmost fill gives the fabric.

*Words.* An edge **shows** when one of the elements that made it draws something there that no later
opaque fill covers: a stroke, or the border of a fill. An element's own overlapping parts have no
border inside its fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.block.nearby import points_in_boxes
from convert.block.snapping import run_starts, spans
from convert.errors import Finding, Place, Severity
from convert.geometry.contain import windings
from convert.geometry.measure import boxes, midpoint
from convert.reader.drawing import FillRule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.noding import Web
    from convert.geometry.chain import Floats
    from convert.reader.drawing import Drawing, Element

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Fills:
    """The filled elements of a drawing, ready to be asked what they cover.

    *Shapes*: `element` (k,) their numbers, rising; `opaque`, `evenodd` (k,); `boxes` (k, 4);
    the rows of element e in the drawing's segments are row_start[e]:row_start[e + 1].
    """

    drawing: Drawing
    element: Ints
    opaque: Bools
    evenodd: Bools
    row_start: Ints
    boxes: Floats

    @classmethod
    def of(cls, drawing: Drawing) -> Fills:
        """Collect the fills of a drawing."""
        count = len(drawing.elements)
        begin = np.searchsorted(drawing.element_of, np.arange(count + 1)).astype(np.int64)
        filled = np.array([e.fill is not None and e.fill_opacity > 0 for e in drawing.elements], bool)
        element = np.flatnonzero(filled & (np.diff(begin) > 0)) if count else np.zeros(0, np.int64)
        box = np.zeros((0, 4))
        if len(element):
            every = boxes(drawing.segments)
            rows = spans(begin[element], begin[element + 1] - begin[element])
            first = run_starts(drawing.element_of[rows])
            low = np.minimum.reduceat(every[rows, :2], first)
            high = np.maximum.reduceat(every[rows, 2:], first)
            box = np.hstack((low, high))
        return cls(
            drawing,
            element,
            np.array([drawing.elements[k].hides for k in element], bool),
            np.array([drawing.elements[k].fill_rule is FillRule.EVENODD for k in element], bool),
            begin,
            box,
        )

    def __len__(self) -> int:
        return len(self.element)

    def over(self, points: Floats) -> tuple[Ints, Ints]:
        """Return pairs of a point's number and a fill's number whose box holds the point."""
        return points_in_boxes(points, self.boxes)

    def covers(self, fill: Ints, points: Floats) -> Bools:
        """Return whether fill number fill[j] covers points[j]."""
        turns = windings(self.drawing.segments, self.row_start, self.element[fill], points)
        return np.asarray(np.where(self.evenodd[fill], turns % 2 != 0, turns != 0))


def showing(web: Web, fills: Fills, clearance: float) -> tuple[Bools, tuple[Finding, ...]]:
    """Return which edges show, and what there is to say about half-transparent and hidden elements.

    `clearance` is how far beside an edge its two sides are looked at, in mm: more than edges were moved.
    """
    if len(fills) == 0:
        return np.ones(len(web), bool), ()
    edge = np.repeat(np.arange(len(web)), np.diff(web.first))
    element = web.code // 2
    draws = _draws(web, fills, edge, element, clearance)
    top = np.full(len(web), -1, np.int64)
    np.maximum.at(top, edge[draws], element[draws])
    shows = top >= 0
    middle = midpoint(web.segments)
    who, fill = fills.over(middle)
    above = shows[who] & (fills.element[fill] > top[who])
    who, fill = who[above], fill[above]
    inside = fills.covers(fill, middle[who])
    who, fill = who[inside], fill[inside]
    shows[who[fills.opaque[fill]]] = False
    findings = []
    elements = fills.drawing.elements
    height = fills.drawing.page[1]
    thin = ~fills.opaque[fill] & shows[who]
    for k in np.unique(fill[thin]):
        over = elements[fills.element[k]]
        x, y = middle[who[thin & (fill == k)][0]]
        findings.append(
            Finding(
                "BLOCK-005",
                Severity.WARNING,
                f"{over.id} {_shown_through(over)} and lies over lines, which are taken for seams",
                "Make it opaque to hide them, or remove it",
                Place(line=over.line, element=over.id, at=(float(x), height - float(y))),
                over.fill_opacity,
            )
        )
    seen = np.zeros(len(elements), bool)
    seen[element[shows[edge] & draws]] = True
    drawn = np.zeros(len(elements), bool)
    drawn[element] = True
    findings += [
        Finding(
            "BLOCK-006",
            Severity.NOTE,
            f"{elements[k].id} lies wholly under later fills and is not seen",
            place=Place(line=elements[k].line, element=elements[k].id),
        )
        for k in np.flatnonzero(drawn & ~seen)
    ]
    return shows, tuple(findings)


def _shown_through(over: Element) -> str:
    return "is blended with what lies under it" if over.fill_opacity >= 1 else "is half transparent"


def _draws(web: Web, fills: Fills, edge: Ints, element: Ints, clearance: float) -> Bools:
    """Return which sources draw something along their edge: a stroke, or the border of their own fill."""
    draws = np.asarray(web.code % 2 == 1, np.bool_)
    plain = np.flatnonzero(~draws)
    if len(plain) == 0:
        return draws
    filled = np.zeros(len(fills.drawing.elements), bool)
    filled[fills.element] = True
    draws[plain] = filled[element[plain]]
    plain = plain[draws[plain]]
    # An outline that passes every node once has all its edges on its border; others need a closer look.
    node = np.concatenate((web.start[edge[plain]], web.end[edge[plain]]))
    whose = np.concatenate((element[plain], element[plain]))
    _, place, count = np.unique(whose * len(web.points) + node, return_index=True, return_counts=True)
    knotted = np.zeros(len(fills.drawing.elements), bool)
    knotted[whose[place[count != 2]]] = True
    of_subpath = fills.drawing.element_of[run_starts(fills.drawing.subpath_of)]
    knotted[np.bincount(of_subpath, minlength=len(knotted)) > 1] = True
    look = plain[knotted[element[plain]]]
    if len(look) == 0:
        return draws
    table = web.segments.take(edge[look])
    chord = table.end - table.start
    aside = (
        np.column_stack((-chord[:, 1], chord[:, 0]))
        * (clearance / np.hypot(chord[:, 0], chord[:, 1]))[:, None]
    )
    middle = midpoint(table)
    fill = np.searchsorted(fills.element, element[look])
    draws[look] = fills.covers(fill, middle + aside) != fills.covers(fill, middle - aside)
    return draws


def fabrics(points: Floats, fills: Fills) -> Ints:
    """Return for each point the number of the topmost element whose fill covers it, -1 for none."""
    top = np.full(len(points), -1, np.int64)
    if len(fills):
        who, fill = fills.over(points)
        inside = fills.covers(fill, points[who])
        np.maximum.at(top, who[inside], fills.element[fill[inside]])
    return top
