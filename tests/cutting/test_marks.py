"""Marks: the same place on both pieces, inside, readable, and only those that are wanted."""

import math
from collections import defaultdict

import numpy as np
import pytest
import shapely
from drawn_pieces import WAYS, fan, region, sampled
from hand_blocks import compass_flower, hand_block, one_circle, pinwheel
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.cutting.letters import letter
from convert.cutting.marks import MarkChoices, number_text, piece_marks
from convert.cutting.sewing import seams_of
from convert.geometry.similarity import Similarity

NONE = MarkChoices(balance=False, junctions=False, seam_numbers=False)
BALANCE = MarkChoices(junctions=False, seam_numbers=False)
JUNCTIONS = MarkChoices(balance=False, seam_numbers=False)
NUMBERS = MarkChoices(balance=False, junctions=False)


def two_halves(width, height, bulge):
    """Return a rectangle cut by one arc from side to side."""
    points = [(0, 0), (width, 0), (width, height), (0, height), (0, height / 2), (width, height / 2)]
    return hand_block(
        "halves",
        points,
        [[(0, 0), (1, 0), (5, -bulge), (4, 0)], [(4, bulge), (5, 0), (2, 0), (3, 0)]],
    )


def feet(marks, piece):
    """Return where the ticks of a piece stand, as exact numbers."""
    return {tuple(line.points[0].tolist()) for line in marks[piece].lines}


@settings(deadline=None, max_examples=40)
@given(st.floats(20, 400), st.floats(20, 200), st.floats(0.02, 0.45) | st.floats(-0.45, -0.02))
def test_both_pieces_carry_a_curved_seams_marks_at_the_same_places(width, height, bulge):
    """The feet of the ticks are the same floats on both sides, and at equal shares of the arc's length."""
    block = two_halves(width, height, bulge * min(1.0, height / width))
    marks = piece_marks(block, BALANCE)
    assert feet(marks, 0) == feet(marks, 1)
    if min(width, height) > 60 and abs(block.pieces[0].outline.bulge[2]) > math.tan(math.radians(10.1 / 4)):
        assert feet(marks, 0)
    bend = block.pieces[0].outline.bulge[2]
    if 4 * math.atan(abs(bend)) < math.radians(10.01):
        return
    chord, half = width, 2 * math.atan(abs(bend))
    length = chord * half / math.sin(half)
    radius = length / (2 * half)
    side = 1.0 if bend > 0 else -1.0  # the lower piece has the arc from right to left
    centre = complex(width / 2, height / 2 - side * radius * math.cos(half))
    for x, y in feet(marks, 0):
        away = complex(x, y) - centre
        assert abs(away) == pytest.approx(radius, rel=1e-9)
        share = 0.5 + np.angle(away / (1j * side)) / (2 * half)
        nearest = min((0.125 * k for k in range(1, 8)), key=lambda s: abs(s - share))
        # One, two or three ticks, 1.2 mm apart, about the eighths.
        assert min(abs((share - nearest) * length - step) for step in (-1.2, -0.6, 0.0, 0.6, 1.2)) < 1e-6


def test_how_many_marks_a_curve_has():
    """The middle up to 76 mm, quarters up to 152 mm, then eighths, told apart by one, two, three ticks."""
    for length, ticks in ((9.0, 0), (60.0, 1), (100.0, 1 + 2 * 2), (200.0, 1 + 2 * 2 + 4 * 3)):
        half = 2 * math.atan(0.2)
        block = two_halves(length * math.sin(half) / half, 60.0, 0.2)
        marks = piece_marks(block, BALANCE)
        assert [len(m.lines) for m in marks] == [ticks, ticks]


def test_straight_seams_and_slight_bends_have_no_balance_marks():
    """A bend under ten degrees is eased in by itself."""
    assert not any(m.lines for m in piece_marks(bar_and_stems(), BALANCE))
    assert not any(
        m.lines for m in piece_marks(two_halves(100.0, 80.0, math.tan(math.radians(9 / 4))), BALANCE)
    )
    assert all(m.lines for m in piece_marks(two_halves(100.0, 80.0, math.tan(math.radians(11 / 4))), BALANCE))


def test_a_rims_curve_is_marked_on_its_one_piece():
    """A circle all round is a seam without end: marks at the quarters and where it starts."""
    (marks,) = piece_marks(one_circle(), BALANCE)
    middle = np.mean([line.points[0] for line in marks.lines], axis=0)
    assert len(marks.lines) > 4
    for line in marks.lines:
        inward = line.points[1] - line.points[0]
        assert np.dot(middle - line.points[0], inward) > 0


def bar_and_stems():
    """Return a bar over two squares: one seam ends on its straight side."""
    points = [(0, 0), (40, 0), (80, 0), (80, 40), (40, 40), (0, 40), (80, 70), (0, 70)]
    return hand_block(
        "bar",
        points,
        [
            [(0, 0), (1, 0), (4, 0), (5, 0)],
            [(1, 0), (2, 0), (3, 0), (4, 0)],
            [(5, 0), (4, 0), (3, 0), (6, 0), (7, 0)],
        ],
    )


