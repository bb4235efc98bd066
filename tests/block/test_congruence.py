"""Promises of convert/block/congruence.py: laying outlines on each other."""

from __future__ import annotations

import known_blocks as known
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import backwards

from convert.block.congruence import Figure, fit_freely, fit_knots, flipped_knots, rolled, similarity, traits
from convert.block.plain import Outlines


def outlines_of(*rings):
    """Return some loops of (x, y, bulge) as Outlines."""
    rows = np.array([v for r in rings for v in r])
    start = np.concatenate(([0], np.cumsum([len(r) for r in rings])))
    return Outlines(rows[:, :2], rows[:, 2], start)


def random_knots(rng, count):
    """Return the knots (1, 2, n) of a star-shaped polygon of `count` vertices, far from regular."""
    angle = np.sort(rng.uniform(0, 2 * np.pi, count))
    z = rng.uniform(10, 40, count) * np.exp(1j * angle)
    return np.stack((z, (z + np.roll(z, -1)) / 2))[None]


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    count=st.integers(3, 30),
    turn=st.floats(-4, 4),
    shift=st.complex_numbers(max_magnitude=1e4),
    start=st.integers(0, 40),
)
def test_turned_shifted_and_restarted_outlines_are_found_to_be_equal(seed, count, turn, shift, start):
    """The start and the turn come back, with a misfit of rounding only, whatever they were."""
    a = random_knots(np.random.default_rng(seed), count)
    b = np.roll(a, start, axis=2) * np.exp(1j * turn) + shift
    fits = fit_knots(a, b)
    assert fits.misfit[0] < 1e-9
    assert np.abs(fits.turn[0] * a + fits.shift[0] - rolled(b, fits.first)).max() < 1e-9


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), count=st.integers(3, 20), size=st.floats(1e-3, 0.5))
def test_misfit_is_never_more_than_the_displacement_allows(seed, count, size):
    """Moving every vertex by at most d gives a misfit under 2 d, and traits that differ by at most 2 d."""
    rng = np.random.default_rng(seed)
    a = random_knots(rng, count)
    z = a[:, 0] + size * rng.uniform(0, 1, count) * np.exp(2j * np.pi * rng.uniform(size=count))
    b = np.stack((z[0], (z[0] + np.roll(z[0], -1)) / 2))[None]
    # Laying on with the least squares of all knots may cost the worst knot at most as much again.
    assert fit_knots(a, b).misfit[0] <= 2 * size * (1 + 1e-9)
    assert np.abs(traits(a) - traits(b)).max() <= 2 * size * (1 + 1e-9)


def test_flipping_twice_changes_nothing():
    """A flip is its own inverse, up to the start."""
    a = random_knots(np.random.default_rng(4), 7)
    assert fit_knots(a, flipped_knots(flipped_knots(a))).misfit[0] < 1e-12


def test_equal_corners_with_other_arcs_are_not_equal():
    """A square with one bulging side fits its turned self only with that side on the bulging side."""
    square = [(0, 0, 0.3), (10, 0, 0.0), (10, 10, 0.0), (0, 10, 0.0)]
    other = [(0, 0, 0.0), (10, 0, 0.0), (10, 10, 0.3), (0, 10, 0.0)]
    table = outlines_of(square, other)
    a, b = Figure.of(table, (0,)), Figure.of(table, (1,))
    turn, _, misfit = fit_freely(a, b, 0.01)
    assert misfit < 1e-9
    assert turn == pytest.approx(-1, abs=1e-9)
    flat = Figure.of(outlines_of([(x, y, 0.0) for x, y, _ in square]), (0,))
    # The side bulges by 0.3 × 10 / 2 = 1.5 mm; half of it on either side is the best one can do.
    assert 0.5 < fit_freely(a, flat, 0.01)[2] <= 1.5


@settings(max_examples=15, deadline=None)
@given(turn=st.floats(0, 360), cuts=st.integers(1, 6), other=st.integers(1, 6), hand=st.sampled_from((1, -1)))
def test_free_comparison_finds_the_placement_of_a_drop(turn, cuts, other, hand):
    """A drop laid on itself, turned, cut otherwise or flipped, misses by rounding only; unflipped by much."""
    ring = known.drop(50, 20, turn, cuts=other, hand=hand)
    # A flip turns the ring clockwise; outlines run counter-clockwise.
    table = outlines_of(known.drop(cuts=cuts), ring if hand > 0 else backwards(ring))
    a, b = Figure.of(table, (0,)), Figure.of(table, (1,))
    there = fit_freely(a, b if hand > 0 else b.flipped(), 0.01)
    wrong = fit_freely(a, b.flipped() if hand > 0 else b, 0.01)
    assert there[2] < 1e-9
    assert wrong[2] > 0.5
    placed = similarity(there[0], there[1], flipped=hand < 0).points(a.probes[:3])
    assert np.abs(placed[0] - b.table.start).max(axis=1).min() < 1e-8


def test_free_misfit_of_concentric_circles_is_the_difference_of_their_radii():
    """Circles of radius 30 and 30.05 are 0.05 mm apart."""
    table = outlines_of([(-30, 0, 1.0), (30, 0, 1.0)], [(70, -30.05, 1.0), (70, 30.05, 1.0)])
    found = fit_freely(Figure.of(table, (0,)), Figure.of(table, (1,)), 0.01)
    assert found[2] == pytest.approx(0.05, abs=1e-9)
