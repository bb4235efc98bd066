"""The paper under a drawing: a white sheet that somebody, or some tool, drew below everything.

A sheet is taken for paper, not for a piece, when it is the lowest thing drawn, is filled white and has no
visible outline, and reaches beyond everything else on all four sides. A white square that other
pieces touch from inside, as the ground of a block does, stays a piece.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import Finding, Place, Severity
from convert.geometry.measure import area_terms, boxes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Drawing, Element

    Ints = NDArray[np.int64]

WHITE = 0.93
"""Relative luminance from which a colour counts as white, the page's own colour: `#f8f8f8` is white."""

FAINT = 0.8
"""An outline of at least this luminance isn't seen on paper."""

MARGIN = 2e-3
"""A sheet reaches beyond everything else by this share of its own size, on every side."""

SHEET = 0.75
"""It covers so much of its box; a disc covers 0.79."""


def without_background(drawing: Drawing, *, keep: bool) -> tuple[Drawing, tuple[Finding, ...]]:
    """Return the drawing without the sheets it is drawn on, and a finding for each."""
    findings: list[Finding] = []
    while not keep and len(drawing.segments):
        lowest = int(drawing.element_of.min())
        sheet = drawing.element_of == lowest
        if sheet.all() or not _is_paper(drawing, lowest):
            break
        element = drawing.elements[lowest]
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


def luminance(colour: str) -> float:
    """Return the relative luminance of `#rrggbb`, 0 to 1. *Source*: WCAG 2.2, "relative luminance"."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _is_paper(drawing: Drawing, lowest: int) -> bool:
    element = drawing.elements[lowest]
    if not _is_white(element):
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
    if fill is None or not fill.startswith("#") or element.fill_opacity <= 0 or luminance(fill) < WHITE:
        return False
    return stroke is None or (stroke.startswith("#") and luminance(stroke) >= FAINT)


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
