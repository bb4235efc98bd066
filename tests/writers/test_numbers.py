"""Numbers as text: fixed digits, no exponent, no minus zero."""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.errors import OutputError
from convert.writers.numbers import fixed, rounded


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (2.5, 6, "2.5"),
        (0.0, 6, "0"),
        (-0.0, 6, "0"),
        (-1e-9, 6, "0"),
        (1e-6, 6, "0.000001"),
        (-0.00005, 6, "-0.00005"),
        (1e15, 3, "1000000000000000"),
        (100.0, 0, "100"),
        (304.8, 6, "304.8"),
    ],
)
def test_fixed_writes_plain_numbers(value, digits, text):
    """A number is written shortest, without exponent and without minus zero."""
    assert fixed(value, digits) == text


@settings(deadline=None, max_examples=200)
@given(st.floats(-1e9, 1e9), st.integers(0, 9))
def test_fixed_is_within_half_a_step(value, digits):
    """What is written reads back within half a step of the last digit, in a grammar without exponents."""
    text = fixed(value, digits)
    assert re.fullmatch(r"-?\d+(\.\d*[1-9])?", text)
    assert text != "-0"
    assert abs(float(text) - value) <= 0.5 * 10.0**-digits * (1 + 1e-9) + abs(value) * 1e-15


def test_rounded_has_no_minus_zero_and_refuses_the_endless():
    """Rounding to zero from below gives plus zero; a number that is not finite is an error."""
    values = rounded(np.array([-1e-9, 1.25, -3.14159]), 2)
    assert values.tolist() == [0.0, 1.25, -3.14]
    assert math.copysign(1.0, values[0]) == 1.0
    with pytest.raises(OutputError, match="not finite"):
        rounded(np.array([0.0, np.nan]), 3)
