"""The style properties that decide what is seen, and how each value is read.

A value that its property doesn't allow doesn't count: the declaration before it stays in force.
*Source*: the property definitions of SVG 2 (initial values, inheritance, values), CSS Color 4, CSS
Masking 1 and CSS Transforms 1.
"""

from __future__ import annotations

import re
from enum import Enum
from functools import lru_cache
from math import floor
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from convert.reader.lengths import Length, parse_length, parse_number, stated
from convert.reader.matrices import SEPARATE, is_separate, is_style, parse_origin

if TYPE_CHECKING:
    from collections.abc import Callable

MEDIUM_FONT: Final = 16.0


class Origin(Enum):
    """Where a value stands: in an attribute of its own, in a style attribute, or in a style sheet.

    Browsers read the style attribute of SVG elements with the rules for old pages, by which a width, a
    height and a font size may lack their unit (Quirks Mode Standard, "the unitless length quirk").
    """

    ATTRIBUTE = 0
    STYLE = 1
    SHEET = 2


class Paint(NamedTuple):
    """What paints a fill or stroke: nothing, `#rrggbb`, "current" or a reference to a paint server.

    `server` is the id that a url(#id) names; `colour` is then the fallback.
    """

    colour: str | None
    alpha: float = 1.0
    server: str | None = None


NO_PAINT: Final = Paint(None)
CURRENT: Final = "current"
CONTEXTS: Final = ("context-fill", "context-stroke")
"""Paints that are those of the `use` that draws an element; anywhere else nothing is painted."""


class Reference(NamedTuple):
    """A clip path, mask, filter or marker: the id it points to in this file, and the text as written."""

    target: str | None
    text: str


_URL: Final = re.compile(r"url\(\s*(?:\"([^\"]*)\"|'([^']*)'|([^\"'()\s]*))\s*\)", re.IGNORECASE)


def url_target(text: str) -> tuple[str | None, str]:
    """Return the id that url(#id) names (None for another file) and what stands after it."""
    match = _URL.match(text)
    if match is None:
        return None, ""
    address = next((g for g in match.groups() if g is not None), "")
    return (address[1:] if address.startswith("#") else None), text[match.end() :].strip()


_HEX: Final = re.compile(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})\Z")


@lru_cache(maxsize=4096)
def parse_colour(text: str) -> tuple[str, float] | None:
    """Return `#rrggbb` and opacity, ("current", 1) for currentColor, or None when the text is no colour."""
    if _HEX.match(text):
        digits = text[1:].lower()
        return "#" + (digits if len(digits) == 6 else "".join(digit * 2 for digit in digits)), 1.0
    from tinycss2 import color4

    try:
        colour = color4.parse_color(text)
    except (ValueError, TypeError, ZeroDivisionError, OverflowError):
        return None
    if colour is None:
        return None
    if isinstance(colour, str):
        return (CURRENT, 1.0) if colour.lower() == "currentcolor" else None
    try:
        parts = [
            min(max(floor(255.0 * float(part or 0.0) + 0.5), 0), 255)
            for part in colour.to("srgb").coordinates
        ]
        alpha = float(colour.alpha)
    except (NotImplementedError, ValueError, TypeError, OverflowError):
        return None
    return "#" + "".join(f"{part:02x}" for part in parts), min(max(alpha, 0.0), 1.0)


def _paint(text: str, _: Origin) -> Paint | None:
    low = text.lower()
    if low == "none":
        return NO_PAINT
    if low in CONTEXTS:
        return Paint(low)
    if low.startswith("url("):
        target, rest = url_target(text)
        fallback = NO_PAINT if not rest else _paint(rest, _)
        if fallback is None or fallback.server is not None:
            return None
        return Paint(fallback.colour, fallback.alpha, target if target is not None else "")
    colour = parse_colour(text)
    return None if colour is None else Paint(*colour)


def _colour(text: str, _: Origin) -> Paint | None:
    colour = parse_colour(text)
    return None if colour is None else Paint(*colour)


def _share(text: str, _: Origin) -> float | None:
    found = stated(text)
    if found is None and "(" in text:
        number = parse_number(text)
        return None if number is None else min(max(number, 0.0), 1.0)
    if found is None or found.unit not in ("", "%"):
        return None
    return min(max(found.number / (100.0 if found.unit else 1.0), 0.0), 1.0)


def _width(text: str, _: Origin) -> Length | None:
    length = parse_length(text, bare=True)
    return None if length is None or min(length) < 0.0 else length


_FONT_WORDS: Final = {
    "xx-small": 9.0 / 16.0, "x-small": 10.0 / 16.0, "small": 13.0 / 16.0, "medium": 1.0, "large": 18.0 / 16.0,
    "x-large": 24.0 / 16.0, "xx-large": 2.0, "xxx-large": 3.0,
}  # fmt: skip


def _font_size(text: str, origin: Origin) -> Length | None:
    low = text.lower()
    if low in _FONT_WORDS:
        return Length(MEDIUM_FONT * _FONT_WORDS[low])
    if low in ("smaller", "larger"):
        return Length(0.0, em=1.2 if low == "larger" else 1.0 / 1.2)
    length = parse_length(text, bare=origin is not Origin.SHEET)
    if length is None or min(length) < 0.0:
        return None
    return Length(length.px, 0.0, length.em + length.share, length.rem)


def _reference(text: str, _: Origin) -> Reference | None:
    if text.lower() == "none":
        return Reference(None, "none")
    target, rest = url_target(text)
    return Reference(target if not rest else None, text)


def _transform(text: str, _: Origin) -> str | None:
    return text if is_style(text) else None


