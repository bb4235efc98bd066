"""Small drawings of our own, one for each thing that decides what a browser shows.

`DOCUMENTS` maps a name to the bytes of a file. Pages are whole numbers of px, because a browser
rounds the outermost viewport to 1/64 px. Shapes are filled, so that a browser can be asked what is seen where.
"""

# ruff: noqa: E501 - a drawing reads best in one line
from __future__ import annotations

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
HEAD = f'<svg {NS} width="400" height="400">'
BOX = '<rect x="40" y="60" width="120" height="80"'


def page(body: str, head: str = HEAD) -> bytes:
    """Return a whole file."""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}{body}</svg>'.encode()


def sheet(rules: str, body: str) -> bytes:
    """Return a file with a style sheet before its shapes."""
    return page(f"<style>{rules}</style>{body}")


FOUR = (
    '<rect id="a" class="k" x="10" y="10" width="80" height="80"/>'
    '<g id="g" class="k m"><rect id="b" class="k" x="110" y="10" width="80" height="80"/>'
    '<g><rect id="c" class="m k" x="210" y="10" width="80" height="80"/></g></g>'
    '<circle id="d" class="k m n" cx="60" cy="160" r="40"/>'
)

CASCADE = {
    "attribute": page(FOUR.replace('id="a"', 'id="a" fill="#123456"')),
    "style beats attribute": page(f'{BOX} fill="red" style="fill:#00f"/>'),
    "sheet beats attribute": sheet("rect{fill:lime}", FOUR.replace('id="a"', 'id="a" fill="red"')),
    "style beats sheet": sheet("#a{fill:lime}", FOUR.replace('id="a"', 'id="a" style="fill:red"')),
    "important sheet beats style": sheet(
        "rect{fill:lime!important}", FOUR.replace('id="a"', 'id="a" style="fill:red"')
    ),
    "important style beats important sheet": sheet(
        "#a{fill:lime!important}", FOUR.replace('id="a"', 'id="a" style="fill:red ! important"')
    ),
    "type class id": sheet("#a{fill:#010101}.k{fill:#020202}rect{fill:#030303}*{fill:#040404}", FOUR),
    "order": sheet(".k{fill:red}.m{fill:blue}.n{fill:green}", FOUR),
    "two classes": sheet(".k.m{fill:red}.k{fill:blue}", FOUR),
    "descendant": sheet("g rect{fill:red}g g rect{fill:blue}", FOUR),
    "child": sheet("g>rect{fill:red}svg > rect{fill:lime}svg>g>g>rect{fill:blue}", FOUR),
    "grouped": sheet("#a, circle,\n#c {fill:orange}", FOUR),
    "sibling": sheet("rect+g{fill:red}rect~circle{fill:blue}", FOUR),
    "attribute selectors": sheet(
        '[class~="m"]{fill:red}[id="a"]{fill:blue}circle[cx^="6"]{stroke:lime}', FOUR
    ),
    "not, is, where": sheet("rect:not(#a){fill:red}:is(#b,#x){stroke:lime}:where(#c){fill:blue}", FOUR),
    "nth and first": sheet(
        "rect:first-child{fill:red}svg>:nth-child(2n+1){stroke:lime}:last-child{fill:blue}", FOUR
    ),
    "root": sheet(":root{fill:red}:root>rect{fill:blue}", FOUR),
    "wrong case": sheet("RECT{fill:red}.K{fill:blue}#A{fill:lime}", FOUR),
    "names in capitals": sheet("rect{FILL:red;Stroke:LIME}", FOUR),
    "no last semicolon": sheet("*{stroke:green}rect{fill:red}", FOUR),
    "comments": sheet("/* rect{fill:red} */rect{/*x*/fill:/*y*/blue;/*z*/}", FOUR),
    "cdata": page(f"<style><![CDATA[rect{{fill:red}}g>rect{{fill:blue}}]]></style>{FOUR}"),
    "address in a sheet": sheet("@namespace url(http://www.w3.org/2000/svg);rect{fill:red}", FOUR),
    "namespace prefix": sheet("@namespace s url(http://www.w3.org/2000/svg);s|rect{fill:red}", FOUR),
    "media": sheet(
        "@media print{rect{fill:red}}@media screen{circle{fill:blue}}@media all{g>rect{fill:lime}}", FOUR
    ),
    "media attribute": page(
        f'<style media="print">rect{{fill:red}}</style><style media="screen">#c{{fill:blue}}</style>{FOUR}'
    ),
    "other type": page(
        f'<style type="text/x">rect{{fill:red}}</style><style type="text/css">#c{{fill:blue}}</style>{FOUR}'
    ),
    "sheet after the shapes": page(f"{FOUR}<g><style>rect{{fill:red}}</style></g>"),
    "two sheets": page(f"<style>rect{{fill:red}}</style>{FOUR}<style>rect{{fill:blue}}</style>"),
    "rules that are wrong": sheet(
        "rect{fill:red;fill:nonsense;stroke:12}..x{fill:blue}circle{fill:lime}", FOUR
    ),
    "wrong value falls back": page(f'<g fill="lime">{BOX} fill="nonsense" style="fill:alsonot"/></g>'),
    "inherit": page(
        '<g fill="red" stroke="lime" stroke-width="4"><rect id="a" fill="inherit" width="50" height="50"/>'
        '<g fill="blue"><rect id="b" x="60" width="50" height="50"/>'
        '<rect id="c" x="120" style="fill:initial" width="50" height="50"/>'
        '<rect id="d" x="180" style="fill:unset;stroke:initial" width="50" height="50"/></g></g>'
    ),
    "opacity inherits only when asked": page(
        '<g opacity=".5"><rect id="a" width="50" height="50"/><rect id="b" x="60" opacity="inherit" width="50" height="50"/></g>'
    ),
    "current colour": page(
        '<g color="red" fill="currentColor"><rect id="a" width="50" height="50"/>'
        '<g color="#00f"><rect id="b" x="60" width="50" height="50"/>'
        '<rect id="c" x="120" fill="none" stroke="CURRENTCOLOR" width="50" height="50"/></g></g>'
    ),
    "colours": page(
        "".join(
            f'<rect x="{i * 20}" width="15" height="15" fill="{c}"/>'
            for i, c in enumerate(
                (
                    "#F0a",
                    "#aabbcc",
                    "rgb(1,2,3)",
                    "rgb(10% 20% 30%)",
                    "rgb(255 0 0)",
                    "hsl(120,100%,50%)",
                    "RebeccaPurple",
                    "rgba(0,0,255,1)",
                    "#12345680",
                    "#1238",
                    "hsl(0.5turn 50% 50%)",
                    "hwb(90 10% 20%)",
                )
            )
        )
    ),
    "variables": sheet(
        ":root{--k:red;--n:var(--missing,lime)}rect{fill:var(--k)}g{--k:blue}circle{fill:var(--n)}", FOUR
    ),
    "variable that is missing": sheet("g{fill:lime}rect{fill:var(--none)}", FOUR),
    "all": page(f'<g fill="red"><g style="stroke:lime;all:initial">{BOX}/></g></g>'),
    "style on the root": page(
        FOUR, HEAD.replace("<svg", '<svg style="fill:teal;stroke:red" stroke-width="3"')
    ),
    "pseudo elements": sheet("rect::before{fill:red}rect:hover{fill:red}rect{fill:blue}", FOUR),
    "layers and supports are rare": sheet(
        "@font-face{font-family:x}@keyframes y{from{fill:red}}rect{fill:blue}", FOUR
    ),
}

