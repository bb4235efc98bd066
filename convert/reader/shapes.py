"""The basic shapes and paths of a document as outlines.

*Source*: SVG 2, chapters 9 and 10 (geometry properties, their initial values, what is not rendered),
and the style properties of the same names, which win over the attributes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.reader.lengths import Along, parse_length
from convert.reader.outline import Outline, ellipse, polyline, rectangle
from convert.reader.pathdata import parse_path, parse_points
from convert.reader.properties import path_text

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.lengths import Viewport
    from convert.reader.node import Node
    from convert.reader.pathdata import Fault
    from convert.reader.remarks import Remarks

SHAPES: Final = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})


class Measures:
    """Reads an element's lengths: its style's before its attributes'."""

    __slots__ = ("_node", "_remarks", "_style", "_viewport")

    def __init__(self, node: Node, style: Style, viewport: Viewport, remarks: Remarks) -> None:
        self._node, self._style, self._viewport, self._remarks = node, style, viewport, remarks

    def length(self, name: str, along: Along) -> float:
        """Return a length in user units, 0 when there is none."""
        found = self.maybe(name, along)
        return 0.0 if found is None else found

    def maybe(self, name: str, along: Along) -> float | None:
        """Return a length in user units; None when it is absent, "auto" or no length, which is told."""
        text = self._style.geometry.get(name)
        bare = text is None
        if text is None:
            text = self._node.attrib.get(name)
            if text is None:
                return None
        text = text.strip(" \t\r\n\f")
        length = parse_length(text, bare=bare)
        if length is not None:
            return length.user_units(self._viewport, self._style.font_size, along)
        if text.lower() != "auto":
            what = f"the {name} {text[:40]!r} is not a length that a browser knows, and counts as not given"
            self._remarks.add("READ-042", what, self._node)
        return None

    def radius(self, name: str, along: Along) -> float | None:
        """Return a radius; None for auto, as a negative one is, too. An attribute can't say auto."""
        found = self.maybe(name, along)
        if found is None and name in self._node.attrib and name not in self._style.geometry:
            return 0.0
        return None if found is None or found < 0.0 else found


def outline_of(node: Node, style: Style, viewport: Viewport, remarks: Remarks) -> Outline:
    """Return the outline of a shape, in its own user units; an empty one when it is not rendered."""
    tag = node.tag
    if tag == "path":
        return _path(node, style, remarks)
    if tag in ("polygon", "polyline"):
        points, fault = parse_points(node.get("points"))
        _tell(fault, "its list of points", node, remarks)
        return polyline(points, closed=tag == "polygon")
    read = Measures(node, style, viewport, remarks)
    if tag == "line":
        x1, y1 = read.length("x1", Along.WIDTH), read.length("y1", Along.HEIGHT)
        return polyline(
            [(x1, y1), (read.length("x2", Along.WIDTH), read.length("y2", Along.HEIGHT))], closed=False
        )
    if tag == "rect":
        width, height = read.length("width", Along.WIDTH), read.length("height", Along.HEIGHT)
        if width <= 0.0 or height <= 0.0:
            return Outline()
        x, y = read.length("x", Along.WIDTH), read.length("y", Along.HEIGHT)
        rx, ry = read.radius("rx", Along.WIDTH), read.radius("ry", Along.HEIGHT)
        rx, ry = ry if rx is None else rx, rx if ry is None else ry
        return rectangle(x, y, width, height, rx or 0.0, ry or 0.0)
    cx, cy = read.length("cx", Along.WIDTH), read.length("cy", Along.HEIGHT)
    if tag == "circle":
        radius = read.length("r", Along.DIAGONAL)
        return ellipse(cx, cy, radius, radius) if radius > 0.0 else Outline()
    rx, ry = read.radius("rx", Along.WIDTH), read.radius("ry", Along.HEIGHT)
    rx, ry = ry if rx is None else rx, rx if ry is None else ry
    return ellipse(cx, cy, rx, ry) if rx and ry else Outline()


def _path(node: Node, style: Style, remarks: Remarks) -> Outline:
    text = style.geometry.get("d")
    text = node.get("d") if text is None else path_text(text) or ""
    if text.strip() == "none":
        return Outline()
    outline, fault = parse_path(text)
    _tell(fault, "its path data", node, remarks)
    return outline


def _tell(fault: Fault | None, where: str, node: Node, remarks: Remarks) -> None:
    if fault is not None:
        what = f"{where} has an error at character {fault.character} ({fault.what}), and is drawn up to there"
        remarks.add("READ-041", what, node, advice="Look whether something is missing, and draw it again")
