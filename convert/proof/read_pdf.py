"""Reads a booklet's pages back: their sizes, and every line and curve on them.

Curves in the file are cubics. Each is taken for the circular arc through its ends and its middle, and
must lie on it; that is all that booklets draw.

*Source*: ISO 32000-1, 8.3 (coordinates), 8.4.4 and 8.5 (operators), 7.7.3 (page tree).
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from math import atan
from typing import Any, Final

import numpy as np

from convert.proof.model import ReadFile, ReadPath, UnreadableError
from convert.proof.pdf_objects import File, Name

MM: Final = 25.4 / 72.0
ROUND: Final = 1e-3
"""A curve may be so far (mm) from the arc it is taken for: a curve with another shape is farther."""
_QUARTERS: Final = (
    (0.0, 0.0, 0.0, 1.0),
    (0.125, 0.375, 0.375, 0.125),
    (27 / 64, 27 / 64, 9 / 64, 1 / 64),
    (1 / 64, 9 / 64, 27 / 64, 27 / 64),
)
"""Bernstein's polynomials at 1, 1/2, 1/4 and 3/4."""
_WORD: Final = re.compile(
    rb"\((?:\\.|[^\\()])*\)|<[0-9A-Fa-f\s]*>|/[^\s/<>()\[\]]+|[\[\]]|[^\s/<>()\[\]]+", re.DOTALL
)
_NUMERIC: Final = frozenset(b"+-.0123456789")
_OTHER: Final = frozenset(b"(</[]")
_PAINT: Final = {
    "S": "s",
    "s": "cs",
    "f": "f",
    "f*": "f",
    "B": "fs",
    "B*": "fs",
    "b": "cfs",
    "b*": "cfs",
    "n": "",
}
"""What painting operators do: close (c), fill (f), stroke (s)."""
_WORDS: Final = ("BT", "ET", "Tf", "TL", "Td", "Tm", "Tj", "TJ", "T*", "Tc", "Tw", "Tz", "Ts", "Tr", "'", '"')
_LOOKS: Final = ("J", "j", "M", "i", "ri", "gs", "d", "W", "W*", "sh", "BMC", "EMC", "BDC")
_SKIP: Final = frozenset((*_WORDS, *_LOOKS))
"""Operators for words, and for looks that are not compared."""


@dataclass(slots=True)
class _State:
    matrix: tuple[float, float, float, float, float, float]
    stroke: str
    fill: str
    width: float


def read_pdf(data: bytes) -> tuple[ReadFile, ...]:
    """Return the pages of a booklet, in order.

    A stroked path's layer is its colour and width in mm (`#000000 0.25`), a filled one's is `fill` and
    its colour. Coordinates are mm from the page's lower left corner.
    *Errors*: UnreadableError when the file holds something that a booklet never does.
    """
    try:
        file = File(data)
        root = file.get(file.trailer["Root"])
        return tuple(_page(file, page) for page in _pages(file, file.get(root["Pages"])))
    except (KeyError, IndexError, TypeError, AttributeError, ValueError, RecursionError, zlib.error) as error:
        raise UnreadableError(f"it is not built like a booklet ({error!r})") from error


def says_actual_size(data: bytes) -> bool:
    """Tell whether a booklet asks print dialogs not to scale it."""
    file = File(data)
    wishes = file.get(file.get(file.trailer["Root"]).get("ViewerPreferences", {}))
    return bool(wishes.get("PrintScaling") == Name("None"))


def _pages(file: File, node: dict[str, Any]) -> list[dict[str, Any]]:
    if node["Type"] == Name("Page"):
        return [node]
    return [page for kid in node["Kids"] for page in _pages(file, file.get(kid))]


def _page(file: File, page: dict[str, Any]) -> ReadFile:
    box = [float(v) for v in file.get(page["MediaBox"])]
    if box[0] or box[1] or page.get("Rotate", 0) or "UserUnit" in page:
        raise UnreadableError("a page is turned, shifted or scaled")
    paths = _Painter(file.stream(page["Contents"])).paths()
    return ReadFile(tuple(paths), (), (box[2] * MM, box[3] * MM))


