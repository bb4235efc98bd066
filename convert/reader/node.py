"""The elements of a document, as the walk and cssselect2's compiled selectors look at them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

SVG: Final = "http://www.w3.org/2000/svg"
XLINK: Final = "http://www.w3.org/1999/xlink"
XML: Final = "http://www.w3.org/XML/1998/namespace"
HREF: Final = f"{{{XLINK}}}href"


class Node:
    """One element. Nothing changes after parsing.

    `tag` is the local name of an SVG element and `{namespace}name` for any other, as are the keys
    of `attrib` that have a namespace. `nth` counts the elements of its tag in the document, from 1.
    `text` stands before the first child, `tail` after the element.
    """

    __slots__ = ("attrib", "children", "depth", "index", "line", "nth", "parent", "tag", "tail", "text")
    in_html_document = False

    def __init__(
        self, tag: str, attrib: dict[str, str], parent: Node | None, line: int, nth: int, depth: int
    ) -> None:
        self.tag, self.attrib, self.parent, self.line, self.nth, self.depth = (
            tag, attrib, parent, line, nth, depth,
        )  # fmt: skip
        self.children: list[Node] = []
        self.text = self.tail = ""
        if parent is None:
            self.index = 0
        else:
            self.index = len(parent.children)
            parent.children.append(self)

    def get(self, name: str, default: str = "") -> str:
        """Return an attribute."""
        return self.attrib.get(name, default)

    @property
    def id(self) -> str | None:
        """The element's id, if it has one that isn't empty."""
        return self.attrib.get("id") or None

    @property
    def classes(self) -> tuple[str, ...]:
        """The element's classes."""
        names = self.attrib.get("class")
        return tuple(names.split()) if names else ()

    @property
    def name(self) -> str:
        """The id, or a name made of tag and number: path[3]."""
        return self.id or f"{self.local_name}[{self.nth}]"

    def subtree(self) -> Iterator[Node]:
        """Return the element and all below it, in document order."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack.extend(reversed(node.children))

    def let_go(self) -> None:
        """Take the tree apart below this element, once nobody looks at it: its cycles hold much memory."""
        for node in list(self.subtree()):
            node.children, node.attrib, node.parent = [], {}, None

    def whole_text(self) -> str:
        """Return all text in the element."""
        parts = [self.text]
        for node in self.subtree():
            if node is not self:
                parts += (node.text, node.tail)
        return "".join(parts)

    # What compiled selectors ask for (cssselect2's names).

    @property
    def local_name(self) -> str:
        """The tag without namespace."""
        return self.tag.rpartition("}")[2]

    @property
    def namespace_url(self) -> str:
        """The namespace of the tag."""
        return self.tag[1:].partition("}")[0] if self.tag[0] == "{" else SVG

    @property
    def etree_element(self) -> Node:
        """The element itself."""
        return self

    @property
    def etree_children(self) -> list[Node]:
        """The child elements."""
        return self.children

    @property
    def etree_siblings(self) -> list[Node]:
        """All children of the parent."""
        return self.parent.children if self.parent is not None else [self]

    @property
    def previous(self) -> Node | None:
        """The sibling before this one."""
        return self.parent.children[self.index - 1] if self.parent is not None and self.index else None

    @property
    def ancestors(self) -> Iterator[Node]:
        """The elements around this one, innermost first."""
        node = self.parent
        while node is not None:
            yield node
            node = node.parent

    @property
    def previous_siblings(self) -> list[Node]:
        """The siblings before this one."""
        return self.etree_siblings[: self.index]

    @property
    def lang(self) -> str:
        """The language that the element is marked with."""
        for node in (self, *self.ancestors):
            tagged = node.get(f"{{{XML}}}lang") or node.get("lang")
            if tagged:
                return tagged.lower()
        return ""

    def iter_children(self) -> Iterator[Node]:
        """Return the children."""
        return iter(self.children)

    def iter_subtree(self) -> Iterator[Node]:
        """Return the element and all below it."""
        return self.subtree()

    def iter_siblings(self) -> Iterator[Node]:
        """Return all children of the parent."""
        return iter(self.etree_siblings)

    def iter_next_siblings(self) -> Iterator[Node]:
        """Return the siblings after this one."""
        return iter(self.etree_siblings[self.index + 1 :])