SHOWN = {
    "display none": page(f'<g display="none">{BOX}/><rect display="inline" width="20" height="20"/></g>{FOUR}'),
    "display in a style": page(f'{BOX} style="display:none"/>{FOUR}'),
    "display important": sheet("rect{display:none !important}", FOUR.replace('id="a"', 'id="a" style="display:block"')),
    "display words": page(
        "".join(
            f'<rect id="r{i}" x="{i * 30}" width="20" height="20" display="{d}"/>'
            for i, d in enumerate(("block", "none", "flex", "nonsense", "inherit", "table", "contents"))
        )
    ),
    "visibility": page(
        f'<g visibility="hidden">{BOX}/><rect id="v" visibility="visible" x="200" width="50" height="50"/></g>'
    ),
    "visibility collapse": page(f'{BOX} visibility="collapse"/><rect width="30" height="30"/>'),
    "opacity": page(f'<g opacity="0">{BOX} opacity="1"/></g><rect opacity="0%" width="9" height="9"/>{FOUR}'),
    "opacities multiply": page(f'<g opacity=".5"><g style="opacity:50%">{BOX} fill-opacity=".5"/></g></g>'),
    "opacity out of range": page(f'{BOX} opacity="7"/><rect opacity="-1" width="30" height="30"/>'),
    "no paint": page(f'{BOX} fill="none"/><rect fill="none" stroke="none" width="9" height="9"/>{FOUR}'),
    "transparent paints": page(f'{BOX} fill="transparent"/><rect fill="rgba(0,0,0,0)" width="9" height="9"/>{FOUR}'),
    "strokes": page(
        '<rect id="a" fill="none" stroke="red" width="50" height="50"/>'
        '<rect id="b" fill="none" stroke="red" stroke-width="0" x="60" width="50" height="50"/>'
        '<rect id="c" fill="none" stroke="red" stroke-opacity="0" x="120" width="50" height="50"/>'
        '<rect id="d" fill="none" stroke="red" stroke-width="-3" x="180" width="50" height="50"/>'
    ),
    "stroke widths": page(
        "".join(
            f'<line id="l{i}" y1="{i * 20 + 20}" y2="{i * 20 + 20}" x2="300" stroke="red" stroke-width="{w}"/>'
            for i, w in enumerate(("2", "1mm", "2%", "0.5em", "1.5e0", "3px", "calc(1px + 2pt)"))
        )
    ),
    "a line has no fill": page('<line x2="100" y2="50" fill="red"/><line x2="100" y2="90" stroke="red"/>'),
    "missing gradient": page(f'{BOX} fill="url(#no)"/><rect fill="url(#no) lime" width="30" height="30"/>'),
    "gradient": page(
        '<linearGradient id="x"><stop stop-color="red"/></linearGradient>'
        f'{BOX} fill="url(#x)"/><rect fill="url( \'#x\' ) blue" width="30" height="30"/>'
    ),
    "sizes that draw nothing": page(
        '<rect width="0" height="20"/><rect width="20"/><rect width="-20" height="20"/><circle/><circle r="-5"/>'
        f'<ellipse rx="0" ry="10"/><polygon/><polyline points="5,5"/><path/><path d=""/><path d="M5 5"/>{FOUR}'
    ),
    "definitions": page(
        f'<defs>{BOX}/><g><rect width="9" height="9"/></g></defs><symbol>{BOX}/></symbol>'
        f'<clipPath id="q">{BOX}/></clipPath><mask id="w">{BOX}/></mask><pattern id="e">{BOX}/></pattern>'
        f'<marker id="r">{BOX}/></marker>{FOUR}'
    ),
    "links": page(f'<a href="#x"><g><a xlink:href="#y">{BOX}/></a></g></a>'),
    "unknown elements": page(f'<foo>{BOX}/></foo><g><bar/>{FOUR}</g>'),
    "foreign elements": page(
        f'<e:view xmlns:e="urn:e"><e:rect width="9"/>{BOX}/></e:view><g xmlns:e="urn:e" e:x="5" e:display="none">{FOUR}</g>'
        '<metadata><r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rect width="9" height="9"/></r:RDF></metadata>'
    ),
    "svg by a prefix": (
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="400" height="400"><s:g><s:rect width="50" height="50"/>'
        b'</s:g><rect width="90" height="90"/></s:svg>'
    ),
    "switch": page(
        '<switch><g systemLanguage="de"><rect id="a" width="50" height="50"/></g>'
        '<g systemLanguage="fr, en"><rect id="b" x="60" width="50" height="50"/></g>'
        '<g><rect id="c" x="120" width="50" height="50"/></g></switch>'
    ),
    "switch with extensions": page(
        '<switch><rect id="a" requiredExtensions="urn:none" width="50" height="50"/>'
        '<rect id="b" requiredExtensions="" x="60" width="50" height="50"/>'
        '<rect id="c" x="120" width="50" height="50"/><rect id="d" x="180" width="50" height="50"/></switch>'
    ),
    "switch with a hidden child": page(
        '<switch><rect id="a" display="none" width="50" height="50"/><rect id="b" x="60" width="50" height="50"/></switch>'
    ),
    "conditions outside a switch": page(
        f'<g systemLanguage="de">{BOX}/></g><rect id="x" systemLanguage="en-US" width="50" height="50"/>'
        '<rect id="y" systemLanguage="" y="60" width="30" height="30"/>'
    ),
    "markers": page(
        '<marker id="m" markerWidth="9" markerHeight="9" overflow="visible"><path d="M0 0H9V9z"/></marker>'
        '<path d="M50 50H150V150" fill="none" stroke="red" marker-end="url(#m)" style="marker:url(#m)"/>'
    ),
    "dashes": page('<path d="M50 50H150V150z" stroke="red" stroke-dasharray="5 3"/>'),
    "text and pictures": page(
        '<text x="50" y="200">Text</text><image href="none.png" width="50" height="50"/>'
        f'<foreignObject width="30" height="30"/>{FOUR}'
    ),
}  # fmt: skip

