"""What fuzzing found, made small: each now ends as it should, through the whole of `inspect`."""

# ruff: noqa: E501 - a drawing reads best in one line

import pytest
from looking import BrokenError, looked_at

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
BOX = '<rect width="50" height="50"/>'
TWO = '<path d="M0 0H50V90H0z" fill="#ace"/><path d="M50 0H90V90H50z" fill="#eca"/>'
ASKED_JSON = "<!--asked 1-->"
ASKED_CENTRE = "<!--asked 2-->"
DEEP = "(" * 5000
CLIPPED = '<g clip-path="url(#c)">'
BOXED = '<g style="transform-box:fill-box;transform:rotate(1deg);transform-origin:center">'
MOTH = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-10 -10 180 180"><path d="M0 0L80 .001V30L46 20L12 30z" fill="#22223b"/>'
    '<path d="M160 0H80V30L114 20L148 30z" fill="#22223b"/><path d="M0 0L12 30L.001 60L0 75z" fill="#4a4e69"/>'
    '<path d="M0 160L22 105.000000001L58 118L80 130V160z" fill="#010203"/><path d="M160 160L138 105L102 118L80 130V160z"/>'
    '<path d="M80 30L46000 20L138 70z" fill="#c9ada7"/><path d="M46 20L12 30L30 60L74 70z" fill="#9a8c98"/>'
    '<path d="M30.000000030000002 60L74 70L22 105z"/><path d="M130 60L86 70.0001L138 105z" fill="#f2cc8f"/>'
    '<path d="M22-105L74 70L57.999999 118z" fill="#e07a5f"/><path d="M138 105L86 70L102 118z" fill="#e07a5f"/>'
    '<path d="M74 69.99999999993L58 118L80 130z" fill="#c9ada7"/><path d="M86 70L102 118L80 130z" fill="#c9ada7"/>'
    '<path d="M80 30L74 70L80 130L86 70z" fill="#f2e9e4"/></svg>'
)
WINTER = (
    '<svg xmlns="http://www.w3.org/2000/svg"><g stroke="#fdf7ec" stroke-width=".5">'
    '<path d="M0 0L21.650635095-12500L46.650635095-12.5L25 0z"/><path d="M-12.5 46.650635095L0 68.301270189L-21.650635095 80.801270189L-34.150635095 59.150635095z"/>'
    '<path d="M21.650635095 80.801270189L46.650635095 80.801270189L25 93.301270189L0 93.301270189z"/>'
    '<path d="M-21.650635095 80.801270189L0 93.301270189L-25 93.301270189L-46.650635095 80.801270189z"/></g>'
    '<path d="M56 130h48v30h-48z" fill="#1a5e7c"/></svg>'
)
FROST = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-420 -420 840 840"><g stroke="#fff" stroke-width="1.5">'
    '<path fill="#3d5a80" d="m0,0 144,0 124.707658145,72 -144,0z"/>'
    '<path stroke="none" d="m0,0 72,-124.707658145 124.707658145,-72 -72,124.707658145z"/>'
    '<path fill="#ee6c4d" d="m0,0 124.707658145,-72 144,0 -124.707658145,72z"/>'
    '<path fill="#98c1d9" d="m0,144 72,124.707658145 -72,124.707658145 -72,-124.707658145z"/>'
    '<path fill="#c6dfe9" d="m-72,-124.707658145 -124.707658145,-72 0,-144 124.707658145,72z"/>'
    '<path fill="#c6dfe9" d="m144,0 125.0,-72 124.707658145,72 -124.707658145,72z"/></g></svg>'
)
SHELLS = (
    '<svg xmlns="http://www.w3.org/2000/svg" width=".1in" viewBox="0 0 480 336"><symbol id="shell" viewBox="-0.999999999 -1 2 2">'
    '<path d="M-1 0a0.999999999999 1 0 0 1 2.0 0a1 1 0 0 0-1 1a1 1 0 0 0-1-1"/></symbol><g transform="translate(24 24)">'
    '<use href="#shell" x="144" width="144" height="144"/><use href="#shell" x="288" height="144"/><use href="#shell" width="144" height="144"/>'
    '<use href="#shell" x="216" y="72" width="144" height="144"/><use href="#shell" width="144" height="144"/>'
    '<use href="#shell" x="288" y="144" width="144" height="144"/></g></svg><!--asked 16229-->'
)
CIRCLES = "".join(f'<circle cx="{40 * n}" cy="{395 - n % 3}" r="14"/>' for n in range(10)) * 3
BARS = "".join(f"M0 {at}h2900v1H0zM{at} 0v2900h1V0z" for at in range(0, 2900, 724))

