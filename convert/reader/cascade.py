"""Style as a browser computes it: attributes, style sheets and style="", with inheritance.

*Source*: CSS Cascading and Inheritance (origin, importance, specificity, order), SVG 2, 6 (presentation
attributes count as author rules of specificity 0 that come first). Selectors are matched by cssselect2.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cssselect2
import tinycss2
import tinycss2.color4

from convert.reader.lengths import Context, split_length, user_units

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from xml.etree.ElementTree import Element

    Declarations = list[tuple[str, str, bool]]

INHERITED = {
    "color": "black",
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "font-size": "medium",
    "stroke": "none",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "text-anchor": "start",
    "visibility": "visible",
    "clip-rule": "nonzero",
}
"""Properties that pass on to descendants, with their initial values."""
OWN = {
    "clip-path": "none",
    "display": "inline",
    "filter": "none",
    "mask": "none",
    "opacity": "1",
    "overflow": "",
    "transform": "",
    "transform-box": "view-box",
    "transform-origin": "",
    "vector-effect": "none",
    "x": "",
    "y": "",
    "width": "",
    "height": "",
    "rx": "",
    "ry": "",
    "cx": "",
    "cy": "",
    "r": "",
    "d": "",
}
"""Properties of one element only; "" where the attribute decides."""
_FONT_SIZES = {
    "xx-small": 9.6,
    "x-small": 12.0,
    "small": 13.0,
    "medium": 16.0,
    "large": 18.0,
    "x-large": 24.0,
    "xx-large": 32.0,
    "smaller": 0.0,
    "larger": 0.0,
}
_GEOMETRY = frozenset({"x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "d"})
_PRESENTATION = (frozenset(INHERITED) | frozenset(OWN)) - _GEOMETRY - {"transform"}


@dataclass(frozen=True, slots=True)
class Style:
    """Computed values of one element. Paints are `#rrggbb`, `url(#id)` or None; opacities 0 to 1.

    `opacity` is the product of this element's and its ancestors'. `own` holds the element's own
    declared values of properties that don't inherit.
    """

    values: Mapping[str, str]
    own: Mapping[str, str]
    opacity: float
    font_size: float
    shown: bool

    def paint(self, name: str) -> tuple[str | None, float]:
        """Return the paint of "fill" or "stroke" and its opacity, without the element's own `opacity`."""
        text = self.values[name]
        colour, alpha = _paint(text, self.values["color"])
        return colour, alpha * _share(self.values[name + "-opacity"])


ROOT = Style(INHERITED, OWN, 1.0, 16.0, shown=True)


@dataclass(slots=True)
class StyleSheet:
    """The rules of all <style> elements of a document, in order. `skipped` names at-rules not obeyed."""

    matcher: cssselect2.Matcher = field(default_factory=cssselect2.Matcher)
    has_rules: bool = False
    skipped: list[str] = field(default_factory=list)

    def add(self, text: str) -> None:
        """Add one <style> element's text."""
        for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
            if rule.type == "qualified-rule":
                self._add_rule(rule)
            elif rule.type == "at-rule":
                media = tinycss2.serialize(rule.prelude).strip().lower()
                if rule.lower_at_keyword == "media" and media in ("all", "screen", ""):
                    self.add(tinycss2.serialize(rule.content or []))
                elif rule.lower_at_keyword != "charset":
                    self.skipped.append("@" + rule.at_keyword)

    def _add_rule(self, rule: tinycss2.ast.QualifiedRule) -> None:
        declared = _declarations(rule.content)
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude)
        except cssselect2.SelectorError:
            self.skipped.append(tinycss2.serialize(rule.prelude).strip())
            return
        for selector in selectors:
            self.matcher.add_selector(selector, declared)
            self.has_rules = True


def _declarations(content: object) -> Declarations:
    items = tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True)
    return [
        (item.lower_name, tinycss2.serialize(item.value).strip(), item.important)
        for item in items
        if item.type == "declaration"
    ]


def parse_style_attribute(text: str) -> Declarations:
    """Return name, value and importance of each declaration in style=""."""
    if any(c in text for c in "\\\"'/!{("):
        return _declarations(text)
    found = []
    for item in text.split(";"):
        name, colon, value = item.partition(":")
        if colon and value.strip():
            found.append((name.strip().lower(), value.strip(), False))
    return found


def computed(
    element: Element,
    wrapped: cssselect2.ElementWrapper | None,
    sheet: StyleSheet,
    parent: Style,
    context: Context,
) -> Style:
    """Return an element's style, given its parent's. `wrapped` is needed only when the sheet has rules."""
    declared: dict[str, str] = {}
    for name, value in element.items():
        if name in _PRESENTATION:
            declared[name] = value.strip()
    normal, important = _from_rules(wrapped, sheet)
    text = element.get("style")
    if text:
        own = parse_style_attribute(text)
        normal.extend((n, v) for n, v, strong in own if not strong)
        important.extend((n, v) for n, v, strong in own if strong)
    declared.update((name, value) for name, value in (*normal, *important) if _is_valid(name, value))
    if not declared:
        return Style(parent.values, OWN, parent.opacity, parent.font_size, parent.shown)
    return _resolved(declared, parent, context)


