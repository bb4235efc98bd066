"""Path data: what each command draws, and where an error stands."""

# ruff: noqa: E501 - a drawing reads best in one line

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.reader.outline import ARC, CUBIC, IMPLIED, LINE, QUADRATIC
from convert.reader.pathdata import parse_path, parse_points


def rows(data, kind):
    """Return the rows of one kind of part."""
    outline, _ = parse_path(data)
    width = (4, 6, 8, 12)[kind]
    return np.array(outline.rows[kind]).reshape(-1, width).tolist()


@pytest.mark.parametrize(
    ("data", "character", "parts"),
    [
        ("M0 0L10 10X5", 11, 1),
        ("M0 0L10 10 20", 14, 1),
        ("M0 0 L10 10, L20 x", 18, 1),
        ("L0 0", 1, 0),
        ("M0 0L", 6, 0),
        ("M0 0L10 10.", 9, 0),
        ("M0 0H1V1H0z3", 12, 4),
        ("M0 0,,1 1", 6, 0),
        (",M0 0H1", 1, 0),
        ("M,0 0H1", 2, 0),
        ("M0 0A1 1 0 2 0 5 5", 12, 0),
        ("M0 0A1 1 0 1 1 5", 17, 0),
        ("M0 0H1e999", 6, 0),
        ("M0 0H1 nan", 8, 1),
        ("M0 0C1 1 2 2 3 3 4 4", 21, 1),
        ("M0 0H1\u00a0V1", 7, 1),
        ("M0 0H٣", 6, 0),
    ],
)
def test_an_error_is_told_at_its_character_and_ends_the_path(data, character, parts):
    """SVG 2, 9.5.4: drawn up to the error; characters are counted from 1."""
    outline, fault = parse_path(data)

    assert fault is not None
    assert fault.character == character
    assert sum(kind != IMPLIED for kind in outline.kind) == parts


@pytest.mark.parametrize(
    "data", ["", "  \n", "M1 2", "M0 0 1 1,", "m.5.5-1-1+2+2", "M0,0L1,1Z z", "M1e-3 1E+2h1"]
)
def test_right_data_has_no_fault(data):
    """SVG 2, 9.3.9, the grammar's odd but right cases; a comma at the end is let pass, as browsers do."""
    assert parse_path(data)[1] is None


def test_compact_numbers_are_told_apart():
    """Signs and points separate numbers as white space does, and flags need no separators."""
    assert rows("M1-2L.5.5-3-4z", LINE) == [[1, -2, 0.5, 0.5], [0.5, 0.5, -3, -4], [-3, -4, 1, -2]]
    assert rows("M1.5.5+3e1-4E-1z", LINE) == [[1.5, 0.5, 30, -0.4], [30, -0.4, 1.5, 0.5]]
    assert len(rows("m0 0a25,25-30 0125,-25a1 1 0 1110 0", ARC)) == 2


def test_relative_commands_add_up():
    """Lower case letters count from the current point, after Z from the subpath's start."""
    assert rows("m1 1l2 0h1v2zl5 5", LINE) == [
        [1, 1, 3, 1], [3, 1, 4, 1], [4, 1, 4, 3], [4, 3, 1, 1], [1, 1, 6, 6], [6, 6, 1, 1],
    ]  # fmt: skip
    assert rows("M1 1m2 2c1 0 2 1 2 2", CUBIC) == [[3, 3, 4, 3, 5, 4, 5, 5]]


@pytest.mark.parametrize(
    ("data", "kind", "first_control"),
    [
        ("M0 0C1 2 3 4 5 5S9 9 8 8", CUBIC, [7, 6]),
        ("M0 0c1 2 3 4 5 5s9 9 8 8", CUBIC, [7, 6]),
        ("M0 0Q3 4 5 5S9 9 8 8", CUBIC, [5, 5]),
        ("M0 0L5 5S9 9 8 8", CUBIC, [5, 5]),
        ("M0 0C1 2 3 4 5 5L5 5S9 9 8 8", CUBIC, [5, 5]),
        ("M0 0S3 4 5 5S9 9 8 8", CUBIC, [7, 6]),
        ("M0 0Q3 4 5 5T8 8", QUADRATIC, [7, 6]),
        ("M0 0C1 2 3 4 5 5T8 8", QUADRATIC, [5, 5]),
        ("M0 0A1 1 0 0 0 5 5T8 8", QUADRATIC, [5, 5]),
        ("M0 0Q3 4 5 5M5 5T8 8", QUADRATIC, [5, 5]),
    ],
)
def test_smooth_commands_mirror_only_their_own_kind(data, kind, first_control):
    """SVG 2, 9.3.6 and 9.3.7: otherwise the control point is the current point."""
    assert rows(data, kind)[-1][2:4] == first_control


