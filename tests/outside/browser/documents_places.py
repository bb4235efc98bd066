"""Drawings about where things lie: viewports, instances, lengths, shapes, path data, clips, files."""

# ruff: noqa: E501 - a drawing reads best in one line
from __future__ import annotations

import gzip

from documents import BOX, FOUR, NS, page, sheet

_VIEW = '<rect x="10" y="10" width="50" height="30"/><circle cx="70" cy="70" r="20"/>'
VIEWPORTS = {
    f"page {i + 1}": page(_VIEW, f"<svg {NS} {head}>")
    for i, head in enumerate(
        (
            'width="400" height="400" viewBox="0 0 100 100"', 'width="400" height="200" viewBox="0 0 100 100"',
            'width="400" height="200" viewBox="0 0 100 100" preserveAspectRatio="none"',
            'width="400" height="200" viewBox="0 0 100 100" preserveAspectRatio="xMinYMin slice"',
            'width="400" height="200" viewBox="0 0 100 100" preserveAspectRatio="xMaxYMax meet"',
            'width="200" height="400" viewBox="0 0 100 100" preserveAspectRatio="xMidYMin"',
            'width="200" height="400" viewBox="0 0 100 100" preserveAspectRatio="nonsense"',
            'width="4in" height="3in" viewBox="-10 -10 120 120"', 'width="101.6mm" height="10.16cm" viewBox="0,0,100,100"',
            'width="300pt" height="24pc" viewBox=" 0 0  150 150 "', 'width="508Q" height="400"', 'width="400" height="400" viewBox="0 0 100"',
            'width="400" height="400" viewBox="0 0 -1 100"',
            'width="400" height="400" x="30" y="40" viewBox="0 0 100 100"', 'style="width:300px;height:200px" viewBox="0 0 100 100"',
            'width="100" height="100" style="width:4in;height:288pt" viewBox="0 0 100 100"',
            'width="20em" height="20em" viewBox="0 0 100 100"', 'width="400px" height="400PX" viewBox="0 0 100 100"',
            'width="calc(200px + 2in)" height="400" viewBox="0 0 100 100"', 'width="4e2" height="400" viewBox="0 0 1e2 1E2"',
        )
    )
} | {
    f"nested {i + 1}": page(f'<svg {head}>{_VIEW}</svg><rect x="300" y="300" width="10%" height="10%"/>')
    for i, head in enumerate(
        (
            'x="50" y="60" width="200" height="100"', 'x="50" y="60" width="200" height="100" viewBox="0 0 100 100"',
            'x="10%" y="20%" width="50%" height="25%" viewBox="0 0 100 100" preserveAspectRatio="xMinYMax slice"',
            'viewBox="0 0 200 200"', 'width="100" height="60" overflow="visible"', 'width="100" height="60" style="overflow:auto"',
            'width="0" height="60"', 'width="-5" height="60"',
            'x="50" width="200" height="200" transform="rotate(10)"', 'width="100" height="60" style="overflow:scroll"',
            'style="x:30px;y:20px;width:120px;height:90px" width="9" height="9"', 'width="auto" height="auto"',
        )
    )
} | {
    "nested percentages": page(
        '<svg width="200" height="100"><rect width="50%" height="50%"/><svg x="50%" y="50%" viewBox="0 0 10 10"><circle cx="50%" cy="5" r="20%"/>'
        '</svg><rect x="50%" width="25%" height="25%"/></svg><rect x="50%" y="50%" width="25%" height="25%"/>'
    ),
    "clipped by a nested viewport": page('<svg x="50" y="50" width="100" height="100"><circle cx="100" cy="50" r="80"/></svg>'),
    "twice nested": page(
        '<svg x="20" y="20" width="300" height="300" viewBox="0 0 30 30"><svg x="5" y="5" width="20" height="10" viewBox="0 0 200 200">'
        '<rect width="200" height="200"/><circle cx="0" cy="100" r="100"/></svg></svg>'
    ),
}  # fmt: skip

