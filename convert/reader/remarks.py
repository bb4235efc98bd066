"""What the reader has to say about a drawing: each thing once, with the elements that it is true of.

A remark is a sentence about one element and, in other words, about several: `{n}` stands for their
number and `{where}` for the layer that they are in. **Quiet** remarks are for those who ask what is in a
drawing; whoever converts one need not read them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from convert.errors import Finding, Place, Severity
from convert.reader.contents import Mention, Noticed, listed

if TYPE_CHECKING:
    from convert.reader.node import Node


@dataclass(slots=True)
class _Said:
    severity: Severity
    advice: str
    value: float | None
    place: Place
    many: str
    layer: str | None
    quiet: bool
    names: dict[Mention, None] = field(default_factory=dict)
    count: int = 0


class Remarks:
    """Collects findings; the same one about several elements of one layer becomes one that names them."""

    def __init__(self) -> None:
        self._said: dict[tuple[str, str, str | None], _Said] = {}

    def add(
        self,
        code: str,
        what: str,
        node: Node | None = None,
        *,
        many: str = "",
        name: str = "",
        line: int | None = None,
        layer: str | None = None,
        advice: str = "",
        severity: Severity = Severity.WARNING,
        value: float | None = None,
        quiet: bool = False,
    ) -> None:
        """Remark on an element (None: on the drawing). `name` is said instead of the element's own.

        `many` is what to say of several elements; without it, `what` and how many times it is true.
        """
        key = (code, what, layer)
        said = self._said.get(key)
        called = name or (node.name if node is not None else "")
        at = node.line if node is not None else line
        if said is None:
            place = Place(line=at, element=called or None)
            said = self._said[key] = _Said(severity, advice, value, place, many, layer, quiet)
        said.count += 1
        if called:
            said.names[Mention(called, at)] = None

    def note(
        self,
        code: str,
        what: str,
        node: Node | None = None,
        *,
        many: str = "",
        name: str = "",
        line: int | None = None,
        layer: str | None = None,
        advice: str = "",
        quiet: bool = False,
    ) -> None:
        """Remark on something harmless."""
        self.add(
            code, what, node, many=many, name=name, line=line, layer=layer, advice=advice, quiet=quiet,
            severity=Severity.NOTE,
        )  # fmt: skip

    def count(self, code: str) -> int:
        """Return how many times something was remarked on."""
        return sum(said.count for (own, _, _), said in self._said.items() if own == code)

    def findings(self) -> tuple[Finding, ...]:
        """Return what everybody should read, in the order of first occasion."""
        found = []
        for noticed, said in zip(self.noticed(), self._said.values(), strict=True):
            if said.quiet:
                continue
            value, place = said.value, said.place
            if said.count > 1:
                value = float(said.count) if value is None else value
                place = Place(line=place.line)
            found.append(Finding(noticed.code, noticed.severity, noticed.what, noticed.advice, place, value))
        return tuple(found)

    def noticed(self) -> tuple[Noticed, ...]:
        """Return everything with all elements that it is true of, in the order of first occasion."""
        return tuple(
            Noticed(code, said.severity, _sentence(what, said), said.advice, said.layer, tuple(said.names))
            for (code, what, _), said in self._said.items()
        )


_WHERE: Final = "{where}"


def _sentence(what: str, said: _Said) -> str:
    where = f" in layer {said.layer!r}" if said.layer is not None else ""
    if said.count == 1:
        return what.replace(_WHERE, where)
    if said.many:
        text = said.many.replace("{n}", str(said.count)).replace(_WHERE, where)
    else:
        text = f"{what.replace(_WHERE, where)}, {said.count} times"
    return f"{text}: {listed(said.names)}" if said.names else text
