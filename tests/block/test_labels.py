"""Promises of convert/block/labels.py: letters and numbers that stay."""

from __future__ import annotations

import random
from itertools import pairwise

import known_blocks as known
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import loop

from convert.block.labels import letters, ranks
from convert.block.model import OUTSIDE
from convert.geometry.chain import Segments
from convert.geometry.measure import lengths


def seams(block, scale=1.0):
    """Return how much seam any two labels share: it names the whole structure of a labelled block."""
    label = {p.face: p.label for p in block.pieces} | {OUTSIDE: "-"}
    m = block.map
    length = lengths(Segments(m.points[m.start], m.points[m.end], m.bulge)) / scale
    found = {}
    for e in range(m.edge_count):
        pair = tuple(sorted((label[int(m.face_of[2 * e])], label[int(m.face_of[2 * e + 1])])))
        found[pair] = found.get(pair, 0.0) + float(length[e])
    return found


@pytest.mark.parametrize("name", list(known.ALL))
@settings(max_examples=5, deadline=None)
@given(
    turn=st.sampled_from((30.0, 45.0, 72.0, 90.0, 180.0, 13.7)),
    scale=st.floats(0.3, 4),
    seed=st.integers(0, 99),
)
def test_numbers_do_not_depend_on_how_the_block_is_drawn(name, turn, scale, seed):
    """Turned, scaled or reordered, the same labels meet along the same lengths of seam."""
    faces = known.ALL[name]()
    order = random.Random(seed).sample(range(len(faces)), len(faces))
    drawn = known.moved([faces[i] for i in order], turn=turn, scale=scale, dx=40, dy=-7)
    plain = seams(known.block_of(faces))
    other = seams(known.block_of(drawn), scale)
    assert other.keys() == plain.keys()
    assert other == pytest.approx(plain, rel=1e-6)


@settings(max_examples=12, deadline=None)
@given(turn=st.floats(0, 360), seed=st.integers(0, 99))
def test_fabrics_decide_where_the_numbers_begin(turn, seed):
    """In a rosette with two red hexagons among blue ones, the red ones keep their numbers."""
    faces = known.hexagon_rosette(2)
    red = {9, 4}
    order = random.Random(seed).sample(range(len(faces)), len(faces))

    def reds(order, turn):
        drawn = known.moved([faces[i] for i in order], turn=turn)
        fabrics = ["#cc2222" if i in red else "#2222cc" for i in order]
        block = known.block_of(drawn, fabrics=fabrics)
        return sorted(p.label for p in block.pieces if p.fabric == "#cc2222"), seams(block).keys()

    assert reds(order, turn) == reds(list(range(len(faces))), 0.0)


def test_how_pieces_lie_decides_where_the_numbers_begin():
    """Of four equal one-handed pieces on a square's corners, one turned: that one keeps its number."""
    shape = loop([(-9, -7), (11, -7), (11, 3), (-1, 8)])

    def odd_one(turn, order):
        faces = []
        for k in order:
            piece = known.moved([shape], turn=90 * k + (40 if k == 2 else 0))
            x, y = known.turned(50, 0, 90 * k)
            faces.append(known.moved(piece, dx=x, dy=y)[0])
        block = known.block_of(known.moved(faces, turn=turn))
        return next(p.label for p in block.pieces if p.face == order.index(2))

    assert {odd_one(t, o) for t in (0, 35, 90, 200) for o in ([0, 1, 2, 3], [2, 3, 1, 0])} == {
        odd_one(0, [0, 1, 2, 3])
    }


@pytest.mark.parametrize("name", list(known.ALL))
def test_labels_are_letters_by_area_and_numbers_without_gaps(name):
    """Templates come largest first (nearly equal ones together); pieces count from 1, in order."""
    block = known.block_of(known.ALL[name]())
    assert [t.label for t in block.templates] == [letters(i) for i in range(len(block.templates))]
    areas = [t.area for t in block.templates]
    if name != "triangles":
        assert all(a >= b * (1 - 1e-9) for a, b in pairwise(areas))
    expected = [f"{t.label}{n}" for t in block.templates for n in range(1, t.count + t.reversed_count + 1)]
    assert [p.label for p in block.pieces] == expected
    assert sorted(p.face for p in block.pieces) == list(range(block.map.face_count))


