"""Shapes that touch the edge of what clips them lose nothing, and nothing is said of them."""

import numpy as np
import pytest

from convert.reader import read_drawing

SYMBOL = """<svg xmlns="http://www.w3.org/2000/svg" width="5in" height="3.5in" viewBox="0 0 480 336">
<symbol id="s" viewBox="-1 -1 2 2">{shape}</symbol>
<g transform="translate(24 24)" fill="#246"><use href="#s" width="144" height="144"/>
<use href="#s" x="72" y="72" width="144" height="144"/>
<use href="#s" x="288" y="144" width="144" height="144"/>
<use href="#s" x="307.3" y="3.1" width="40.7" height="40.7"/></g></svg>"""

TOUCHING = {
    "circle": '<circle r="1"/>',
    "shell": '<path d="M-1 0a1 1 0 0 1 2 0a1 1 0 0 0-1 1a1 1 0 0 0-1-1"/>',
    "whole square": '<rect x="-1" y="-1" width="2" height="2"/>',
    "square on its point": '<path d="M-1 0 0-1 1 0 0 1z"/>',
    "half square": '<path d="M-1-1H1L-1 1z"/>',
}


@pytest.mark.parametrize("shape", TOUCHING.values(), ids=TOUCHING)
def test_touching_is_not_outside(shape: str, tmp_path) -> None:
    """A shape that just fills the viewport of its symbol is read as if there were no viewport."""
    path = tmp_path / "touching.svg"
    drawings = []
    for text in (SYMBOL, SYMBOL.replace("<symbol ", '<symbol overflow="visible" ')):
        path.write_text(text.format(shape=shape), "utf-8")
        drawings.append(read_drawing(path))
    clipped, free = drawings
    assert clipped.findings == free.findings == ()
    assert np.array_equal(clipped.segments.start, free.segments.start)
    assert np.array_equal(clipped.segments.end, free.segments.end)
    assert np.array_equal(clipped.segments.bulge, free.segments.bulge)


def test_a_window_with_a_hole_inside_the_shape_still_cuts_it(tmp_path) -> None:
    """A clip whose hole lies wholly within a fill gives the fill that hole, though it crosses no outline."""
    path = tmp_path / "window.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        '<clipPath id="w"><path clip-rule="evenodd" d="M0 0H60V60H0zM25 25H35V35H25z"/></clipPath>'
        '<rect x="10" y="10" width="40" height="40" fill="#246" clip-path="url(#w)"/></svg>',
        "utf-8",
    )
    drawing = read_drawing(path)
    assert len(drawing.segments) == 8
    assert [f.code for f in drawing.findings] == ["READ-047"]
