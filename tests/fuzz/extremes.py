"""Each number of each small seed replaced by each of some extreme ones, through the whole of `inspect`.

Run it as `python tests/fuzz/extremes.py [EVERY [FIRST]]`: of some 90,000 files it looks at one of EVERY, from
number FIRST on. It prints what is broken, and ends with 1 if anything is.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
import traceback
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parent))
from looking import looked_at
from seeds import seeds

if TYPE_CHECKING:
    from collections.abc import Iterator

EXTREMES = (
    *("0", "-1", "5e-324", "1e-308", "-1e-308", "1e-160", "1e-12", "1e7", "1e15", "1e100", "1e155"),
    *("1e308", "-1e308", "9" * 400),
)
LARGEST = 6000
"""Bytes: larger seeds are left out, and say nothing new."""
MOST = 60
"""So many numbers of one file, at most, evenly spread, are replaced."""
_NUMBER = re.compile(r"(?<![\w#.])[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def extremes() -> Iterator[bytes]:
    """Yield all files, smallest seeds first."""
    for data in sorted(
        {seed for seed in seeds() if len(seed) <= LARGEST}, key=lambda seed: (len(seed), seed)
    ):
        try:
            text = data.decode()
        except UnicodeDecodeError:
            continue
        numbers = list(_NUMBER.finditer(text, max(text.find("<svg"), 0)))
        for found in numbers[:: len(numbers) // MOST + 1]:
            for extreme in EXTREMES:
                yield (text[: found.start()] + extreme + text[found.end() :]).encode()


def main() -> None:
    """Look at one file of EVERY, from number FIRST on."""
    every, first = map(int, [*sys.argv[1:], *("1", "0")[len(sys.argv) - 1 :]])
    count, broken, slowest = 0, 0, 0.0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "extreme.svg"
        for data in islice(extremes(), first, None, every):
            count += 1
            begun = time.process_time()
            try:
                looked_at(data, path)
            except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
                broken += 1
                print(f"{data.decode()}\n{traceback.format_exc()}", flush=True)
            slowest = max(slowest, time.process_time() - begun)
    print(f"{count} files, {broken} broken; slowest {slowest:.2f} s")
    sys.exit(broken > 0)


if __name__ == "__main__":
    main()
