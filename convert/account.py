"""An account of a drawing in plain words: what is in it, what was left out and why, what to know of the rest.

It is told to a maker who asks (`inspect`), and stands in the manifest for other programs. The reader's
remarks are in it, and of the block's those on how the drawing was understood; whether the block can be
pieced is another matter.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from convert.errors import Severity
from convert.reader.contents import Mention, Noticed, listed
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator

    from convert.errors import Finding
    from convert.reader.contents import Layer
    from convert.reader.drawing import Drawing

_LEFT_OUT: Final = frozenset({
    "READ-028", "READ-030", "READ-031", "READ-032", "READ-033", "READ-043", "READ-044", "READ-047",
    "READ-050", "READ-051", "READ-052", "READ-053", "READ-056", "READ-057", "READ-058", "READ-059",
    "READ-062", "BLOCK-003", "BLOCK-006", "BLOCK-009", "BLOCK-013", "BLOCK-014", "BLOCK-023", "BLOCK-024",
    "BLOCK-026", "BLOCK-030",
})  # fmt: skip
_UNDERSTOOD: Final = frozenset({
    "BLOCK-005", "BLOCK-008", "BLOCK-015", "BLOCK-020", "BLOCK-021", "BLOCK-022", "BLOCK-032", "BLOCK-033",
})  # fmt: skip
_ABOUT_ELEMENTS: Final = frozenset({"BLOCK-005", "BLOCK-006", "BLOCK-013", "BLOCK-030"})
"""Remarks that begin with the name of their element."""
_OF_LEAST_USE: Final = frozenset({"READ-062", "READ-058", "READ-059"})
_MOST_LAYERS: Final = 15
_MOST_TEXTS: Final = 8
_RANK: Final = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def is_told(finding: Finding) -> bool:
    """Return whether an account tells a finding; errors are told by themselves."""
    about = finding.code.startswith("READ-") or finding.code in _LEFT_OUT | _UNDERSTOOD
    return about and finding.severity is not Severity.ERROR


def told(
    drawing: Drawing, remarks: Iterable[Finding] = (), settled: Container[str] = ()
) -> tuple[Noticed, ...]:
    """Return what there is to tell of a drawing and, of the remarks on its block, how it was understood.

    Remarks with codes in `settled` are left out. What is of least use to know comes last.
    """
    found = [
        replace(n, what=n.what + _named(n.elements))
        for n in drawing.contents.noticed
        if n.code not in settled
    ]
    kinds: dict[str, list[Finding]] = {}
    for finding in remarks:
        if is_told(finding) and not finding.code.startswith("READ-"):
            kinds.setdefault(finding.code, []).append(finding)
    found += [_together(kind) for kind in kinds.values()]
    return tuple(sorted(found, key=lambda each: (_RANK[each.severity], each.code in _OF_LEAST_USE)))


def _named(elements: tuple[Mention, ...]) -> str:
    """Return the one element that a sentence about one leaves to be named, and its line."""
    if len(elements) != 1:
        return ""
    called, line = elements[0].called, elements[0].line
    return f" ({called})" if line is None or " on line " in called else f" ({called}, line {line})"


def _together(kind: list[Finding]) -> Noticed:
    """Return findings of one kind as one."""
    first, *others = kind
    named = [Mention(f.place.element, f.place.line) for f in kind if f.place.element]
    mentions = tuple(dict.fromkeys(named))
    what = first.what
    if first.code in _ABOUT_ELEMENTS and what.startswith(f"{mentions[0].element} "):
        what = mentions[0].called + what[len(mentions[0].element) :]
    if first.place.at is not None:
        x, y = (round(v, 1) + 0.0 for v in first.place.at)
        what += f" ({x:g} mm from the left and {y:g} mm from the top of the page)"
    if others and len(mentions) == len(kind):
        what += f"; the same holds for {listed(mentions[1:])}"
    elif others:
        what += f"; there {'are' if len(others) > 1 else 'is'} {len(others)} more like it"
    return Noticed(first.code, first.severity, what, first.advice, None, mentions)


def lines(drawing: Drawing, remarks: Iterable[Finding] = (), settled: Container[str] = ()) -> Iterator[str]:
    """Yield the account, a line at a time."""
    every = told(drawing, remarks, settled)
    yield "What is in the drawing:"
    yield from (f"  {line}" for line in _inventory(drawing))
    left_out = [each for each in every if each.code in _LEFT_OUT]
    yield ""
    yield "What was left out, and why:"
    yield from (f"  - {_sentence(each)}" for each in left_out)
    if not left_out:
        yield "  Nothing."
    others = [each for each in every if each.code not in _LEFT_OUT]
    if others:
        yield ""
        yield "What else to know:"
        yield from (f"  - {_sentence(each)}" for each in others)


def _inventory(drawing: Drawing) -> Iterator[str]:
    width, height = (format_mm(side, digits=2) for side in drawing.page)
    size = f"a page of {width} x {height}"
    if any(n.code == "READ-015" for n in drawing.contents.noticed):
        size += " (a guess: the drawing does not say how large it is)"
    filled = sum(element.fill is not None for element in drawing.elements)
    seen = len(drawing.elements)
    yield f"{_many(seen, 'shape')} on {size}: {filled} filled, {seen - filled} drawn as lines only."
    layers = drawing.contents.layers
    shown = layers if len(layers) <= _MOST_LAYERS else [layer for layer in layers if len(layer.path) == 1]
    for layer in shown[:_MOST_LAYERS]:
        yield f"{'  ' * (len(layer.path) - 1)}Layer {layer.path[-1]!r}: {_in_layer(layer)}."
    if len(layers) > len(shown[:_MOST_LAYERS]):
        more = len(layers) - len(shown[:_MOST_LAYERS])
        yield f"{_many(more, 'more layer')} and groups with names; --json lists them all."
    if layers and drawing.contents.loose:
        yield f"In no layer: {_many(drawing.contents.loose, 'shape')}."
    if drawing.texts:
        texts = [repr(text.text) for text in drawing.texts]
        more_texts = f" and {len(texts) - _MOST_TEXTS} more" if len(texts) > _MOST_TEXTS else ""
        yield f"{_many(len(texts), 'text')}: {', '.join(texts[:_MOST_TEXTS])}{more_texts}."
    pictures = sum(len(n.elements) for n in drawing.contents.noticed if n.code == "READ-031")
    if pictures:
        yield f"{_many(pictures, 'picture')} or the like."


def _in_layer(layer: Layer) -> str:
    if not layer.seen:
        return f"{_many(layer.left_out, 'shape')}, all left out" if layer.left_out else "empty"
    return _many(layer.seen, "shape") + (f", and {layer.left_out} left out" if layer.left_out else "")


def values(drawing: Drawing, remarks: Iterable[Finding] = (), settled: Container[str] = ()) -> dict[str, Any]:
    """Return the account as values that JSON can hold."""
    every = told(drawing, remarks, settled)
    filled = sum(element.fill is not None for element in drawing.elements)
    return {
        "page": [round(side, 6) + 0.0 for side in drawing.page],
        "unit": drawing.unit,
        "sized": drawing.sized,
        "shapes": {"filled": filled, "lines": len(drawing.elements) - filled},
        "layers": [
            {"path": list(one.path), "seen": one.seen, "left_out": one.left_out, "guide": one.guide}
            for one in drawing.contents.layers
        ],
        "in_no_layer": drawing.contents.loose,
        "texts": [{"text": t.text, "element": t.element, "line": t.line} for t in drawing.texts],
        "left_out": [_value(each) for each in every if each.code in _LEFT_OUT],
        "notes": [_value(each) for each in every if each.code not in _LEFT_OUT],
    }


def _value(each: Noticed) -> dict[str, Any]:
    return {
        "code": each.code,
        "severity": each.severity.value,
        "what": each.what,
        "advice": each.advice,
        "layer": each.layer,
        "elements": [{"element": mention.element, "line": mention.line} for mention in each.elements],
    }


def _many(number: int, word: str) -> str:
    return f"{number} {word}" + ("" if number == 1 else "s")


def _sentence(each: Noticed) -> str:
    """Return it as one line."""
    line = f"{each.what}." + (f" {each.advice}." if each.advice else "")
    return line[:1].upper() + line[1:]
