"""Style as a browser computes it: attributes, style sheets and style="", with inheritance.

*Source*: CSS Cascading and Inheritance 4 (importance, specificity, order, defaulting), CSS Custom
Properties 1, SVG 2, 6 (presentation attributes are author rules of specificity 0 that come first).
Style sheets are read with tinycss2, selectors matched with cssselect2.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from convert.reader.css import block_contents, check_length
from convert.reader.lengths import Length
from convert.reader.properties import (
    CONTEXTS,
    CSS_WIDE,
    CURRENT,
    GEOMETRY,
    MEDIUM_FONT,
    NO_PAINT,
    PROPERTIES,
    Origin,
    Paint,
    Reference,
    parse_value,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from convert.reader.node import Node
    from convert.reader.stylesheet import Rules

_ATTRIBUTES: Final = frozenset(PROPERTIES) - {"mix-blend-mode"}
_MARKERS: Final = ("marker-start", "marker-mid", "marker-end")


class Declared(NamedTuple):
    """One declaration as written."""

    name: str
    text: str
    important: bool


@dataclass(frozen=True, slots=True, eq=False)
class Style:
    """Computed values of one element.

    `values` holds every property of `PROPERTIES`; `geometry` what style sheets say of shapes' own
    properties; `custom` the custom properties in force. `font_size` is in user units.
    """

    values: Mapping[str, Any]
    geometry: Mapping[str, str]
    custom: Mapping[str, str]
    font_size: float

    @property
    def shown(self) -> bool:
        """Whether `display` lets the element and what is in it be drawn."""
        return bool(self.values["display"] != "none")

    @property
    def visible(self) -> bool:
        """Whether `visibility` lets the element itself be drawn."""
        return bool(self.values["visibility"] == "visible")

    @property
    def opacity(self) -> float:
        """The element's own opacity."""
        return float(self.values["opacity"])

    def paint(self, name: str, context: tuple[Paint, Paint] | None = None) -> Paint:
        """Return what "fill" or "stroke" paints with, currentColor and fill-opacity worked in.

        `context` are fill and stroke of the `use` that draws the element.
        """
        paint: Paint = self.values[name]
        if paint.colour in CONTEXTS:
            paint = NO_PAINT if context is None else context[CONTEXTS.index(paint.colour)]
        if paint.colour == CURRENT:
            current: Paint = self.values["color"]
            paint = Paint(current.colour, current.alpha, paint.server)
        share = self.values[name + "-opacity"]
        return paint if share == 1.0 else Paint(paint.colour, paint.alpha * share, paint.server)

    def reference(self, name: str) -> Reference | None:
        """Return the clip path, mask, filter or marker, or None when there is none."""
        found: Reference = self.values[name]
        return None if found.text == "none" else found


INITIAL: Final = Style({name: p.initial for name, p in PROPERTIES.items()}, {}, {}, MEDIUM_FONT)
_OWN: Final = {name: p.initial for name, p in PROPERTIES.items() if not p.inherited}


class Cascade:
    """Computes styles, remembering those that many elements share."""

    def __init__(self, rules: Rules | None) -> None:
        self._rules = rules
        self._matched: dict[Node, tuple[Declared, ...]] = {}
        self._texts: dict[str, tuple[Declared, ...]] = {}
        self._known: dict[tuple[int, tuple[tuple[str, str], ...], str, tuple[Declared, ...]], Style] = {}
        self._kept: list[Style] = []
        self.root_font_size = MEDIUM_FONT

    def style(self, node: Node, parent: Style) -> Style:
        """Return the computed style of an element, given the one it inherits from."""
        attributes = tuple([item for item in node.attrib.items() if item[0] in _ATTRIBUTES])
        matched = self._of_rules(node) if self._rules is not None else ()
        key = (id(parent), attributes, node.attrib.get("style", ""), matched)
        found = self._known.get(key)
        if found is None:
            found = self._computed(attributes, matched, self._inline(key[2]), parent)
            self._known[key] = found
            self._kept.append(parent)  # keeps the identity in the key from being used again
        return found

    def _of_rules(self, node: Node) -> tuple[Declared, ...]:
        found = self._matched.get(node)
        if found is None and self._rules is not None:
            found = self._matched[node] = self._rules.matching(node)
        return found or ()

    def _inline(self, text: str) -> tuple[Declared, ...]:
        if not text:
            return ()
        found = self._texts.get(text)
        if found is None:
            found = self._texts[text] = parse_declarations(text)
        return found

    def _computed(
        self,
        attributes: tuple[tuple[str, str], ...],
        matched: tuple[Declared, ...],
        inline: tuple[Declared, ...],
        parent: Style,
    ) -> Style:
        # Importance first, then where a declaration stands; what comes later wins.
        every = [(d, Origin.SHEET) for d in matched] + [(d, Origin.STYLE) for d in inline]
        in_order = [e for e in every if not e[0].important] + [e for e in every if e[0].important]
        custom = _custom([d for d, _ in in_order], parent.custom)
        values: dict[str, Any] = {}
        for name, text in attributes:
            _declare(values, name, text.strip(), Origin.ATTRIBUTE, custom)
        for d, origin in in_order:
            if d.name in PROPERTIES or d.name in GEOMETRY:
                _declare(values, d.name, d.text, origin, custom)
        geometry = {n: v for n, v in values.items() if n in GEOMETRY and v not in CSS_WIDE}
        computed = {**parent.values, **_OWN}
        for name, value in values.items():
            if name in GEOMETRY:
                continue
            known = PROPERTIES[name]
            if not isinstance(value, str) or value not in CSS_WIDE:
                computed[name] = value
            elif value == "inherit" or (known.inherited and value != "initial"):
                computed[name] = parent.values[name]
            else:
                computed[name] = known.initial
        if computed["color"].colour == CURRENT:
            computed["color"] = parent.values["color"]
        font_size = parent.font_size
        if "font-size" in values:
            size: Length = computed["font-size"]
            if value_is_own(values["font-size"]):
                font_size = size.px + size.em * parent.font_size + size.rem * self.root_font_size
            elif values["font-size"] == "initial":
                font_size = MEDIUM_FONT
        if value_is_own(values.get("stroke-width", "inherit")):
            # Multiples of the font size are worked out where they are declared, then inherited as lengths.
            width: Length = computed["stroke-width"]
            em = width.em * font_size + width.rem * self.root_font_size
            computed["stroke-width"] = Length(width.px + em, width.share)
        return Style(computed, geometry or INITIAL.geometry, custom, font_size)


