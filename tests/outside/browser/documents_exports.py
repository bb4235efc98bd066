"""Drawings about what design tools write: custom properties, nested rules, separate transforms, contents."""

# ruff: noqa: E501 - a drawing reads best in one line
from __future__ import annotations

from documents import BOX, FOUR, NS, page, sheet

_NESTED = (
    ".k{fill:red;&.m{fill:blue}}", "g{rect{fill:blue}fill:lime}", "g{& rect{fill:blue}> g > rect{fill:lime}}", "g{& > rect{fill:red;&:first-child{stroke:blue}}}",
    "rect,circle{g &{fill:lime}}", "#g{.k{fill:blue}}.m .k{fill:red}", "g{+ circle{fill:red}}", "svg{g{rect{fill:red}}circle{fill:blue}}", "rect{@media screen{fill:lime}@media print{fill:red}}",
    "g{fill:red;rect{fill:blue};fill:lime}", "@media screen{g{rect{fill:teal}}}", "g{..x{fill:red}rect{fill:lime}}",
)  # fmt: skip
NESTING = {f"nested rules {i + 1}": sheet(rules.replace("&", "&amp;").replace("> ", "&gt; "), FOUR) for i, rules in enumerate(_NESTED)} | {
    "rules in layers": sheet("@layer a,b;@layer b{rect{fill:red}}@layer a{#a{fill:blue}circle{fill:lime}}#c{stroke:lime}", FOUR),
    "rules in layers, important": sheet("@layer a,b;@layer b{rect{fill:red!important}}@layer a{#a{fill:blue!important}}rect{fill:lime!important}", FOUR),
    "layers within layers": sheet("@layer a{@layer b{rect{fill:red}}rect{fill:blue}}@layer{circle{fill:lime}}@layer a.b{#c{fill:teal}}", FOUR),
    "rules for what is supported": sheet(
        "@supports (fill:red){rect{fill:red}}@supports (fill:nonsense){rect{fill:blue}}@supports not (display:grid){circle{fill:blue}}"
        "@supports (opacity:1) and (stroke:red){circle{stroke:lime}}@supports (nonsense:1) or (r:5px){#d{fill:teal}}", FOUR),
    "an import comes to nothing": sheet("@import url(none.css);@import 'no.css' screen;rect{fill:red}", FOUR),
}  # fmt: skip

VARIABLES = {
    f"variables {i + 1}": sheet(rules, FOUR)
    for i, rules in enumerate(
        (
            ":root{--a:var(--b);--b:red}rect{fill:var(--a)}", ":root{--a:var(--b);--b:var(--a)}g{fill:lime}rect{fill:var(--a,blue)}",
            "svg{--r:20px;--x:5px}rect{width:var(--r);x:calc(var(--x) + 200px)}circle{r:calc(var(--r)*2)}", "rect{fill:var(--none,var(--no,teal))}",
            "svg{--c:1 2 3}rect{fill:rgb(var(--c))}", "svg{--c:#ff}rect{fill:var(--c)00ff}circle{fill:var(--c)}", "svg{--t:rotate(10deg)}g{transform:var(--t) translate(5px,0)}",
            ":root{--A:red;--a:blue}rect{fill:var(--A)}circle{fill:var(--a)}", "rect{--c:red}g{--c:blue}.k{fill:var(--c)}", "svg{--o:.5}rect{opacity:var(--o)}circle{fill-opacity:calc(var(--o)/2)}",
            "svg{--c: }rect{fill:var(--c,red)}", "svg{--c:initial}rect{fill:var(--c,red)}", "#a{fill:red;fill:var(--none)}", "svg{--c:red!important}#g{--c:blue}rect{fill:var(--c)}",
        )
    )
} | {
    "variables in styles": page('<g style="--k:#0f0;color:var(--k)"><rect id="a" style="fill:var(--k)" width="50" height="50"/><rect id="b" x="60" fill="currentColor" width="50" height="50"/><rect id="c" x="120" fill="var(--k)" width="50" height="50"/></g>'),
    "variables of paint servers": sheet(":root{--p:url(#q) lime}rect{fill:var(--p)}", FOUR),
}  # fmt: skip

_S = '<g id="t" style="{}"><rect x="10" y="20" width="60" height="30"/></g><circle style="{}" cx="90" cy="90" r="20"/>'
SEPARATE = {
    f"separate transforms {i + 1}": page(_S.format(t, t))
    for i, t in enumerate(
        (
            "translate:30px 20px", "translate:30px", "translate:10% 5%", "rotate:30deg", "rotate:.1turn;transform-origin:center", "scale:2", "scale:1.5 .5", "scale:150%", "rotate:z 20deg",
            "translate:20px;rotate:10deg;scale:1.2;transform:skewX(10deg)", "scale:2;transform:translate(10px,5px);transform-box:fill-box;transform-origin:50% 50%", "translate:none;rotate:none;scale:none",
            "translate:nonsense;rotate:20;scale:x", "rotate:20deg;transform:rotate(-20deg)", "translate:20px 10px 5px", "scale:1 -1;transform-origin:0 100px",
        )
    )
} | {
    "separate and attribute": page('<rect width="50" height="40" transform="translate(60,10)" style="rotate:20deg;translate:40px"/><use id="u" href="#h" style="translate:100px 200px"/><defs><rect id="h" width="30" height="30" style="rotate:45deg"/></defs>'),
}  # fmt: skip

