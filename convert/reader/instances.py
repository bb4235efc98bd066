"""How many elements a document draws with all its instances, told before any is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.errors import DrawingError, Place
from convert.reader.document import UNDRAWN

if TYPE_CHECKING:
    from convert.reader.document import Reading
    from convert.reader.node import Node

MAX_INSTANCES: Final = 400_000
"""Elements in all: four for each piece of a drawing of 100,000 pieces."""


def check_instances(reading: Reading) -> None:
    """Count what `use` draws before any of it is drawn, for a few lines can ask for billions."""
    below: dict[Node, int] = {}
    stack = [reading.root]
    while stack:
        node = stack[-1]
        parts = [c for c in node.children if c.tag not in UNDRAWN or c.tag == "symbol"]
        goal = reading.used(node) if node.tag == "use" else None
        if node not in below:
            # Zero while it is being counted: endless instances are found where they are drawn.
            below[node] = 0
            stack.extend(c for c in (*parts, *((goal,) if goal is not None else ())) if c not in below)
            continue
        stack.pop()
        if below[node]:
            continue
        below[node] = 1 + sum(below[c] for c in parts) + (below.get(goal, 0) if goal is not None else 0)
    instances = below[reading.root] - sum(1 for _ in reading.root.subtree())
    if instances > MAX_INSTANCES:
        users = [node for node in below if node.tag == "use"]
        most = max(users, key=lambda node: (below[node], -node.line))
        raise DrawingError.because(
            "READ-022",
            f"instances make over {MAX_INSTANCES:,} elements",
            "Turn fewer shapes into instances",
            place=Place(line=most.line, element=most.name),
        )