FOUND = {
    "a selector that ends with its namespace": (f"{HEAD}<style>g |{{clip-rule:nonzero}}</style>{BOX}</svg>", "read"),
    "ink of which no seam is left": (f"{MOTH}{ASKED_CENTRE}", "BLOCK-027"),
    "a seam with a part of no length": (f"{WINTER}{ASKED_CENTRE}", "read"),
    "two arcs that one end of a seam has no room for": (f"{FROST}{ASKED_CENTRE}", "read"),
    "an arc so flat that its middle is nowhere": (SHELLS, "BLOCK-018"),
    "fifty viewports in each other": (f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400"><g transform="skewX(20)">{"<svg>" * 50}{CIRCLES}{"</svg>" * 50}</g></svg>', "read"),
    "bars of three thousand times their width": (f'<svg xmlns="http://www.w3.org/2000/svg" width="2900mm" height="2900mm" viewBox="0 0 2900 2900"><path fill="#111" d="{BARS}"/></svg>', "BLOCK-007"),
    "a page less than nothing wide": (f'<svg xmlns="http://www.w3.org/2000/svg" width="-1e308em" height="20em">{BOX}</svg>', "READ-014"),
    "a page of hardly any height": (f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="5e-324">{BOX}</svg>', "READ-014"),
    "a text out of this world": (f'{HEAD}{TWO}<text x="-1e308" y="50">sky</text></svg>{ASKED_JSON}', "read"),
    "a text at no number": (f'{HEAD}{TWO}<g transform="scale(1e90)"><text x="1e300" y="1e300">sky</text></g></svg>{ASKED_JSON}', "read"),
    "a bar a kilometre long": (f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400"><rect x="10" width="80" height="999999"/>{BOX}</svg>', "BLOCK-007"),
    "a bar a kilometre long as a line": (f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400"><rect x="10" width="80" height="999999"/>{BOX}</svg>{ASKED_CENTRE}', "BLOCK-027"),
    "pieces smaller than the gap of so large a drawing": ('<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400"><path d="M1 1h9v9h-9zM1 1e6h9v9h-9z"/></svg>', "BLOCK-001"),
    "ink of no area": (f'{HEAD}{TWO}<polygon points="0,0 1e-100,0 0,60" fill="#223"/></svg>', "read"),
    "lines drawn in white": (f'{HEAD}<rect width="90" height="90"/><g fill="#fff"><path d="M1 1H49.5V99H99z"/><path d="M50.5 1H99V40z"/><path d="M5 60h80v1h-80z"/></g></svg>{ASKED_CENTRE}', "BLOCK-025"),
    "a line that parts nothing": (f'{HEAD}<path d="M10 10h80v.5h-80z"/></svg>{ASKED_CENTRE}', "BLOCK-027"),
    "brackets in a style attribute": (f'{HEAD}<rect style="transform:{DEEP}" width="9" height="9"/></svg>', "READ-029"),
    "brackets in a style sheet": (f"{HEAD}<style>rect{{fill:{DEEP}}}</style>{BOX}</svg>", "READ-029"),
    "brackets in a variable": (f'{HEAD}<rect style="--x:{DEEP};fill:var(--x)" width="9" height="9"/></svg>', "READ-029"),
    "brackets in a clip path": (f'{HEAD}<rect clip-path="circle({DEEP}" width="9" height="9"/></svg>', "READ-029"),
    "brackets in a length": (f'{HEAD}<rect width="calc({DEEP}1px" height="9"/>{BOX}</svg>', "READ-029"),
    "brackets in a comment": (f"{HEAD}<style>/*{DEEP}*/rect{{fill:red}}</style>{BOX}</svg>", "read"),
    "styles without end": (f"{HEAD}<style>{'/**/' * 1_000_001}</style>{BOX}</svg>", "READ-034"),
    "a style attribute without end": (f'{HEAD}<rect style="{"fill:red;" * 500_000}" width="9" height="9"/></svg>', "READ-034"),
    "clip paths in clip paths": (HEAD + "".join(f'<clipPath id="c{i}" clip-path="url(#c{i + 1})">{BOX}</clipPath>' for i in range(99)) + f'<g clip-path="url(#c0)">{BOX}</g></svg>', "READ-039"),
    "groups clipped in clipped groups": (f'{HEAD}<clipPath id="c"><circle r="50"/></clipPath>{CLIPPED * 99}{BOX}{"</g>" * 99}</svg>', "READ-039"),
    "not so many of those": (f'{HEAD}<clipPath id="c"><circle r="50"/></clipPath>{CLIPPED * 30}{BOX}{"</g>" * 30}</svg>', "read"),
    "boxes that depend on boxes": (HEAD + BOXED * 99 + BOX + "</g>" * 99 + "</svg>", "READ-019"),
    "a skew by more degrees than can be turned into radians": (f'{HEAD}<g transform="skewX(1e308)"><circle r="40"/></g>{BOX}</svg>', "CUT-001"),
    "an arc turned by more degrees than there are numbers": (f'{HEAD}{BOX}<path d="M60 60a8 8 {"9" * 400} 1 1 16 0z"/></svg>', "read"),
    "a clipped box of hardly any height": (f'{HEAD}{BOX}<rect width="20" height="1e-308" style="clip-path:polygon(0 0, 100% 0, 100% 100%, 0 100%, 30px 30px)"/></svg>', "read"),
    "not so many of them": (HEAD + BOXED * 30 + BOX + "</g>" * 30 + "</svg>", "read"),
}  # fmt: skip


@pytest.mark.parametrize("name", FOUND)
def test_it_ends_in_words(name, tmp_path):
    """Read, or refused with the code that says why."""
    document, outcome = FOUND[name]

    assert looked_at(document.encode(), tmp_path / "found.svg") == outcome


def test_a_fault_is_seen(tmp_path, monkeypatch):
    """The watch sees a crash and slowness."""
    import looking

    def fails(*_, **__):
        raise ZeroDivisionError

    looked_at(f"{HEAD}{BOX}</svg>".encode(), tmp_path / "a.svg")
    with monkeypatch.context() as patch:
        patch.setattr(looking, "SECONDS", 0.0)
        with pytest.raises(BrokenError):
            looked_at(f"{HEAD}{BOX}</svg>".encode(), tmp_path / "a.svg")
    monkeypatch.setattr("convert.reader.draw.assemble", fails)
    with pytest.raises(ZeroDivisionError):
        looked_at(f"{HEAD}{BOX}</svg>".encode(), tmp_path / "a.svg")
