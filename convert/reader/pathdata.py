"""Path data and lists of points, by a strict grammar that knows where an error stands.

A path with an error is drawn up to the last whole part before it, as the standard wants, and the
error is told. Commands are taken apart by regular expressions that never backtrack, so that a long
path costs little more than its numbers do.
*Source*: SVG 2, 9.3 (grammar, the meaning of every command) and 9.5.4 (error handling).
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING, Final, NamedTuple

from convert.reader.lengths import NUMBER
from convert.reader.outline import CUBIC, LINE, QUADRATIC, Outline, arc_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    Point = tuple[float, float]

_WS: Final = r"[ \t\r\n\f]*+"
_SEP: Final = rf"{_WS}(?:,{_WS})?+"
_COUNT: Final = {
    letter: count
    for letters, count in (("MmLlTt", 2), ("HhVv", 1), ("Cc", 6), ("SsQq", 4), ("Aa", 7), ("Zz", 0))
    for letter in letters
}
_LETTER: Final = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])")
_COMMAND: Final = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*+)")
_ARGUMENTS: Final = re.compile(rf"{_WS}{NUMBER}(?:{_SEP}{NUMBER})*+{_SEP}", re.ASCII)
_NUMBERS: Final = re.compile(NUMBER, re.ASCII)
_NEXT_NUMBER: Final = re.compile(rf"{_SEP}({NUMBER})", re.ASCII)
_FLAG: Final = re.compile(rf"{_SEP}([01])", re.ASCII)
_SPACE: Final = re.compile(_WS)
_GAP: Final = re.compile(_SEP)
_ARC: Final = re.compile(
    rf"{_SEP}({NUMBER}){_SEP}({NUMBER}){_SEP}({NUMBER}){_SEP}([01]){_SEP}([01])"
    rf"{_SEP}({NUMBER}){_SEP}({NUMBER})",
    re.ASCII,
)
_PAIR: Final = rf"{NUMBER}{_SEP}{NUMBER}"
_ONE_ARC: Final = rf"{_PAIR}{_SEP}{NUMBER}{_SEP}[01]{_SEP}[01]{_SEP}{_PAIR}"
# A comma after the last number is wrong, but browsers let it pass, and so do we.
_ARGUMENT_LIST: Final = rf"{NUMBER}(?:{_SEP}{NUMBER})*+{_SEP}"
_WHOLE: Final = re.compile(
    rf"{_WS}(?:[Mm]{_WS}{_ARGUMENT_LIST}"
    rf"(?:[MmLlHhVvCcSsQqTt]{_WS}{_ARGUMENT_LIST}|[Zz]{_WS}"
    rf"|[Aa]{_WS}{_ONE_ARC}(?:{_SEP}{_ONE_ARC})*+{_SEP})*+)?",
    re.ASCII,
)
_LARGEST: Final = 1e100
"""A coordinate beyond this is an error where it stands; what is too large to measure is told later."""


class Fault(NamedTuple):
    """The first error: the character at which it stands, from 1, and what was expected there."""

    character: int
    what: str


def parse_path(text: str) -> tuple[Outline, Fault | None]:
    """Return what path data draws, and its first error if it has one."""
    return _parse_path(text) if len(text) < 20_000 else _parse_path.__wrapped__(text)


@lru_cache(maxsize=256)
def _parse_path(text: str) -> tuple[Outline, Fault | None]:
    if _WHOLE.fullmatch(text):
        outline = _without_fault(text)
        if outline is not None:
            return outline, None
    return _up_to_a_fault(text)


def _without_fault(text: str) -> Outline | None:
    """Return the outline of data that keeps to the grammar, fast; None when its numbers are of no use."""
    pen = _Pen()
    parts = _LETTER.split(text)
    for letter, arguments in zip(parts[1::2], parts[2::2], strict=True):
        size = _COUNT[letter]
        if size == 7:
            values = [float(value) for row in _ARC.findall(arguments) for value in row]
            if not (max(values) <= _LARGEST and min(values) >= -_LARGEST):
                return None
        else:
            try:
                values = [float(word) for word in arguments.replace(",", " ").split()]
            except ValueError:
                values = [float(word) for word in _NUMBERS.findall(arguments)]
            if size and len(values) % size:
                return None
        pen.draw(letter, values)
    for row in pen.outline.rows:
        if row and not (min(row) >= -_LARGEST and max(row) <= _LARGEST):
            return None
    pen.end(closed=False)
    return pen.outline


def _up_to_a_fault(text: str) -> tuple[Outline, Fault | None]:
    pen = _Pen()
    at = _spaces(text)
    fault = None
    while at < len(text) and fault is None:
        command = _COMMAND.match(text, at)
        if command is None:
            fault = Fault(at + 1, f"a command was expected, not {text[at]!r}")
        elif not pen.started and command[1] not in "Mm":
            fault = Fault(at + 1, "a path must begin with M")
        else:
            values, fault = _values(command[1], command[2], command.start(2))
            if values or command[1] in "Zz":
                pen.draw(command[1], values)
            at = command.end()
    pen.end(closed=False)
    return pen.outline, fault


def _spaces(text: str, at: int = 0) -> int:
    """Return where the white space from `at` on ends."""
    match = _SPACE.match(text, at)
    return match.end() if match is not None else at


def _separators(text: str, at: int) -> int:
    """Return where white space and at most one comma from `at` on end."""
    match = _GAP.match(text, at)
    return match.end() if match is not None else at


def _values(letter: str, text: str, offset: int) -> tuple[list[float], Fault | None]:
    """Return the numbers that belong to a command, as far as they are right, in whole sets."""
    size = _COUNT[letter]
    if size == 0:
        rest = _spaces(text)
        return [], None if rest == len(text) else Fault(offset + rest + 1, "a command was expected after Z")
    if size == 7:
        return _arc_values(text, offset)
    values = [float(number) for number in _NUMBERS.findall(text)] if _ARGUMENTS.fullmatch(text) else []
    if values and len(values) % size == 0 and max(values) <= _LARGEST and min(values) >= -_LARGEST:
        return values, None
    return _up_to_the_error(text, offset, (_NEXT_NUMBER,) * size)


def _arc_values(text: str, offset: int) -> tuple[list[float], Fault | None]:
    values: list[float] = []
    at = 0
    while (match := _ARC.match(text, at)) is not None:
        values.extend(map(float, match.groups()))
        at = match.end()
    end = _separators(text, at)
    plain = not text.lstrip(" \t\r\n\f").startswith(",")
    if values and end == len(text) and plain and all(abs(v) <= _LARGEST for v in values):
        return values, None
    number, flag = _NEXT_NUMBER, _FLAG
    return _up_to_the_error(text, offset, (number, number, number, flag, flag, number, number))


def _up_to_the_error(text: str, offset: int, sets: Sequence[re.Pattern[str]]) -> tuple[list[float], Fault]:
    """Return the values of all whole sets before the error, slowly, and the error."""
    values: list[float] = []
    whole, at = 0, _spaces(text)
    what = "a number was expected"
    while at <= len(text):
        pattern = sets[len(values) % len(sets)]
        match = pattern.match(text, at)
        if match is None or (not values and text[at] == ","):
            if pattern is _FLAG:
                what = "an arc's flag, 0 or 1, was expected"
            break
        if abs(float(match[1])) > _LARGEST:
            what, at = "the number is too large", match.start(1)
            break
        values.append(float(match[1]))
        at = match.end()
        if len(values) % len(sets) == 0:
            whole = len(values)
    if values:
        at = _separators(text, at)
    return values[:whole], Fault(offset + at + 1, what)


class _Pen:
    """Draws commands into an outline, keeping the current point and the last control point."""

    def __init__(self) -> None:
        self.outline = Outline()
        self.started = False
        self._x = self._y = self._first_x = self._first_y = 0.0
        self._begun = 0
        self._control: Point | None = None
        self._after = ""

    def end(self, *, closed: bool) -> None:
        """End the subpath."""
        self.outline.end_subpath(
            self._begun, (self._first_x, self._first_y), (self._x, self._y), closed=closed
        )
        self._begun = len(self.outline.kind)

    def draw(self, letter: str, v: list[float]) -> None:
        """Draw a command with any number of sets of values."""
        self.started = True
        relative = letter.islower()
        command = letter.upper()
        if command == "M":
            self._move(v, relative=relative)
        elif command == "L":
            self._lines(v, relative=relative)
        elif command == "Z":
            self._close()
        elif command in "HV":
            self._straight(v, across=command == "H", relative=relative)
        elif command in "CS":
            self._curves(v, CUBIC, smooth=command == "S", relative=relative)
        elif command in "QT":
            self._curves(v, QUADRATIC, smooth=command == "T", relative=relative)
        else:
            self._arcs(v, relative=relative)
        self._after = command

    def _move(self, v: list[float], *, relative: bool) -> None:
        self.end(closed=False)
        x, y = v[0], v[1]
        if relative:
            x, y = self._x + x, self._y + y
        self._x = self._first_x = x
        self._y = self._first_y = y
        if len(v) > 2:
            self._lines(v[2:], relative=relative)

    def _close(self) -> None:
        if (self._x, self._y) != (self._first_x, self._first_y):
            self.outline.add_line((self._x, self._y), (self._first_x, self._first_y))
            self._x, self._y = self._first_x, self._first_y
        self.end(closed=True)

    def _lines(self, v: list[float], *, relative: bool) -> None:
        rows = self.outline.rows[LINE]
        x, y = self._x, self._y
        pairs = iter(v)
        for nx, ny in zip(pairs, pairs, strict=True):
            before_x, before_y = x, y
            x, y = (x + nx, y + ny) if relative else (nx, ny)
            rows += (before_x, before_y, x, y)
        self.outline.kind += [LINE] * (len(v) // 2)
        self._x, self._y = x, y

    def _straight(self, v: list[float], *, across: bool, relative: bool) -> None:
        pairs: list[float] = []
        for value in v:
            if relative:
                pairs += (value, 0.0) if across else (0.0, value)
            else:
                pairs += (value, self._y) if across else (self._x, value)
        self._lines(pairs, relative=relative)

    def _curves(self, v: list[float], kind: int, *, smooth: bool, relative: bool) -> None:
        """Add cubic or quadratic curves; a smooth one's first control point mirrors the one before."""
        rows = self.outline.rows[kind]
        size = (6 if kind == CUBIC else 4) - (2 if smooth else 0)
        x, y = self._x, self._y
        control = self._control if self._after in (("C", "S") if kind == CUBIC else ("Q", "T")) else None
        for at in range(0, len(v), size):
            w = v[at : at + size]
            if relative:
                w = [value + (y if number % 2 else x) for number, value in enumerate(w)]
            if smooth:
                w = [x, y, *w] if control is None else [2.0 * x - control[0], 2.0 * y - control[1], *w]
            rows += (x, y)
            rows += w
            control = (w[-4], w[-3])
            x, y = w[-2], w[-1]
        self.outline.kind += [kind] * (len(v) // size)
        self._control, self._x, self._y = control, x, y

    def _arcs(self, v: list[float], *, relative: bool) -> None:
        for at in range(0, len(v), 7):
            rx, ry, turn, large, sweep, x, y = v[at : at + 7]
            if relative:
                x, y = self._x + x, self._y + y
            if (x, y) != (self._x, self._y):
                row = arc_row((self._x, self._y), (rx, ry), turn, (large == 1.0, sweep == 1.0), (x, y))
                if row is None or not all(map(isfinite, row)):
                    self.outline.add_line((self._x, self._y), (x, y))
                else:
                    self.outline.add_arc(row)
            self._x, self._y = x, y


def parse_points(text: str) -> tuple[list[Point], Fault | None]:
    """Return the points of a polyline or polygon up to the first error, and that error."""
    if _ARGUMENTS.fullmatch(text):
        values = [float(number) for number in _NUMBERS.findall(text)]
        if len(values) % 2 == 0 and max(values) <= _LARGEST and min(values) >= -_LARGEST:
            return list(zip(values[0::2], values[1::2], strict=True)), None
    elif not text.strip(" \t\r\n\f"):
        return [], None
    values, fault = _up_to_the_error(text, 0, (_NEXT_NUMBER, _NEXT_NUMBER))
    return list(zip(values[0::2], values[1::2], strict=True)), fault
