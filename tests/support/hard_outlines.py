"""Outlines whose parallels are hard, each with distances at which something vanishes, pinches or closes."""

import numpy as np

from convert.geometry.chain import Chain

QUARTER = np.tan(np.pi / 8)


def chain(points, bulge=None):
    """Make an outline of lines, or of the given bulges."""
    xy = np.array(points, dtype=float)
    return Chain(xy, np.zeros(len(xy)) if bulge is None else np.array(bulge, dtype=float))


HARD = {
    "rectangle": (chain([(0, 0), (30, 0), (30, 10), (0, 10)]), (2.5, -2.5, -4.999999, -5.0, -6.0)),
    "slot": (chain([(0, 0), (40, 0), (40, 20), (0, 20)], [0, 1, 0, 1]), (5, -5, -9.99, -10, -12)),
    "bay of one radius": (
        chain([(0, 0), (40, 0), (40, 30), (30, 30), (10, 30), (0, 30)], [0, 0, 0, -1, 0, 0]),
        (5.0, 10.0, 9.999999999, 10.0000001, 15.0, 30.0, -5.0, -9.0),
    ),
    "hexagon": (
        chain([(20 * np.cos(a), 20 * np.sin(a)) for a in np.arange(6) * np.pi / 3]),
        (6, -10, -10 * 3**0.5, -17.3),
    ),
    "rounded square": (
        chain([(10, 0), (50, 0), (60, 10), (60, 50), (50, 60), (10, 60), (0, 50), (0, 10)], [0, QUARTER] * 4),
        (5, -5, -10, -12, -29.9, -30),
    ),
    "three half circles and three cusps": (
        chain([(30, 0), (-30, 0), (-10, 0)], [1, -1, -1]),
        (3, 10, 25, -3, -5, -8),
    ),
    "web with a cusp": (
        chain(
            [(0, 0), (40, 0), (20, 20 * 3**0.5)],
            [-np.tan(np.pi / 12), np.tan(np.pi / 12), -np.tan(np.pi / 12)],
        ),
        (4, 12, 40, -2, -4),
    ),
    "star": (
        chain(
            [
                ((40, 16)[k % 2] * np.cos(np.pi * k / 5), (40, 16)[k % 2] * np.sin(np.pi * k / 5))
                for k in range(10)
            ]
        ),
        (6.35, 30, -4, -8, -12),
    ),
    "almost flat arc": (chain([(0, 0), (50, 0), (50, 20), (0, 20)], [0, 0, -1e-7, 0]), (3, -3, -9.99)),
    "almost smooth corner": (
        chain([(0, 0), (50, 0), (50, 10), (25, 10.0000005), (0, 10)], [0, 0, 0.05, 0.05, 0]),
        (5, -3, -4.5),
    ),
    "kinks of a fitted curve": (
        chain([(0, 0), (50, 0), (50, 10), (30, 13), (10, 13.04)], [0, 0, 0.05, 0.03, 0.2]),
        (5, -3, -4.5),
    ),
    "neck": (
        chain(
            np.array(
                [0, 0, 20, 0, 20, 8, 30, 8, 30, 0, 50, 0, 50, 20, 30, 20, 30, 12, 20, 12, 20, 20, 0, 20]
            ).reshape(-1, 2)
        ),
        (3, -1.9, -2.0, -2.1, -9.9, 4.0, 4.0001),
    ),
    "bay that closes": (
        chain([(0, 0), (30, 0), (30, 20), (20, 20), (20, 5), (10, 5), (10, 20), (0, 20)]),
        (2, 4.5, 5.0, 6.0, -2, -3),
    ),
    "bottle": (
        chain(
            [(0, 0), (40, 0), (40, 30), (22, 30), (28, 20), (12, 20), (18, 30), (0, 30)],
            [0, 0, 0, 0, -0.6, 0, 0, 0],
        ),
        (1.5, 1.999, 2.0, 2.5, 5.0, -2.0),
    ),
    "short edges beside long ones": (
        chain([(0, 0), (50, 0), (50, 1e-5), (50 + 1e-5, 2e-5), (50, 50), (0, 50)]),
        (6, -6, -24.9),
    ),
    "vertex drawn twice": (chain([(0, 0), (20, 0), (20, 0), (20, 20), (20 - 1e-12, 20), (0, 20)]), (5, -5)),
    "lens": (chain([(0, 0), (0, 40)], [0.5, 0.5]), (8, -8, -9.9, -12)),
    "circle": (chain([(20, 0), (-20, 0)], [1, 1]), (5, -5, -20, -25)),
}
