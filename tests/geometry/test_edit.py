"""Reversing, cutting and flattening keep the curve."""

import numpy as np
import pytest
from curves import SETTINGS, moves, stars, tables
from hypothesis import given
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry.chain import Chain, Segments
from convert.geometry.edit import flatten, flatten_table, part, reverse, split, split_spans
from convert.geometry.measure import area, area_terms, length, lengths, nearest, point_at, sweep

shares = st.lists(st.floats(0, 1).map(lambda v: round(v, 3)), max_size=12)
tolerances = st.sampled_from((1.0, 0.1, 0.01, 0.001))


@SETTINGS
@given(stars())
def test_reverse(chain):
    """Reversed twice an outline is itself; once, its area is opposite and its first vertex the same."""
    back = reverse(chain)
    assert area(back) == pytest.approx(-area(chain), rel=1e-12)
    assert (back.points[0] == chain.points[0]).all()
    again = reverse(back)
    assert (again.points == chain.points).all()
    assert (again.bulge == chain.bulge).all()
    cut_open = Chain(chain.points, chain.bulge[:-1], closed=False)
    assert (reverse(cut_open).points == chain.points[::-1]).all()
    assert length(reverse(cut_open)) == pytest.approx(length(cut_open))
    # No minus zero, which would be written as such.
    assert not np.signbit(back.bulge[back.bulge == 0]).any()


@SETTINGS
@given(tables(), st.floats(0, 1), st.floats(0, 1))
def test_parts_lie_on_the_same_curve(s, t0, t1):
    """A part has its share of length and sweep, and its points are the whole's; backwards where t1 < t0."""
    some = part(s, t0, t1)
    assert lengths(some) == pytest.approx(lengths(s) * abs(t1 - t0), rel=1e-9, abs=1e-9)
    assert sweep(some) == pytest.approx(sweep(s) * (t1 - t0), abs=1e-12)
    for u in (0.0, 0.3, 1.0):
        assert np.abs(point_at(some, u) - point_at(s, t0 + u * (t1 - t0))).max() < 1e-9
    assert (part(s, 0.0, 1.0).bulge == s.bulge).all()


@SETTINGS
@given(tables(), shares, st.data())
def test_split_loses_nothing(s, cuts, data):
    """Cut anywhere, also at ends and twice: lengths and areas add up, parts join exactly, none is empty."""
    row = np.array([data.draw(st.integers(0, len(s) - 1)) for _ in cuts], dtype=np.intp)
    t = np.array(cuts, dtype=np.float64)
    parts = split(s, row, t)
    parent, t0, t1 = split_spans(len(s), row, t)
    real = {(r, v) for r, v in zip(row, t, strict=True) if 0 < v < 1}
    assert len(parts) == len(parent) == len(s) + len(real)
    assert (t1 > t0).all()
    assert np.bincount(parent, lengths(parts)) == pytest.approx(lengths(s), rel=1e-10)
    first = np.flatnonzero(np.r_[True, np.diff(parent) > 0])
    last = np.r_[first[1:] - 1, len(parts) - 1]
    assert (parts.start[first] == s.start).all()
    assert (parts.end[last] == s.end).all()
    inner = np.flatnonzero(np.diff(parent) == 0)
    assert (parts.end[inner] == parts.start[inner + 1]).all()
    closed = Segments(np.r_[parts.start, s.end], np.r_[parts.end, s.start], np.r_[parts.bulge, 0 * s.bulge])
    whole = Segments(np.r_[s.start, s.end], np.r_[s.end, s.start], np.r_[s.bulge, 0 * s.bulge])
    assert area_terms(closed).sum() == pytest.approx(area_terms(whole).sum(), rel=1e-9, abs=1e-7)


def test_split_order_and_nothing():
    """Cuts given in any order come out along each row; without rows or cuts nothing happens."""
    s = Segments([[0, 0], [0, 5]], [[10, 0], [10, 5]], [0, 0])
    parts = split(s, np.array([1, 0, 0, 0]), np.array([0.5, 0.8, 0.2, 0.8]))
    assert parts.start[:, 0].tolist() == [0, 2, 8, 0, 5]
    assert parts.start[:, 1].tolist() == [0, 0, 0, 5, 5]
    none = Segments(np.zeros((0, 2)), np.zeros((0, 2)), [])
    assert len(split(none, np.zeros(0, dtype=np.intp), np.zeros(0))) == 0
    assert (split(s, np.zeros(0, dtype=np.intp), np.zeros(0)).start == s.start).all()


@SETTINGS
@given(tables(), tolerances)
def test_flattening_stays_within_tolerance_and_wastes_nothing(s, tolerance):
    """Corners lie on the curve, chords stay within the tolerance, and one step fewer would not."""
    xy, row = flatten_table(s, tolerance)
    for i in range(len(s)):
        at = xy[row == i]
        one = s.take(slice(i, i + 1))
        assert (at[0] == s.start[i]).all()
        assert (at[-1] == s.end[i]).all()
        assert nearest(one, at)[0].max() < 1e-9
        chords = Segments(at[:-1], at[1:], np.zeros(len(at) - 1))
        middle = point_at(one.take(np.zeros(len(chords), int)), (np.arange(len(chords)) + 0.5) / len(chords))
        off = np.hypot(*(middle - point_at(chords, 0.5)).T)
        assert off.max() <= tolerance * (1 + 1e-9)
        if len(chords) > 1:
            fewer = abs(sweep(one)[0]) / (len(chords) - 1)
            radius = lengths(one)[0] / abs(sweep(one)[0])
            assert radius * (1 - np.cos(min(fewer, np.pi) / 2)) > tolerance * (1 - 1e-6)


@SETTINGS
@given(stars(), tolerances, moves)
def test_flattening_follows_similarities(chain, tolerance, move):
    """An outline that is moved and scaled together with the tolerance gets the moved corners."""
    corners = flatten(chain, tolerance)
    moved = flatten(move.chain(chain), tolerance * move.scale)
    assert moved.shape == corners.shape
    assert np.abs(moved - move.points(corners)).max() < 1e-8


def test_flattened_chains():
    """Closed chains don't repeat their first corner, open ones keep both ends, and a lone point stays."""
    square = Chain([[0, 0], [1, 0], [1, 1], [0, 1]], [0] * 4)
    assert flatten(square, 0.1).tolist() == square.points.tolist()
    path = Chain([[0, 0], [1, 0], [1, 1]], [0, 0], closed=False)
    assert flatten(path, 0.1).tolist() == path.points.tolist()
    assert flatten(Chain([[2, 3]], [], closed=False), 0.1).tolist() == [[2, 3]]
    for tolerance in (0.0, -1.0, float("nan")):
        with pytest.raises(GeometryError, match="more than 0"):
            flatten(square, tolerance)
