"""viewBox and preserveAspectRatio: from one coordinate system to the one around it.

*Source*: SVG 2, 8.6 to 8.8 (equivalent transform of an svg viewport).
"""

from __future__ import annotations

import re

from convert.reader.matrices import IDENTITY, Matrix, multiply, scaling, translation

_SEPARATOR = re.compile(r"[\s,]+")
_ALIGN = {"min": 0.0, "mid": 0.5, "max": 1.0}
_RATIO = re.compile(
    r"\s*(?:defer\s+)?(none|x(min|mid|max)y(min|mid|max))(?:\s+(meet|slice))?\s*\Z", re.IGNORECASE
)


def parse_view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Return min-x, min-y, width, height; None when there is none or it is wrong."""
    if not text:
        return None
    try:
        values = [float(part) for part in _SEPARATOR.split(text.strip())]
    except ValueError:
        return None
    if len(values) != 4 or values[2] < 0.0 or values[3] < 0.0:
        return None
    return values[0], values[1], values[2], values[3]


def view_box_matrix(
    view_box: tuple[float, float, float, float] | None, ratio: str | None, width: float, height: float
) -> Matrix:
    """Return the map from inside a viewport of `width` x `height` (at the origin) to the system around it."""
    if view_box is None or view_box[2] == 0.0 or view_box[3] == 0.0:
        return IDENTITY
    left, top, inner_width, inner_height = view_box
    x, y = width / inner_width, height / inner_height
    match = _RATIO.match(ratio or "xMidYMid")
    align, how = ("xmidymid", "meet") if match is None else (match[1].lower(), (match[4] or "meet").lower())
    if align == "none":
        return multiply(scaling(x, y), translation(-left, -top))
    scale = max(x, y) if how == "slice" else min(x, y)
    across, down = _ALIGN[align[1:4]], _ALIGN[align[5:8]]
    shift = translation(across * (width - inner_width * scale), down * (height - inner_height * scale))
    return multiply(multiply(shift, scaling(scale, scale)), translation(-left, -top))
