"""The frames that nested drawings and symbols make: their place, their size, and the system inside.

*Source*: SVG 2, 5.5 (use and symbols), 7.2 to 7.5 (nested viewports).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from convert.reader.lengths import Along, Viewport
from convert.reader.shapes import Measures
from convert.reader.viewport import parse_view_box, view_box_matrix

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.matrices import Matrix
    from convert.reader.node import Node
    from convert.reader.remarks import Remarks


class Frame(NamedTuple):
    """A viewport of `width` x `height`: the map to its corner, the map inside it, and what is 100 % there."""

    place: Matrix
    inside: Matrix
    width: float
    height: float
    viewport: Viewport


def frame_of(
    node: Node, style: Style, viewport: Viewport, remarks: Remarks, used: tuple[Node, Style] | None = None
) -> Frame | None:
    """Return the frame of a nested svg or symbol, None when it has no size.

    `used` is the `use` that draws it, with its style: it may give another size.
    """
    # Browsers take the place and size from attributes only.
    read = Measures(node, replace(style, geometry={}), viewport, remarks)
    size = []
    for name, along in (("width", Along.WIDTH), ("height", Along.HEIGHT)):
        given = Measures(*used, viewport, remarks).maybe(name, along) if used is not None else None
        given = read.maybe(name, along) if given is None else given
        size.append(viewport.whole(along) if given is None else given)
    width, height = size
    box = parse_view_box(node.get("viewBox"))
    if width <= 0.0 or height <= 0.0 or (box is not None and (box.width == 0.0 or box.height == 0.0)):
        return None
    place = (1.0, 0.0, 0.0, 1.0, read.length("x", Along.WIDTH), read.length("y", Along.HEIGHT))
    inside = view_box_matrix(box, node.get("preserveAspectRatio"), width, height)
    inner = (box.width, box.height) if box is not None else (width, height)
    return Frame(place, inside, width, height, Viewport(*inner, viewport.root_font_size))
