"""What is in a drawing, for those who ask: its layers, and what was left out of it and why.

*Words.* A **mention** is an element as messages name it. A **layer** is a group with a name: its title, the
label that an editor gave it, or its id.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from convert.errors import Severity

MOST_NAMES: Final = 3
"""Elements that are named in one sentence; the others are counted."""
_NUMBERED: Final = re.compile(r"([^/\[\]]+)\[(\d+)\]\Z")


class Mention(NamedTuple):
    """An element by its name in the Drawing (an id, or path[3]; behind those of uses) and its line."""

    element: str
    line: int | None

    @property
    def called(self) -> str:
        """The element in words: #leaf, path 3 on line 12, #leaf in #copy."""
        *uses, own = self.element.split("/")
        words = _called(own)
        if own != words and words[0] != "#" and self.line is not None:
            words += f" on line {self.line}"
        return words + (f" in {_called(uses[-1])}" if uses else "")


def _called(name: str) -> str:
    match = _NUMBERED.match(name)
    return f"{match[1]} {match[2]}" if match else f"#{name}"


def listed(mentions: Iterable[Mention], most: int = MOST_NAMES) -> str:
    """Return the first few elements in words, and how many more there are."""
    every = list(mentions)
    names = [mention.called for mention in every[: most if len(every) > most + 1 else most + 1]]
    if len(every) > len(names):
        return f"{', '.join(names)} and {len(every) - len(names)} more"
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) if names else ""


@dataclass(frozen=True, slots=True)
class Noticed:
    """One thing that was noticed of a drawing, and all elements that it is true of.

    `what` is a sentence without its full stop that names the first few of them; `layer` is the innermost
    layer that they are in, where that was looked at.
    """

    code: str
    severity: Severity
    what: str
    advice: str
    layer: str | None
    elements: tuple[Mention, ...]


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer by the names of the groups around it and its own, with how many shapes are in all of it.

    `seen` are the shapes that were read, `left_out` those that were not. `guide` says whether it is called
    as guide lines usually are.
    """

    path: tuple[str, ...]
    seen: int
    left_out: int
    guide: bool


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in a drawing beside its linework. `loose` counts the shapes seen that are in no layer."""

    layers: tuple[Layer, ...] = ()
    loose: int = 0
    noticed: tuple[Noticed, ...] = ()


NO_CONTENTS: Final = Contents()