def value_is_own(value: object) -> bool:
    """Return whether a declared value is more than a word about inheriting."""
    return not (isinstance(value, str) and value in CSS_WIDE)


def _declare(values: dict[str, Any], name: str, text: str, origin: Origin, custom: Mapping[str, str]) -> None:
    variable = "var(" in text
    if variable:
        text = _substituted(text, custom) or "unset"
    if len(text) <= len("revert-layer") and text.lower() in CSS_WIDE:
        values[name] = text.lower()
        return
    parsed = parse_value(name, text, origin)
    if parsed is not None:
        values[name] = parsed
    elif variable:
        # Whether it is right is only known now, too late for the value before it: it is as if not set at all.
        values[name] = "unset"


def _custom(declared: Iterable[Declared], inherited: Mapping[str, str]) -> Mapping[str, str]:
    own = {d.name: d.text for d in declared if d.name.startswith("--")}
    if not own:
        return inherited
    merged = {**inherited, **own}
    for name, text in own.items():
        if text.lower() in CSS_WIDE:
            if text.lower() == "initial" or name not in inherited:
                del merged[name]
            else:
                merged[name] = inherited[name]
        elif "var(" in text:
            resolved = _substituted(text, {n: t for n, t in merged.items() if n != name})
            if resolved is None:
                del merged[name]
            else:
                merged[name] = resolved
    return merged


_VARIABLE: Final = re.compile(r"var\(\s*(--[^\s,()]+)\s*(?:,([^()]*(?:\([^()]*\)[^()]*)*))?\)")
_MOST_TEXT: Final = 10_000


def _substituted(text: str, custom: Mapping[str, str]) -> str | None:
    """Return the text with every var() replaced, or None when one has neither value nor fallback."""
    for _ in range(20):
        match = _VARIABLE.search(text)
        if match is None:
            return text.strip() if "var(" not in text else None
        value = custom.get(match[1], match[2])
        if value is None or len(text) > _MOST_TEXT:
            return None
        before, behind = text[: match.start()], text[match.end() :]
        # A variable holds whole words: what stands right beside it is another one.
        text = (
            before
            + " " * before[-1:].isalnum()
            + value
            + " " * (behind[:1].isalnum() or behind[:1] == "%")
            + behind
        )
    return None


def parse_declarations(text: str) -> tuple[Declared, ...]:
    """Return the declarations of a style attribute, shorthands opened."""
    check_length(len(text))
    if not any(c in text for c in "\\\"'/!{(["):
        found = []
        for item in text.split(";"):
            name, colon, value = item.partition(":")
            name, value = name.strip(), value.strip()
            if colon and (value or name.startswith("--")):
                found.append(
                    Declared(name if name.startswith("--") else name.lower(), value, important=False)
                )
        return expanded(found)
    return declarations_of(block_contents(text))


def declarations_of(items: Iterable[Any]) -> tuple[Declared, ...]:
    """Return the declarations among parsed contents of a block, shorthands opened."""
    import tinycss2

    return expanded(
        Declared(
            item.name if item.name.startswith("--") else item.lower_name,
            tinycss2.serialize([t for t in item.value if t.type != "comment"]).strip(),
            bool(item.important),
        )
        for item in items
        if item.type == "declaration"
    )


_FONT_SIZE: Final = re.compile(
    r"(?:^|\s)((?:[\d.]+(?:[a-z]+|%))|(?:x{0,3}-)?(?:small|large)|medium|smaller|larger)(?:\s*/\s*\S+)?\s+\S",
    re.IGNORECASE,
)


def expanded(declared: Iterable[Declared]) -> tuple[Declared, ...]:
    """Open the shorthands that matter here: `marker`, `font` (for its size) and `all`."""
    found: list[Declared] = []
    for d in declared:
        if d.name == "marker":
            found.extend(Declared(name, d.text, d.important) for name in _MARKERS)
        elif d.name == "font":
            size = _FONT_SIZE.search(d.text)
            if size is not None:
                found.append(Declared("font-size", size[1], d.important))
        elif d.name == "all":
            found.extend(
                Declared(name, d.text, d.important) for name in PROPERTIES if d.text.lower() in CSS_WIDE
            )
        else:
            found.append(d)
    return tuple(found)
