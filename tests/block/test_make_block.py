"""Promises of make_block: from a drawing to a finished block, or a refusal that says everything."""

from __future__ import annotations

import random

import known_blocks as known
import numpy as np
import pytest
from drawings import Shape, circle, line, make_drawing, moved, polygon, rectangle, reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.block import make_block
from convert.block.model import OUTSIDE
from convert.errors import DrawingError, Severity
from convert.geometry.chain import Chain
from convert.geometry.contain import contains
from convert.geometry.measure import area, box, distances_to, lengths
from convert.geometry.similarity import Similarity

MIDDLE = Similarity.shift(300, 300)


def chain_of(loop):
    """Return a loop of (x, y, bulge) as a closed chain."""
    rows = np.array(loop)
    return Chain(rows[:, :2], rows[:, 2], closed=True)


def drawn(faces, place=MIDDLE, fills=None):
    """Return a drawing of every face as a closed shape of its own, so that each seam is drawn twice."""
    fills = fills or [None] * len(faces)
    shapes = [Shape(place.chain(chain_of(f)), fill=c) for f, c in zip(faces, fills, strict=True)]
    return make_drawing(shapes, page=(1000.0, 800.0))


def told(block):
    """Return what of a block must not depend on how it was drawn."""
    return (
        [(t.label, t.count, t.reversed_count, t.own_mirror) for t in block.templates],
        len(block.pieces),
        block.own_mirror,
    )


@pytest.mark.parametrize("name", list(known.ALL))
def test_drawn_shapes_give_the_known_block(name):
    """Every known block, drawn as separate closed shapes, comes out as when its map is given."""
    faces = known.ALL[name]()
    block, plain = make_block(drawn(faces)), known.block_of(faces)
    assert told(block) == told(plain)
    assert (block.width, block.height) == pytest.approx((plain.width, plain.height), abs=1e-9)
    assert [p.area for p in block.pieces] == pytest.approx([p.area for p in plain.pieces], rel=1e-9)


@pytest.mark.parametrize("name", ["moth", "bell", "twelve rhombs", "turnstile", "sun", "clams", "tangram"])
@settings(max_examples=8, deadline=None)
@given(
    turn=st.floats(0, 6.28),
    mirror=st.booleans(),
    seed=st.integers(0, 999),
    scale=st.floats(0.5, 1.5),
)
def test_turned_reordered_reversed_and_repeated_drawings_give_the_same_block(name, turn, mirror, seed, scale):
    """The drawing may lie anyhow, its shapes stand in any order, run backwards, or be drawn twice."""
    rng = random.Random(seed)
    faces = known.ALL[name]()
    faces = rng.sample(faces, len(faces)) + rng.sample(faces, 2)
    place = MIDDLE.after(Similarity.turn(turn, scale, flipped=mirror))
    chains = [place.chain(chain_of(f)) for f in faces]
    shapes = [Shape(reverse(c) if rng.random() < 0.5 else c) for c in chains]
    block = make_block(make_drawing(shapes, page=(1000.0, 800.0)))
    plain = known.block_of(known.ALL[name]())
    if mirror:
        assert [(t.label, t.count + t.reversed_count) for t in block.templates] == [
            (t.label, t.count + t.reversed_count) for t in plain.templates
        ]
    else:
        assert told(block) == told(plain)
    assert sum(p.area for p in block.pieces) == pytest.approx(
        scale**2 * sum(p.area for p in plain.pieces), rel=1e-9
    )


@pytest.mark.parametrize("name", list(known.ALL))
@settings(max_examples=4, deadline=None)
@given(turn=st.floats(0, 360))
def test_rounded_numbers_in_a_file_change_nothing(name, turn):
    """Written with three decimals of a millimetre and turned anyhow, a drawing has the same templates."""
    faces = known.moved(known.ALL[name](), turn=turn)
    rounded = [[(round(x, 3), round(y, 3), b) for x, y, b in f] for f in faces]
    assert told(make_block(drawn(rounded))) == told(known.block_of(known.ALL[name]()))


@pytest.mark.parametrize("name", list(known.ALL))
def test_a_block_keeps_its_promises(name):
    """Places, outlines, areas and seams agree with each other."""
    block = make_block(drawn(known.ALL[name]()))
    boxes = np.array([box(p.outline) for p in block.pieces])
    assert boxes[:, :2].min(axis=0) == pytest.approx([0, 0], abs=1e-9)
    assert boxes[:, 2:].max(axis=0) == pytest.approx([block.width, block.height], abs=1e-9)
    for p in block.pieces:
        assert area(p.outline) > 0
        assert p.area == pytest.approx(area(p.outline) + sum(area(h) for h in p.holes), rel=1e-12)
        assert len(p.half_edges) == len(p.outline) + sum(len(h) for h in p.holes)
        assert {int(block.map.face_of[h]) for h in p.half_edges} == {p.face}
        room = block.templates[p.template].clearance
        assert contains(p.outline, np.array([p.at])).all()
        assert distances_to(p.outline, np.array([p.at]))[0] == pytest.approx(room, abs=p.misfit + 1e-9)
    assert sum(p.area for p in block.pieces) == pytest.approx(sum(area(c) for c in block.outside), rel=1e-12)
    for t in block.templates:
        assert area(t.outline) == pytest.approx(t.area, rel=1e-6)
        assert t.perimeter == pytest.approx(float(lengths(t.outline.segments).sum()))
        assert t.clearance > 0


