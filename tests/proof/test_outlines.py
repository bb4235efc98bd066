"""The proof's own measures: against handbook values, and against the other implementation of them.

*Sources*: circular segment area r² (T - sin T) / 2 and chord 2 r sin(T / 2), as in engineering
handbooks (from memory); DXF reference for bulges: 1 is a half circle, 2 · rise / chord.
"""

from math import pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.geometry import measure
from convert.geometry.chain import Chain
from convert.proof.outlines import areas, boxes, distances, flattened, lengths, path_boxes, point_at, table_of


def test_circle():
    """Two half circles of radius 20 have its circumference, area and box."""
    table = table_of([Chain(np.array([[-20.0, 0.0], [20.0, 0.0]]), np.array([1.0, 1.0]))])
    assert lengths(table).sum() == pytest.approx(40 * pi, rel=1e-14)
    assert areas(table) == pytest.approx([400 * pi], rel=1e-14)
    assert path_boxes(table)[0] == pytest.approx([-20, -20, 20, 20], abs=1e-12)


@pytest.mark.parametrize("degrees", [36, 60, 90, 120, 180])
def test_circular_segment(degrees):
    """An arc of a unit circle closed by its chord has the handbook's area, chord and rise."""
    turn = radians(degrees)
    chord = 2 * sin(turn / 2)
    bulge = tan(turn / 4)
    table = table_of([Chain(np.array([[0.0, 0.0], [chord, 0.0]]), np.array([bulge, 0.0]))])
    assert areas(table)[0] == pytest.approx((turn - sin(turn)) / 2, rel=1e-12)
    assert lengths(table) == pytest.approx([turn, chord], rel=1e-14)
    middle = point_at(table, np.array([0.5, 0.5]))[0]
    assert (middle.real, middle.imag) == pytest.approx((chord / 2, -bulge * chord / 2), abs=1e-14)


def test_petal():
    """Two circles through each other's centres share a petal of the known area and height (Euclid I.1)."""
    bulge = tan(radians(120) / 4)
    table = table_of([Chain(np.array([[0.0, 0.0], [0.0, sqrt(3)]]), np.array([bulge, bulge]))])
    assert areas(table)[0] == pytest.approx(2 * pi / 3 - sqrt(3) / 2, rel=1e-13)
    assert path_boxes(table)[0] == pytest.approx([-0.5, 0.0, 0.5, sqrt(3)], abs=1e-13)


CHAINS = st.lists(
    st.tuples(st.floats(-200, 200), st.floats(-200, 200), st.one_of(st.just(0.0), st.floats(-1, 1))),
    min_size=2,
    max_size=8,
    unique_by=lambda row: (round(row[0]), round(row[1])),
)


@settings(deadline=None, max_examples=150)
@given(CHAINS, st.floats(-250, 250), st.floats(-250, 250))
def test_agrees_with_the_measures_that_pieces_are_made_with(rows, x, y):
    """Both implementations give the same lengths, areas, boxes and distances."""
    table = np.array(rows)
    bulge = np.where(np.abs(table[:, 2]) < 1e-6, 0.0, table[:, 2])
    chain = Chain(table[:, :2], bulge)
    mine = table_of([chain])
    assert lengths(mine) == pytest.approx(measure.lengths(chain.segments), rel=1e-9)
    assert areas(mine)[0] == pytest.approx(measure.area(chain), rel=1e-9, abs=1e-6)
    assert boxes(mine) == pytest.approx(measure.boxes(chain.segments), abs=1e-7)
    points = np.full(len(chain), complex(x, y))
    nearest = measure.distances_to(chain, np.array([[x, y]]))[0]
    assert distances(points, mine).min() == pytest.approx(nearest, abs=1e-7)


@pytest.mark.parametrize("rise", [1e-7, 1e-6, 1e-3, 1.0])
def test_distances_from_arcs_that_are_nearly_flat(rise):
    """A point off the middle of an arc of 300 mm is as far from it as drawn, however far its centre is."""
    arc = table_of([Chain(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([rise / 150.0]), closed=False)])
    for away in (0.0, 6.35, -6.35):
        found = distances(np.array([150.0 - 1j * rise + 1j * away]), arc)
        assert found == pytest.approx([abs(away)], abs=1e-12)


@settings(deadline=None, max_examples=60)
@given(CHAINS)
def test_flattened_paths_stay_within_the_tolerance(rows):
    """Every chord of a flattened path is within the tolerance of the path, and its points lie on it."""
    table = np.array(rows)
    mine = table_of([Chain(table[:, :2], table[:, 2])])
    (ring,) = flattened(mine, 1e-3)
    halfway = 0.5 * (ring + np.roll(ring, -1))
    for points, limit in ((ring, 1e-7), (halfway, 1e-3 + 1e-8)):
        each = [distances(points, mine.take(np.full(len(points), i))) for i in range(len(rows))]
        assert np.min(each, axis=0).max() <= limit
    assert np.abs(np.roll(ring, -1) - ring).sum() <= lengths(mine).sum() + 1e-9
