"""What elements are called: layers, titles, and the names that --only and --skip look for."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.reader.node import Node

_GUIDE: Final = re.compile(
    r"(?:^|[^a-z])"
    r"(?:guide ?lines?|guides?|grids?|construction(?: ?lines?)?|help(?:er)? ?lines?|hilfslinien?)"
    r"(?:$|[^a-z])"
)


def title_of(node: Node) -> str | None:
    """Return the text of an element's <title>."""
    for child in node.children:
        if child.tag == "title":
            return " ".join(child.whole_text().split()) or None
    return None


def label_of(node: Node) -> str | None:
    """Return an attribute called label of any other namespace: how editors name layers."""
    for key, value in node.attrib.items():
        if key[0] == "{" and key.endswith("}label") and value.strip():
            return value.strip()
    return None


def layer_of(node: Node) -> str | None:
    """Return a group's title, else its editor's label, else its id."""
    return title_of(node) or label_of(node) or node.id


def names_of(node: Node) -> tuple[str, ...]:
    """Return everything that an element can be called by: title, label, id and classes."""
    own = (title_of(node), label_of(node), node.id)
    return (*(name for name in own if name), *node.classes)


def is_guide(name: str) -> bool:
    """Return whether a layer's name says, as is common practice, that it holds guide lines and no seams."""
    return _GUIDE.search(name.lower().replace("_", " ").replace("-", " ")) is not None


class Choice:
    """Which elements are asked for, by patterns as of file names; it remembers which patterns were of use."""

    def __init__(self, only: Sequence[str], skip: Sequence[str]) -> None:
        self._only, self._skip = tuple(only), tuple(skip)
        self.used: set[str] = set()

    def __bool__(self) -> bool:
        return bool(self._only or self._skip)

    @property
    def unused(self) -> list[str]:
        """Patterns that nothing is called by."""
        return [p for p in (*self._only, *self._skip) if p not in self.used]

    def wants(self, names: Sequence[str]) -> bool:
        """Return whether an element with these names, its groups' among them, is to be read."""
        skip = self._matching(self._skip, names)
        only = self._matching(self._only, names)
        return not skip and (only or not self._only)

    def _matching(self, patterns: tuple[str, ...], names: Sequence[str]) -> bool:
        found = [p for p in patterns if any(fnmatchcase(name, p) for name in names)]
        self.used.update(found)
        return bool(found)
