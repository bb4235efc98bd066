"""What is seen is what a browser paints. Source of truth: headless Chromium's picture of files of our own.

For what a browser's answers about points leave open: masks, what paint servers paint, and clips of things
that are moved once more by their own place.
"""

from __future__ import annotations

import base64

import numpy as np
import pymupdf
import pytest
from browser import picture
from comparing import MM_PER_PX, read
from documents_paint import MASKS, MOVED, SERVERS

from convert.geometry.contain import windings
from convert.geometry.measure import nearest
from convert.reader.drawing import FillRule

DOCUMENTS = MASKS | SERVERS | {f"{name}, painted": data for name, data in MOVED.items()}
CELL = 400
ACROSS = 8
GRID = np.arange(5, CELL, 10) + 0.5

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def painted(tmp_path_factory):
    """Return a function that tells at which points of a grid a document's picture is not white."""
    places = {name: (i % ACROSS * CELL, i // ACROSS * CELL) for i, name in enumerate(DOCUMENTS)}
    shown = "".join(
        f'<img src="data:image/svg+xml;base64,{base64.b64encode(DOCUMENTS[name]).decode()}" '
        f'style="position:absolute;left:{x}px;top:{y}px;width:{CELL}px;height:{CELL}px">'
        for name, (x, y) in places.items()
    )
    height = -(-len(DOCUMENTS) // ACROSS) * CELL
    page = f"<!DOCTYPE html><body style='margin:0;background:#fff'>{shown}</body>"
    pixels = pymupdf.Pixmap(str(picture(tmp_path_factory.mktemp("painted"), page, ACROSS * CELL, height)))
    rows = np.frombuffer(pixels.samples, np.uint8).reshape(pixels.height, pixels.width, pixels.n)

    def dark(name: str) -> np.ndarray:
        x, y = places[name]
        at = GRID.astype(int)
        return (rows[y + at[:, None], x + at[None, :], :3] < 240).any(axis=2)

    return dark


def ours(data: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Return at which points of the grid we see a fill, and which are too near to a line to tell."""
    found = read(data)
    points = np.array([(x, y) for y in GRID for x in GRID])
    covered, near = (np.zeros(len(points), bool) for _ in range(2))
    for table, element in zip(found.tables, found.drawing.elements if found.drawing else (), strict=True):
        near |= nearest(table, points)[0] < 1.5 + element.stroke_width / MM_PER_PX
        if element.fill is not None:
            turns = windings(table, np.array([0, len(table)]), np.zeros(len(points), np.int64), points)
            covered |= turns % 2 != 0 if element.fill_rule is FillRule.EVENODD else turns != 0
    side = len(GRID)
    return covered.reshape(side, side), near.reshape(side, side)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_drawing_is_seen_as_a_browser_paints_it(name: str, painted) -> None:
    """At every point of the grid that is not near a line: painted there, or not."""
    covered, near = ours(DOCUMENTS[name])
    wrong = np.argwhere((covered != painted(name)) & ~near)

    assert not len(wrong), [
        (float(GRID[x]), float(GRID[y]), bool(covered[y, x])) for y, x in wrong[:5].tolist()
    ]


def test_the_pictures_show_something(painted) -> None:
    """Nearly every document paints a good part of its page, and none all of it."""
    shares = [float(painted(name).mean()) for name in DOCUMENTS]
    assert sum(share > 0.02 for share in shares) > 0.8 * len(shares)
    assert max(shares) < 0.9
