"""The whole way from bytes to a Drawing, and what is said about the drawing as a whole."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from convert.errors import DrawingError, Finding, Place, Severity
from convert.geometry.chain import Segments
from convert.geometry.segment import boxes
from convert.reader.assemble import SMALLEST_MM, Linework, assemble
from convert.reader.cascade import INITIAL
from convert.reader.clip import clipped
from convert.reader.contents import Contents
from convert.reader.document import Reading
from convert.reader.drawing import Drawing, Element
from convert.reader.page import Page, page_of
from convert.reader.remarks import Remarks
from convert.reader.walk import Walk
from convert.reader.xml_tree import parse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Ints
    from convert.reader.leftout import LeftOut

_WRONG_RULERS: Final = {0.75: 72, 0.9375: 90}
"""Share of the page that a drawing fills when its numbers were meant for so many units per inch, not 96."""
_NEAR: Final = 0.002
_ROWS: Final = 100_000
_ELEMENTS: Final = 10_000
_OUTSIDE: Final = 0.02
"""Of the page's longer side: farther beyond its edge than this is remarked on."""


def draw(
    data: bytes,
    name: str,
    digest: str,
    fit: float | None,
    unit_mm: float | None,
    only: Sequence[str],
    skip: Sequence[str],
) -> Drawing:
    """Return the Drawing that a file's bytes show. *Errors*: DrawingError, without the file's name."""
    remarks = Remarks()
    document = parse(data)
    for what in document.forgiven:
        remarks.add("READ-027", what, document.root, advice="Save it again as SVG")
    for sheet in document.sheets:
        remarks.add(
            "READ-028",
            f"a style sheet outside the file was left out ({sheet[:60]})",
            advice="Save it as plain SVG",
        )
    reading = Reading(document, remarks)
    root_style = reading.cascade.style(document.root, INITIAL)
    page = page_of(document.root, root_style, unit_mm, remarks)
    walk = Walk(reading, page, only, skip)
    walk.run()
    view_box = document.root.get("viewBox")
    del document, reading
    walk.let_go()
    if not walk.elements:
        raise _nothing(walk, remarks)
    linework = assemble(walk.gathered, fit, lambda i: _place(walk.elements[i]))
    to_mm = (page.mm_per_px, 0.0, 0.0, -page.mm_per_px, 0.0, 0.0)
    linework = clipped(linework, walk.gathered.regions, walk.elements, to_mm, walk.left_out)
    if not len(linework.segments):
        raise _nothing(walk, remarks)
    linework = _on_page(linework, walk.elements, page, walk.left_out)
    elements, linework = _without_empty(walk.elements, linework)
    extent = _extent(linework.segments)
    _check_not_tiny(extent)
    width, height = _page_size(page, extent)
    ends, bulge = [linework.segments.start, linework.segments.end], linework.segments.bulge
    linework = replace(linework, segments=linework.segments.take(slice(0)))
    _raise(ends, height)
    segments = Segments(ends[0], ends[1], bulge)
    extent[1::2] += height
    _about(page, view_box, (width, height), extent, remarks)
    return Drawing(
        name=name,
        sha256=digest,
        page=(width, height),
        unit=page.unit,
        sized=page.sized,
        elements=elements,
        segments=segments,
        element_of=linework.element,
        subpath_of=linework.subpath,
        closed=linework.closed,
        implied=linework.implied,
        texts=tuple(replace(t, at=(t.at[0], t.at[1] + height)) for t in walk.texts),
        fit=linework.fit,
        fit_error=linework.fit_error,
        findings=remarks.findings(),
        contents=Contents(
            walk.left_out.layers(elements), sum(not e.layers for e in elements), remarks.noticed()
        ),
    )


def _on_page(linework: Linework, elements: Sequence[Element], page: Page, left_out: LeftOut) -> Linework:
    """Leave out elements that lie wholly beside the page, strokes and all, unless all of them do."""
    first = np.flatnonzero(np.append(True, np.diff(linework.element) > 0))
    owner = linework.element[first]
    frame = _boxes_by_element(linework.segments, first)
    slack = 1e-9 * np.abs(frame).max()
    reach = np.array([elements[i].stroke_width / 2.0 for i in owner])[:, None]
    low, high = frame[:, :2] - reach, frame[:, 2:] + reach
    size = np.array([page.width, page.height]) * page.mm_per_px
    size[list(page.open)] = np.inf
    beside = (high[:, 0] < -slack) | (low[:, 0] > size[0] + slack)
    beside |= (low[:, 1] > slack) | (high[:, 1] < -size[1] - slack)
    if beside.all() or not beside.any():
        return linework
    for i in owner[beside]:
        left_out.beside(elements[i])
    keep = ~np.isin(linework.element, owner[beside])
    return replace(
        linework,
        segments=linework.segments.take(keep),
        element=linework.element[keep],
        subpath=linework.subpath[keep],
        implied=linework.implied[keep],
    )


