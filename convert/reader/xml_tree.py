"""XML with line numbers, and nothing from outside.

The standard library's expat builds an element tree; no entity is expanded, nothing is fetched, and
every limit has a message of its own. Compressed files (gzip) are unpacked within the same limits.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from convert.errors import DrawingError, Place

if TYPE_CHECKING:
    from collections.abc import Mapping

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
MAX_BYTES = 256 * 1024 * 1024
"""A drawing of 100,000 pieces is about 20 MB."""
MAX_ELEMENTS = 2_000_000
MAX_DEPTH = 200
MAX_ATTRIBUTE = 32 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Document:
    """The root element and the line on which each element begins (by identity)."""

    root: Element
    lines: Mapping[Element, int]


def parse(data: bytes, file: str) -> Document:
    """Return the tree of an SVG file's bytes.

    *Errors*: DrawingError READ-001 … READ-009, each naming the file and, where it has one, the line.
    """
    data = _unpacked(data, file)
    if not data.strip():
        raise _refused("READ-001", "the file is empty", "Save the drawing again", file)
    return _Builder(file).run(data)


def _refused(code: str, what: str, advice: str, file: str, line: int | None = None) -> DrawingError:
    return DrawingError.because(code, what, advice, place=Place(file=file, line=line))


def _unpacked(data: bytes, file: str) -> bytes:
    if data[:2] != b"\x1f\x8b":
        return data
    unpack = zlib.decompressobj(zlib.MAX_WBITS | 16)
    try:
        plain = unpack.decompress(data, MAX_BYTES + 1)
    except zlib.error as fault:
        raise _refused(
            "READ-002", f"the compressed file is damaged: {fault}", "Save it again", file
        ) from fault
    if len(plain) > MAX_BYTES:
        raise _refused(
            "READ-003", f"unpacked, the file has over {MAX_BYTES >> 20} MB", "Split the drawing", file
        )
    if not unpack.eof:
        raise _refused("READ-002", "the compressed file is cut short", "Save it again", file)
    return plain


class _Builder:
    """Feeds expat's events to the standard tree builder and counts."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.tree = TreeBuilder()
        self.lines: dict[Element, int] = {}
        self.depth = 0
        self.parser = expat.ParserCreate(namespace_separator="}")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.tree.data
        self.parser.EntityDeclHandler = self.entity
        self.parser.ExternalEntityRefHandler = self.outside
        self.parser.SkippedEntityHandler = self.skipped

    def run(self, data: bytes) -> Document:
        if len(data) > MAX_BYTES:
            raise _refused(
                "READ-003", f"the file has over {MAX_BYTES >> 20} MB", "Split the drawing", self.file
            )
        try:
            self.parser.Parse(data, True)  # noqa: FBT003 - expat's own signature
        except expat.ExpatError as fault:
            what = expat.ErrorString(fault.code)
            raise _refused(
                "READ-004",
                f"this is not well-formed XML: {what}",
                "Save it again as plain SVG",
                self.file,
                fault.lineno,
            ) from fault
        except (LookupError, ValueError) as fault:
            raise _refused(
                "READ-005",
                f"the file can't be read in the encoding it names: {fault}",
                "Save it as UTF-8",
                self.file,
            ) from fault
        root = self.tree.close()
        if root.tag not in (SVG + "svg", "svg"):
            name = root.tag.rpartition("}")[2]
            raise _refused(
                "READ-006",
                f"the file is XML, but its root is <{name}>, not <svg>",
                "Save it as SVG",
                self.file,
                1,
            )
        return Document(root, self.lines)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        line = self.parser.CurrentLineNumber
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise _refused(
                "READ-007",
                f"elements are nested over {MAX_DEPTH} deep",
                "Ungroup the drawing",
                self.file,
                line,
            )
        if len(self.lines) >= MAX_ELEMENTS:
            raise _refused(
                "READ-008", f"there are over {MAX_ELEMENTS:,} elements", "Split the drawing", self.file, line
            )
        for value in attributes.values():
            if len(value) > MAX_ATTRIBUTE:
                raise _refused(
                    "READ-009",
                    f"one attribute is over {MAX_ATTRIBUTE >> 20} MB long",
                    "Split it",
                    self.file,
                    line,
                )
        element = self.tree.start(_clark(name), {_clark(key): value for key, value in attributes.items()})
        self.lines[element] = line

    def end(self, name: str) -> None:
        self.depth -= 1
        self.tree.end(_clark(name))

    def entity(self, name: str, *_: object) -> None:
        raise _refused(
            "READ-010",
            f"the file declares an entity ({name}), and those are not expanded",
            "Save it again as plain SVG",
            self.file,
            self.parser.CurrentLineNumber,
        )

    def outside(self, *_: object) -> int:
        raise _refused(
            "READ-011",
            "the file points to another file for its contents",
            "Save it as plain SVG",
            self.file,
            self.parser.CurrentLineNumber,
        )

    def skipped(self, name: str, _: bool) -> None:  # noqa: FBT001 - expat's own signature
        raise _refused(
            "READ-010",
            f"the entity &{name}; is not declared here",
            "Save it as plain SVG",
            self.file,
            self.parser.CurrentLineNumber,
        )


def _clark(name: str) -> str:
    return "{" + name if "}" in name else name
