"""The outermost svg: how large the page is, and the map from its pixels to millimetres, y up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.errors import DrawingError, Finding, Place, Severity
from convert.reader.cascade import ROOT, StyleSheet, computed
from convert.reader.lengths import MM_PER_PX, Context, split_length, user_units
from convert.reader.viewport import parse_view_box, view_box_matrix

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element as Node

    from convert.reader.matrices import Matrix

_REAL = ("in", "cm", "mm", "q", "pt", "pc")
"""Units that a person would measure with; px is 1/96 in only by convention."""


@dataclass(frozen=True, slots=True)
class Page:
    """Width and height in mm; the map from user units inside the outermost svg to pixels; mm per pixel."""

    width: float
    height: float
    to_pixels: Matrix
    mm_per_px: float
    context: Context
    unit: str
    sized: bool
    findings: tuple[Finding, ...]

    @property
    def to_mm(self) -> Matrix:
        """The map from pixels, y down, to millimetres, y up, from the page's lower left corner."""
        return (self.mm_per_px, 0.0, 0.0, -self.mm_per_px, 0.0, self.height)


def page_of(root: Node, file: str, unit_mm: float | None) -> Page:
    """Return the page. *Errors*: DrawingError READ-014 when the size or the viewBox makes no page."""
    style = computed(root, None, StyleSheet(), ROOT, Context(0.0, 0.0))
    given = {name: (style.own[name] or root.get(name, "")).strip() for name in ("width", "height")}
    box = parse_view_box(root.get("viewBox"))
    place = Place(file=file, line=1, element=root.get("id") or "<svg>")
    if root.get("viewBox") and box is None:
        raise DrawingError.because(
            "READ-014",
            f"the viewBox {root.get('viewBox')!r} is not four numbers",
            "Save it again",
            place=place,
        )
    if box is not None and (box[2] == 0.0 or box[3] == 0.0):
        raise DrawingError.because(
            "READ-014", "the viewBox has no size, so nothing is shown", "Save it again", place=place
        )
    size, units = _sizes(given, box)
    if size[0] <= 0.0 or size[1] <= 0.0:
        raise DrawingError.because(
            "READ-014", "the page has no size, so nothing is shown", "Set width and height", place=place
        )
    matrix = view_box_matrix(box, root.get("preserveAspectRatio"), *size)
    sized = bool(units) and all(unit in _REAL for unit in units)
    findings: list[Finding] = []
    mm_per_px = MM_PER_PX
    if not sized:
        if unit_mm is not None:
            mm_per_px = unit_mm / abs(matrix[0])
        else:
            findings.append(
                Finding(
                    "READ-015",
                    Severity.NOTE,
                    "the drawing states no real size (no mm, cm or in), so 1 px is taken as 1/96 in",
                    "Ask for a finished size, or say what one unit means",
                    place,
                )
            )
    context = Context(box[2], box[3]) if box else Context(*size)
    unit = units[0] if units else ""
    return Page(
        size[0] * mm_per_px,
        size[1] * mm_per_px,
        matrix,
        mm_per_px,
        context,
        unit or "px",
        sized,
        tuple(findings),
    )


def _sizes(
    given: dict[str, str], box: tuple[float, float, float, float] | None
) -> tuple[tuple[float, float], list[str]]:
    """Return width and height in px, and the units that were stated for them."""
    values: list[float | None] = []
    units: list[str] = []
    for name in ("width", "height"):
        parts = split_length(given[name])
        if parts is None or parts[1] == "%":
            values.append(None)
            continue
        values.append(user_units(given[name], Context(0.0, 0.0), "other"))
        units.append(parts[1])
    width, height = values
    if box is not None:
        ratio = box[3] / box[2]
        if width is None:
            width = box[2] if height is None else height / ratio
        if height is None:
            height = width * ratio
    # CSS 2.2, 10.3.2: the size of a picture that states none.
    return (300.0 if width is None else width, 150.0 if height is None else height), units
