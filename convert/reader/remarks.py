"""What the reader has to say about a drawing: each thing once, with the elements that it is true of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from convert.errors import Finding, Place, Severity

if TYPE_CHECKING:
    from convert.reader.node import Node

_MOST_NAMES: Final = 5


@dataclass(slots=True)
class _Said:
    severity: Severity
    advice: str
    value: float | None
    place: Place
    names: list[str] = field(default_factory=list)
    count: int = 0


class Remarks:
    """Collects findings; the same one about several elements becomes one that names them."""

    def __init__(self) -> None:
        self._said: dict[tuple[str, str], _Said] = {}

    def add(
        self,
        code: str,
        what: str,
        node: Node | None = None,
        *,
        name: str = "",
        line: int | None = None,
        advice: str = "",
        severity: Severity = Severity.WARNING,
        value: float | None = None,
    ) -> None:
        """Remark on an element (None: on the drawing). `name` is said instead of the element's own."""
        said = self._said.get((code, what))
        called = name or (node.name if node is not None else "")
        if said is None:
            place = Place(line=node.line if node is not None else line, element=called or None)
            said = self._said[code, what] = _Said(severity, advice, value, place)
        said.count += 1
        if called and called not in said.names and len(said.names) < _MOST_NAMES:
            said.names.append(called)

    def note(
        self,
        code: str,
        what: str,
        node: Node | None = None,
        *,
        name: str = "",
        line: int | None = None,
        advice: str = "",
    ) -> None:
        """Remark on something harmless."""
        self.add(code, what, node, name=name, line=line, advice=advice, severity=Severity.NOTE)

    def findings(self) -> tuple[Finding, ...]:
        """Return all findings in the order of their first occasion."""
        found = []
        for (code, what), said in self._said.items():
            text = what
            value = said.value
            if said.count > 1:
                more = ", ..." if said.count > len(said.names) else ""
                text += f", {said.count} times" + (f": {', '.join(said.names)}{more}" if said.names else "")
                value = float(said.count) if value is None else value
            found.append(Finding(code, said.severity, text, said.advice, said.place, value))
        return tuple(found)
