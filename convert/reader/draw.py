"""The whole way from bytes to a Drawing, and what is said about the drawing as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import DrawingError, Finding, Place, Severity
from convert.geometry.segment import boxes
from convert.reader.assemble import assemble
from convert.reader.clip import clipped
from convert.reader.drawing import Drawing, DrawnText, Element, FillRule
from convert.reader.matrices import apply
from convert.reader.page import Page, page_of
from convert.reader.walk import DrawnShape, Walk
from convert.reader.xml_tree import parse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Floats

_WRONG_RULERS = {0.75: "72", 0.9375: "90"}
"""Share of the page that a drawing fills when its numbers were meant for so many units per inch."""
_NEAR = 0.002


def draw(
    data: bytes,
    file: str,
    name: str,
    digest: str,
    fit: float | None,
    unit_mm: float | None,
    only: Sequence[str],
    skip: Sequence[str],
) -> Drawing:
    """Return the Drawing that a file's bytes show. *Errors*: DrawingError."""
    document = parse(data, file)
    page = page_of(document.root, file, unit_mm)
    walk = Walk(document, file, only, skip)
    walk.run(page.to_pixels, page.context)
    if not walk.shapes:
        raise _nothing(walk, file)
    linework = assemble(
        [(s.matrix, s.subpaths, s.fill is not None) for s in walk.shapes], page.to_mm, fit, file
    )
    linework, remarks = clipped(linework, walk.shapes, page.to_mm, file)
    if not len(linework.segments):
        raise _nothing(walk, file)
    frame = boxes(linework.segments)
    extent = np.concatenate((frame[:, :2].min(axis=0), frame[:, 2:].max(axis=0)))
    findings = (*page.findings, *walk.findings, *remarks, *_about(walk, page, extent, file))
    return Drawing(
        name=name,
        sha256=digest,
        page=(page.width, page.height),
        unit=page.unit,
        sized=page.sized,
        elements=tuple(_element(shape, page.mm_per_px) for shape in walk.shapes),
        segments=linework.segments,
        element_of=linework.shape,
        subpath_of=linework.subpath,
        closed=linework.closed,
        implied=linework.implied,
        texts=tuple(DrawnText(t.text, apply(page.to_mm, *t.at), t.id, t.line) for t in walk.texts),
        fit=linework.fit,
        fit_error=linework.fit_error,
        findings=findings,
    )


def _element(shape: DrawnShape, mm_per_px: float) -> Element:
    return Element(
        shape.id,
        shape.tag,
        shape.line,
        shape.layers,
        shape.classes,
        shape.fill,
        shape.fill_opacity,
        FillRule.EVENODD if shape.fill_rule == "evenodd" else FillRule.NONZERO,
        shape.stroke,
        shape.stroke_width * mm_per_px,
    )


def _nothing(walk: Walk, file: str) -> DrawingError:
    reasons = []
    if walk.hidden:
        reasons.append(f"{walk.hidden} hidden")
    if walk.unpainted:
        reasons.append(f"{walk.unpainted} with neither stroke nor fill")
    what = "the drawing shows no line" + (f" ({', '.join(reasons)})" if reasons else "")
    finding = Finding(
        "READ-018",
        Severity.ERROR,
        what,
        "Draw the seams with strokes, or the pieces with fills",
        Place(file=file),
    )
    return DrawingError(finding, *walk.findings)


def _about(walk: Walk, page: Page, extent: Floats, file: str) -> list[Finding]:
    found = []
    place = Place(file=file)
    if walk.hidden:
        found.append(
            Finding(
                "READ-043",
                Severity.NOTE,
                f"{walk.hidden} hidden elements were left out",
                "",
                place,
                float(walk.hidden),
            )
        )
    if walk.unpainted:
        found.append(
            Finding(
                "READ-044",
                Severity.NOTE,
                f"{walk.unpainted} shapes with neither stroke nor fill were left out",
                "",
                place,
                float(walk.unpainted),
            )
        )
    left, bottom, right, top = extent.tolist()
    if right < 0.0 or left > page.width or top < 0.0 or bottom > page.height:
        found.append(
            Finding(
                "READ-045",
                Severity.WARNING,
                "the drawing lies wholly outside its page",
                "Check its viewBox",
                place,
            )
        )
    shares = (right / page.width, (page.height - bottom) / page.height)
    for share, per_inch in _WRONG_RULERS.items():
        # The viewBox would say what the numbers mean; without one they may be another program's points.
        if (
            page.sized
            and walk.document.root.get("viewBox") is None
            and all(abs(s - share) < _NEAR for s in shares)
        ):
            factor = 96.0 / float(per_inch)
            found.append(
                Finding(
                    "READ-046",
                    Severity.WARNING,
                    f"the drawing fills {100 * share:g} % of its page each way: as written it is "
                    f"{right - left:.2f} x {top - bottom:.2f} mm, but at {per_inch} units per inch it would "
                    f"be {factor * (right - left):.2f} x {factor * (top - bottom):.2f} mm",
                    "Ask for the finished size you want, and the doubt is gone",
                    place,
                    share,
                )
            )
    return found