_DEFS = (
    '<defs><rect id="r" width="40" height="30"/><g id="g" fill="red"><use href="#r"/><circle cx="60" cy="15" r="10"/></g>'
    '<symbol id="s" viewBox="0 0 10 10"><rect x="1" y="1" width="8" height="8"/><circle cx="10" cy="5" r="4"/></symbol>'
    '<symbol id="w" width="50" height="30"><circle cx="25" cy="15" r="20"/></symbol>'
    '<svg id="n" x="10" y="5" width="50" height="30" viewBox="0 0 50 30"><circle cx="25" cy="15" r="14"/></svg></defs>'
)
USES = {
    f"use {i + 1}": page(_DEFS + body)
    for i, body in enumerate(
        (
            '<use id="u" href="#r"/>', '<use id="u" xlink:href="#r" x="50" y="60"/>', '<use id="u" href="#r" x="10%" y="1in"/>',
            '<use id="u" href="#g" transform="translate(50,50) scale(2)"/>', '<use id="u" href="#g" x="20" transform="scale(2)"/>',
            '<use id="u" href="#s" x="50" y="50" width="100" height="100"/>', '<use id="u" href="#s" width="200" height="100"/>',
            '<use id="u" href="#s"/>', '<use id="u" href="#w" x="50" y="50"/>', '<use id="u" href="#w" x="50" y="50" width="200"/>',
            '<use id="u" href="#n" x="50" y="50"/>', '<use id="u" href="#n" x="50" y="50" width="100" height="120"/>',
            '<use id="u" href="#n" width="50%" height="50%"/>', '<use id="u" href="#none"/><rect width="9" height="9"/>',
            '<use id="u" href=" #r "/>', '<use id="u" href="#r" xlink:href="#g"/>', '<use id="u" href="#r" style="x:50px;y:20px"/>',
            '<use id="u" href="#r" display="none"/><rect width="9" height="9"/>', '<use id="u" href="#r" fill="lime" opacity=".5"/>',
            '<g id="k"><use id="u" href="#g" x="100"/></g><use id="v" href="#k" y="100"/>',
            '<use id="u" href="#s" width="100" height="100" overflow="visible"/>', '<use id="u" href="#s" width="0" height="50"/><rect width="9" height="9"/>',
            '<use id="u" href="#s" x="20" y="20" width="100" height="50" style="transform:rotate(10deg)"/>',
            '<use id="u" href="#r" x="50" width="200" height="200"/>',
        )
    )
} | {
    "the first of two ids": page('<defs><rect id="t" width="30" height="30"/><circle id="t" cx="100" cy="100" r="9"/></defs><use id="u" href="#t" x="200"/>'),
    "style goes by the original": sheet(
        "g rect{fill:red}#u{fill:blue}.x rect{fill:lime}", '<g><rect id="t" width="30" height="30"/></g><g class="x"><use id="u" href="#t" x="200"/></g>'
    ),
    "visibility through use": page(
        '<defs><rect id="t" width="30" height="30"/><rect id="y" width="30" height="30" visibility="visible"/></defs>'
        '<g visibility="hidden"><use id="u" href="#t"/><use id="v" href="#y" x="100"/></g>'
    ),
    "symbol in a symbol": page(
        '<symbol id="i" viewBox="0 0 4 4"><rect x="1" y="1" width="2" height="2"/></symbol>'
        '<symbol id="o" viewBox="0 0 10 10"><use href="#i" x="2" y="3" width="6" height="4"/></symbol>'
        '<use id="u" href="#o" x="40" y="50" width="200" height="100"/>'
    ),
    "use of what is used": page(
        '<rect id="p" width="30" height="20"/><use id="q" href="#p" x="50"/><use id="r" href="#q" y="40" transform="rotate(10)"/>'
    ),
}  # fmt: skip

LENGTHS = {
    "units": page(
        "".join(
            f'<rect x="{20 * i}" y="{10 + i}" width="{w}" height="10"/>'
            for i, w in enumerate(("10", "10px", "3mm", ".4cm", ".1in", "8pt", "1pc", "12Q", "1em", "1rem", "3%", "1e1", "calc(5px + 1%)"))
        ),
    ),
    "units that are wrong": page(
        "".join(
            f'<rect x="{20 * i}" y="{10 + i}" width="{w}" height="10"/>'
            for i, w in enumerate(("10MM", "10 px", "10foo", "1,5", "ten", "10.", ".5", "+10", "10px;", "", "  10  "))
        ),
    ),
    "em by font size": page(
        '<g font-size="20"><rect width="2em" height="1em"/><g font-size="50%"><rect x="100" width="2em" height="1em"/>'
        '<g style="font:italic 2em/1.5 serif"><rect x="200" width="2em" height="1rem"/></g></g>'
        '<g font-size="larger"><rect y="100" width="2em" height="1em"/></g><g font-size="x-large"><rect y="200" width="2em" height="1em"/></g></g>'
    ),
    "percentages": page(
        '<rect x="10%" y="10%" width="50%" height="25%" rx="5%"/><circle cx="50%" cy="50%" r="10%"/><ellipse cx="25%" cy="75%" rx="10%" ry="5%"/>'
        '<line x1="10%" y1="20%" x2="90%" y2="80%" stroke="red"/>',
        f'<svg {NS} width="400" height="200" viewBox="0 0 200 100">',
    ),
    "lengths in a style": page(
        '<rect style="x:10px;y:20px;width:100px;height:1in;rx:10px"/><circle style="cx:250px;cy:100px;r:30px"/>'
        '<ellipse style="cx:100px;cy:300px;rx:50px;ry:20px"/><rect width="30" height="30" style="width:90;height:60px"/>'
    ),
    "lengths in a sheet": sheet("rect{width:30px;height:50px;x:5px}circle{r:10px;cy:20%}", FOUR),
    "path data in a style": page('<path d="M0 0H50V50z" style="d:path(\'M100 100H200V200z\')"/><path style="d:path(&quot;M10 10h20v20z&quot;)"/><path d="M300 0h50v50z" style="d:none"/>'),
}  # fmt: skip

