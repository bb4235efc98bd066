"""Texts of a drawing and where they stand, as well as can be told without their fonts.

A text is read in **runs**: each starts where the document gives an absolute position. Runs that
stand under each other like the lines of one label are one text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

from convert.reader.lengths import Along, parse_length

if TYPE_CHECKING:
    from convert.reader.cascade import Cascade, Style
    from convert.reader.lengths import Viewport
    from convert.reader.node import Node

LETTER_EM: Final = 0.5
"""Width of a letter in em, on average, in usual text faces (from memory)."""
CAPITAL_EM: Final = 0.7
"""Height of a capital in em in usual text faces (from memory)."""
_LINE_EM: Final = 2.0
_HOLDERS: Final = frozenset({"text", "tspan", "a"})
"""What is in them is read; a text along a path stands where its letters' widths would have to be known."""
_MIDDLE: Final = {
    "middle": 0.0, "central": 0.0, "mathematical": 0.0, "hanging": 0.5, "text-before-edge": 0.5,
    "text-top": 0.5,
    "before-edge": 0.5,
}  # fmt: skip


class PlacedText(NamedTuple):
    """A text and its middle in the user units of its element."""

    text: str
    x: float
    y: float


@dataclass(slots=True)
class _Run:
    x: float
    y: float
    anchor: str
    baseline: str
    size: float
    parts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return " ".join("".join(self.parts).split())

    @property
    def middle(self) -> tuple[float, float]:
        half = LETTER_EM * self.size * len(self.text) / 2.0
        across = {"start": half, "middle": 0.0, "end": -half}[self.anchor]
        return self.x + across, self.y + CAPITAL_EM * self.size * _MIDDLE.get(self.baseline, -0.5)


def read_text(node: Node, style: Style, viewport: Viewport, cascade: Cascade) -> list[PlacedText]:
    """Return the visible texts of a <text> element."""
    runs: list[_Run] = []
    # Each entry is an element to begin, or the text after one that has been read, with its style.
    stack: list[tuple[Node | None, str, Style]] = [(node, "", style)]
    while stack:
        element, text, own = stack.pop()
        if element is not None:
            if element is not node:
                own = cascade.style(element, own)
            if not own.shown:
                continue
            _begin(runs, element, own, viewport)
            text = element.text
            for child in reversed(element.children):
                stack.append((None, child.tail, own))
                if child.tag in _HOLDERS:
                    stack.append((child, "", own))
        if text and own.visible and own.opacity > 0.0 and runs and _painted(own):
            if not runs[-1].parts and text.strip():
                runs[-1].anchor, runs[-1].size = own.values["text-anchor"], own.font_size
                runs[-1].baseline = own.values["dominant-baseline"]
            runs[-1].parts.append(text)
    return _labels([run for run in runs if run.text])


def _painted(style: Style) -> bool:
    return any(
        p.colour is not None or p.server is not None for p in (style.paint("fill"), style.paint("stroke"))
    )


def _begin(runs: list[_Run], element: Node, style: Style, viewport: Viewport) -> None:
    x, y, dx, dy = (
        _first(element.get(name), along, style, viewport)
        for name, along in (
            ("x", Along.WIDTH), ("y", Along.HEIGHT), ("dx", Along.WIDTH), ("dy", Along.HEIGHT),
        )
    )  # fmt: skip
    if not runs or x is not None or y is not None:
        at = (runs[-1].x, runs[-1].y) if runs else (0.0, 0.0)
        runs.append(
            _Run(
                at[0] if x is None else x,
                at[1] if y is None else y,
                style.values["text-anchor"],
                style.values["dominant-baseline"],
                style.font_size,
            )
        )
    if not runs[-1].text:
        runs[-1].x += dx or 0.0
        runs[-1].y += dy or 0.0
    elif dy:
        # A shift within a text begins another line of it.
        last = runs[-1]
        runs.append(_Run(last.x, last.y + dy, last.anchor, last.baseline, style.font_size))


def _first(text: str, along: Along, style: Style, viewport: Viewport) -> float | None:
    words = text.replace(",", " ").split()
    length = parse_length(words[0], bare=True) if words else None
    return None if length is None else length.user_units(viewport, style.font_size, along)


def _labels(runs: list[_Run]) -> list[PlacedText]:
    """Join runs that are lines of one label."""
    groups: list[list[_Run]] = []
    for run in runs:
        last = groups[-1][-1] if groups else None
        if (
            last is not None
            and 0.0 < abs(run.y - last.y) <= _LINE_EM * max(run.size, last.size)
            and abs(run.middle[0] - last.middle[0])
            <= LETTER_EM * last.size * max(len(run.text), len(last.text))
        ):
            groups[-1].append(run)
        else:
            groups.append([run])
    placed = []
    for group in groups:
        middles = [run.middle for run in group]
        x, y = (sum(m[axis] for m in middles) / len(group) for axis in (0, 1))
        placed.append(PlacedText(" ".join(run.text for run in group), x, y))
    return placed
