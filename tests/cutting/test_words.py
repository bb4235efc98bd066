"""Words: inside, off the marks, readable, the label first, and none where none can be read."""

import math

import numpy as np
import pytest
import shapely
from drawn_pieces import WAYS, fan, region, sampled
from hand_blocks import ALL, compass_flower, hand_block, kite_pair, one_circle
from hand_profiles import mat
from hypothesis import given, settings
from hypothesis import strategies as st
from reading import find_text, texts_of

from convert.cutting.assembled import assembled_sheet
from convert.cutting.labels import Naming
from convert.cutting.marks import MarkChoices
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Facing, Product, Purpose

NO_MARKS = MarkChoices(balance=False, junctions=False, seam_numbers=False)


def words_and_marks(sheet, copy):
    """Return the strokes of the words and of the marks of one copy, as lines on the sheet."""
    own = [s for s in sheet.strokes if s.copy == copy]
    words = [shapely.LineString(sampled(s.chain)) for s in own if s.purpose is Purpose.LETTER]
    marks = [shapely.LineString(sampled(s.chain)) for s in own if s.purpose is Purpose.MARK]
    return shapely.MultiLineString(words), shapely.MultiLineString(marks)


def card(sheet, copy):
    """Return what is cut out for one copy: its outer line less its inner ones."""
    own = [s for s in sheet.strokes if s.copy == copy]
    shape = shapely.Polygon(sampled(next(s.chain for s in own if s.purpose is Purpose.OUTER), 400))
    for stroke in own:
        if stroke.purpose is Purpose.INNER:
            shape = shape.difference(shapely.Polygon(sampled(stroke.chain, 400)))
    return shape


@settings(deadline=None, max_examples=25)
@given(WAYS, st.floats(6, 110), st.sampled_from([Facing.FRONT, Facing.BACK]))
def test_words_lie_inside_and_off_the_marks(ways, radius, facing):
    """On fans of random triangles at any size: words keep off the outline and all that is drawn there."""
    if max(b - a for a, b in zip(ways, [*ways[1:], 360.0], strict=True)) > 170:
        return
    block = fan(ways, radius)
    for sheet in (*piece_sheets(block, mat(), facing), assembled_sheet(block, mat(), facing)):
        for copy, placed in enumerate(sheet.copies):
            words, marks = words_and_marks(sheet, copy)
            if not words.is_empty:
                piece = block.pieces[placed.piece]
                if sheet.name == "assembled":
                    corners = placed.placement.points(piece.outline.points)
                    shape = shapely.Polygon(corners)
                else:
                    shape = card(sheet, copy)
                assert shape.contains(words)
                assert shape.boundary.distance(words) > 0.2
                assert marks.is_empty or words.distance(marks) > 0.2


@pytest.mark.parametrize("facing", [Facing.FRONT, Facing.BACK])
@pytest.mark.parametrize("make", ALL)
def test_every_copy_says_which_piece_it_is_readably(make, facing):
    """Each copy bears its own piece's label, unmirrored and not upside down, on either side of the paper."""
    block = make()
    labels = []
    for sheet in piece_sheets(block, mat(), facing):
        for copy, placed in enumerate(sheet.copies):
            label = block.pieces[placed.piece].label
            letters = [s for s in sheet.strokes if s.copy == copy and s.purpose is Purpose.LETTER]
            ((height, degrees),) = find_text(letters, label)
            assert 1.2 - 1e-9 <= height <= 5.0 + 1e-9
            assert -90.001 < degrees < 90.001
            labels.append(label)
    assert sorted(labels) == sorted(piece.label for piece in block.pieces)


def test_a_roomy_piece_says_everything():
    """Label, finished size, count and the block's name; a mirrored one says reversed."""
    block = kite_pair(85.0)
    (sheet,) = piece_sheets(block, mat(), size="large")
    said = Naming.of(block, "large").size
    assert said.startswith("large ")
    for copy, placed in enumerate(sheet.copies):
        piece = block.pieces[placed.piece]
        template = block.templates[placed.template]
        count = template.reversed_count if piece.reversed else template.count
        wanted = {piece.label, said, f"make {count}", block.name}
        wanted |= {"reversed"} if piece.reversed else set()
        assert texts_of(sheet, Purpose.LETTER, copy, *wanted, "reversed", "make 9") == wanted