def _origin(text: str, _: Origin) -> tuple[Length, Length] | None:
    return parse_origin(text)


def _any(text: str, _: Origin) -> str | None:
    return text or None


def _words(*allowed: str) -> Callable[[str, Origin], str | None]:
    known = frozenset(allowed)

    def parse(text: str, _: Origin) -> str | None:
        low = text.lower()
        return low if low in known else None

    return parse


class Property(NamedTuple):
    """How a property's value is read (text and origin), and where it starts."""

    parse: Callable[[str, Origin], Any]
    initial: Any
    inherited: bool = False


_BLACK: Final = Paint("#000000")
NO_REFERENCE: Final = Reference(None, "none")
_DISPLAYS: Final = (
    "none", "inline", "block", "inline-block", "list-item", "flex", "inline-flex", "grid", "inline-grid",
    "table",     "inline-table", "contents", "flow-root", "table-row", "table-cell",
    "table-row-group", "table-header-group", "table-footer-group", "table-column", "table-column-group",
    "table-caption", "ruby",
)  # fmt: skip
PROPERTIES: Final[dict[str, Property]] = {
    "clip-path": Property(_reference, NO_REFERENCE),
    "clip-rule": Property(_words("nonzero", "evenodd"), "nonzero", inherited=True),
    "color": Property(_colour, _BLACK, inherited=True),
    "display": Property(_words(*_DISPLAYS), "inline"),
    "dominant-baseline": Property(_any, "auto", inherited=True),
    "fill": Property(_paint, _BLACK, inherited=True),
    "fill-opacity": Property(_share, 1.0, inherited=True),
    "fill-rule": Property(_words("nonzero", "evenodd"), "nonzero", inherited=True),
    "filter": Property(_reference, NO_REFERENCE),
    "font-size": Property(_font_size, Length(MEDIUM_FONT), inherited=True),
    "marker-end": Property(_reference, NO_REFERENCE, inherited=True),
    "marker-mid": Property(_reference, NO_REFERENCE, inherited=True),
    "marker-start": Property(_reference, NO_REFERENCE, inherited=True),
    "mask": Property(_reference, NO_REFERENCE),
    "mask-type": Property(_words("luminance", "alpha"), "luminance"),
    "mix-blend-mode": Property(
        _words(
            "normal",
            "multiply",
            "screen",
            "overlay",
            "darken",
            "lighten",
            "color-dodge",
            "color-burn",
            "hard-light",
            "soft-light",
            "difference",
            "exclusion",
            "hue",
            "saturation",
            "color",
            "luminosity",
            "plus-lighter",
            "plus-darker",
        ),
        "normal",
    ),
    "opacity": Property(_share, 1.0),
    "overflow": Property(_words("visible", "hidden", "scroll", "auto", "clip"), ""),
    "stop-color": Property(_colour, _BLACK),
    "stop-opacity": Property(_share, 1.0),
    "stroke": Property(_paint, NO_PAINT, inherited=True),
    "stroke-dasharray": Property(_any, "none", inherited=True),
    "stroke-opacity": Property(_share, 1.0, inherited=True),
    "stroke-width": Property(_width, Length(1.0), inherited=True),
    "text-anchor": Property(_words("start", "middle", "end"), "start", inherited=True),
    "transform-box": Property(
        _words("content-box", "border-box", "fill-box", "stroke-box", "view-box"), "view-box"
    ),
    "transform-origin": Property(_origin, (Length(0.0), Length(0.0))),
    "vector-effect": Property(_words("none", "non-scaling-stroke"), "none"),
    "visibility": Property(_words("visible", "hidden", "collapse"), "visible", inherited=True),
}
GEOMETRY: Final = frozenset({
    "x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d", "transform", *SEPARATE,
})  # fmt: skip
"""Properties of shapes in style sheets, many of them attributes, too. They don't inherit."""
CSS_WIDE: Final = frozenset({"inherit", "initial", "unset", "revert", "revert-layer"})


def _geometry(text: str, _: Origin) -> str | None:
    return text if text.lower() in ("auto", "none") or parse_length(text, bare=False) is not None else None


def _size(text: str, origin: Origin) -> str | None:
    if origin is Origin.STYLE and parse_length(text, bare=True) is not None:
        return text if parse_length(text, bare=False) is not None else text + "px"
    return _geometry(text, origin)


def _separate(name: str) -> Callable[[str, Origin], str | None]:
    return lambda text, _: text if is_separate(name, text) else None


def _data(text: str, _: Origin) -> str | None:
    return text if text.lower() == "none" or path_text(text) is not None else None


_SHEET_GEOMETRY: Final[dict[str, Callable[[str, Origin], str | None]]] = {
    **dict.fromkeys(GEOMETRY, _geometry),
    "width": _size,
    "height": _size,
    "transform": _transform,
    "d": _data,
    **{name: _separate(name) for name in SEPARATE},
}


def path_text(text: str) -> str | None:
    """Return the data in a style sheet's path("..."), or None when it has none."""
    match = re.fullmatch(r"path\(\s*(?:\"([^\"]*)\"|'([^']*)')\s*\)", text, re.IGNORECASE)
    return None if match is None else match[1] if match[1] is not None else match[2]


@lru_cache(maxsize=16384)
def parse_value(name: str, text: str, origin: Origin) -> Any:  # noqa: ANN401 - each property has its own
    """Return the value of a property, or None when the text is none of its values."""
    if name in PROPERTIES:
        return PROPERTIES[name].parse(text, origin)
    return _SHEET_GEOMETRY[name](text, origin)
