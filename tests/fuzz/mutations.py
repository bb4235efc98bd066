"""Changes to drawings that nobody would make: of bytes, numbers, path data, attributes, elements and style rules.

`mutated(data, chance, others)` is a function of its arguments alone: a seed names a mutant for good.
"""

# ruff: noqa: E501, SIM905 - tables of texts
from __future__ import annotations

import gzip
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

NUMBERS = (
    "0 -0 1 -1 2 10 .5 -.5 100 90 45 180 360 -360 1e4 1e6 999999 1e7 1e9 1e12 1e15 1e16 1e50 1e99 1e100 1e101 1e154 "
    "1e155 1e160 1e200 1e300 1e308 -1e308 1e309 1.7976931348623157e308 5e-324 2.2250738585072014e-308 1e-320 1e-308 "
    "1e-300 1e-160 1e-100 1e-50 1e-16 1e-15 1e-12 1e-9 1e-6 1e-4 1e-3 .01 .1 .30000000000000004 3.0000000001 "
    f"-1e-9 nan NaN inf -inf infinity {'9' * 30} {'9' * 400} 1.{'0' * 40}1 0x10 1_0 1. .e1 1e 1e+ +-1 ٣ 50% -50% 1e9% "
    "1em 2ex 1rem 1ch 10mm 1in 1pt 3Q auto none calc(1px+2%) calc(1e308px*10) calc(1px/0) var(--x)"
).split(" ")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_TAG = re.compile(r"<(/?)([a-zA-Z][\w:.-]*)((?:[^<>\"']|\"[^\"]*\"|'[^']*')*?)(/?)>")
_ATTRIBUTE = re.compile(r"([\w:.-]+)(\s*=\s*)(\"[^\"]*\"|'[^']*')")
_COMMAND = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}