def _boxes_by_element(s: Segments, first: Ints) -> Floats:
    """Return the box round each element's segments; `first` are their first rows."""
    found = np.empty((len(first), 4))
    begin = np.append(first, len(s))
    for at in range(0, len(first), _ELEMENTS):
        own = begin[at : at + _ELEMENTS + 1]
        frame = boxes(s.take(slice(own[0], own[-1])))
        found[at : at + _ELEMENTS, :2] = np.minimum.reduceat(frame[:, :2], own[:-1] - own[0])
        found[at : at + _ELEMENTS, 2:] = np.maximum.reduceat(frame[:, 2:], own[:-1] - own[0])
    return found


def _without_empty(elements: Sequence[Element], linework: Linework) -> tuple[tuple[Element, ...], Linework]:
    """Leave out elements of which no line is left."""
    there = np.bincount(linework.element, minlength=len(elements)) > 0
    if there.all():
        return tuple(elements), linework
    number: Ints = np.cumsum(there, dtype=np.int64) - 1
    left = tuple(e for e, seen in zip(elements, there.tolist(), strict=True) if seen)
    return left, replace(linework, element=number[linework.element])


def _extent(s: Segments) -> Floats:
    """Return the box round all segments, some at a time to save memory."""
    frame = np.empty((0, 4))
    for at in range(0, len(s), _ROWS):
        frame = np.concatenate((frame, boxes(s.take(slice(at, at + _ROWS)))))
        frame = np.concatenate((frame[:, :2].min(axis=0), frame[:, 2:].max(axis=0)))[None]
    box: Floats = frame[0]
    return box


def _place(element: Element) -> Place:
    return Place(line=element.line, element=element.id)


def _check_not_tiny(extent: Floats) -> None:
    size = float((extent[2:] - extent[:2]).max())
    if size < SMALLEST_MM:
        what = f"the whole drawing measures {size:.2g} mm"
        raise DrawingError.because("READ-026", what, "Check its width, height and viewBox", value=size)


def _raise(ends: list[Floats], height: float) -> None:
    """Measure points from the page's lower edge instead of its upper; each old table is let go at once."""
    up = np.array([0.0, height])
    for number in range(len(ends)):
        ends[number] = ends[number] + up
        ends[number].flags.writeable = False  # or Segments would make a copy


def _page_size(page: Page, extent: Floats) -> tuple[float, float]:
    """Return the page in mm; a side that the document leaves open reaches as far as the drawing does."""
    width, height = page.width * page.mm_per_px, page.height * page.mm_per_px
    right, bottom = float(extent[2]), -float(extent[1])
    return (
        right if page.open[0] and right > 0.0 else width,
        bottom if page.open[1] and bottom > 0.0 else height,
    )


def _nothing(walk: Walk, remarks: Remarks) -> DrawingError:
    counts = (
        (walk.hidden, "hidden"),
        (walk.unpainted, "with neither stroke nor fill"),
        (walk.unchosen, "not asked for"),
    )
    reasons = ", ".join(f"{count} {what}" for count, what in counts if count)
    what = "the drawing shows no line" + (f" ({reasons})" if reasons else "")
    finding = Finding(
        "READ-018", Severity.ERROR, what, "Draw the seams with strokes, or the pieces with fills"
    )
    return DrawingError(finding, *remarks.findings())


def _about(page: Page, view_box: str, size: tuple[float, float], extent: Floats, remarks: Remarks) -> None:
    width, height = size
    left, bottom, right, top = extent.tolist()
    beyond = max(-left, -bottom, right - width, top - height)
    if left > width or right < 0.0 or bottom > height or top < 0.0:
        what, advice = "the whole drawing lies outside its page", "Check its viewBox"
        remarks.add("READ-045", what, advice=advice, value=beyond)
    elif beyond > _OUTSIDE * max(width, height):
        what = f"the drawing reaches {beyond:.2f} mm beyond its page, and is taken whole"
        remarks.add(
            "READ-045", what, advice="Make the page larger, or remove what is not wanted", value=beyond
        )
    shares = (right / width, (height - bottom) / height)
    for share, per_inch in _WRONG_RULERS.items():
        # A viewBox would say what the numbers mean; without one they may be another program's points.
        if page.sized and not view_box.strip() and all(abs(s - share) < _NEAR for s in shares):
            factor = 96.0 / per_inch
            remarks.add(
                "READ-046",
                f"the drawing fills {100 * share:g} % of its page each way: as written it is "
                f"{right - left:.2f} x {top - bottom:.2f} mm, but at {per_inch} units per inch it would be "
                f"{factor * (right - left):.2f} x {factor * (top - bottom):.2f} mm",
                advice="Ask for the finished size you want, and the doubt is gone",
                value=share,
            )
