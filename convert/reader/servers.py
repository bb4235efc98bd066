"""Gradients and patterns: whether they paint, and whether anything shows through them.

A pattern is taken for cloth with a print: solid, whatever is in it.
*Source*: SVG 2, 14 (paint servers: templates by href, stops, patterns without size or contents).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.reader.lengths import stated
from convert.reader.properties import CURRENT, Paint

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.reader.document import Reading
    from convert.reader.node import Node

_GRADIENTS: Final = frozenset({"linearGradient", "radialGradient"})
_MOST: Final = 50


class Servers:
    """The paint servers of a document, each looked at once."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._known: dict[str, float | None] = {}

    def is_pattern(self, name: str) -> bool:
        """Return whether this is a pattern."""
        return self._reading.target(name, "pattern") is not None

    def opacity(self, name: str) -> float | None:
        """Return the mean opacity of a paint server, 0 when nothing is painted; None when it doesn't count.

        Then the fallback is used instead.
        """
        if name not in self._known:
            self._known[name] = self._opacity(self._reading.ids.get(name))
        return self._known[name]

    def _opacity(self, node: Node | None) -> float | None:
        if node is None:
            return None
        if node.tag == "pattern":
            return 1.0 if self._is_drawn(node) else None
        if node.tag not in _GRADIENTS:
            return None
        for at in self._templates(node, _GRADIENTS):
            stops = [self._stop(child) for child in at.children if child.tag == "stop"]
            if stops:
                return sum(stops) / len(stops)
        return 0.0

    def _stop(self, node: Node) -> float:
        style = self._reading.cascade.style(node, self._reading.around(node))
        colour: Paint = style.values["stop-color"]
        if colour.colour == CURRENT:
            colour = style.values["color"]
        return colour.alpha * float(style.values["stop-opacity"])

    def _is_drawn(self, node: Node) -> bool:
        """Return whether a pattern has a size and contents, of its own or by its template."""
        templates = list(self._templates(node, frozenset({"pattern"})))
        for side in ("width", "height"):
            given = next((at.attrib[side] for at in templates if side in at.attrib), "")
            length = stated(given)
            if length is None or length.number <= 0.0:
                return False
        return any(child.tag[0] != "{" for at in templates for child in at.children)

    def _templates(self, node: Node, tags: frozenset[str]) -> Iterator[Node]:
        """Return a paint server and those that it refers to, nearest first."""
        at: Node | None = node
        seen: set[Node] = set()
        while at is not None and at.tag in tags and at not in seen and len(seen) < _MOST:
            seen.add(at)
            yield at
            at = self._reading.used(at)