def test_count_is_that_of_all_blocks():
    """For three blocks the papers of all three are counted."""
    block = one_circle()
    (sheet,) = piece_sheets(block, mat(), blocks=3)
    assert texts_of(sheet, Purpose.LETTER, 0, "make 3", "make 1") == {"make 3"}


def test_smaller_pieces_say_less_but_the_label_stays():
    """As the block shrinks lines are dropped, never the label before another; then it is missed aloud."""
    lines = []
    for radius in (60.0, 30.0, 20.0, 10.0, 6.0, 2.0):
        block = one_circle(radius / 4)
        (sheet,) = piece_sheets(block, mat(), size="s", marks=NO_MARKS)
        said = texts_of(sheet, Purpose.LETTER, 0, "A1", Naming.of(block, "s").size, "make 1", block.name)
        lines.append(len(said))
        assert ("A1" in said) == bool(said)
        missing = [f.what for f in sheet.findings if f.code == "CUT-003"]
        assert bool(missing) == (not said)
    assert lines == sorted(lines, reverse=True)
    assert lines[0] == 4
    assert lines[-1] == 0


def test_words_of_a_long_piece_run_along_it():
    """In a strip 60 by 3.2 mm that lies steeply, words go along it, head up."""
    turn = np.exp(1j * math.radians(70.0))
    corners = [z * turn for z in (0, 60, 60 + 3.2j, 3.2j)]
    block = hand_block("strip", [(z.real, z.imag) for z in corners], [[(0, 0), (1, 0), (2, 0), (3, 0)]])
    sheet = assembled_sheet(block, mat())
    letters = [s for s in sheet.strokes if s.purpose is Purpose.LETTER]
    ((height, degrees),) = find_text(letters, "A1")
    assert degrees == pytest.approx(70.0, abs=1e-6)
    assert height >= 1.6 - 1e-9


def test_copies_that_lie_alike_say_it_in_the_same_place():
    """The words of copies of one template are in the same place on each, so that a stack of them matches."""
    block = compass_flower()
    for sheet in piece_sheets(block, mat(), marks=NO_MARKS):
        seen = {}
        for copy, placed in enumerate(sheet.copies):
            own = [s.chain for s in sheet.strokes if s.copy == copy and s.purpose is Purpose.LETTER]
            last = placed.placement.inverse().points(own[-1].points)  # the end of the block's name
            if placed.template in seen:
                assert np.abs(last - seen[placed.template]).max() < 1e-9
            seen.setdefault(placed.template, last)


def test_a_windows_words_are_in_its_frame_and_count_both_hands():
    """The frame bears the template's letter; it is one tool for all pieces, reversed ones too."""
    block = kite_pair(80.0)
    choices = CutChoices((Product.WINDOW,), 12.0)
    for sheet in piece_sheets(block, mat(), product=Product.WINDOW, choices=choices):
        for copy, placed in enumerate(sheet.copies):
            words, _ = words_and_marks(sheet, copy)
            assert card(sheet, copy).contains(words)
            assert placed.label in texts_of(sheet, Purpose.LETTER, copy, placed.label)


def test_no_text_of_any_font_lies_in_a_piece():
    """In pieces all words are strokes; text stands in the margins, on the layer that is never cut."""
    for sheet in (*piece_sheets(kite_pair(), mat()), assembled_sheet(kite_pair(), mat())):
        assert {words.purpose for words in sheet.letterings} == {Purpose.CHECK}
        for words in sheet.letterings:
            at = shapely.Point(words.at)
            assert not any(
                card(sheet, n).contains(at) for n in range(len(sheet.copies)) if sheet.name != "assembled"
            )


def test_region_of_the_oracle_has_the_pieces_area():
    """The polygons that these tests measure with are the pieces, arcs and all."""
    for piece in compass_flower().pieces:
        assert region(piece).area == pytest.approx(piece.area, rel=1e-4)
