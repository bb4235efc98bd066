"""viewBox and preserveAspectRatio: from one coordinate system to the one around it.

*Source*: SVG 2, 8.2 (equivalent transform of an SVG viewport), 8.6 and 8.7.
"""

from __future__ import annotations

import re
from math import isfinite
from typing import Final, NamedTuple

from convert.reader.lengths import NUMBER
from convert.reader.matrices import IDENTITY, Matrix

_WS: Final = r"[ \t\r\n\f]*+"
_BOX: Final = re.compile(rf"{_WS}({NUMBER})" + rf"{_WS},?{_WS}({NUMBER})" * 3 + rf"{_WS}\Z", re.ASCII)
_RATIO: Final = re.compile(r"\s*(none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(meet|slice))?\s*\Z")
_SHARE: Final = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


class ViewBox(NamedTuple):
    """The part of the plane that a viewport shows, in user units."""

    x: float
    y: float
    width: float
    height: float


def parse_view_box(text: str) -> ViewBox | None:
    """Return the viewBox, or None when it is wrong or negative, and so doesn't count. It may have no size."""
    match = _BOX.match(text)
    if match is None:
        return None
    box = ViewBox(*map(float, match.groups()))
    return box if all(map(isfinite, box)) and box.width >= 0.0 and box.height >= 0.0 else None


def view_box_matrix(box: ViewBox | None, ratio: str, width: float, height: float) -> Matrix:
    """Return the map from inside a viewport of `width` x `height` at the origin to the system around it."""
    if box is None or box.width == 0.0 or box.height == 0.0:
        return IDENTITY
    x, y = width / box.width, height / box.height
    match = _RATIO.match(ratio)
    align, across, down, how = match.groups() if match else ("xMidYMid", "Mid", "Mid", "meet")
    if align == "none":
        return (x, 0.0, 0.0, y, -x * box.x, -y * box.y)
    scale = max(x, y) if how == "slice" else min(x, y)
    right = _SHARE[across] * (width - box.width * scale)
    below = _SHARE[down] * (height - box.height * scale)
    return (scale, 0.0, 0.0, scale, right - scale * box.x, below - scale * box.y)