_COLOURS = (
    "none red #000 #fff #ffffff black white currentColor transparent url(#a) url(#a)red rgb(1,2,3) rgba(9,9,9,.5) "
    "hsl(1e99deg,1%,1%) hsl(none,none,none) color-mix(in,red) #12345 inherit context-fill rgb(1e400,nan,0) oklch(.5,1,1)"
).split(" ")
_VALUES: dict[str, Sequence[str]] = {
    "fill": _COLOURS,
    "stroke": _COLOURS,
    "color": _COLOURS,
    "opacity": ("0", ".5", "1", "50%", "1e-320", "-1", "nan"),
    "fill-opacity": ("0", ".5", "1"),
    "stroke-opacity": ("0", ".5", "1"),
    "fill-rule": ("evenodd", "nonzero", "x"),
    "clip-rule": ("evenodd", "nonzero"),
    "display": ("none", "inline", "contents", "flex"),
    "visibility": ("hidden", "visible", "collapse"),
    "overflow": ("visible", "hidden", "auto", "scroll"),
    "stroke-width": ("0", "1", "1e300", "1e-300", ".2", "10%", "3em", "-1"),
    "stroke-dasharray": ("none", "1 2", "0", "nan"),
    "vector-effect": ("non-scaling-stroke", "none"),
    "font-size": ("0", "1e300", "larger", "120%", "medium", "1rem", "2em"),
    "text-anchor": ("middle", "end"),
    "clip-path": (
        "url(#a)", "url(#c)", "circle(5px)", "circle(50%)", "inset(10%)", "inset(1px round 2px)", "ellipse(9px 5px at 1px 2px)",
        "polygon(0 0,9px 0,0 90%)", "polygon(evenodd,0 0,9px 9px)", "path('M0 0L9 0L0 9z')", "circle(1e300px) fill-box", "rect(0 9px 9px 0)",
        "circle(closest-side)", "xywh(1px 1px 5% 5%)", "none",
    ),
    "mask": ("url(#a)", "url(#m)", "none"),
    "filter": ("url(#a)", "blur(2px)", "none"),
    "marker-end": ("url(#a)", "none"),
    "transform": (
        "scale(0)", "scale(-1,1)", "scale(1e300)", "scale(1e-300)", "rotate(45)", "rotate(1e17)", "rotate(30,1e9,1e9)", "skewX(90)",
        "skewY(89.9999)", "matrix(1 0 0 1 1e300 0)", "matrix(1 1 1 1 0 0)", "matrix(1,0,0,1e-9,0,0)", "translate(50%)", "translate(1e15 0)",
        "rotate(30deg)", "translate(10px,2em)", "matrix(0 0 0 0 0 0)", "none", "perspective(1px)", "rotate()", "scale(1.0000001)",
    ),
    "transform-origin": ("center", "1e300px 0", "left top", "50% 50%", "0 0 1px", "bottom"),
    "transform-box": ("fill-box", "stroke-box", "view-box", "border-box", "content-box"),
    "style": (
        "fill:red", "transform:rotate(1deg)", "transform-box:fill-box;transform-origin:center;transform:rotate(9deg)", "stroke:red!important",
        "d:path('M0 0h9v9z')", "x:5px;width:1e9px", "width:50", "--x:1;fill:var(--x)", ";;:;", "fill:url(", "transform:translate(1e308px,0)",
        "clip-path:circle(40%)", "all:initial", "r:1e160px", "font:12px x;", "fill:\"", "stroke-width:calc((1px + 2px)*3)", "/*",
    ),
    "viewBox": ("0 0 0 0", "0 0 1e-300 1", "0 0 1e308 1e-308", "0 0 100 100", "-1e9 0 9 9", "0,0,5", "1e15 1e15 1 1", "0 0 3 1e9"),
    "preserveAspectRatio": ("none", "xMinYMax slice", "xMidYMid meet", "defer none"),
    "href": ("#a", "#", "", "#c", "other.svg#a", "file:///etc/hostname", "http://example.invalid/a.svg#b", "data:,x"),
    "xlink:href": ("#a", "#c"),
    "id": ("a", "c", "m", "", "guides", "a b"),
    "class": ("a", "k m", ""),
    "points": ("0 0", "0,0 9,0 9,9", "0 0 9 0 9 9 0 9 0 0", "1 2 3", "0 0 1e308 0 0 1e308", "0 0 0 0 0 0", "0 0 5 5 5 0 0 5"),
    "d": (
        "M0 0", "M0 0z", "M0 0L1e308 1e308L-1e308 0z", "M10 10A1e9 1e9 0 0 1 60 10", "M1 1h9v9h-9zM1 1h9v9h-9z", "M0 0C9 9-9 9 0 0",
        "M0 0C5 5 5 5 9 9z", "M0 0Q1e-320 1 2 2z", "M0 0A5 1e-300 30 1 1 9 9", "M0 0A1e308 1e308 45 1 0 1 1", "M9 9m1 1zl3 3h2z",
        "M0 0h9v9h-9v-9h9v9z", "M0 0C1e99 0 0 1e99 1 1z", "M0 0a5 5 0 1 1 1e-12 0z", "M5 5T9 9 1 1S3 3 2 2z", "none", "m0 0t1 1",
        "M0 0H100V100H0zM10 10H90V90H10zM20 20H80V80H20z", "M0 0C0 0 0 0 9 0C9 0 9 0 0 9z",
    ),
    "systemLanguage": ("en", "de", ""),
    "requiredExtensions": ("", "x"),
    "clipPathUnits": ("objectBoundingBox", "userSpaceOnUse"),
    "maskContentUnits": ("objectBoundingBox",),
    "gradientUnits": ("userSpaceOnUse",),
    "pathLength": ("0", "1e-300", "nan"),
    "media": ("print", "screen", "(min-width:1px)"),
    "xml:space": ("preserve",),
    "xmlns": ("", "http://www.w3.org/2000/svg", "urn:x"),
    "xmlns:q": ("urn:q", "http://www.w3.org/2000/svg"),
    "x": NUMBERS, "y": NUMBERS, "width": NUMBERS, "height": NUMBERS, "r": NUMBERS, "rx": NUMBERS, "ry": NUMBERS, "cx": NUMBERS,
    "cy": NUMBERS, "x1": NUMBERS, "y2": NUMBERS,
}  # fmt: skip
_NAMES = sorted(_VALUES)
_WRAPS = (
    "g", "g", "svg", "svg", "symbol", "a", "switch", "defs", "clipPath", "mask", "marker", "pattern", "text", "foreignObject", "linearGradient", "unknown",
    "q:g", "style", "metadata", "tspan", "use",
)  # fmt: skip
_PIECES = (
    '<use href="#a"/>', '<use href="#a" x="9" y="9" width="50" height="1e9"/>', '<circle id="a" cx="50" cy="50" r="30"/>',
    '<rect id="a" x="10" y="10" width="40" height="40" rx="9"/>', '<path id="a" d="M0 0h50v50h-50z"/>', '<line x2="90" y2="90" stroke="red"/>',
    '<line x1="50" y1="0" x2="50" y2="100" stroke="#000"/>', '<path d="M0 50H100" fill="none" stroke="#000"/>', '<ellipse cx="40" cy="40" rx="30" ry="1e-9"/>',
    '<polyline points="0,0 90,0 90,90" fill="none" stroke="red"/>', '<polygon points="0,0 90,0 90,90"/>', '<text x="20" y="30">B <tspan x="1">c</tspan></text>',
    '<clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath>', '<clipPath id="c" clip-path="url(#c)"><use href="#a"/></clipPath>',
    '<mask id="m"><rect width="60" height="60" fill="#fff"/></mask>', '<symbol id="a" viewBox="0 0 9 9"><circle r="5"/></symbol>',
    '<svg id="a" viewBox="0 0 9 9" width="30" height="30"><rect width="9" height="9"/></svg>', "<style>*{fill:red}</style>", "<title>T</title>",
    '<style>@media screen{g>rect{stroke:red}}@import url("x.css");.a:not(#a)~*{fill:blue}</style>', '<image width="9" height="9"/>', '<rect width="100%" height="100%" fill="#fff"/>',
    '<linearGradient id="a"/>', '<pattern id="a"><path d="M0 0h9"/></pattern>', '<marker id="a"><path d="M0 0h9"/></marker>', "<animate/>", "<desc>x</desc>",
    '<path d="M0 0H100V100H0zM4 4V48H48V4zM52 4V48H96V4zM4 52V96H48V52zM52 52V96H96V52z"/>', '<rect x="20" y="49.5" width="60" height="1"/>',
    "<?xml-stylesheet href='a.css'?>", "<!-- c -->", "<![CDATA[x]]>", "<!DOCTYPE svg>", "&amp;", "&x;", "&#0;", "\0", "é", "<", ">", '"', "]]>", "</g>", "<g>",
    '<script>x</script>', '<q:g xmlns:q="urn:q"/>', '<switch><g systemLanguage="de"/><rect width="9" height="9"/></switch>', '<path d="',
)  # fmt: skip
_SELECTORS = (
    "*",
    "rect",
    "path",
    "#a",
    ".a",
    "g>*",
    "g *",
    "svg|g",
    ":root",
    ":nth-child(2n+1)",
    "[fill]",
    "a:is(b",
    "rect+rect",
    ":not(",
    ":empty",
    "",
)
_LEADS = (
    b"\xef\xbb\xbf", b"\xff\xfe", b'<?xml version="1.0" encoding="utf-16"?>', b'<?xml version="1.0" encoding="latin-1"?>', b"<!DOCTYPE svg [<!ENTITY x 'y'>]>",
    b'<!DOCTYPE svg SYSTEM "x.dtd">', b"\0", b" ", b"\x1f\x8b", b'<?xml version="1.1"?>', b'<?xml version="1.0" encoding="utf-7"?>',
)  # fmt: skip