class _Painter:
    """Follows the operators of one page."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        self._state = _State((1.0, 0.0, 0.0, 1.0, 0.0, 0.0), "#000000", "#000000", 1.0)
        self._stack: list[_State] = []
        self._parts: list[_Part] = []
        self._found: list[ReadPath] = []

    def paths(self) -> list[ReadPath]:
        """Return everything drawn."""
        operands: list[Any] = []
        at = 0
        for match in _WORD.finditer(self._content):
            if self._content[at : match.start()].strip():
                raise UnreadableError(f"a page has something unknown at byte {at} of its content")
            at = match.end()
            word = match[0]
            if word[0] in _NUMERIC:
                operands.append(float(word))
            elif word[0] in _OTHER:
                operands.append(word)
            else:
                self._do(word.decode("latin-1"), operands)
                operands = []
        if self._content[at:].strip() or operands:
            raise UnreadableError("a page's content ends in the middle")
        return self._found

    def _do(self, name: str, o: list[Any]) -> None:
        if name == "m":
            self._parts.append(_Part([self._at(o[0], o[1])], []))
        elif name == "l":
            self._parts[-1].line(self._at(o[0], o[1]))
        elif name == "c":
            self._parts[-1].curve(*(self._at(o[i], o[i + 1]) for i in (0, 2, 4)))
        elif name == "h":
            self._parts[-1].closed = True
        elif name == "re":
            x, y, w, h = o
            corners = [self._at(x, y), self._at(x + w, y), self._at(x + w, y + h), self._at(x, y + h)]
            self._parts.append(_Part(corners, [0.0] * 3, closed=True))
        elif name in _PAINT:
            self._paint(_PAINT[name])
        elif name not in _SKIP:
            self._set(name, o)

    def _set(self, name: str, o: list[Any]) -> None:
        s = self._state
        if name == "q":
            self._stack.append(_State(s.matrix, s.stroke, s.fill, s.width))
        elif name == "Q":
            self._state = self._stack.pop()
        elif name == "cm":
            a, b, c, d, e, f = s.matrix
            p, q, r, t, u, v = o
            s.matrix = (
                p * a + q * c,
                p * b + q * d,
                r * a + t * c,
                r * b + t * d,
                u * a + v * c + e,
                u * b + v * d + f,
            )
        elif name == "RG":
            s.stroke = _hex(o)
        elif name == "rg":
            s.fill = _hex(o)
        elif name == "w":
            s.width = o[0]
        else:
            raise UnreadableError(f"a page has the operator {name}")

    def _at(self, x: float, y: float) -> complex:
        a, b, c, d, e, f = self._state.matrix
        return MM * complex(a * x + c * y + e, b * x + d * y + f)

    def _paint(self, what: str) -> None:
        state = self._state
        if "s" in what:
            layer = f"{state.stroke} {state.width * MM * abs(complex(*state.matrix[:2])):.2f}"
        else:
            layer = f"fill {state.fill}"
        for part in self._parts:
            if what:
                part.closed = part.closed or "c" in what
                self._found.append(part.path(layer))
        self._parts = []


def _hex(o: list[Any]) -> str:
    return "#" + "".join(f"{round(255 * v):02x}" for v in o)


@dataclass(slots=True)
class _Part:
    """One subpath: its points, and the sweep of the segment after each but the last."""

    points: list[complex]
    sweeps: list[float]
    closed: bool = False

    def line(self, end: complex) -> None:
        self.points.append(end)
        self.sweeps.append(0.0)

    def curve(self, first: complex, second: complex, end: complex) -> None:
        start = self.points[-1]
        half = 0.5 * (end - start)
        if half == 0:
            raise UnreadableError("a curve ends where it begins")
        middle = 0.125 * (start + 3.0 * (first + second) + end)
        # The middle lies right of the chord for a counter-clockwise arc, by tan(sweep / 4) of half the chord.
        rise = -((middle - start - half) / half).imag
        self.sweeps.append(4.0 * atan(rise))
        self.points.append(end)
        if rise == 0.0:
            return
        centre = start + half + 0.5j * half * (1.0 / rise - rise)
        radius = abs(start - centre)
        for a, b, c, d in _QUARTERS:
            if abs(abs(a * start + b * first + c * second + d * end - centre) - radius) > ROUND:
                where = f"{start.real:.2f}, {start.imag:.2f} mm"
                raise UnreadableError(f"a curve near {where} is no circular arc")

    def path(self, layer: str) -> ReadPath:
        points, sweeps = list(self.points), list(self.sweeps)
        if self.closed and len(points) > 1 and abs(points[-1] - points[0]) < 1e-6:
            points.pop()  # it came back to its start by itself
        elif self.closed:
            sweeps.append(0.0)
        return ReadPath(np.array(points), np.array(sweeps), self.closed, layer)
