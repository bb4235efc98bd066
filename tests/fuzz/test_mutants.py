"""Mutated fixtures are inspected, or refused in words; what can be inspected is proved, or refused, too."""

import time
from collections import Counter

import pytest
from looking import converted, looked_at
from mutate import mutant
from seeds import drawings

BLOCKS, EACH = 5, 100


@pytest.mark.parametrize("block", range(BLOCKS))
def test_mutants_end_in_words(block, tmp_path):
    """Whatever is changed: words, within five seconds. `mutate.py` does the same with any number of them."""
    files, path = drawings(), tmp_path / "mutant.svg"
    outcomes: Counter[str] = Counter()
    begun = time.perf_counter()
    for number in range(EACH * block, EACH * (block + 1)):
        outcomes[looked_at(mutant(number, files), path)] += 1

    # Most must come through, or nothing beyond the parser is tried.
    assert outcomes["read"] > EACH / 3, (outcomes, time.perf_counter() - begun)
    assert len(outcomes) > 4


def test_mutants_that_are_read_are_proved_or_refused(tmp_path):
    """Of mutants that `inspect` can read, most convert; none writes a file that its proof finds wrong."""
    files, path = drawings(), tmp_path / "mutant.svg"
    outcomes: Counter[str] = Counter()
    for number in range(10_000, 10_024):
        data = mutant(number, files)
        if looked_at(data, path) == "read":
            outcomes[converted(data, path, tmp_path / "out")] += 1

    assert outcomes["proved"] > outcomes.total() / 2 > 4, outcomes