def _from_rules(
    wrapped: cssselect2.ElementWrapper | None, sheet: StyleSheet
) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    normal: list[tuple[str, str]] = []
    important: list[tuple[str, str]] = []
    if wrapped is not None and sheet.has_rules:
        for _, _, pseudo, declared in sheet.matcher.match(wrapped):
            if pseudo is None:
                normal.extend((n, v) for n, v, strong in declared if not strong)
                important.extend((n, v) for n, v, strong in declared if strong)
    return normal, important


def _resolved(declared: Mapping[str, str], parent: Style, context: Context) -> Style:
    values, own = dict(parent.values), dict(OWN)
    for name, value in declared.items():
        word = value.lower()
        if name in INHERITED:
            if word in ("inherit", "unset", "revert"):
                continue
            values[name] = INHERITED[name] if word == "initial" else value
        elif name in OWN and word not in ("initial", "unset", "revert"):
            own[name] = parent.own.get(name, OWN[name]) if word == "inherit" else value
    font_size = _font_size(values["font-size"], parent) if "font-size" in declared else parent.font_size
    if values["color"].lower() == "currentcolor":
        values["color"] = parent.values["color"]
    # Relative widths are resolved where they are declared, then inherited as lengths.
    width = user_units(values["stroke-width"], Context(context.width, context.height, font_size), "other")
    values["stroke-width"] = (
        repr(width) if width is not None and width >= 0.0 else parent.values["stroke-width"]
    )
    shown = parent.shown and own["display"].lower() != "none"
    return Style(values, own, parent.opacity * _share(own["opacity"]), font_size, shown)


def _font_size(text: str, parent: Style) -> float:
    word = text.lower()
    if word in ("smaller", "larger"):
        return parent.font_size * (1.2 if word == "larger" else 1.0 / 1.2)
    if word in _FONT_SIZES:
        return _FONT_SIZES[word]
    parts = split_length(text)
    if parts is not None and parts[1] == "%":
        return parent.font_size * parts[0] / 100.0
    size = user_units(text, Context(0.0, 0.0, parent.font_size), "other")
    return parent.font_size if size is None else size


def _is_valid(name: str, value: str) -> bool:
    """Return whether a declaration counts: an invalid one leaves the one before it in force."""
    word = value.lower()
    if word in ("inherit", "initial", "unset", "revert"):
        return True
    if name in ("fill", "stroke"):
        return (
            word in ("none", "currentcolor", "context-fill", "context-stroke")
            or word.startswith("url(")
            or (tinycss2.color4.parse_color(value) is not None)
        )
    if name in ("opacity", "fill-opacity", "stroke-opacity"):
        return split_length(value) is not None
    if name == "fill-rule":
        return word in ("nonzero", "evenodd")
    if name == "visibility":
        return word in ("visible", "hidden", "collapse")
    return bool(value)


_COLOURS: dict[str, tuple[str, float] | None] = {}
"""Colours already worked out, by their text."""


def _paint(text: str, current: str) -> tuple[str | None, float]:
    word = text.strip()
    low = word.lower()
    if low in ("none", "context-fill", "context-stroke"):
        return None, 1.0
    if low == "currentcolor":
        word = current
    if low.startswith("url("):
        return word[: word.index(")") + 1].replace('"', "").replace("'", "") if ")" in word else None, 1.0
    if word not in _COLOURS:
        _COLOURS[word] = _colour(word)
    found = _COLOURS[word]
    # An attribute that is no paint falls back to the property's initial behaviour: nothing is drawn wrong.
    return found if found is not None else ("#000000", 1.0)


def _colour(text: str) -> tuple[str, float] | None:
    colour = tinycss2.color4.parse_color(text)
    if colour is None or isinstance(colour, str):
        return None
    red, green, blue = (min(max(round(255 * v), 0), 255) for v in colour.to("srgb").coordinates)
    return f"#{red:02x}{green:02x}{blue:02x}", float(colour.alpha)


def _share(text: str) -> float:
    parts = split_length(text)
    if parts is None:
        return 1.0
    value = parts[0] / 100.0 if parts[1] == "%" else parts[0]
    return min(max(value, 0.0), 1.0)


def style_texts(root: Element) -> Iterator[str]:
    """Return the texts of all <style> elements anywhere in the document."""
    for element in root.iter():
        tag = element.tag
        if (
            isinstance(tag, str)
            and tag.rpartition("}")[2] == "style"
            and element.get("type") in (None, "", "text/css")
        ):
            yield "".join(element.itertext())