CONTENTS = {
    "contents of a group": page(f'<g style="display:contents" fill="red" opacity="0" transform="translate(50,50)" clip-path="url(#none)">{BOX}/></g>'),
    "contents of a clipped group": page(f'<clipPath id="c"><rect width="90" height="90"/></clipPath><g display="contents" clip-path="url(#c)" transform="rotate(10)">{BOX}/></g>'),
    "contents of a nested drawing": page(f'<svg style="display:contents" width="90" height="90" viewBox="0 0 9 9">{BOX}/></svg>'),
    "contents of an instance": page('<defs><rect id="r" width="40" height="30"/></defs><use id="u" style="display:contents" href="#r" x="50" y="60"/><rect width="20" height="20"/>'),
    "contents of a link": page(f'<a style="display:contents" transform="translate(9)">{BOX}/></a>'),
    "contents of a switch": page(f'<switch style="display:contents"><g systemLanguage="de">{BOX}/></g><g>{BOX} x="200"/></g></switch>'.replace('x="40" y="60" width="120" height="80" x="200"', 'x="200" y="60" width="90" height="80"')),
    "contents within hidden": page(f'<g visibility="hidden" style="display:contents">{BOX}/><rect id="v" visibility="visible" width="30" height="30"/></g>'),
    "visibility flips": page(
        '<g visibility="hidden"><svg x="50" y="50" width="200" height="200"><rect id="a" width="50" height="50"/><g visibility="visible"><rect id="b" x="60" width="50" height="50"/>'
        '<a visibility="collapse"><rect id="c" x="120" width="50" height="50"/><rect id="d" style="visibility:visible" y="60" width="50" height="50"/></a></g></svg></g>'
    ),
    "hidden symbols and originals": page(
        '<symbol id="s" visibility="hidden"><rect x="40" y="40" width="20" height="20"/><circle visibility="visible" cx="50" cy="50" r="20"/></symbol><use id="u" href="#s" x="30" y="30"/>'
        '<g display="none"><rect id="o" width="30" height="30"/></g><use id="v" href="#o" x="200" y="200"/><symbol id="n" display="none"><rect width="30" height="30"/></symbol><use id="w" href="#n" x="300"/>'
    ),
    "opacity everywhere": page(
        f'<svg opacity=".5">{BOX}/></svg><a opacity="0">{BOX}/></a><symbol id="s" opacity=".3"><rect width="30" height="30"/></symbol><use id="u" href="#s" x="200"/>'
        '<use id="v" href="#r" x="250" opacity=".5"/><defs><rect id="r" opacity=".5" width="30" height="30"/></defs>'
    ),
    "paint order and context": page(
        '<g fill="red"><rect id="a" width="50" height="50" fill="context-fill" stroke="context-stroke"/><rect id="b" x="60" width="50" height="50" stroke="lime" paint-order="stroke fill" stroke-width="9"/>'
        '<rect id="c" x="120" width="50" height="50" fill="transparent"/><rect id="d" x="180" width="50" height="50" fill="context-fill red"/></g>'
    ),
    "strokes that keep their width": page('<g transform="scale(3)"><rect id="a" x="5" y="5" width="20" height="20" stroke="red" stroke-width="2" vector-effect="non-scaling-stroke"/><rect id="b" x="40" y="5" width="20" height="20" stroke="red" style="vector-effect:non-scaling-stroke;stroke-width:4px"/></g>'),
    "another namespace within": page(f'<g xmlns="urn:x"><rect width="50" height="50"/></g><g xmlns:y="urn:y" y:fill="red" y:transform="scale(2)">{BOX}/></g>'),
    "languages": page(
        "".join(
            f'<rect id="r{i}" x="{i * 40}" width="30" height="30" systemLanguage="{lang}"/>'
            for i, lang in enumerate(("en", "EN", "en-GB", "de,en", "de, en-us", "", "eng", "e", " en "))
        )
    ),
    "switch without a choice": page(f'<switch><title>x</title><foo/><g systemLanguage="de">{BOX}/></g><rect width="30" height="30"/><rect x="60" width="30" height="30"/></switch><switch/>'),
    "switch of text and pictures": page('<switch><text x="50" y="50">no</text><rect id="a" width="50" height="50"/></switch><switch><foreignObject requiredExtensions="urn:x" width="9" height="9"/><rect id="b" x="60" width="50" height="50"/></switch>'),
}  # fmt: skip

