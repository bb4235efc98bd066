"""What elements are called: layers, titles, and the names that --only and --skip look for."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.reader.node import Node

_GUIDE: Final = re.compile(
    r"(?:^|[^a-z])"
    r"(?:guide ?lines?|guides?|grids?|construction(?: ?lines?)?|help(?:er)? ?lines?|hilfslinien?)"
    r"(?:$|[^a-z])"
)
_LABELS: Final = ("data-name", "data-label")
_ESCAPED: Final = re.compile(r"_x([0-9A-Fa-f]{4})_")


def title_of(node: Node) -> str | None:
    """Return the text of an element's <title>."""
    for child in node.children:
        if child.tag == "title":
            return " ".join(child.whole_text().split()) or None
    return None


def label_of(node: Node) -> str | None:
    """Return an attribute called label of any other namespace, or in the data: how editors name layers.

    *Source*: SVG 2, 5.7 (data attributes hold what programs keep for themselves).
    """
    for key, value in node.attrib.items():
        if ((key[0] == "{" and key.endswith("}label")) or key in _LABELS) and value.strip():
            return " ".join(value.split())
    return None


def id_of(node: Node) -> str | None:
    """Return an id as its editor shows it: a sign that an id can't have may be written _x0020_.

    *Source*: ISO 9075-14, 9.1 (names of SQL as XML names), which editors use as well.
    """
    own = node.id
    return own if own is None or "_x" not in own else _ESCAPED.sub(lambda sign: chr(int(sign[1], 16)), own)


def layer_of(node: Node) -> str | None:
    """Return a group's title, else its editor's label, else its id."""
    return title_of(node) or label_of(node) or id_of(node)


def names_of(node: Node) -> tuple[str, ...]:
    """Return everything that an element can be called by: title, label, id and classes."""
    own = (title_of(node), label_of(node), id_of(node), node.id)
    return (*dict.fromkeys(name for name in own if name), *node.classes)


@lru_cache(maxsize=4096)
def is_guide(name: str) -> bool:
    """Return whether a name says, as is common practice, that what it names is guide lines and no seams."""
    return _GUIDE.search(name.lower().replace("_", " ").replace("-", " ")) is not None


def guide_of(names: Sequence[str]) -> str | None:
    """Return the first of these names that is one of guide lines."""
    return next((name for name in names if is_guide(name)), None)


class Choice:
    """Which elements are asked for, by patterns as of file names; it remembers which patterns were of use."""

    def __init__(self, only: Sequence[str], skip: Sequence[str]) -> None:
        self.only, self._skip = tuple(only), tuple(skip)
        self.used: set[str] = set()

    def __bool__(self) -> bool:
        return bool(self.only or self._skip)

    @property
    def unused(self) -> list[str]:
        """Patterns that nothing is called by."""
        return [p for p in (*self.only, *self._skip) if p not in self.used]

    def wants(self, names: Sequence[str]) -> bool:
        """Return whether an element with these names, its groups' among them, is to be read."""
        skip = self._matching(self._skip, names)
        only = self._matching(self.only, names)
        return not skip and (only or not self.only)

    def _matching(self, patterns: tuple[str, ...], names: Sequence[str]) -> bool:
        found = [p for p in patterns if any(fnmatchcase(name, p) for name in names)]
        self.used.update(found)
        return bool(found)
