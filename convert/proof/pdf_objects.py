"""The objects of a PDF file: as much of the format as our own booklets use, read strictly.

*Source*: ISO 32000-1, 7.3 (objects), 7.4 (Flate), 7.5.4 (cross-reference table).
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from typing import Any

from convert.proof.model import UnreadableError

_SPACE = b"\0\t\n\f\r "
_TOKEN = re.compile(
    rb"<<|>>|[\[\]]|/[^\0\t\n\f\r ()<>\[\]{}/%]*|<[0-9A-Fa-f\s]*>|[^\0\t\n\f\r ()<>\[\]{}/%]+", re.DOTALL
)
_GAP = re.compile(rb"(?:[\0\t\n\f\r ]|%[^\r\n]*)*")
_LARGEST = 1 << 30


@dataclass(frozen=True, slots=True)
class Name:
    """A name, without its slash."""

    text: str


@dataclass(frozen=True, slots=True)
class Operator:
    """A word that is no object: an operator of a page, or a keyword of the file."""

    text: str


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference to the object of this number."""

    number: int


class Tokens:
    """Objects one after another, from a place in a file or a page's content."""

    def __init__(self, data: bytes, at: int = 0) -> None:
        self.data = data
        self.at = at

    def next(self) -> Any:  # noqa: ANN401 (objects are of many types)
        """Return the next object, or None at the end."""
        gap = _GAP.match(self.data, self.at)
        self.at = gap.end() if gap else self.at
        if self.at >= len(self.data):
            return None
        if self.data[self.at : self.at + 1] == b"(":
            return self._string()
        match = _TOKEN.match(self.data, self.at)
        if match is None:
            raise UnreadableError(f"there is no object at byte {self.at}")
        self.at = match.end()
        word = match[0]
        if word == b"[":
            return self._until(b"]")
        if word == b"<<":
            items = self._until(b">>")
            return {key.text: value for key, value in zip(items[::2], items[1::2], strict=True)}
        if word.startswith(b"/"):
            return Name(
                re.sub(rb"#([0-9A-Fa-f]{2})", lambda m: bytes.fromhex(m[1].decode()), word[1:]).decode(
                    "latin-1"
                )
            )
        if word.startswith(b"<"):
            return bytes.fromhex(word[1:-1].decode())
        return _atom(word)

    def _until(self, end: bytes) -> list[Any]:
        found: list[Any] = []
        while True:
            gap = _GAP.match(self.data, self.at)
            self.at = gap.end() if gap else self.at
            if self.data[self.at : self.at + len(end)] == end:
                self.at += len(end)
                return found
            item = self.next()
            if item is None:
                raise UnreadableError("a list is not closed")
            if item == Operator("R") and len(found) > 1:
                found[-2:] = [Reference(found[-2])]
            else:
                found.append(
                    {"true": True, "false": False, "null": None}.get(item.text, item)
                    if isinstance(item, Operator)
                    else item
                )

    def _string(self) -> bytes:
        depth, start = 0, self.at + 1
        while self.at < len(self.data):
            char = self.data[self.at]
            if char == 0x5C:  # a backslash: whatever follows is no bracket
                self.at += 1
            elif char == 0x28:
                depth += 1
            elif char == 0x29:
                depth -= 1
                if depth == 0:
                    self.at += 1
                    return self.data[start : self.at - 1]
            self.at += 1
        raise UnreadableError("a string is not closed")


def _atom(word: bytes) -> float | int | Operator:
    if re.fullmatch(rb"[+-]?\d+", word):
        return int(word)
    if re.fullmatch(rb"[+-]?(\d+\.\d*|\.\d+)", word):
        return float(word)
    return Operator(word.decode("latin-1"))


class File:
    """The objects of one file, found by its cross-reference table."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        start = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*\Z", data)
        if not data.startswith(b"%PDF-1.") or start is None:
            raise UnreadableError("it is no PDF file, or not whole")
        table = re.compile(rb"xref\s+0 (\d+)\s+").match(data, int(start[1]))
        if table is None:
            raise UnreadableError("its cross-reference table is not where it should be")
        rows = data[table.end() : table.end() + 20 * int(table[1])]
        self._places = [int(rows[i : i + 10]) for i in range(0, len(rows), 20)]
        tokens = Tokens(data, table.end() + 20 * int(table[1]))
        if tokens.next() != Operator("trailer"):
            raise UnreadableError("it has no trailer")
        self.trailer = tokens.next()

    def get(self, thing: Any) -> Any:  # noqa: ANN401 (objects are of many types)
        """Return what a reference refers to; anything else is returned as it is."""
        if not isinstance(thing, Reference):
            return thing
        return self._object(thing.number)[0]

    def stream(self, thing: Any) -> bytes:  # noqa: ANN401 (objects are of many types)
        """Return the decoded bytes of a stream."""
        if not isinstance(thing, Reference):
            raise UnreadableError("a stream is not an object of its own")
        head, tokens = self._object(thing.number)
        if not isinstance(head, dict) or tokens.next() != Operator("stream"):
            raise UnreadableError(f"object {thing.number} is no stream")
        first = tokens.at + (2 if self.data[tokens.at : tokens.at + 2] == b"\r\n" else 1)
        raw = self.data[first : first + int(self.get(head["Length"]))]
        filters = self.get(head.get("Filter", []))
        for name in filters if isinstance(filters, list) else [filters]:
            if name != Name("FlateDecode"):
                raise UnreadableError(f"its stream {thing.number} is packed by {name}")
            raw = zlib.decompressobj().decompress(raw, _LARGEST)
        return raw

    def _object(self, number: int) -> tuple[Any, Tokens]:
        if not 0 < number < len(self._places):
            raise UnreadableError(f"there is no object {number}")
        tokens = Tokens(self.data, self._places[number])
        if (tokens.next(), tokens.next(), tokens.next()) != (number, 0, Operator("obj")):
            raise UnreadableError(f"object {number} is not where the table says")
        return tokens.next(), tokens