_CLIPPED = '<rect x="50" y="50" width="200" height="200" clip-path="url(#c)"/>'
CUTS = {
    "clip of a clip's part": page(
        '<clipPath id="c"><rect x="60" y="60" width="100" height="100" clip-path="url(#d)"/><circle cx="200" cy="200" r="40"/></clipPath><clipPath id="d"><circle cx="60" cy="60" r="80"/></clipPath>' + _CLIPPED
    ),
    "clip of an instance in a clip": page(
        '<defs><rect id="r" x="60" y="60" width="100" height="100" clip-path="url(#d)"/></defs><clipPath id="c"><use href="#r" x="20" clip-path="url(#e)"/></clipPath><clipPath id="d"><circle cx="60" cy="60" r="80"/></clipPath>'
        '<clipPath id="e"><rect width="400" height="120"/></clipPath>' + _CLIPPED
    ),
    "clip of a group by an instance is nothing": page('<defs><g id="g"><rect x="60" y="60" width="100" height="100"/></g></defs><clipPath id="c"><use href="#g"/><circle cx="200" cy="200" r="30"/></clipPath>' + _CLIPPED),
    "clip by itself": page('<clipPath id="c" clip-path="url(#c)"><rect x="60" y="60" width="100" height="100"/></clipPath><rect width="40" height="40"/>' + _CLIPPED),
    "clip in box units with a transform": page('<clipPath id="c" clipPathUnits="objectBoundingBox" transform="translate(.1 .1) rotate(10 .5 .5)"><rect x=".1" y=".2" width=".5" height=".5"/><circle cx=".8" cy=".8" r=".15"/></clipPath>' + _CLIPPED),
    "clip of a group in box units": page(
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".5"/></clipPath><g clip-path="url(#c)" transform="translate(20 10)"><rect x="50" y="50" width="60" height="100"/>'
        '<rect x="150" y="50" width="100" height="60"/><g display="none"><rect width="400" height="400"/></g></g>'
    ),
    "clip in box units of a flat shape": page('<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/></clipPath><path d="M50 50H200" stroke="red" stroke-width="40" clip-path="url(#c)"/><rect width="40" height="40"/>'),
    "clips in clips in clips": page(
        '<clipPath id="c" clip-path="url(#d)"><rect x="60" y="60" width="160" height="160"/></clipPath><clipPath id="d" clip-path="url(#e)" transform="rotate(5)"><circle cx="150" cy="150" r="90"/></clipPath>'
        '<clipPath id="e"><rect x="100" width="100" height="400" transform="skewX(5)"/></clipPath>' + _CLIPPED
    ),
    "clip with per cent": page('<clipPath id="c"><rect x="25%" y="25%" width="25%" height="10%"/><circle cx="2em" cy="150" r="10%"/></clipPath>' + _CLIPPED, f'<svg {NS} width="400" height="400" font-size="40">'),
    "clip by a rule": sheet(".c{clip-path:url(#c)}#c circle{transform:translate(30px,0)}", '<clipPath id="c"><circle cx="150" cy="150" r="60"/></clipPath><rect class="c" x="50" y="50" width="200" height="200"/>'),
    "clip of a nested drawing": page('<clipPath id="c"><circle cx="100" cy="100" r="80"/></clipPath><svg x="50" y="50" width="300" height="200" clip-path="url(#c)"><rect width="300" height="300"/></svg>'),
    "clip of an instance": page('<clipPath id="c"><circle cx="100" cy="100" r="60"/></clipPath><defs><rect id="r" width="200" height="100"/></defs><use id="u" href="#r" x="50" y="50" clip-path="url(#c)"/>'),
    "overflow of symbols": page(
        "".join(
            f'<symbol id="s{i}" viewBox="0 0 10 10" {o}><circle cx="5" cy="5" r="8"/></symbol><use id="u{i}" href="#s{i}" x="{40 + i * 120}" y="60" width="60" height="60"/>'
            for i, o in enumerate(("", 'overflow="visible"', 'style="overflow:hidden"'))
        )
    ),
    "overflow of nested drawings": page(
        "".join(
            f'<svg x="{40 + i * 90}" y="60" width="50" height="50" style="overflow:{o}"><circle cx="25" cy="25" r="40"/></svg>'
            for i, o in enumerate(("visible", "hidden", "scroll", "clip"))
        )
    ),
    "symbols by per cent and ratio": page(
        '<symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="xMaxYMin slice"><rect width="20" height="10"/><circle cx="10" cy="5" r="3"/></symbol><use id="u" href="#s" x="10%" y="5em" width="25%" height="50%"/>'
    ),
    "symbols with a place": page('<symbol id="s" x="10" y="20" width="80" height="60" viewBox="0 0 8 6"><rect width="8" height="6"/></symbol><use id="u" href="#s" x="50" y="50"/>'),
    "uses of uses of symbols": page(
        '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol><defs><use id="a" href="#s" width="40" height="40" x="5"/><use id="b" href="#a" y="50" transform="scale(1.5)"/></defs>'
        '<use id="u" href="#b" x="100" fill="red"/><use id="v" href="#a" x="10" y="200"/>'
    ),
}  # fmt: skip
