"""Arcs as cubic Béziers: how near they stay, and how many there are."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.cubics import cubics


def sampled(curves: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Return points (k, len(t), 2) by Bernstein's polynomials."""
    u = 1.0 - t
    basis = np.stack((u**3, 3 * u * u * t, 3 * u * t * t, t**3))
    return np.einsum("jt,kjd->ktd", basis, curves)


@given(
    bulge=st.floats(-1.0, 1.0).filter(lambda b: abs(b) > 1e-6),
    chord=st.floats(0.5, 400.0),
    turn=st.floats(0.0, 2 * pi),
)
@settings(deadline=None, max_examples=150)
def test_never_farther_from_the_circle_than_asked(bulge, chord, turn):
    """Every point of the cubics is within the tolerance of the arc's circle, computed from its centre."""
    away = chord * np.array([np.cos(turn), np.sin(turn)])
    curves, row = cubics(Segments(np.zeros((1, 2)), away[None], np.array([bulge])), 1e-4)
    across = np.array([-away[1], away[0]])
    centre = away / 2 + across * (1 - bulge**2) / (4 * bulge)
    off = np.hypot(*(sampled(curves, np.linspace(0, 1, 41)) - centre).transpose(2, 0, 1))
    r = chord * (1 + bulge**2) / (4 * abs(bulge))
    assert np.abs(off - r).max() <= 1e-4 + 1e-12 * r
    assert (row == 0).all()
    assert np.array_equal(curves[1:, 0], curves[:-1, 3])
    assert np.allclose(curves[0, 0], 0.0, atol=1e-9)
    assert np.allclose(curves[-1, 3], away, atol=1e-9 * chord)


def test_an_arc_turns_the_way_its_bulge_says():
    """A half circle from (0, 0) to (2, 0) with bulge 1 runs below the chord, through (1, -1)."""
    curves, _ = cubics(Segments([[0, 0]], [[2, 0]], [1.0]), 1e-6)
    points = sampled(curves, np.linspace(0, 1, 21)).reshape(-1, 2)
    assert np.isclose(points[:, 1].min(), -1.0, atol=1e-5)
    assert points[:, 1].max() < 1e-9


def test_no_part_turns_more_than_45_degrees():
    """However coarse the tolerance, a half circle is at least four cubics."""
    assert len(cubics(Segments([[0, 0]], [[2, 0]], [1.0]), 10.0)[0]) == 4


def test_lines_are_kept_with_their_handles_at_thirds():
    """A line is one cubic that runs evenly along it, and rows tell which is which."""
    table = Segments([[0, 0], [3, 0]], [[3, 0], [3, 6]], [0.0, 0.0])
    curves, row = cubics(table, 1e-4)
    assert np.allclose(curves[1], [[3, 0], [3, 2], [3, 4], [3, 6]])
    assert row.tolist() == [0, 1]


def test_a_tolerance_must_be_positive():
    """Zero would ask for endlessly many curves."""
    with pytest.raises(GeometryError):
        cubics(Segments([[0, 0]], [[2, 0]], [1.0]), 0.0)