def mutated(data: bytes, chance: Random, others: Sequence[bytes], most: int = 4) -> bytes:
    """Return `data` with one to `most` changes; parts of `others` may come into it."""
    if chance.random() < 0.03:
        return _recoded(data, chance)
    text = data.decode("utf-8", "surrogateescape")
    for _ in range(chance.randint(1, most)):
        change = chance.choices(_CHANGES, _WEIGHTS)[0]
        text = change(text, chance, others)
    return text.encode("utf-8", "surrogateescape")


def _recoded(data: bytes, chance: Random) -> bytes:
    """Change how a file begins, its encoding or its packing."""
    way = chance.randrange(5)
    if way == 0:
        packed = gzip.compress(data, 1, mtime=0)
        return packed if chance.random() < 0.5 else packed[: chance.randrange(len(packed))] + b"x"
    if way == 1:
        return data.decode("utf-8", "replace").encode(
            chance.choice(("utf-16", "utf-16-le", "utf-32", "utf-7"))
        )
    return chance.choice(_LEADS) + data


def _place(text: str, chance: Random) -> int:
    """Return a place between tags, mostly, so that the file stays XML."""
    if chance.random() < 0.9:
        ends = [m.end() for m in _TAG.finditer(text)]
        if ends:
            return chance.choice(ends)
    return chance.randint(0, len(text))