def test_neighbours_share_the_bits_of_their_seam():
    """Both sides of a seam have the same vertices to the last bit."""
    block = make_block(drawn(known.bell()))
    outline = {p.face: p for p in block.pieces}
    for e in range(block.map.edge_count):
        left, right = block.map.face_of[2 * e : 2 * e + 2].tolist()
        if OUTSIDE in {left, right}:
            continue
        i, j = outline[left].half_edges.index(2 * e), outline[right].half_edges.index(2 * e + 1)
        a, b = outline[left].outline.segments, outline[right].outline.segments
        assert a.start[i].tolist() == b.end[j].tolist()
        assert a.end[i].tolist() == b.start[j].tolist()
        assert a.bulge[i] == -b.bulge[j]


def test_fabrics_follow_their_pieces():
    """A piece has the colour of the fill that lies there, whatever its number became."""
    faces = known.eight_point_star()
    fills = [f"#0000{i:02x}" for i in range(len(faces))]
    block = make_block(drawn(faces, fills=fills))
    assert sorted(p.fabric for p in block.pieces) == sorted(fills)
    lower_left = np.array(block.origin)
    for p in block.pieces:
        corners = MIDDLE.points(chain_of(faces[fills.index(p.fabric)]).points) - lower_left
        assert sorted(corners.round(6).tolist()) == sorted(p.outline.points.round(6).tolist())


def test_findings_point_into_the_drawing():
    """A place on the page is given from its top left; the block turns it back into its own point."""
    block = make_block(drawn(known.turnstile(10.0), Similarity.shift(100, 200)))
    (loop,) = [f for f in block.warnings if f.code == "BLOCK-060"]
    x, y = loop.place.at
    assert (x, y) in {(100 + a, 800 - 200 - b) for a in (20, 40) for b in (20, 40)}
    assert block.from_page(x, y) == pytest.approx((x - 100, 600 - y))
    assert block.on_page(*block.from_page(x, y)) == pytest.approx((x, y))


def test_nothing_closed_is_refused_with_everything_that_was_found():
    """Lines that enclose nothing are an error, not an empty block."""
    with pytest.raises(DrawingError) as refusal:
        make_block(make_drawing([Shape(line((0, 0), (50, 0))), Shape(line((0, 20), (50, 30)))]))
    assert any(f.severity is Severity.ERROR for f in refusal.value.findings)
    assert all(f.code.startswith("BLOCK-") for f in refusal.value.findings)


def test_an_empty_drawing_is_refused():
    """No visible line at all is an error too."""
    with pytest.raises(DrawingError):
        make_block(make_drawing([]))


def test_a_torn_line_is_refused_with_its_gap():
    """A line that stops 3 mm short of the side refuses the drawing and says where and by how much."""
    square = Shape(polygon((0, 0), (100, 0), (100, 100), (0, 100)))
    with pytest.raises(DrawingError) as refusal:
        make_block(make_drawing([square, Shape(line((50, 0), (50, 97)))]))
    (torn,) = [f for f in refusal.value.findings if f.severity is Severity.ERROR]
    assert "3.00 mm" in torn.what


def test_a_gap_in_the_middle_is_a_hole_of_the_block():
    """Four rectangles round nothing: the block has an outer outline and, clockwise, that of its hole."""
    block = known.block_of(known.turnstile(10.0)[:4])
    assert sorted(area(c) for c in block.outside) == pytest.approx([-400, 3600])
    assert sum(p.area for p in block.pieces) == pytest.approx(3200)
    assert [(t.label, t.count) for t in block.templates] == [("A", 4)]


def test_islands_and_pieces_that_touch_in_a_point_are_one_block():
    """Pieces need not hang together: two squares corner to corner and one apart have two outlines."""
    square = [(0, 0), (20, 0), (20, 20), (0, 20)]
    faces = [[(x + dx, y + dy, 0.0) for x, y in square] for dx, dy in ((0, 0), (20, 20), (60, 0))]
    block = known.block_of(faces)
    assert [(t.label, t.count) for t in block.templates] == [("A", 3)]
    assert sum(area(c) for c in block.outside) == pytest.approx(1200)
    assert (block.width, block.height) == (80, 40)


def scribble(seed):
    """Return chords of a square of 100 mm and circles in it, all over each other."""
    rng = np.random.default_rng(seed)

    def border(t):
        return [(t, 0), (100, t - 100), (300 - t, 100), (0, 400 - t)][int(t // 100)]

    shapes = [Shape(rectangle(0, 0, 100, 100))]
    shapes += [Shape(line(border(a), border(b))) for a, b in rng.uniform(0, 400, (rng.integers(1, 6), 2))]
    for _ in range(rng.integers(0, 4)):
        radius = rng.uniform(5, 25)
        shapes.append(Shape(circle(*rng.uniform(radius + 1, 99 - radius, 2), radius)))
    return shapes


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10**6), turn=st.floats(0, 6.28))
def test_lines_and_circles_across_each_other_give_the_same_block_however_they_lie(seed, turn):
    """Areas add up to the square, and a turned, reordered drawing has the same labels with the same areas."""
    shapes = scribble(seed)
    try:
        block = make_block(make_drawing(moved(shapes, MIDDLE), page=(1000.0, 800.0)))
    except DrawingError:
        # Two lines may end within the gap of each other by chance; then refusing is right.
        return
    # A repair may have moved a side by up to the gap that was allowed.
    assert sum(p.area for p in block.pieces) == pytest.approx(10000, rel=1e-4 if block.repairs else 1e-9)
    order = np.random.default_rng(seed).permutation(len(shapes))
    place = MIDDLE.after(Similarity.turn(turn))
    other = make_block(make_drawing(moved([shapes[i] for i in order], place), page=(1000.0, 800.0)))
    assert told(other) == told(block)
    assert [(p.label, p.reversed) for p in other.pieces] == [(p.label, p.reversed) for p in block.pieces]
    assert [p.area for p in other.pieces] == pytest.approx([p.area for p in block.pieces], rel=1e-4)