def test_a_junction_is_marked_on_the_bar_alone():
    """The arrow head's tip is the vertex itself, its legs open into the bar."""
    block = bar_and_stems()
    marks = piece_marks(block, JUNCTIONS)
    bars = [n for n, m in enumerate(marks) if m.lines]
    assert [block.pieces[n].area for n in bars] == [pytest.approx(80 * 30)]
    (head,) = marks[bars[0]].lines
    assert head.points[1].tolist() == [40.0, 40.0]
    assert (head.points[[0, 2], 1] > 41.0).all()
    assert head.points[[0, 2], 0].mean() == pytest.approx(40.0)


def test_numbers_are_the_same_on_both_sides_and_count_all_seams():
    """Every seam of a roomy block has its number once in each of its two pieces, counted from 1."""
    block = bar_and_stems()
    seams = seams_of(block)
    where = defaultdict(list)
    for piece, marks in enumerate(piece_marks(block, NUMBERS)):
        assert not marks.lines
        for number in marks.numbers:
            where[number.text].append(piece)
    inner = [k for k in range(len(seams)) if seams.number[k]]
    assert where == {
        number_text(int(seams.number[k])): sorted((int(seams.first[k]), int(seams.second[k]))) for k in inner
    }
    assert len(inner) == 3


def test_numbers_that_read_otherwise_upside_down_have_a_full_stop():
    """6 and 9, 68 and 89 are told apart by it; 8, 69 and 11 read alike or not at all when turned."""
    texts = [number_text(n) for n in (1, 6, 8, 9, 16, 60, 66, 68, 69, 88, 96, 98, 106)]
    assert texts == ["1", "6.", "8", "9.", "16", "60", "66.", "68.", "69", "88", "96", "98.", "106"]


@settings(deadline=None, max_examples=40)
@given(WAYS, st.floats(8, 150), st.floats(-math.pi, math.pi), st.booleans())
def test_everything_drawn_is_inside_and_numbers_do_not_meet(ways, radius, turn, flipped):
    """On fans of random triangles, at any size, laid any way round: strokes lie in their own piece.

    Numbers also keep off the outline and each other.
    """
    if max(b - a for a, b in zip(ways, [*ways[1:], 360.0], strict=True)) > 170:
        return
    block = fan(ways, radius)
    placement = Similarity.shift(50.0, 20.0).after(Similarity.turn(turn, flipped=flipped))
    back = placement.inverse()
    for piece, marks in zip(block.pieces, piece_marks(block, MarkChoices()), strict=True):
        inside = region(piece)
        boxes = []
        for number in marks.numbers:
            strokes = [sampled(s) for s in letter(number.text, number.at, number.height, number.angle_rad)]
            drawn = shapely.MultiLineString(strokes)
            assert inside.exterior.distance(drawn) > 0.5
            boxes.append(drawn.minimum_rotated_rectangle)
        for k, box in enumerate(boxes):
            assert all(box.distance(other) > 0.5 for other in boxes[:k])
        for chain in marks.drawn(placement):
            points = back.points(sampled(chain))
            assert shapely.distance(shapely.points(points), inside).max() < 1e-6


@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("degrees", [0, 45, 90, 135, 180, 270])
def test_numbers_stay_readable_however_the_piece_lies(degrees, flipped):
    """Never mirrored, never upside down: a number's strokes are turned by at most a right angle."""
    marks = piece_marks(bar_and_stems(), NUMBERS)
    placement = Similarity.turn(math.radians(degrees), flipped=flipped)
    for own in marks:
        drawn = iter(own.drawn(placement))
        for number in own.numbers:
            wanted = letter(number.text, (0.0, 0.0), number.height)
            a = np.concatenate([c.points @ [1, 1j] for c in wanted])
            b = np.concatenate([next(drawn).points @ [1, 1j] for _ in wanted])
            a, b = a - a.mean(), b - b.mean()
            turn = np.vdot(a, b) / np.vdot(a, a)
            assert np.abs(turn * a - b).max() < 1e-9
            assert abs(turn) == pytest.approx(1.0)
            assert -90.001 < math.degrees(np.angle(turn)) < 90.001


@pytest.mark.parametrize("make", [compass_flower, bar_and_stems, pinwheel])
def test_switches_really_switch_off(make):
    """Nothing is drawn with all switches off; each kind alone is just its part of all."""
    block = make()
    for marks in piece_marks(block, NONE):
        assert not marks.lines
        assert not marks.numbers
    every = piece_marks(block, MarkChoices())
    alone = [piece_marks(block, choice) for choice in (BALANCE, JUNCTIONS)]
    for n, marks in enumerate(every):
        assert len(marks.lines) == sum(len(kind[n].lines) for kind in alone)
        assert not any(kind[n].numbers for kind in alone)
    assert any(marks.numbers for marks in every)


def test_tiny_pieces_have_no_marks():
    """Where nothing fits nothing is drawn, and nobody complains."""
    for marks in piece_marks(compass_flower(2.0), MarkChoices()):
        assert not marks.lines
        assert not marks.numbers
