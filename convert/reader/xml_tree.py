"""XML with line numbers, and nothing from outside.

Expat feeds nodes of our own. No entity is expanded, nothing is fetched, and every limit has a message
of its own; each is far above what a drawing of 100,000 pieces needs (about 20 MB, 300,000 elements, and
as one single path 10 MB of data).

Namespaces are resolved here rather than by expat, because drawings copied out of web pages have none,
and others use a prefix that they never declare; what is meant is clear, so they are read, with a remark.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from xml.parsers import expat

from convert.errors import DrawingError, Place
from convert.reader.node import SVG, XLINK, XML, Node
from convert.reader.plain import plain_xml, refuse

if TYPE_CHECKING:
    from collections.abc import Mapping

MAX_ELEMENTS: Final = 500_000
MAX_DEPTH: Final = 1000
MAX_ATTRIBUTE: Final = 24 << 20
_CHUNK: Final = 1 << 20
_WITH_TEXT: Final = frozenset({"style", "title", "desc", "text", "tspan", "textPath", "a", "tref"})


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file: its root, the first element of each id, and what in it had to be forgiven.

    `sheets` are targets of xml-stylesheet instructions, which are not fetched.
    """

    root: Node
    ids: Mapping[str, Node]
    forgiven: tuple[str, ...]
    sheets: tuple[str, ...]


def parse(data: bytes) -> Document:
    """Return the tree of an SVG file's bytes.

    *Errors*: DrawingError READ-001 to READ-011, with the line where there is one.
    """
    return _Builder().run(plain_xml(data))


class _Builder:
    """Takes expat's events and makes nodes of them, counting."""

    def __init__(self) -> None:
        self.root: Node | None = None
        self.top: Node | None = None
        self.last: Node | None = None
        self.count = 0
        self.nth: dict[str, int] = {}
        self.ids: dict[str, Node] = {}
        self.scopes: list[tuple[int, dict[str, str]]] = [(0, {"xml": XML})]
        self.unbound: set[str] = set()
        self.bare = False
        self.sheets: list[str] = []
        parser = expat.ParserCreate("utf-8")
        parser.buffer_text = True
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.data
        parser.EntityDeclHandler = self.entity
        parser.ExternalEntityRefHandler = self.outside
        parser.SkippedEntityHandler = self.skipped
        parser.ProcessingInstructionHandler = self.instruction
        self.parser = parser

    def run(self, data: bytes) -> Document:
        view = memoryview(data)
        try:
            for at in range(0, len(data), _CHUNK):
                self.parser.Parse(bytes(view[at : at + _CHUNK]), False)  # noqa: FBT003 - expat's signature
            self.parser.Parse(b"", True)  # noqa: FBT003
        except expat.ExpatError as fault:
            what = f"this is not well-formed XML ({expat.ErrorString(fault.code)})"
            advice = "Open the drawing in the program that made it and save it again as SVG"
            raise DrawingError.because("READ-004", what, advice, place=Place(line=fault.lineno)) from fault
        finally:
            # The handlers are bound methods: without this, parser and builder keep each other alive.
            self.parser.StartElementHandler = self.parser.EndElementHandler = None
            self.parser.CharacterDataHandler = None
        root = self.root
        if root is None or root.tag != "svg":
            name = root.tag if root is not None else ""
            refuse(
                "READ-006",
                f"this is XML, but not SVG: its outermost element is <{name}>",
                "Save it as SVG",
                1,
            )
        forgiven = [f"the prefix {p}: is used without being declared" for p in sorted(self.unbound)]
        if self.bare:
            forgiven.insert(0, "the SVG namespace is not declared (browsers won't show such a file)")
        return Document(root, self.ids, tuple(forgiven), tuple(self.sheets))

    def start(self, name: str, attributes: dict[str, str]) -> None:
        line = self.parser.CurrentLineNumber
        parent = self.top
        depth = 1 if parent is None else parent.depth + 1
        if depth > MAX_DEPTH:
            refuse("READ-007", f"elements are nested over {MAX_DEPTH:,} deep", "Ungroup the drawing", line)
        self.count += 1
        if self.count > MAX_ELEMENTS:
            refuse("READ-008", f"there are over {MAX_ELEMENTS:,} elements", "Split the drawing", line)
        for key, value in attributes.items():
            if len(value) > MAX_ATTRIBUTE:
                what = f"the attribute {key} is over {MAX_ATTRIBUTE >> 20} million characters long"
                refuse("READ-009", what, "Split that shape", line)
            if ":" in key or key == "xmlns":
                attributes = self._resolved(attributes, depth)
                break
        tag = self._tag(name, parent)
        nth = self.nth[tag] = self.nth.get(tag, 0) + 1
        node = Node(tag, attributes, parent, line, nth, depth)
        if parent is None:
            self.root = node
        self.top, self.last = node, None
        own = attributes.get("id")
        if own:
            self.ids.setdefault(own, node)

    def _tag(self, name: str, parent: Node | None) -> str:
        prefix, colon, local = name.rpartition(":")
        space = self.scopes[-1][1].get(prefix)
        if space is None and colon:
            self.unbound.add(prefix)
            space = SVG if prefix == "svg" else prefix
        if space is None and parent is None and local == "svg":
            self.bare = True
        return local if space == SVG or (not space and self.bare) else f"{{{space or ''}}}{local}"

    def _resolved(self, attributes: dict[str, str], depth: int) -> dict[str, str]:
        """Open a scope for declared namespaces, and return the attributes with theirs written out."""
        scope = self.scopes[-1][1]
        declared = {
            key[6:]: value for key, value in attributes.items() if key == "xmlns" or key.startswith("xmlns:")
        }
        if declared:
            scope = {**scope, **declared}
            self.scopes.append((depth, scope))
        found = {}
        for key, value in attributes.items():
            prefix, colon, local = key.partition(":")
            if not colon:
                if key != "xmlns":
                    found[key] = value
            elif prefix != "xmlns":
                space = scope.get(prefix)
                if space is None:
                    self.unbound.add(prefix)
                    space = XLINK if prefix == "xlink" else prefix
                found[f"{{{space}}}{local}"] = value
        return found

    def end(self, _: str) -> None:
        node = self.top
        if node is not None:
            if self.scopes[-1][0] == node.depth:
                self.scopes.pop()
            self.top, self.last = node.parent, node

    def data(self, text: str) -> None:
        if self.top is not None and self.top.tag in _WITH_TEXT:
            if self.last is None:
                self.top.text += text
            else:
                self.last.tail += text

    def instruction(self, target: str, data: str) -> None:
        if target == "xml-stylesheet":
            self.sheets.append(data)

    def entity(self, name: str, *_: object) -> None:
        what = f"the file declares an entity, {name}, and entities are not expanded"
        refuse("READ-010", what, "Save the drawing as plain SVG", self.parser.CurrentLineNumber)

    def outside(self, *_: object) -> int:
        what = "the file takes part of its contents from another file, and nothing outside is read"
        refuse("READ-011", what, "Save the drawing as plain SVG", self.parser.CurrentLineNumber)

    def skipped(self, name: str, _: bool) -> None:  # noqa: FBT001 - expat's own signature
        what = f"the file uses an entity, {name}, that it doesn't declare"
        refuse("READ-010", what, "Save the drawing as plain SVG", self.parser.CurrentLineNumber)
