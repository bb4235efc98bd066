"""How much longer the way between cuts is than a strong reference tour, on the fixtures' sheets.

Run it as `python tests/bench/bench_tour.py`; `tests/` needs the test extra. For every sheet of every
fixture at 6 in on the laser's bed and on the mat it prints our travel, that of the reference
(OR-tools, five seconds each, on the same stops), and their ratio; to reach: at most 1.10.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import stops_of_sheets
from reference_tour import reference_travel

from convert.cutting.tour import shortest_tour

FIXTURES = Path(__file__).parents[2] / "fixtures"
SECONDS = 5


def main() -> None:
    """Print a line for each sheet, and the worst ratio."""
    worst = 0.0
    for path in sorted(FIXTURES.glob("*.svg")):
        for profile in ("laser-600x400", "mat-12x12"):
            for name, stops in stops_of_sheets.of_drawing(path, profile):
                begin = time.perf_counter()
                ours = shortest_tour(*stops).travel
                taken = time.perf_counter() - begin
                reference = reference_travel(*stops, seconds=SECONDS)
                ratio = ours / reference if reference else 1.0
                worst = max(worst, ratio)
                what = f"{path.stem} {profile} {name}: {len(stops[0])} stops"
                print(f"{what}, {ours:.0f} mm, reference {reference:.0f} mm, {ratio:.3f}, {taken:.2f} s")
    print(f"worst {worst:.3f}; to reach 1.10")


if __name__ == "__main__":
    main()
