"""Numbers as large, as small and as long as can be written, wherever a drawing has a number."""

from collections import Counter
from itertools import islice

from extremes import extremes
from looking import looked_at

EVERY = 307
"""A prime: so every extreme and every kind of place has its turn. `extremes.py` looks at all."""


def test_extreme_numbers_end_in_words(tmp_path):
    """Each is read, or refused in words, within five seconds."""
    path = tmp_path / "extreme.svg"
    outcomes = Counter(looked_at(data, path) for data in islice(extremes(), 0, None, EVERY))

    assert outcomes["read"] > outcomes.total() / 3 > 50, outcomes