def test_tt_goes_on_from_a_mirrored_point():
    """After T comes another mirrored point, not the one before."""
    assert rows("M0 0Q1 2 2 0T4 0 6 0", QUADRATIC) == [
        [0, 0, 1, 2, 2, 0],
        [2, 0, 3, -2, 4, 0],
        [4, 0, 5, 2, 6, 0],
    ]


def test_closing_and_implied_lines():
    """Z draws a line unless it has no length; an open subpath is followed by the line that only a fill needs."""
    outline, _ = parse_path("M0 0H1V1ZM5 5h1v1M7 7h1l-1 0z")

    assert outline.kind == [LINE, LINE, LINE, LINE, LINE, IMPLIED, LINE, LINE]
    assert outline.count == [3, 3, 2]
    assert outline.closed == [True, False, True]


def test_degenerate_arcs():
    """SVG 2, appendix B.2.5: a zero radius is a line, equal ends are nothing, a negative radius is positive."""
    assert rows("M0 0A0 5 0 0 1 9 0", LINE) == [[0, 0, 9, 0], [9, 0, 0, 0]]
    assert parse_path("M3 3A5 5 0 0 1 3 3")[0].kind == []
    assert rows("M0 0A-5 -4 0 0 1 9 0", ARC) == rows("M0 0A5 4 0 0 1 9 0", ARC)


@pytest.mark.parametrize(
    ("text", "count", "character"),
    [
        ("0,0 1,1", 2, None),
        ("0 0 1", 1, 6),
        ("0 0-1-1.5.5 3", 3, None),
        ("1e1,1E1 x", 1, 9),
        ("", 0, None),
        ("a", 0, 1),
    ],
)
def test_points_up_to_the_first_error(text, count, character):
    """A list of points is kept up to its first error, which is told."""
    points, fault = parse_points(text)

    assert len(points) == count
    assert (fault.character if fault else None) == character


numbers = st.floats(-1e6, 1e6, allow_nan=False).map(lambda v: round(v, 3))


@given(
    st.lists(
        st.tuples(st.sampled_from("MLCQSTHVZmlcqsthvz"), st.lists(numbers, min_size=6, max_size=6)),
        max_size=12,
    )
)
@settings(max_examples=60, deadline=None)
def test_writing_with_other_separators_changes_nothing(commands):
    """Commas, line ends, repeated letters: the same numbers make the same outline, by the fast way and the slow."""
    counts = {"M": 2, "L": 2, "C": 6, "Q": 4, "S": 4, "T": 2, "H": 1, "V": 1, "Z": 0}
    parts = [(c, v[: counts[c.upper()]]) for c, v in [("M", [0.0, 0.0] * 3), *commands]]
    plain = " ".join(c + " ".join(map(repr, v)) for c, v in parts)
    other = "".join(f"\n{c}" + ",".join(f"{x:+.3f}" for x in v) for c, v in parts)
    first, fault = parse_path(plain)
    second, _ = parse_path(other)
    cut, cut_fault = parse_path(plain + " !")

    assert fault is None
    assert first.kind == second.kind == cut.kind
    assert first.rows == second.rows == cut.rows
    assert cut_fault is not None
    assert cut_fault.character >= len(plain)


@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+eE \n", max_size=60))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_without_an_error_of_ours(text):
    """Whatever stands in path data, there is an outline, and its books are right."""
    outline, _ = parse_path(text)

    assert sum(outline.count) == len(outline.kind)
    assert len(outline.count) == len(outline.closed)
    for kind, width in ((QUADRATIC, 6), (CUBIC, 8), (ARC, 12)):
        assert len(outline.rows[kind]) == width * outline.kind.count(kind)
    assert len(outline.rows[LINE]) == 4 * (outline.kind.count(LINE) + outline.kind.count(IMPLIED))


@pytest.mark.parametrize("turn", [-1e-28, 1e-300, 180, -180, 360, 540])
def test_turns_of_nearly_nothing_are_nothing(turn):
    """An ellipse turned by a rounding error, or by half turns, is the same ellipse."""
    plain, turned = rows("M0 0A1 2 0 0 0 0 1", ARC)[0], rows(f"M0 0A1 2 {turn} 0 0 0 1", ARC)[0]

    assert turned[4:6] == pytest.approx(plain[4:6], abs=1e-12)
    assert turned[11] == pytest.approx(plain[11], abs=1e-12)
