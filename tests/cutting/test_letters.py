"""Lettering: geometry that stays in its box, for every character that can be asked for."""

import math
import string

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from convert.cutting.alphabet import CAPITAL_HEIGHT, glyphs
from convert.cutting.letters import letter, plain, readable, text_width
from convert.cutting.words import _Stack


def points_along(chain, steps=24):
    """Sample a chain by turning about each arc's centre: arithmetic of this test's own."""
    table = chain.segments
    found = []
    for start, end, bulge in zip(table.start, table.end, table.bulge, strict=True):
        a, b = complex(*start), complex(*end)
        for t in np.linspace(0.0, 1.0, steps):
            if bulge == 0.0:
                z = a + (b - a) * t
            else:
                sweep = 4.0 * math.atan(bulge)
                centre = (b - a * np.exp(1j * sweep)) / (1.0 - np.exp(1j * sweep))
                z = centre + (a - centre) * np.exp(1j * sweep * t)
            found.append((z.real, z.imag))
    return np.array(found)


def test_every_letter_digit_and_mark_that_labels_use_is_there():
    """No label, size or name written in English needs the stand-in character."""
    wanted = string.ascii_letters + string.digits + " .,:-+=/()'\"&#×°_?!"

    assert plain(wanted) == wanted


@pytest.mark.parametrize("name", sorted(set(glyphs()) - {" "}))
def test_a_glyph_keeps_to_its_width_and_lines(name):
    """Strokes stay between the tail line and the capital line, and within half a gap of their width."""
    width, chains = glyphs()[name]
    points = np.vstack([points_along(c) for c in chains])

    assert points[:, 0].min() >= -0.05
    assert points[:, 0].max() <= width + 0.15
    assert points[:, 1].min() >= -2.01
    assert points[:, 1].max() <= CAPITAL_HEIGHT + 0.6


def test_no_two_glyphs_are_drawn_alike():
    """Each character differs from every other by more than a touch of the pen."""
    drawn = {name: [c.points.round(2).tolist() for c in chains] for name, (_, chains) in glyphs().items()}
    names = sorted(drawn)

    assert all(drawn[a] != drawn[b] for i, a in enumerate(names) for b in names[i + 1 :])


def test_accents_are_dropped_and_unknown_signs_are_shown_as_such():
    """Café 1½ reads Cafe 11/2; a sign that no stroke stands for becomes a question mark."""
    assert plain("Café") == "Cafe"
    assert plain("½") == "1/2"
    assert plain("☃") == "?"


@given(
    st.text(alphabet=string.ascii_letters + string.digits + " -/", min_size=1, max_size=12),
    st.floats(0.5, 20.0),
    st.floats(-math.pi, math.pi),
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
)
def test_a_line_stays_in_its_box(text, height, angle, at):
    """Whatever the text, size, turn and place: every stroke lies in the box that words are fitted by."""
    ((rise, half),) = _Stack.of((text,), (height, height)).boxes
    back = np.exp(-1j * angle)
    for chain in letter(text, at, height, angle):
        z = (points_along(chain, 6) @ [1, 1j] - complex(*at)) * back - 1j * rise
        assert (np.abs(z.real) <= half.real + 0.03 * height).all()
        assert (np.abs(z.imag) <= half.imag + 0.1 * height).all()


def test_width_grows_with_height():
    """Twice the height is twice the width."""
    assert text_width("Moth A1", 8.0) == pytest.approx(2.0 * text_width("Moth A1", 4.0))


@given(st.floats(-20.0, 20.0))
def test_readable_is_the_same_line_and_never_upside_down(angle):
    """A direction or its opposite; straight down, be it by rounding, becomes straight up."""
    turned = readable(angle)

    assert math.sin(turned - angle) == pytest.approx(0.0, abs=1e-9)
    assert -math.pi / 2 < turned <= math.pi / 2 + 1e-5
    for lean in (-1e-9, 0.0, 1e-9):
        assert readable(-math.pi / 2 + lean) == pytest.approx(math.pi / 2)
