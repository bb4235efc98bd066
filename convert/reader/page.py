"""The outermost svg: how large the page is, and what one user unit measures.

*Source*: SVG 2, 8.2 and 8.9 (width and height of the outermost svg), CSS 2.2, 10.3.2 and 10.6.2 (a side
that isn't stated follows from the viewBox's proportions).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import copysign
from typing import TYPE_CHECKING, Final

from convert.errors import DrawingError, Place
from convert.reader.lengths import PX_PER_UNIT, Along, Viewport, parse_length, stated
from convert.reader.viewport import ViewBox, parse_view_box, view_box_matrix
from convert.units import CSS_UNIT_MM

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.matrices import Matrix
    from convert.reader.node import Node
    from convert.reader.remarks import Remarks

_DEFAULT: Final = (300.0, 150.0)
"""Width and height (px) of a picture that states neither. *Source*: CSS 2.2, 10.3.2."""
_MM_PER_PX: Final = CSS_UNIT_MM["px"]
_FAR_PX: Final = 4_000_000
"""About a kilometre."""
_NOTHING_PX: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Page:
    """The page in px, the map from user units inside the outermost svg to px, and the length of a px.

    `open` tells of width and height whether the document leaves it to what is drawn.
    """

    width: float
    height: float
    to_px: Matrix
    mm_per_px: float
    viewport: Viewport
    unit: str
    sized: bool
    open: tuple[bool, bool]


def page_of(root: Node, style: Style, unit_mm: float | None, remarks: Remarks) -> Page:
    """Return the page. *Errors*: DrawingError READ-014 when it has no size, so that nothing is shown."""
    place = Place(line=root.line, element=root.name)
    box = _view_box(root, place, remarks)
    sides = [_side(root, style, name, remarks) for name in ("width", "height")]
    width, height = (side[0] if side is not None else None for side in sides)
    units = [side[1] for side in sides if side is not None]
    if box is not None:
        if width is None:
            width = (
                Fraction(box.width) if height is None else height * Fraction(box.width) / Fraction(box.height)
            )
        if height is None:
            height = width * Fraction(box.height) / Fraction(box.width)
    known = [float(side) for side in (width, height) if side is not None and abs(side) < _FAR_PX]
    if len(known) < sum(side is not None for side in (width, height)):
        what = "the page is wider or higher than a kilometre"
        raise DrawingError.because("READ-014", what, "Check its width, height and viewBox", place=place)
    if any(side < _NOTHING_PX for side in known):
        raise DrawingError.because(
            "READ-014", "the page has no width or no height, so nothing is shown", "Set both", place=place
        )
    across, down = (float(_DEFAULT[i] if side is None else side) for i, side in enumerate((width, height)))
    matrix = view_box_matrix(box, root.get("preserveAspectRatio"), across, down)
    sized = bool(units) and all(unit not in ("", "px") for unit in units)
    mm_per_px = _MM_PER_PX.numerator / _MM_PER_PX.denominator
    if not sized:
        if unit_mm is not None:
            mm_per_px = unit_mm / abs(matrix[0])
        else:
            remarks.note(
                "READ-015",
                "the drawing states no real size (no mm, cm or in), so 1 px is taken as 1/96 in",
                root,
                advice="Ask for a finished --size, or say with --one-unit how long one unit is",
            )
    inner = (box.width, box.height) if box is not None else (across, down)
    return Page(
        across,
        down,
        matrix,
        mm_per_px,
        Viewport(*inner, style.font_size),
        next((unit for unit in units if unit), "px") or "px",
        sized,
        (width is None, height is None),
    )


def _view_box(root: Node, place: Place, remarks: Remarks) -> ViewBox | None:
    text = root.get("viewBox").strip()
    if not text:
        return None
    box = parse_view_box(text)
    if box is None:
        remarks.add("READ-024", f"the viewBox {text[:60]!r} is not four numbers, and doesn't count", root)
    elif box.width == 0.0 or box.height == 0.0:
        what = "the viewBox has no width or no height, so nothing is shown"
        raise DrawingError.because("READ-014", what, "Set its size", place=place)
    return box


def _side(root: Node, style: Style, name: str, remarks: Remarks) -> tuple[Fraction, str] | None:
    """Return width or height in px, exactly, and its unit; None when it depends on what is around."""
    text = style.geometry.get(name)
    in_sheet = text is not None
    text = (root.get(name) if text is None else text).strip()
    if not text or text.lower() == "auto":
        return None
    found = stated(text)
    if found is not None and found.unit in PX_PER_UNIT:
        return Fraction(repr(found.number)) * PX_PER_UNIT[found.unit], found.unit
    if found is not None and not found.unit and not in_sheet:
        return Fraction(repr(found.number)), ""
    length = parse_length(text, bare=not in_sheet)
    if length is None:
        remarks.add("READ-042", f"{name}={text[:40]!r} is not a length that a browser knows", root)
    if length is None or length.share:
        return None
    px = length.user_units(Viewport(0.0, 0.0, style.font_size), style.font_size, Along.DIAGONAL)
    return Fraction(px if abs(px) < _FAR_PX else copysign(2.0 * _FAR_PX, px)), "px"
