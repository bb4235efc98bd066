"""Promises of convert/block/symmetry.py: whether the block is its own mirror image."""

from __future__ import annotations

import known_blocks as known
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import loop


@settings(max_examples=40, deadline=None)
@given(name=st.sampled_from(list(known.ALL)), turn=st.floats(-360, 360), mirror=st.booleans())
def test_answer_does_not_depend_on_how_the_block_lies(name, turn, mirror):
    """The mirror line may have any direction; turning or mirroring the block changes nothing."""
    faces = known.ALL[name]()
    turned = known.block_of(known.moved(faces, turn=turn, mirror=mirror))
    assert turned.own_mirror == known.block_of(faces).own_mirror


@pytest.mark.parametrize(("off", "mirror"), [(0.0, True), (0.01, True), (0.5, False)])
def test_a_small_deviation_is_forgiven(off, mirror):
    """An isosceles triangle cut down the middle is its mirror image; cut 0.5 mm askew it is not."""
    x = 50 + off
    faces = [loop([(0, 0), (x, 0), (50, 60)]), loop([(x, 0), (100, 0), (50, 60)])]
    assert known.block_of(faces, shape=0.1).own_mirror is mirror


def test_seams_decide_and_not_only_the_outline():
    """A square is its own mirror image; cut into equal rectangles that turn round a square it is not."""
    assert known.block_of([loop([(0, 0), (9, 0), (9, 9), (0, 9)])]).own_mirror
    assert not known.block_of(known.turnstile()).own_mirror


def test_equal_pieces_in_other_positions_are_not_enough():
    """Four kites that point outward mirror each other; in the same places, but turned, they do not."""
    kite = loop([(0, -20), (9, 0), (0, 11), (-9, 0)])
    places = [known.turned(60, 0, 90 * k) for k in range(4)]

    def block(lean):
        faces = []
        for k, (x, y) in enumerate(places):
            faces.append(known.moved([kite], turn=90 * k + lean, dx=x, dy=y)[0])
        return known.block_of(faces)

    assert block(90).own_mirror
    assert not block(0).own_mirror
    assert not block(20).own_mirror


def test_one_piece_is_as_symmetric_as_its_shape():
    """A lone drop of one hand is not its mirror image; a lone disc is, and so is a ring."""
    assert not known.block_of([known.drop()]).own_mirror
    assert known.block_of([loop([(0, 0), (30, 0)], [1, 1])]).own_mirror
    ring = [loop([(0, 0), (30, 0)], [1, 1]), loop([(10, 0), (20, 0)], [1, 1])]
    assert known.block_of([ring]).own_mirror


def test_fabrics_do_not_matter():
    """Papers have no colour: a star with one red point is still its own mirror image."""
    faces = known.eight_point_star()
    fabrics = ["#ff0000"] + ["#ffffff"] * (len(faces) - 1)
    assert known.block_of(faces, fabrics=fabrics).own_mirror
