"""The paper under a drawing: a white sheet that somebody, or some tool, drew below everything.

A sheet is taken for paper, not for a piece, when it is the lowest thing drawn, is filled white and has no
visible outline, and reaches beyond everything else on all four sides; and if it is much smaller than the
page, only when what lies on it leaves no white between, as appliqué on a white ground would. A white square
that other pieces touch from inside, as the ground of a block does, stays a piece. What could be paper, but
is taken for a piece, is told.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.choices import Lines
from convert.block.colours import WHITE, luminance
from convert.block.ink import thin_elements
from convert.block.visible import Fills, fabrics
from convert.errors import Finding, Place, Severity
from convert.geometry.index import points_in_hull
from convert.geometry.measure import area_terms, boxes, midpoint

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Drawing, Element

    Bools = NDArray[np.bool_]

FAINT = 0.8
"""An outline of at least this luminance isn't seen on paper."""

MARGIN = 2e-3
"""A sheet reaches beyond everything else by this share of its own size, on every side."""

PALE = 0.7
"""Sheets of at least this luminance could be paper."""

WHOLE_PAGE = 0.9
"""A sheet that is so large a share of the page in width and height is as large as the page."""

SOLID, GRID = 0.9, 32
"""What lies on a smaller sheet leaves nothing of it to be seen if it covers so much of its convex hull, as
seen on so many rows and columns of points."""

SHEET = 0.75
"""It covers so much of its box; a disc covers 0.79."""


def without_background(drawing: Drawing, *, keep: bool) -> tuple[Drawing, tuple[Finding, ...]]:
    """Return the drawing without the sheets it is drawn on, and a finding for each."""
    findings: list[Finding] = []
    while not keep and len(drawing.segments):
        lowest = int(drawing.element_of.min())
        sheet = drawing.element_of == lowest
        if sheet.all() or not _lies_under_all(drawing, lowest):
            break
        element = drawing.elements[lowest]
        if not _is_white(element) or not (_is_page(drawing, sheet) or _is_covered(drawing, sheet)):
            if _is_pale(element) and (element.stroke is None or _is_page(drawing, sheet)):
                findings.append(_ground(element))
            break
        findings.append(
            Finding(
                "BLOCK-030",
                Severity.WARNING,
                f"{element.id} is white and reaches beyond all that lies on it: it is taken for paper",
                "Use --keep-background if it is a piece",
                Place(line=element.line, element=element.id),
            )
        )
        drawing = _without(drawing, lowest)
    return drawing, tuple(findings)


def _ground(element: Element) -> Finding:
    return Finding(
        "BLOCK-034",
        Severity.NOTE,
        f"{element.id} lies under all else and reaches beyond it: it is taken for a piece, not for paper",
        "Remove it from the drawing if it is paper",
        Place(line=element.line, element=element.id),
    )


def _is_page(drawing: Drawing, sheet: Bools) -> bool:
    box = _box(boxes(drawing.segments.take(np.flatnonzero(sheet))))
    return bool((box[2:] - box[:2] >= WHOLE_PAGE * np.array(drawing.page)).all())


def _is_covered(drawing: Drawing, sheet: Bools) -> bool:
    """Tell whether fills on a sheet leave nothing of it to be seen; lines are taken to enclose all."""
    rest = _without(drawing, int(drawing.element_of[sheet][0]))
    fills = Fills.of(rest)
    if not len(fills) or thin_elements(rest, Lines.AUTO):
        return True
    rows = np.isin(rest.element_of, fills.element)
    ends = rest.segments.take(np.flatnonzero(rows))
    inside = points_in_hull(np.concatenate((ends.start, midpoint(ends))), GRID)
    return bool(np.mean(fabrics(inside, fills) >= 0) >= SOLID)


def _lies_under_all(drawing: Drawing, lowest: int) -> bool:
    element = drawing.elements[lowest]
    if element.fill is None or element.fill_opacity <= 0:
        return False
    mine = drawing.element_of == lowest
    table = drawing.segments.take(np.flatnonzero(mine))
    own, others = _box(boxes(table)), _box(boxes(drawing.segments.take(np.flatnonzero(~mine))))
    size = own[2:] - own[:2]
    margin = np.concatenate((others[:2] - own[:2], own[2:] - others[2:]))
    covered = abs(float(area_terms(table).sum()))
    return bool((margin >= MARGIN * np.tile(size, 2)).all()) and covered >= SHEET * float(size.prod())


def _is_white(element: Element) -> bool:
    fill, stroke = element.fill, element.stroke
    if fill is None or not fill.startswith("#") or luminance(fill) < WHITE:
        return False
    return stroke is None or (stroke.startswith("#") and luminance(stroke) >= FAINT)


def _is_pale(element: Element) -> bool:
    return element.fill is not None and element.fill.startswith("#") and luminance(element.fill) >= PALE


def _box(each: Floats) -> Floats:
    return np.concatenate((each[:, :2].min(axis=0), each[:, 2:].max(axis=0)))


def _without(drawing: Drawing, number: int) -> Drawing:
    """Return the drawing without the linework of one element; all elements keep their numbers."""
    keep = np.flatnonzero(drawing.element_of != number)
    old = drawing.subpath_of[keep]
    left, subpath = np.unique(old, return_inverse=True)
    return replace(
        drawing,
        segments=drawing.segments.take(keep),
        element_of=drawing.element_of[keep],
        subpath_of=subpath.astype(np.int64),
        closed=drawing.closed[left],
        implied=drawing.implied[keep],
    )
