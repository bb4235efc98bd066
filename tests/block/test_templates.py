"""Promises of convert/block/templates.py: which pieces share a template."""

from __future__ import annotations

import random
from itertools import pairwise
from math import pi, tan

import known_blocks as known
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import loop

from convert.block import templates


def counts(block):
    """Return what of the templates must not depend on how the block is drawn."""
    return [(t.label, t.count, t.reversed_count, t.own_mirror) for t in block.templates]


@pytest.mark.parametrize("name", list(known.ALL))
@settings(max_examples=6, deadline=None)
@given(
    turn=st.floats(0, 360),
    scale=st.floats(0.3, 4),
    shift=st.tuples(st.floats(-900, 900), st.floats(-900, 900)),
    step=st.integers(0, 4),
    seed=st.integers(0, 999),
)
def test_templates_do_not_depend_on_how_the_block_is_drawn(name, turn, scale, shift, step, seed):
    """Turned, shifted, scaled, reordered, started elsewhere: the same templates, counts and letters."""
    faces = known.ALL[name]()
    order = random.Random(seed).sample(range(len(faces)), len(faces))
    drawn = known.moved([faces[i] for i in order], turn=turn, scale=scale, dx=shift[0], dy=shift[1])
    plain, other = known.block_of(faces), known.block_of(known.started_elsewhere(drawn, step))
    assert counts(other) == counts(plain)
    assert [t.area for t in other.templates] == pytest.approx(
        [t.area * scale**2 for t in plain.templates], rel=1e-8
    )


@pytest.mark.parametrize("name", list(known.ALL))
def test_a_mirrored_drawing_has_the_same_templates(name):
    """Mirroring keeps templates and their total counts; only what is reversed may change."""
    plain = known.block_of(known.ALL[name]())
    other = known.block_of(known.moved(known.ALL[name](), mirror=True, turn=17))
    assert [(t.label, t.count + t.reversed_count, t.own_mirror) for t in plain.templates] == [
        (t.label, t.count + t.reversed_count, t.own_mirror) for t in other.templates
    ]
    assert plain.own_mirror == other.own_mirror


@pytest.mark.parametrize("name", list(known.ALL))
def test_placements_lay_the_template_on_the_piece(name):
    """Every vertex of a placed template lies on its piece's outline, within the stated misfit."""
    block = known.block_of(known.ALL[name]())
    for p in block.pieces:
        template = block.templates[p.template]
        placed = p.placement.outline(template.outline).points
        gaps = np.abs(placed[:, None] - p.outline.points[None]).max(axis=2).min(axis=1)
        # A disc's two vertices may lie anywhere on it.
        if len(template.outline) > 2:
            assert gaps.max() <= p.misfit + 1e-9
        assert p.reversed == p.placement.flipped
        assert p.placement.scale == pytest.approx(1.0, abs=1e-12)
        assert p.misfit < 0.1


@pytest.mark.parametrize("name", list(known.ALL))
def test_first_unreversed_piece_needs_no_placement(name):
    """A template lies as its first piece that is not reversed."""
    block = known.block_of(known.ALL[name]())
    for number in range(len(block.templates)):
        first = next(p for p in block.pieces if p.template == number and not p.reversed)
        assert (first.placement.a, first.placement.b, first.placement.dx, first.placement.dy) == (1, 0, 0, 0)


def test_a_vertex_that_only_a_neighbour_needs_makes_no_other_shape():
    """A square with a T-junction on a side, and a disc cut by four seams, are a square and a disc."""
    lattice = known.block_of(known.turnstile())
    assert [len(t.outline) for t in lattice.templates] == [4, 4]
    disc = known.block_of(known.sun()).templates[2]
    assert len(disc.outline) == 2


def test_differently_cut_curves_share_a_template():
    """A lopsided drop with its arcs cut into 1, 2, 3 and 5 parts is one template, flipped ones reversed."""
    drops = [
        known.drop(0, 0, 0), known.drop(100, 0, 77, cuts=3), known.drop(200, 0, 200, cuts=2),
        known.drop(0, 100, 10, hand=-1, cuts=5), known.drop(100, 100, 10, hand=-1),
    ]  # fmt: skip
    block = known.block_of(drops)
    assert counts(block) == [("A", 3, 2, False)]
    assert max(p.misfit for p in block.pieces) < 1e-9


def oval(parts, phase, x, y, turn, a=40.0, b=25.0):
    """Return an oval of `parts` arcs through points of an ellipse, beginning at a phase."""
    angle = 2 * np.pi * (np.arange(2 * parts + 1) + 2 * phase) / (2 * parts)
    z = a * np.cos(angle) + 1j * b * np.sin(angle)
    start, middle, end = z[0:-1:2], z[1::2], z[2::2]
    rise = ((middle - (start + end) / 2) / (1j * (end - start))).real
    ring = loop(list(zip(start.real, start.imag, strict=True)), (-2 * rise).tolist())
    return known.moved([ring], turn=turn, dx=x, dy=y)[0]


def test_ovals_without_a_corner_are_recognised_however_they_were_cut():
    """Smooth outlines fitted with 24, 31 and 16 arcs from other starts match; one 1 mm wider does not."""
    ovals = [
        oval(24, 0, 0, 0, 0), oval(24, 0.5, 100, 0, 33), oval(31, 0.3, 0, 100, 71), oval(16, 0, 100, 100, 5),
        oval(24, 0, 200, 0, 0, b=24.0),
    ]  # fmt: skip
    block = known.block_of(ovals, shape=0.1)
    assert counts(block) == [("A", 4, 0, True), ("B", 1, 0, True)]