_RECTS = (
    'rx="10"', 'ry="10"', 'rx="10" ry="20"', 'rx="100"', 'rx="100" ry="10"', 'rx="0" ry="10"', 'rx="auto" ry="12"', 'rx="-5" ry="12"',
    'rx="-5"', 'rx="60" ry="40"', 'rx="nonsense" ry="8"',
)  # fmt: skip
SHAPES = {
    f"rounded {i + 1}": page(f"{BOX} {r}/>") for i, r in enumerate(_RECTS)
} | {
    "ellipses": page(
        '<ellipse cx="50" cy="50" rx="30" ry="auto"/><ellipse cx="150" cy="50" ry="20"/><ellipse cx="250" cy="50" rx="30" ry="-20"/>'
        '<ellipse cx="50" cy="150" rx="40" ry="20" transform="rotate(20 50 150)"/><ellipse cx="150" cy="150" rx="0" ry="20"/>'
        '<ellipse cx="250" cy="150" style="rx:30px;ry:auto"/>'
    ),
    "lines": page('<g stroke="red"><line x1="10" y1="20" x2="100" y2="90"/><line x2="50"/><line/><line x1="1e2" y2="1e2"/></g>'),
    "polygons": page(
        "".join(
            f'<polygon transform="translate({i % 4 * 100} {i // 4 * 100})" points="{p}"/>'
            for i, p in enumerate(
                (
                    "0,0 50,0 50,50", "0 0 50 0 50 50", "0,0,50,0,50,50,0,50", "0 0-5 50 50 50", " 0 0\n50 0\t50 50 ", "0,0 50,0 50,50 1e1 40",
                    "0,0 .5e2 0 50.5.5 0 50",
                )
            )
        )
    ),
    "polylines": page('<polyline points="10,10 90,10 90,90"/><polyline fill="none" stroke="red" points="110,10 190,10 190,90 110,10"/>'),
}  # fmt: skip

