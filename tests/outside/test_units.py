"""Unit ratios against the standards that define them."""

from fractions import Fraction

import pytest

from convert.units import CSS_UNIT_MM, MM_PER_INCH, parse_length

# CSS Values and Units Module Level 4 (W3C), section "Absolute Lengths", its table of equivalents:
# 1cm = 96px/2.54; 1mm = 1/10 of 1cm; 1Q = 1/40 of 1cm; 1in = 2.54cm = 96px; 1pc = 1/6 of 1in;
# 1pt = 1/72 of 1in.
CSS_TABLE_PX = {
    "cm": Fraction(9600, 254),
    "mm": Fraction(9600, 254) / 10,
    "q": Fraction(9600, 254) / 40,
    "in": Fraction(96),
    "pc": Fraction(96, 6),
    "pt": Fraction(96, 72),
    "px": Fraction(1),
}


def test_css_units():
    """Every absolute unit has the ratio to a pixel that the CSS table gives, exactly."""
    assert {unit: mm / CSS_UNIT_MM["px"] for unit, mm in CSS_UNIT_MM.items()} == CSS_TABLE_PX


def test_international_inch():
    """An inch is exactly 25.4 mm (international yard and pound agreement, 1959)."""
    assert MM_PER_INCH == 25.4
    assert CSS_UNIT_MM["in"] == Fraction("25.4")


@pytest.mark.parametrize(
    ("text", "mm"),
    [("1px", 0.2645833333), ("1pt", 0.3527777778), ("1pc", 4.2333333333), ("1q", 0.25), ("101.6q", 25.4)],
)
def test_printed_decimals(text, mm):
    """Decimals printed in the same CSS section agree to the digits printed."""
    assert parse_length(text) == pytest.approx(mm, abs=5e-11)