def _bytes(text: str, chance: Random, _: Sequence[bytes]) -> str:
    at = chance.randint(0, len(text))
    way = chance.randrange(4)
    if way == 0:
        return text[:at] + text[at + chance.randint(1, 20) :]
    if way == 1:
        return (
            text[:at]
            + chr(chance.choice((0, 9, 32, 34, 38, 60, 62, 127, 0xDC80, 0x3B1, chance.randrange(128))))
            + text[at:]
        )
    if way == 2:
        return text[:at] + text[at : at + chance.randint(1, 60)] * 2 + text[at + 60 :]
    return text[:at] + chr(chance.randrange(32, 127)) + text[at + 1 :]


def _one_number(word: str, chance: Random) -> str:
    way = chance.random()
    if way < 0.4:
        return chance.choice(NUMBERS)
    try:
        value = float(word)
    except ValueError:
        return chance.choice(NUMBERS)
    if way < 0.7:
        value *= chance.choice((-1.0, 0.0, 2.0, 0.5, 10.0, 1e-3, 1e3, 1.0 + 1e-9, 1.0 - 1e-12, 1.001, 1e6))
    elif way < 0.9:
        value += chance.choice((1e-9, -1e-6, 1e-4, 0.001, -0.01, 0.1, 1.0, -5.0, 50.0))
    else:
        value = float(f"{value:.0f}")
    return repr(value)


def _number(text: str, chance: Random, _: Sequence[bytes]) -> str:
    found = list(_NUMBER.finditer(text))
    for _try in range(chance.choice((1, 1, 1, 2, 5))):
        if not found:
            break
        at = chance.choice(found)
        new = chance.choice(found)[0] if chance.random() < 0.25 else _one_number(at[0], chance)
        text = text[: at.start()] + new + text[at.end() :]
        found = list(_NUMBER.finditer(text))
    return text


def _arguments(letter: str, chance: Random) -> str:
    count = _COUNTS[letter.upper()] * chance.choice((1, 1, 1, 2, 3))
    plain = chance.random() < 0.8
    values = [
        str(round(chance.uniform(-40, 100), chance.choice((0, 1, 6)))) if plain else chance.choice(NUMBERS)
        for _ in range(count)
    ]
    if letter.upper() == "A":
        for at in range(0, count, 7):
            values[at + 3 : at + 5] = chance.choice(("0", "1")), chance.choice(("0", "1"))
    if chance.random() < 0.05:
        values.append("1")
    return chance.choice((" ", ",", " , ")).join(values)


def _path(text: str, chance: Random, others: Sequence[bytes]) -> str:
    """Change commands of path data."""
    found = [m for m in _ATTRIBUTE.finditer(text) if m[1] == "d"]
    if not found:
        return _attribute(text, chance, others)
    at = chance.choice(found)
    quote, inner = at[3][0], at[3][1:-1]
    parts = [[m[1], m[2]] for m in _COMMAND.finditer(inner)] or [["M", "0 0"]]
    k = chance.randrange(len(parts))
    way = chance.randrange(9)
    if way == 0:
        del parts[k]
    elif way in (1, 2):
        letter = chance.choice("MmLlHhVvCcSsQqTtAaZz")
        parts.insert(k + 1, [letter, _arguments(letter, chance)])
    elif way == 3:
        parts[k][0] = parts[k][0].swapcase()
    elif way == 4:
        parts.insert(chance.randint(0, len(parts)), list(parts[k]))
    elif way == 5:
        parts[k:] = reversed(parts[k:])
    elif way == 6:
        parts[k][0] = chance.choice("LlCcSsQqTtAaZz")
    elif way == 7:
        words = parts[k][1].replace(",", " ").split()
        if words:
            place = chance.randrange(len(words))
            words[place] = _one_number(words[place], chance)
            parts[k][1] = " ".join(words)
    else:
        parts += parts
    new = "".join(letter + values for letter, values in parts)
    return text[: at.start(3)] + quote + new + quote + text[at.end(3) :]


def _value(name: str, text: str, chance: Random) -> str:
    value = chance.choice(_VALUES.get(name) or NUMBERS)
    if name.startswith("transform") and chance.random() < 0.4:
        call = chance.choice(("translate", "scale", "rotate", "skewX", "matrix"))
        count = {"translate": 2, "scale": 2, "rotate": chance.choice((1, 3)), "skewX": 1, "matrix": 6}[call]
        value += f" {call}({' '.join(chance.choice(NUMBERS[:30]) for _ in range(count))})"
    if "#a" in value and chance.random() < 0.7:
        ids = re.findall(r"\bid=[\"']([^\"']+)", text)
        value = value.replace("#a", "#" + chance.choice(ids)) if ids else value
    return value.replace('"', "'")