_G = '<g id="t" transform="{}"><rect x="10" y="20" width="60" height="30"/><circle cx="90" cy="90" r="20"/></g>'
TRANSFORMS = {
    f"transform {i + 1}": page(_G.format(t))
    for i, t in enumerate(
        (
            "translate(30)", "translate(30 20)", "translate(30,20)scale(2)", "scale(2 -1) translate(10,-200)",
            "rotate(30)", "rotate(30 100 120)", "rotate(-45,100,120) scale(.5)", "skewX(20)", "skewY(-15)",
            "matrix(1 .2 -.3 1.1 50 60)", "matrix(1,.2,-.3,1.1,50,60) , translate(1 2)", " translate( 5 , 6 ) ",
            "translate(1e1 2.5E+1)", "translate(-.5.5)", "translate(10-20)", "rotate(90 200 200)", "scale(0.5,)",
            "translate(30) foo(3)", "scale()", "matrix(1 2 3)", "translate(30px)", "rotate(30deg)", "TRANSLATE(30)",
            "translate(30) garbage", "none", "skewX(20) rotate(10) scale(1.1,.9)",
        )
    )
} | {
    f"style transform {i + 1}": page(_G.replace('transform="{}"', 'style="transform:{}"').format(t))
    for i, t in enumerate(
        (
            "translate(30px,20px)", "translate(30px) rotate(20deg)", "rotate(.1turn)", "rotate(0.2rad)", "rotate(50grad)",
            "translateX(1cm) translateY(10%)", "scale(2)", "scale(1.5, 50%)", "scaleX(2) scaleY(.5)", "skew(10deg,5deg)",
            "skewX(10deg)", "matrix(1,.2,-.3,1.1,50,60)", "translate(30)", "translate(0)", "translate(calc(1px + 1em), 2em)",
            "rotate(30)", "rotate(0)", "nonsense(3)", "none", "translate(30px 20px)",
        )
    )
} | {
    "style beats transform attribute": page('<rect width="50" height="50" transform="translate(90)" style="transform:scale(2)"/>'),
    "transform in a sheet": sheet("rect{transform:translate(20px,20px)}circle{transform:rotate(5deg)}", FOUR),
    "nested transforms": page(
        '<g transform="translate(200,150)"><g transform="rotate(30)"><g transform="scale(1,-1)">'
        '<g style="transform:skewX(12deg)"><rect width="60" height="40"/><path d="M0 0C20 40 40 40 60 0z"/></g></g></g></g>'
    ),
    "transform on the root": page(FOUR, HEAD.replace("<svg", '<svg transform="rotate(10)"')),
    "no scale": page(f'<g transform="scale(0)">{BOX}/></g><g transform="scale(1 0)">{BOX}/></g>{FOUR}'),
}  # fmt: skip