def test_numbers_run_ring_by_ring_and_clockwise_from_the_top():
    """In a symmetric block the first piece of a ring is the one at the top, the next to its right."""
    block = known.block_of(known.eight_point_star())
    middle = np.array([block.width, block.height]) / 2
    squares = [np.array(p.at) - middle for p in block.pieces if p.label.startswith("A")]
    assert [tuple(np.sign(s).astype(int)) for s in squares] == [(1, 1), (1, -1), (-1, -1), (-1, 1)]


def test_one_wing_is_plain_and_the_other_reversed():
    """In a moth with mirrored wings, all reversed pieces lie on the same side of the mirror line."""
    block = known.block_of(known.moth())
    assert len({p.at[0] > 80 for p in block.pieces if p.reversed}) == 1
    assert sum(p.reversed for p in block.pieces) == 9
    assert not [p.label for p in block.pieces if p.label.endswith("1") and p.reversed]


def test_labels_after_z():
    """Letters go on with two, as columns of a table do."""
    assert [letters(i) for i in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_equal_areas_are_told_apart_by_shape():
    """A square and a rectangle, a parallelogram and a triangle of one area: always the same letters."""
    shapes = [
        [(0, 0), (20, 0), (20, 20), (0, 20)],
        [(0, 0), (40, 0), (40, 10), (0, 10)],
        [(0, 0), (40, 0), (52, 10), (12, 10)],
        [(0, 0), (40, 0), (28, 20)],
    ]

    def letter_of(order, turn):
        faces = [known.moved([loop(shapes[i])], dx=100 * k)[0] for k, i in enumerate(order)]
        block = known.block_of(known.moved(faces, turn=turn))
        return {order[p.face]: p.label[0] for p in block.pieces}

    first = letter_of([0, 1, 2, 3], 0)
    assert sorted(first.values()) == ["A", "B", "C", "D"]
    for seed in range(6):
        order = random.Random(seed).sample(range(4), 4)
        assert letter_of(order, 37 * seed) == first


def test_equal_numbers_of_both_hands_are_settled_by_the_shape():
    """When each hand occurs once, the same hand is the template, however the block is turned or ordered."""
    shape = loop([(0, 0), (40, 0), (40, 10), (10, 30)])
    other = known.moved([shape], mirror=True)[0]
    found = set()
    for turn in (0, 50, 181):
        for pair in ((shape, other), (other, shape)):
            faces = [known.moved([s], dx=100 * i)[0] for i, s in enumerate(pair)]
            block = known.block_of(known.moved(faces, turn=turn))
            as_it_is = next(p.face for p in block.pieces if not p.reversed)
            found.add(pair[as_it_is] is shape)
    assert len(found) == 1


@settings(max_examples=60, deadline=None)
@given(groups=st.lists(st.integers(-20, 20), min_size=1, max_size=12, unique=True), seed=st.integers(0, 999))
def test_ranks_gather_values_that_differ_by_rounding(groups, seed):
    """Values scattered by less than the tolerance about distinct numbers get one rank for each number."""
    rng = np.random.default_rng(seed)
    true = rng.choice(groups, 40)
    rank = ranks(true + rng.uniform(-1e-7, 1e-7, 40), 1e-6)
    assert rank.tolist() == np.searchsorted(np.unique(true), true).tolist()


def test_ranks_do_not_take_a_long_row_for_one_number():
    """A thousand values that follow each other more closely than the tolerance are still told apart."""
    values = np.arange(1000) * 0.5
    assert ranks(values, 1.0).max() > 100
    assert ranks(np.array([0.0, 0.4, 0.8, 50.0]), 1.0).tolist() == [0, 0, 0, 1]