def _attribute(text: str, chance: Random, _: Sequence[bytes]) -> str:
    """Add, drop, double, change or swap attributes."""
    tags = [m for m in _TAG.finditer(text) if not m[1]]
    if not tags:
        return text
    tag = chance.choice(tags)
    own = list(_ATTRIBUTE.finditer(text, tag.start(3), tag.end(3)))
    way = chance.random()
    if not own or way < 0.45:
        name = chance.choice(_NAMES)
        at = tag.end(2)
        for m in own:
            if m[1] == name:
                return text[: m.start(3)] + f'"{_value(name, text, chance)}"' + text[m.end(3) :]
        return text[:at] + f' {name}="{_value(name, text, chance)}"' + text[at:]
    m = chance.choice(own)
    if way < 0.65:
        return text[: m.start()] + text[m.end() :]
    if way < 0.85:
        return text[: m.start(3)] + f'"{_value(m[1], text, chance)}"' + text[m.end(3) :]
    if way < 0.95:
        # Read from the start, quotes may pair otherwise, so that not even this one is among them.
        same = [n for n in _ATTRIBUTE.finditer(text) if n[1] == m[1]] or [m]
        return text[: m.start(3)] + chance.choice(same)[3] + text[m.end(3) :]
    return text[: m.start(1)] + chance.choice(_NAMES) + text[m.end(1) :]


def _elements(text: str) -> list[tuple[int, int]]:
    """Return where whole elements but the outermost begin and end."""
    found, open_tags = [], []
    for m in _TAG.finditer(text):
        if m[4]:
            found.append((m.start(), m.end()))
        elif not m[1]:
            open_tags.append((m[2], m.start()))
        elif open_tags and open_tags[-1][0] == m[2]:
            begun = open_tags.pop()[1]
            if open_tags:
                found.append((begun, m.end()))
    return found


def _element(text: str, chance: Random, others: Sequence[bytes]) -> str:
    """Drop, double, move, wrap or borrow elements."""
    own = _elements(text)
    way = chance.random()
    if way < 0.25 or not own:
        at = _place(text, chance)
        return text[:at] + chance.choice(_PIECES) + text[at:]
    begin, end = chance.choice(own)
    part = text[begin:end]
    if way < 0.35:
        return text[:begin] + text[end:]
    if way < 0.5:
        return text[:end] + part * chance.choice((1, 1, 1, 3, 20)) + text[end:]
    if way < 0.62:
        rest = text[:begin] + text[end:]
        at = _place(rest, chance)
        return rest[:at] + part + rest[at:]
    if way < 0.85:
        wrap = chance.choice(_WRAPS)
        name = chance.choice(_NAMES)
        attributes = f' {name}="{_value(name, text, chance)}"' + (' id="c"' if chance.random() < 0.3 else "")
        depth = chance.choice((1, 1, 1, 1, 2, 70))
        return text[:begin] + f"<{wrap}{attributes}>" * depth + part + f"</{wrap}>" * depth + text[end:]
    other = chance.choice(others).decode("utf-8", "surrogateescape")
    spans = _elements(other)
    if not spans:
        return text
    b, e = chance.choice(spans)
    at = _place(text, chance)
    return text[:at] + other[b:e] + text[at:]


def _rule(text: str, chance: Random, _: Sequence[bytes]) -> str:
    """Add a style rule, or change a declaration."""
    name = chance.choice(_NAMES)
    mark = chance.choice(("", "", "!important"))
    rule = f"{chance.choice(_SELECTORS)}{{{name}:{_value(name, text, chance)}{mark}}}"
    inside = [m.end() for m in re.finditer(r"<style[^<>]*>", text)]
    if inside and chance.random() < 0.8:
        at = chance.choice(inside)
        return text[:at] + rule + text[at:]
    at = _place(text, chance)
    return text[:at] + f"<style>{rule}</style>" + text[at:]


def _asked(text: str, chance: Random, _: Sequence[bytes]) -> str:
    """Ask for something else (see looking.py)."""
    return re.sub(r"<!--asked \d+-->\s*\Z", "", text) + f"<!--asked {chance.randrange(100_000)}-->"


_CHANGES: tuple[Callable[[str, Random, Sequence[bytes]], str], ...] = (
    _number, _path, _attribute, _element, _rule, _bytes, _asked,
)  # fmt: skip
_WEIGHTS = (30, 18, 22, 18, 5, 4, 3)
