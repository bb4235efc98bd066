"""What a browser shows where our pieces lie. Source of truth: headless Chromium's picture of each drawing."""

from __future__ import annotations

from collections import Counter

import pymupdf
import pytest
from browser import picture
from fixture_values import ALL, FIXTURES, GOOD

from convert.block import make_block
from convert.reader import read_drawing

CELL = 480
ACROSS = 5
FILLED = [e for e in GOOD if e.fabrics]


@pytest.fixture(scope="module")
def seen(tmp_path_factory):
    """Return a function that tells the colour a browser shows in a drawing, at shares of the page's width."""
    places = {e.name: (i % ACROSS * CELL, i // ACROSS * CELL) for i, e in enumerate(ALL)}
    shown = "".join(
        f'<img src="{(FIXTURES / f"{name}.svg").as_uri()}" '
        f'style="position:absolute;left:{x}px;top:{y}px;width:{CELL}px">'
        for name, (x, y) in places.items()
    )
    height = -(-len(ALL) // ACROSS) * CELL
    page = f"<!DOCTYPE html><body>{shown}</body>"
    png = picture(tmp_path_factory.mktemp("browser"), page, ACROSS * CELL, height)
    pixels = pymupdf.Pixmap(str(png))

    def colour(name: str, across: float, down: float) -> str:
        x, y = int(places[name][0] + across * CELL), int(places[name][1] + down * CELL)
        near = Counter(pixels.pixel(x + i, y + j)[:3] for i in range(-4, 5) for j in range(-4, 5))
        (red, green, blue), _ = near.most_common(1)[0]
        return f"#{red:02x}{green:02x}{blue:02x}"

    return colour


@pytest.mark.browser
@pytest.mark.parametrize("e", FILLED, ids=lambda e: e.name)
def test_fabrics_are_what_a_browser_shows(e, seen) -> None:
    """At the middle of every piece a browser paints the colour that we call its fabric."""
    drawing = read_drawing(e.path)
    block = make_block(drawing)
    width, _ = drawing.page
    for piece in block.pieces:
        x, y = block.on_page(*piece.at)
        assert seen(e.name, x / width, y / width) == piece.fabric, piece.label