_O = '<rect id="o" x="100" y="50" width="80" height="40" style="transform:rotate(30deg);{}"/>'
ORIGINS = {
    f"origin {i + 1}": page(_O.format(s))
    for i, s in enumerate(
        (
            "transform-origin:50px 60px", "transform-origin:center", "transform-origin:25% 75%", "transform-origin:left",
            "transform-origin:top", "transform-origin:bottom right", "transform-origin:100px", "transform-origin:1in 2em",
            "transform-origin:right 20px", "transform-box:fill-box", "transform-box:fill-box;transform-origin:center",
            "transform-box:fill-box;transform-origin:10px 20px", "transform-box:fill-box;transform-origin:100% 0",
            "transform-box:view-box;transform-origin:50% 50%", "transform-origin:nonsense", "transform-origin:0 0 5px",
        )
    )
} | {
    "origin of an attribute": page('<rect width="50" height="30" transform="rotate(20)" transform-origin="100 50"/>'),
    "origin as attribute in per cent": page('<rect width="50" height="30" transform="rotate(20)" transform-origin="50% 50%"/>'),
    "origin of a group": page(
        '<g style="transform-box:fill-box;transform-origin:center;transform:rotate(45deg)"><rect x="50" y="50" width="80" height="40"/>'
        '<circle cx="200" cy="120" r="30"/><path d="M60 150q40 60 80 0" fill="none"/></g>'
    ),
    "origin in a viewBox": page(
        '<rect x="20" y="10" width="40" height="20" style="transform:rotate(30deg);transform-origin:50% 50%"/>',
        f'<svg {NS} width="400" height="400" viewBox="-10 -20 100 100">',
    ),
    "fill-box of a curve": page(
        '<path d="M50 50C150 0 150 200 50 150z" style="transform-box:fill-box;transform-origin:100% 50%;transform:scale(.5)"/>'
    ),
    "translate by the box": page(
        '<rect x="50" y="50" width="80" height="40" style="transform-box:fill-box;transform:translate(50%,100%)"/>'
    ),
}  # fmt: skip