_PATHS = (
    "M10 10 L90 10 90 90z", "m10 10 80 0 0 80z", "M10,10H90V90H10Z", "m10 10h80v80h-80z", "M10 90C10 10 90 10 90 90z",
    "m10 90c0-80 80-80 80 0z", "M10 50C10 10 50 10 50 50S90 90 90 50", "m10 50c0-40 40-40 40 0s40 40 40 0", "M10 50S50 10 90 50z",
    "M10 50Q50 -30 90 50z", "m10 50q40-80 80 0z", "M10 50Q30 10 50 50T90 50", "m10 50q20-40 40 0t40 0 10 5", "M10 50T50 10 90 50z",
    "M10 50Q30 10 50 50S70 90 90 50z", "M10 50C30 10 40 10 50 50T90 50z", "M10 50L20 20S70 90 90 50z", "M10 50S30 0 50 50L60 60S70 90 90 50",
    "M10 50A40 40 0 0 1 90 50z", "M10 50A40 40 0 1 0 90 50.1z", "m10 50a40 20 30 0 1 80 0z", "M10 50a10 10 0 0 1 80 0z", "M10 50A-40 40 0 0 1 90 50z",
    "M10 50A0 40 0 0 1 90 50V90z", "M10 50A40 40 0 0 1 10 50L90 50 90 90z", "M10 50a25,25-30 0125,-25h9v60z", "M10 50A40 20 390 0 0 90 50z",
    "M10 10h20v20h-20zM50 50h20v20h-20z", "M10 10h20v20zh40v60z", "M10 10h20v20zm40 40h20v20z", "M10 10 20 20zL50 10V60z",
    "M10-20.5.5-3L50 50z", "M.5.5L50 0 50 50z", "M10 10L90 10L90 90", "M10 10 M20 20 H90 V90z", "M10 10H50 V50 M60 60 h20 v20",
    "M1e1 1E+1L9e1 10 90 900e-1z", "M10 10H90V90 M20 20", "M50 50L50 50L90 90H50z", "M10 10L90 10 90 90zz", "M10,10,90,10,90,90Z",
    "\n M 10\t10 L 90 , 10 \r\n 90 90 z ",
)  # fmt: skip
_ERRORS = (
    "M10 10L90 10 90 90 X 5 L20 20", "L10 10M20 20H90V90z", "M10 10H90V90 L", "M10 10H90V90L50", "M10 10H90V nan", "M10 10H90V90 10.", "M10 10,,H90V90z",
    "M10 10H90V90,z", "M10 10A40 40 0 2 1 90 50L90 90", "M10 10H90V90C1 2 3 4 5", "M10 10H90 V90 z 5 5", ",M10 10H90V90", "M10 10H90V1e", "M 10 10 H 90 V 90 #z",
    "M10 10H90V90 l 10 10 5", "M10", "nonsense", "M10 10H90V90h1e999",
)  # fmt: skip
PATHS = {f"path {i + 1}": page(f'<path d="{d}"/>') for i, d in enumerate(_PATHS)} | {
    f"path with an error {i + 1}": page(f'<path d="{d}"/><rect x="200" width="20" height="20"/>')
    for i, d in enumerate(_ERRORS)
}

_CLIPPED = '<rect x="50" y="50" width="200" height="200" clip-path="url(#c)"/>'
_CLIPS = (
    '<clipPath id="c"><rect x="100" y="20" width="100" height="300"/></clipPath>',
    '<clipPath id="c"><circle cx="150" cy="150" r="80"/></clipPath>',
    '<clipPath id="c"><rect width="400" height="400"/></clipPath>',
    '<clipPath id="c"><rect x="300" width="40" height="40"/></clipPath>',
    '<clipPath id="c"/>',
    '<clipPath id="other"/>',
    '<clipPath id="c"><circle cx="100" cy="100" r="60"/><circle cx="200" cy="200" r="60"/></clipPath>',
    '<clipPath id="c"><path d="M60 60H240V240H60zM100 100H200V200H100z" clip-rule="evenodd"/></clipPath>',
    '<clipPath id="c"><path d="M60 60H240V240H60zM100 100H200V200H100z"/></clipPath>',
    '<clipPath id="c" transform="translate(40,0) rotate(10)"><rect x="60" y="60" width="100" height="100"/></clipPath>',
    '<clipPath id="c"><rect x="60" y="60" width="100" height="100" transform="skewX(10)"/></clipPath>',
    '<clipPath id="c" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4"/></clipPath>',
    '<clipPath id="c"><use href="#k"/></clipPath><defs><circle id="k" cx="150" cy="150" r="70"/></defs>',
    '<clipPath id="c"><rect x="60" y="60" width="100" height="100" display="none"/><circle cx="200" cy="200" r="30"/></clipPath>',
    '<clipPath id="c"><rect x="60" y="60" width="100" height="100" visibility="hidden"/><circle cx="200" cy="200" r="30"/></clipPath>',
    '<clipPath id="c" clip-path="url(#d)"><rect x="100" y="20" width="100" height="300"/></clipPath><clipPath id="d"><circle cx="150" cy="150" r="60"/></clipPath>',
    '<clipPath id="c"><g><rect x="60" y="60" width="100" height="100"/></g><circle cx="200" cy="200" r="30"/></clipPath>',
    '<clipPath id="c"><rect x="60" y="60" width="100" height="100" fill="none" opacity="0"/></clipPath>',
    '<clipPath id="c"><path d="M20 150C100 0 200 300 280 150V300H20z"/></clipPath>',
)  # fmt: skip
CLIPS = {f"clip {i + 1}": page(_CLIPPED + c) for i, c in enumerate(_CLIPS)} | {
    "clipped group": page(
        '<clipPath id="c"><circle cx="150" cy="150" r="80"/></clipPath><g clip-path="url(#c)" transform="translate(20 10)">'
        '<rect x="50" y="50" width="100" height="200"/><circle cx="200" cy="150" r="60" fill="red"/></g>'
    ),
    "clip in a style": page('<clipPath id="c"><circle cx="150" cy="150" r="80"/></clipPath><rect x="50" y="50" width="200" height="200" style="clip-path:url(#c)"/>'),
    "clip twice": page(
        '<clipPath id="c"><circle cx="150" cy="150" r="80"/></clipPath><clipPath id="d"><rect width="150" height="400"/></clipPath>'
        '<g clip-path="url(#d)"><rect x="50" y="50" width="200" height="200" clip-path="url(#c)"/></g>'
    ),
    "clip through use": page(
        '<clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath><defs><rect id="r" width="100" height="100" clip-path="url(#c)"/></defs>'
        '<use id="u" href="#r" x="100" y="50"/>'
    ),
    "clipped curve with a hole": page(
        '<clipPath id="c"><rect x="100" y="0" width="150" height="400"/></clipPath>'
        '<path fill-rule="evenodd" clip-path="url(#c)" d="M150 50A100 100 0 0 1 150 250A100 100 0 0 1 150 50zM150 100A50 50 0 0 1 150 200A50 50 0 0 1 150 100z"/>'
    ),
    "star by either rule": page(
        '<path d="M100 20L150 180 20 80H180L50 180z"/><path fill-rule="evenodd" transform="translate(200)" d="M100 20L150 180 20 80H180L50 180z"/>'
    ),
}  # fmt: skip

