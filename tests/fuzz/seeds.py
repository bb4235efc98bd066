"""Where hostile files start from: the fixtures, the documents that a browser referees, and a few blocks."""

# ruff: noqa: E501 - a drawing reads best in one line
from __future__ import annotations

import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" viewBox="0 0 100 100">'

BLOCKS = {
    "nine": '<g fill="none" stroke="#000"><path d="M0 0H90V90H0zM30 0V90M60 0V90M0 30H90M0 60H90"/></g>',
    "crossing": '<g fill="none" stroke="#000" stroke-width=".5"><circle cx="50" cy="50" r="40"/><path d="M5 50C30 10 70 90 95 50M50 5Q80 50 50 95"/></g>',
    "waves": '<rect width="100" height="100" fill="#eee"/><path fill="#a33" d="M0 50C20 20 40 80 60 50S90 40 100 50V100H0z"/><path fill="#33a" d="M0 50C20 20 40 80 60 50S90 40 100 50V0H0z"/>',
    "stacked": '<circle cx="50" cy="50" r="45" fill="#fc0"/><circle cx="50" cy="50" r="30" fill="#f80"/><path d="M50 20L80 80H20z" fill="#a00" opacity=".5"/>',
    "inked": '<rect width="100" height="100" fill="#fff"/><path fill-rule="evenodd" d="M0 0H100V100H0zM2 2H49V49H2zM51 2H98V49H51zM2 51H49V98H2zM51 51H98V98H51z"/>',
    "windows": '<rect width="100" height="100"/><g fill="#fff"><path d="M1 1H49.5V99H1z"/><path d="M50.5 1H99V40L50.5 60z"/><path d="M50.5 61L99 41V99H50.5z"/></g>',
    "outlined strokes": '<g fill="#111"><path d="M0 0H100V1H0z"/><path d="M0 99H100V100H0z"/><path d="M0 0H1V100H0z"/><path d="M99 0H100V100H99z"/><path d="M49.5 0h1v100h-1z"/><path d="M0 49.5h100v1h-100z"/></g>',
    "named": '<path d="M0 0H50V90H0z" fill="#ace"/><path d="M50 0H90V90H50z" fill="#eca"/><text x="20" y="40">A1</text><text x="70" y="50" text-anchor="middle">sky<tspan dy="9">blue</tspan></text>',
    "instances": '<defs><path id="p" d="M0 0L40 0A40 40 0 0 1 0 40z"/><g id="q"><use href="#p"/><use href="#p" transform="rotate(90)"/></g></defs><use href="#q" x="50" y="50"/><use xlink:href="#q" transform="translate(50 50) rotate(180)"/>',
    "twice": '<g fill="none" stroke="red"><path d="M10 10L90 10L90 90z"/><path d="M10 10L10.02 10L90 90L10 90z"/><path d="M50 10.01V50"/></g>',
    "loose": '<g fill="none" stroke="red"><rect x="5" y="5" width="80" height="80"/><path d="M5 45H80"/><path d="M45 4V86"/></g>',
    "holes": '<path fill="#9c6" fill-rule="evenodd" d="M0 0H90V90H0zM20 20H70V70H20z"/><path d="M35 35H55V55H35z" fill="none" stroke="#000"/>',
    "layers": '<g id="guides"><title>Guides</title><path d="M0 0L99 99" stroke="blue"/></g><g id="block"><rect width="45" height="90" fill="#123"/><rect x="45" width="45" height="90" fill="#456"/></g>',
    "background": '<rect x="-10" y="-10" width="200" height="200" fill="white"/><rect x="10" y="10" width="40" height="40" fill="#c33"/><rect x="50" y="10" width="40" height="40" fill="#3c3"/>',
    "points": '<polygon points="10,10 50,10 50,50" fill="#ddd"/><polyline points="10,10 50,50 10,50 10,10" fill="#bbb"/><line x1="10" y1="10" x2="50" y2="50" stroke="#000"/>',
    "clipped": '<clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath><mask id="m"><rect width="80" height="80" fill="#fff"/></mask><g clip-path="url(#c)"><rect width="50" height="100" fill="#e00"/><g mask="url(#m)"><rect x="50" width="50" height="100" fill="#0e0"/></g></g>',
    "styled": '<style>.k{fill:#3a7ca5;stroke:#fff;stroke-width:.2px}g>.k:nth-child(2){fill:none}@media print{*{display:none}}</style><g style="transform:rotate(10deg);transform-origin:50% 50%"><rect class="k" width="50" height="50"/><ellipse class="k" cx="50" cy="50" rx="30" ry="20"/></g>',
}  # fmt: skip


def seeds() -> list[bytes]:
    """Return all files to start from, in an order that doesn't change."""
    sys.path.insert(0, str(TESTS / "outside" / "browser"))
    import documents
    import documents_places as places

    groups = (
        documents.CASCADE, documents.SHOWN, documents.TRANSFORMS, documents.ORIGINS,
        places.VIEWPORTS, places.USES, places.LENGTHS, places.SHAPES, places.PATHS, places.CLIPS, places.FILES,
    )  # fmt: skip
    return [*drawings(), *(data for group in groups for data in group.values())]


def drawings() -> list[bytes]:
    """Return those that show blocks."""
    return [*fixtures(), *(f"{_HEAD}{body}</svg>".encode() for body in BLOCKS.values())]


def fixtures() -> list[bytes]:
    """Return the fixtures."""
    return [path.read_bytes() for path in sorted((TESTS.parent / "fixtures").glob("*.svg"))]
