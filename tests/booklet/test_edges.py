"""Edges of papers for the ruler: the right lengths, in both units, each kind once."""

import pytest
from booklets import drawn, made
from hand_blocks import one_circle

from convert.booklet.edges import edges_of
from convert.booklet.wanted import Wanted


def words_of(block, width):
    """Return all words on the pages of dimensions."""
    _, pages, _, _ = made(block, {"small": width, "large": 2.0 * width}, Wanted())
    texts = []
    for page in pages.pages[1:]:
        found = [mark.text for mark in page.marks if hasattr(mark, "text")]
        if not found[0].startswith("Block dimensions"):
            break
        texts += found
    return texts


def test_hexagons_of_an_inch():
    """Seven hexagons with edges of 1 in are drawn so; at twice the size they have edges of 2 in."""
    block = drawn("ring-of-seven")
    texts = words_of(block, block.width)
    assert texts.count("1 in (25.4 mm)") == texts.count("2 in (50.8 mm)") == len(block.templates)
    assert "6 straight" in texts


def test_lengths_are_told_to_a_32nd_and_a_tenth():
    """A square of 50 mm: 1 31/32 in; at twice the size 3 15/16 in (50 / 25.4 is 1.9685, 100 / 25.4 3.937)."""
    block = drawn("ring-of-seven")
    texts = words_of(block, block.width * 50.0 / 25.4)
    assert "1 31/32 in (50.0 mm)" in texts
    assert "3 15/16 in (100.0 mm)" in texts


def test_curved_edges_are_measured_straight_and_round_papers_across():
    """A petal's curved sides count from tip to tip; a disc has no corner and is as wide as its block."""
    (edge,) = edges_of(one_circle())[:1]
    assert (edge.what, edge.share) == ("across", pytest.approx(1.0, abs=1e-9))
    cosmos = edges_of(drawn("cosmos"))
    assert [edge.what for edge in cosmos if edge.label == "C"] == ["2 curved", "1 curved"]
    assert next(edge.share for edge in cosmos if edge.label == "A") == pytest.approx(0.5, abs=1e-6)


def test_of_very_many_edges_the_longest_are_told(monkeypatch):
    """One line for each paper, then."""
    monkeypatch.setattr("convert.booklet.edges.MOST", 10)
    block = drawn("dusk-moth")
    texts = words_of(block, 101.6)
    assert sum(text.endswith((" straight", " curved")) for text in texts) == len(block.templates)
    assert any(text.startswith("The longest edge of each of 10 papers") for text in texts)
