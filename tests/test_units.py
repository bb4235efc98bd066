"""Lengths as people write them: what is understood, what is refused and why, and the way back."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from convert.errors import UsageError
from convert.units import (
    CSS_UNIT_MM,
    LARGEST_MM,
    MM_PER_INCH,
    format_inches,
    format_length,
    format_mm,
    parse_length,
)

UNDERSTOOD = [
    ("6in", 152.4),
    ("6 in", 152.4),
    ('6"', 152.4),
    ("6\u2033", 152.4),
    ("6\u201d", 152.4),
    ("6''", 152.4),
    ("6 inches", 152.4),
    ("6in.", 152.4),
    ("12 IN", 304.8),
    ("  6\n in ", 152.4),
    ("+6in", 152.4),
    (".5in", 12.7),
    ("3 1/2in", 88.9),
    ('3-1/2"', 88.9),
    ("3½ in", 88.9),
    ("3 ½in", 88.9),
    ("½in", 12.7),
    ("3 1\u20442in", 88.9),
    ("3\u00a01/2\u00a0in", 88.9),
    ("7/2in", 88.9),
    ('1/4"', 6.35),
    ("1/4 in", 6.35),
    ("89mm", 89.0),
    ("8.9cm", 89.0),
    ("8,9cm", 89.0),
    ("0,125in", 3.175),
    ("3.175mm", 3.175),
    ("1,25in", 31.75),
    ("0.6 m", 600.0),
    ("1ft", 304.8),
    ("1 yard", 914.4),
    ("72pt", 25.4),
    ("96px", 25.4),
]

REFUSED = [
    ("6", "JOB-002", "Write 6in or 6mm"),
    ("6 1/2", "JOB-002", "Write 6 1/2in or 6 1/2mm"),
    ("1,000mm", "JOB-003", "could mean 1mm or 1000mm"),
    ("3,175 mm", "JOB-003", "could mean 3.175mm or 3175mm"),
    ("6'", "JOB-003", "could mean feet or inches"),
    ("-6in", "JOB-004", "negative"),
    ("0mm", "JOB-004", "zero"),
    ("-1/4in", "JOB-004", "negative"),
    ("99999in", "JOB-005", "no size for handiwork"),
    ("0.00001mm", "JOB-005", "no size for handiwork"),
    ("6 furlongs", "JOB-006", "Known units are"),
    ("", "JOB-001", "such as 6in"),
    ("in", "JOB-001", "such as 6in"),
    ("six inches", "JOB-001", "such as 6in"),
    ("nan", "JOB-001", "not a length"),
    ("nanmm", "JOB-001", "not a length"),
    ("inf", "JOB-001", "not a length"),
    ("1e3mm", "JOB-001", "not one length"),
    ("1e400mm", "JOB-001", "not one length"),
    ("5ft 6in", "JOB-001", "not one length"),
    ("1 000mm", "JOB-001", "not one length"),
    ("1,000.5mm", "JOB-001", "not one length"),
    ("1.2.3mm", "JOB-001", "not one length"),
    ("3 5/2in", "JOB-001", "a fraction of one or more"),
    ("1/0in", "JOB-001", "divides by zero"),
    ("9" * 5000 + "mm", "JOB-001", "too long"),
    ("\u0663mm", "JOB-001", "not a length"),
]


@pytest.mark.parametrize(("text", "mm"), UNDERSTOOD)
def test_understood(text, mm):
    """Every usual way of writing a length gives the nearest number to its exact size."""
    assert parse_length(text) == mm


@pytest.mark.parametrize(("text", "code", "words"), REFUSED)
def test_refused(text, code, words):
    """What is no length, or could be two, is refused in one line that says what to write."""
    with pytest.raises(UsageError) as caught:
        parse_length(text)
    (finding,) = caught.value.findings
    assert finding.code == code
    assert words in finding.line()
    assert "\n" not in finding.line()
    assert len(finding.line()) < 200


def test_zero_where_it_means_something():
    """Zero is a length where a caller says so, whatever its sign, and negative still is not."""
    assert parse_length("0mm", allow_zero=True) == 0.0
    assert math.copysign(1, parse_length("-0in", allow_zero=True)) == 1.0
    with pytest.raises(UsageError):
        parse_length("-1mm", allow_zero=True)


def test_default_unit():
    """A caller that knows the unit may let it be left out; a written one still counts."""
    assert parse_length("6", default_unit="in") == 152.4
    assert parse_length("6mm", default_unit="in") == 6.0


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (152.4, "6 in (152.4 mm)"),
        (88.9, "3 1/2 in (88.9 mm)"),
        (6.35, "1/4 in (6.35 mm)"),
        (90.0, "90 mm (3.543 in)"),
        (MM_PER_INCH * 5 / 64, "5/64 in (1.984 mm)"),
        (0.0, "0 in (0 mm)"),
        (-88.9, "-3 1/2 in (-88.9 mm)"),
    ],
)
def test_format(mm, words):
    """Whole 64ths of an inch are written as mixed numbers and come first; other sizes lead with mm."""
    assert format_length(mm) == words


def test_format_has_no_noise():
    """Trailing zeros, lone points and negative zeros are not written."""
    assert format_mm(100.0) == "100 mm"
    assert format_mm(-0.0001) == "0 mm"
    assert format_mm(12.3456, digits=1) == "12.3 mm"
    assert format_inches(2.0) == "0.079 in"


@given(st.integers(1, 64 * 900))
def test_mixed_numbers_come_back_exactly(parts):
    """Every whole number of 64ths of an inch survives being written and read, to the last bit."""
    mm = float(Fraction(parts, 64) * Fraction(254, 10))
    assert parse_length(format_inches(mm)) == mm


@given(st.integers(1, 5_000_000))
def test_millimetres_come_back_exactly(hundredths):
    """Every whole number of hundredths of a millimetre survives being written and read."""
    mm = hundredths / 100
    assert parse_length(format_mm(mm)) == mm


@given(
    st.decimals(min_value="0.001", max_value="400", places=3),
    st.sampled_from(sorted(CSS_UNIT_MM)),
    st.booleans(),
)
def test_decimals_are_exact_in_every_unit(number, unit, comma):
    """A decimal in any unit is the float nearest to its exact value, with a point or (if clear) a comma."""
    text = str(number)
    whole, _, part = text.partition(".")
    if comma and (whole == "0" or len(part) != 3):
        text = text.replace(".", ",")
    expected = Fraction(number) * CSS_UNIT_MM[unit]
    assert parse_length(f"{text}{unit}") == float(expected)


@given(st.text(max_size=60))
def test_any_text_is_a_length_or_refused(text):
    """No text at all breaks the reader: it gives a sane length or one usage error."""
    try:
        mm = parse_length(text)
    except UsageError:
        return
    assert 0 < mm <= LARGEST_MM
