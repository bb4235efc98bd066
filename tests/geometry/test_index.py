"""Pairs of boxes that meet."""

import numpy as np
import pytest
from curves import SETTINGS
from hypothesis import given
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry import index
from convert.geometry.index import BoxIndex, box_pairs, box_pairs_between

side = st.integers(0, 6)
box = st.tuples(side, side, side, side).map(
    lambda b: (min(b[0], b[2]), min(b[1], b[3]), max(b[0], b[2]), max(b[1], b[3]))
)
some = st.lists(box, max_size=12).map(lambda rows: np.array(rows, float).reshape(-1, 4))


def meets(a, b):
    """Whether two boxes have a point in common."""
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


@SETTINGS
@given(some, some)
def test_pairs_are_those_of_trying_all(a, b):
    """All pairs that meet or touch, points and lines included, each once and in order."""
    i, j = box_pairs(a)
    expected = [(m, n) for m in range(len(a)) for n in range(m + 1, len(a)) if meets(a[m], a[n])]
    assert list(zip(i.tolist(), j.tolist(), strict=True)) == expected
    i, j = box_pairs_between(a, b)
    expected = [(m, n) for m in range(len(a)) for n in range(len(b)) if meets(a[m], b[n])]
    assert list(zip(i.tolist(), j.tolist(), strict=True)) == expected


def test_small_batches_give_the_same(monkeypatch):
    """Asking in many batches changes nothing."""
    random = np.random.default_rng(4)
    low = random.random((500, 2))
    boxes = np.concatenate((low, low + 0.1), axis=1)
    whole = box_pairs(boxes)
    monkeypatch.setattr(index, "_BATCH_PAIRS", 2000)
    parts = box_pairs(boxes)
    assert (whole[0] == parts[0]).all()
    assert (whole[1] == parts[1]).all()


def test_a_flood_of_pairs_is_refused(monkeypatch):
    """More pairs than fit into memory are an error with advice, not a crash."""
    monkeypatch.setattr(index, "MOST_PAIRS", 1000)
    with pytest.raises(GeometryError, match="Remove what is drawn many times over"):
        box_pairs(np.tile([0.0, 0.0, 1.0, 1.0], (100, 1)))


def test_hundred_thousand_boxes():
    """A hundred thousand boxes are paired, as a sample tried one by one confirms."""
    random = np.random.default_rng(5)
    low = random.random((100_000, 2))
    boxes = np.concatenate((low, low + 0.003 * random.random((100_000, 2))), axis=1)
    i, j = box_pairs(boxes)
    assert (i < j).all()
    for k in range(0, 100_000, 9973):
        meeting = (boxes[k, :2] <= boxes[:, 2:]) & (boxes[:, :2] <= boxes[k, 2:])
        others = np.flatnonzero(meeting.all(axis=1))
        assert sorted([*j[i == k], *i[j == k], k]) == others.tolist()


def test_nearest_box():
    """The nearest box of each point, from inside, beside and diagonally."""
    boxes = np.array([[0, 0, 1, 1], [5, 0, 6, 0], [5, 5, 5, 5]], float)
    assert BoxIndex(boxes).nearest(np.array([[0.5, 0.5], [3.5, 0], [9, 9]])).tolist() == [0, 1, 2]
