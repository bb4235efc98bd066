"""Tables and chains check themselves when made and can't be changed afterwards."""

import numpy as np
import pytest
from curves import SETTINGS, stars
from hypothesis import given

from convert.errors import GeometryError
from convert.geometry.chain import MAX_BULGE, Chain, Segments, frozen


@SETTINGS
@given(stars())
def test_segments_join_head_to_tail(chain):
    """The segments of a closed chain return to its first vertex, those of an open one end at its last."""
    s = chain.segments
    assert len(s) == len(chain)
    assert (s.end[:-1] == s.start[1:]).all()
    assert (s.end[-1] == s.start[0]).all()
    cut_open = Chain(chain.points, chain.bulge[:-1], closed=False).segments
    assert len(cut_open) == len(chain) - 1
    assert (cut_open.end[-1] == chain.points[-1]).all()


def test_values_are_kept_from_change():
    """Neither the arrays inside nor the caller's array can change a table later."""
    given_start = np.array([[0.0, 0.0], [1.0, 0.0]])
    s = Segments(given_start, [[1, 1], [2, 2]], [0, 0.5])
    given_start[0, 0] = 99.0
    assert s.start[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        s.start[0, 0] = 5.0
    view = np.zeros((4, 2))
    inside = Segments(view[1:3], view[:2], [0, 0])
    view[1] = 7.0
    assert inside.start[0].tolist() == [0, 0]


def test_frozen_does_not_copy_what_can_not_change():
    """A read-only array of the right kind is taken as it is."""
    once = frozen([[1.0, 2.0]], 2)
    assert frozen(once, 2) is once or np.shares_memory(frozen(once, 2), once)
    assert not frozen(once, 2).flags.writeable


def test_rows_and_kinds():
    """Rows are selected by number, mask or slice, and arcs are what has a bulge."""
    s = Segments([[0, 0], [1, 0], [2, 0]], [[1, 0], [2, 0], [3, 0]], [0, 0.5, -1])
    assert s.is_arc.tolist() == [False, True, True]
    assert s.take(s.is_arc).start[:, 0].tolist() == [1, 2]
    assert s.take(np.array([2, 0])).bulge.tolist() == [-1, 0]
    assert len(s.take(slice(1, 2))) == 1


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: Segments([[0, 0]], [[1, 1], [2, 2]], [0]), "different lengths"),
        (lambda: Segments([[0, 0]], [[1, np.inf]], [0]), "not a finite number"),
        (lambda: Segments([[0, 0]], [[1, 1]], [np.nan]), "not a finite number"),
        (lambda: Segments([[0, 0]], [[1, 1]], [1.001]), "more than a half circle"),
        (lambda: Chain([[0, 0], [1, 1]], [0]), "wrong number of bulges"),
        (lambda: Chain([[0, 0], [1, 1]], [0, 0], closed=False), "wrong number of bulges"),
        (lambda: Chain([[0, 0], [1, np.nan]], [0, 0]), "not a finite number"),
        (lambda: Chain([[0, 0], [1, 1]], [0, -1.5]), "more than a half circle"),
    ],
)
def test_refusals(make, what):
    """What can't be drawn can't be made."""
    with pytest.raises(GeometryError, match=what):
        make()


def test_half_circle_with_rounding():
    """A half circle computed with a little rounding is still a half circle."""
    assert Chain([[0, 0], [1, 0]], [MAX_BULGE, -MAX_BULGE]).bulge.tolist() == [MAX_BULGE, -MAX_BULGE]