def test_discs_cut_anywhere_are_one_template():
    """A circle of 2, 3, 4 or 7 arcs, begun anywhere, is the same circle."""

    def disc(parts, x, phase):
        angle = 2 * np.pi * np.arange(parts) / parts + phase
        points = [(x + 30 * np.cos(t), 30 * np.sin(t)) for t in angle]
        return loop(points, [float(np.tan(np.pi / 2 / parts))] * parts)

    block = known.block_of([disc(2, 0, 0), disc(3, 100, 0.3), disc(4, 200, 1), disc(7, 300, 0)])
    assert counts(block) == [("A", 4, 0, True)]


def test_a_small_error_is_accepted_and_a_larger_one_is_pointed_out():
    """Within 0.1 mm an error of 0.05 mm is the same triangle; one of 0.5 mm is told to be nearly A."""
    block = known.block_of(known.nearly_equal_triangles(), shape=0.1)
    assert counts(block) == [("A", 2, 1, False), ("B", 1, 0, False)]
    (nearly,) = [f for f in block.warnings if f.code == "BLOCK-061"]
    assert "Template B is nearly A" in nearly.what
    assert 0.2 < nearly.value < 0.5


def test_tolerance_decides_what_is_the_same():
    """With a finer tolerance the triangle with 0.05 mm of error has a template of its own."""
    block = known.block_of(known.nearly_equal_triangles(), shape=0.01)
    assert sorted((t.count, t.reversed_count) for t in block.templates) == [(1, 0), (1, 0), (1, 1)]


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_classes_do_not_depend_on_the_order_of_wobbly_pieces(seed):
    """Thirty wobbly squares are sorted alike in any order: the same pieces share a template."""
    rng = np.random.default_rng(seed)
    faces = []
    for k in range(30):
        corners = np.array([(0, 0), (40, 0), (40, 40), (0, 40)]) + rng.normal(0, 0.03, (4, 2))
        faces.append(loop((corners + np.array((50 * (k % 6), 50 * (k // 6)))).tolist()))
    order = rng.permutation(30).tolist()
    first, second = known.block_of(faces, shape=0.1), known.block_of([faces[i] for i in order], shape=0.1)

    def together(block, name):
        groups = {}
        for p in block.pieces:
            groups.setdefault(p.template, set()).add(name[p.face])
        return sorted(map(sorted, groups.values()))

    assert together(first, list(range(30))) == together(second, order)
    assert max(p.misfit for p in first.pieces) <= 0.1


def test_congruence_is_reflexive_and_symmetric():
    """Two scattered copies of an irregular piece share one template, whichever comes first."""
    shape = [(0, 0), (31, 4), (45, 22), (20, 18), (8, 37)]
    faces = [loop(shape), known.moved([loop(shape)], turn=123, dx=100)[0]]
    assert counts(known.block_of(faces)) == counts(known.block_of(faces[::-1])) == [("A", 2, 0, False)]


def test_the_more_frequent_hand_is_the_template():
    """Of a one-handed shape drawn twice one way and once the other, the one is reversed."""
    shape = loop([(0, 0), (40, 0), (40, 10), (10, 30)])
    mirrored = known.moved([shape], mirror=True)[0]
    for hands in ([shape, shape, mirrored], [mirrored, mirrored, shape]):
        faces = [known.moved([s], dx=100 * i, turn=31 * i)[0] for i, s in enumerate(hands)]
        block = known.block_of(faces)
        assert counts(block) == [("A", 2, 1, False)]
        assert [p.face for p in block.pieces if p.reversed] == [2]


def test_small_pieces_are_told_apart_more_finely():
    """In a wide block, pieces of 2 mm that differ by a tenth of their size do not share a template."""
    faces = [loop([(0, 0), (1000, 0), (1000, 1000), (0, 1000)])]
    faces.append(loop([(2000, 0), (2002, 0), (2002, 2), (2000, 2)]))
    faces.append(loop([(2000, 10), (2002.2, 10), (2002.2, 12), (2000, 12)]))
    assert len(known.block_of(faces).templates) == 3


def test_holes_count():
    """A square with a round hole, one with a hole elsewhere, and one without are three templates."""

    def square(x, hole):
        outer = loop([(x, 0), (x + 100, 0), (x + 100, 100), (x, 100)])
        if hole is None:
            return [outer]
        return [outer, loop([(hole[0] - 10, hole[1]), (hole[0] + 10, hole[1])], [1, 1])]

    faces = [square(0, (50, 50)), square(150, (200, 50)), square(300, (340, 50)), square(450, None)]
    block = known.block_of(faces)
    assert sorted(t.count for t in block.templates) == [1, 1, 2]


def test_rings_in_each_other_are_not_tried_on_each_other(monkeypatch):
    """Forty rings of one width, round each other: areas alone tell that none lies on another."""

    def fails(*_):
        raise AssertionError

    edges = [[(r, 0), (0, r), (-r, 0), (0, -r)] for r in range(60, 101)]
    quarter = [tan(pi / 8)] * 4
    faces = [[loop(big, quarter), loop(small, quarter)] for small, big in pairwise(edges)]
    monkeypatch.setattr(templates, "_free_fit", fails)
    assert len(known.block_of(faces).templates) == 40
