"""Mutants of the fixtures through the whole of `inspect`, and some of those it reads through `convert`.

Run it as `python tests/fuzz/mutate.py [COUNT] [FIRST]`; mutants are numbered, and a number is a seed. It
prints what came of them and ends with 1 if one got anything but an answer in words.
"""

from __future__ import annotations

import faulthandler
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent))
from looking import converted, limit_memory, looked_at
from mutations import mutated
from seeds import drawings

CONVERTED_OF = 20
"""One of so many mutants is converted as well, if `inspect` can read it."""

HARD_SECONDS = 90


def mutant(number: int, files: list[bytes]) -> bytes:
    """Return mutant `number`: every file has its turn."""
    chance = Random(number)
    return mutated(files[number % len(files)], chance, files)


def main() -> None:
    """Look at COUNT mutants from number FIRST on."""
    count, first = map(int, [*sys.argv[1:], *("5000", "0")[len(sys.argv) - 1 :]])
    files, outcomes, conversions = drawings(), Counter[str](), Counter[str]()
    slowest, broken = (0.0, 0), 0
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder) / "mutant.svg", Path(folder) / "out"
        looked_at(files[0], path)
        limit_memory()
        for number in range(first, first + count):
            data = mutant(number, files)
            print(f"mutant {number}", end="\r", flush=True)
            begun = time.process_time()
            # What never returns to Python can't be told in any other way; the file is still there to be seen.
            faulthandler.dump_traceback_later(HARD_SECONDS, exit=True)
            try:
                outcome = looked_at(data, path)
                slowest = max(slowest, (time.process_time() - begun, number))
                outcomes[outcome] += 1
                if outcome == "read" and number % CONVERTED_OF == 0:
                    conversions[converted(data, path, out)] += 1
            except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
                broken += 1
                print(f"mutant {number} is broken:\n{traceback.format_exc()}", flush=True)
    faulthandler.cancel_dump_traceback_later()
    print(f"{count} mutants, {broken} broken; slowest {slowest[0]:.2f} s (mutant {slowest[1]})")
    print("inspect:", ", ".join(f"{name} {n}" for name, n in outcomes.most_common()))
    print("convert:", ", ".join(f"{name} {n}" for name, n in conversions.most_common()))
    sys.exit(broken > 0)


if __name__ == "__main__":
    main()