_BASIC = (
    "circle(50px)", "circle(50px at 100px 100px)", "circle()", "circle(40%)", "circle(farthest-side at 25% 50%)", "ellipse(60px 40px)",
    "ellipse(50% 25% at left top)", "ellipse()", "ellipse(closest-side farthest-side at 40% 30%)", "inset(20px)", "inset(10% 20%)",
    "inset(10px 20px 30px 40px round 15px)", "inset(10px 20px 30px)", "polygon(0 0, 100% 0, 50% 100%)",
    "polygon(evenodd, 0 0, 100% 0, 100% 100%, 0 100%, 0 0, 30px 30px, 100px 30px, 100px 100px, 30px 100px, 30px 30px)",
    "circle(50px) fill-box", "view-box circle(50px)", "circle(50px) view-box", "nonsense(3)", "circle(-5px)", "inset(60%)", "none",
)  # fmt: skip
CLIPS |= {
    f"basic shape {i + 1}": page(f'<rect x="50" y="60" width="200" height="180" style="clip-path:{shape}"/>')
    for i, shape in enumerate(_BASIC)
} | {
    "basic shape of a group": page(
        '<g style="clip-path:circle(80px)" transform="rotate(20 150 150)"><rect x="50" y="60" width="80" height="180"/><rect x="150" y="60" width="120" height="100"/></g>'
    ),
    "basic shape within the fill": page(
        '<rect x="50" y="60" width="200" height="180" stroke="red" stroke-width="60" style="clip-path:circle(40px at 100% 50%) fill-box"/>'
    ),
    "basic shape by the stroke": page(
        '<rect x="150" y="150" width="60" height="60" stroke="red" stroke-width="90" style="clip-path:polygon(0 0,100% 0,0 100%)"/>'
    ),
    "basic shape with a stroke": page(
        '<rect x="50" y="60" width="200" height="180" stroke="red" stroke-width="20" style="clip-path:inset(10px)"/>'
    ),
}

_TEXT = f'<svg {NS} width="400" height="400"><title>Nähte — クイルト</title><rect id="r" width="50" height="60"/></svg>'
FILES = {
    "utf-8 with a mark": b"\xef\xbb\xbf" + _TEXT.encode(),
    "utf-16": ('<?xml version="1.0" encoding="UTF-16"?>' + _TEXT).encode("utf-16"),
    "latin-1": ('<?xml version="1.0" encoding="ISO-8859-1"?>' + _TEXT.replace("— クイルト", "")).encode("latin-1"),
    "windows-1252": ("<?xml version='1.0' encoding='windows-1252'?>" + _TEXT.replace("クイルト", "")).encode("cp1252"),
    "shift-jis": ('<?xml version="1.0" encoding="Shift_JIS"?>' + _TEXT.replace("ä", "a")).encode("shift_jis", "replace"),
    "compressed": gzip.compress(page(FOUR), mtime=0),
    "doctype": b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">' + page(FOUR).partition(b"\n")[2],
    "comments and instructions": page(f"<!-- <rect/> --><?x y?>{FOUR}<!-- -- >-->".replace("-- >", ">")),
    "script": page(f"<script>/* nothing */</script>{FOUR}"),
}  # fmt: skip
