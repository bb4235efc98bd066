"""The way between cuts against a strong reference tour on the same stops.

*Source*: the routing solver of OR-tools (guided local search), run for a second or two a sheet.
"""

from pathlib import Path

import numpy as np
import pytest
import stops_of_sheets
from reference_tour import reference_travel

from convert.cutting.tour import shortest_tour

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"


@pytest.mark.parametrize(
    ("name", "profile"),
    [("ring-of-seven", "laser-600x400"), ("midwinter", "mat-12x12"), ("split-leaves", "mat-12x12")],
)
def test_fixtures(name, profile):
    """On the fixtures' sheets the travel is at most 1.10 times the reference."""
    sheets = list(stops_of_sheets.of_drawing(FIXTURES / f"{name}.svg", profile))
    assert sheets
    for sheet, stops in sheets:
        ours, reference = shortest_tour(*stops).travel, reference_travel(*stops, seconds=1)
        assert ours <= 1.10 * reference + 1e-2, sheet


def test_groups_that_cannot_be_reversed():
    """Frames, whose opening is cut before their outside, are toured as well, and never done backwards."""
    random = np.random.default_rng(11)
    entry = random.uniform(0, 400, (40, 2))
    leave = entry + random.uniform(-40, 40, (40, 2))
    fixed = np.arange(40) % 3 > 0
    tour = shortest_tour(entry, leave, (0.0, 400.0), fixed)
    here, walked = np.array((0.0, 400.0)), 0.0
    for stop, back in zip(tour.order, tour.backwards, strict=True):
        assert not (back and fixed[stop])
        first, last = (leave[stop], entry[stop]) if back else (entry[stop], leave[stop])
        walked, here = walked + float(np.hypot(*(first - here))), last
    assert tour.travel == pytest.approx(walked)
    assert walked <= 1.10 * reference_travel(entry, leave, (0.0, 400.0), fixed, seconds=3)
