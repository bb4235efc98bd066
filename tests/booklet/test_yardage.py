"""Cloth: published sums come out, shapes in rows never overlap, and nothing is sold short."""

from math import pi

import numpy as np
import pytest
import shapely
from hand_blocks import hand_block
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.booklet import yardage
from convert.booklet.closer import Tries, closer_length
from convert.booklet.cloth import yards
from convert.booklet.yardage import Need, cloth_shapes, length_of_rows, needs
from convert.cutting.nest.onesheet import Solver
from convert.errors import OutputError
from convert.geometry.chain import Chain
from convert.geometry.measure import area, box
from convert.geometry.similarity import Similarity

INCH = 25.4


def rectangle(width, height):
    """Return an upright rectangle, mm."""
    return Chain([[0, 0], [width, 0], [width, height], [0, height]], np.zeros(4))


def need(length):
    """Return what a fabric needs whose rows are so long."""
    return Need("#000000", 1, 1.0, length, 42 * INCH)


def test_63_squares_of_nine_and_a_half_inches():
    """16 rows of 4, 152 in: 4 1/4 yards. *Source*: a worked example in print (4.2222 yd, then to 1/8)."""
    length = length_of_rows([rectangle(9.5 * INCH, 9.5 * INCH)], [63], 42 * INCH)
    assert length == pytest.approx(152 * INCH, abs=1e-6)
    assert yards(need(length).eighths) == "4 1/4 yd"


def test_420_patches_at_18_a_strip():
    """24 strips of 2 1/2 in: 60 in, 1 3/4 yards. *Source*: a worked example in print."""
    length = length_of_rows([rectangle(42 * INCH / 18, 2.5 * INCH)], [420], 42 * INCH)
    assert length == pytest.approx(60 * INCH, abs=1e-6)
    assert yards(need(length).eighths) == "1 3/4 yd"


@pytest.mark.parametrize(
    ("side", "count"),
    [(2, 99), (2.5, 56), (3, 42), (3.5, 30), (4, 20), (4.5, 16), (5, 12), (5.5, 12), (6, 9), (6.5, 6)],
)
def test_squares_from_a_fat_quarter(side, count):
    """The published numbers of squares fit on 18 by 22 in, and one more does not."""
    square = rectangle(side * INCH, side * INCH)
    assert length_of_rows([square], [count], 22 * INCH) <= 18 * INCH + 1e-6
    assert length_of_rows([square], [count + 1], 22 * INCH) > 18 * INCH + 1e-6


def test_triangles_stand_head_up_and_head_down():
    """Turning every other triangle nearly doubles a row: 10 of side 20 lie within 113, not 200."""
    triangle = Chain(np.array([[0, 0], [20, 0], [10, 17.3]]), np.zeros(3))
    assert length_of_rows([triangle], [10], 113.0) == pytest.approx(17.3, abs=1e-6)
    assert length_of_rows([triangle], [10], 109.9) > 17.4


@pytest.mark.parametrize(
    ("mm", "yard", "cm"),
    [(1.0, "1/8 yd", 10), (114.3, "1/8 yd", 20), (114.31, "1/4 yd", 20), (914.4, "1 yd", 100)],
)
def test_rounded_up_to_what_shops_sell(mm, yard, cm):
    """Eighths of a yard, and tens of centimetres; an exact fit is not rounded up."""
    assert yards(need(mm).eighths) == yard
    assert need(mm).tens * 10 == cm


def test_a_shape_wider_than_the_cloth_is_refused():
    """Nobody is sold cloth that the shape can't be cut from."""
    with pytest.raises(OutputError, match="wide"):
        length_of_rows([rectangle(50.0, 10.0)], [1], 49.0)


@pytest.fixture(scope="module")
def square():
    """Make a block of one square piece of 50 mm."""
    return hand_block("square", [(0, 0), (50, 0), (50, 50), (0, 50)], [[(0, 0), (1, 0), (2, 0), (3, 0)]])


blob = st.lists(st.tuples(st.floats(5, 40), st.floats(0.2, 1.2)), min_size=3, max_size=9)


@given(st.lists(st.tuples(blob, st.integers(1, 9)), min_size=1, max_size=4))
@settings(deadline=None, max_examples=40)
def test_rows_never_overlap(shapes):
    """Random star-shaped outlines, laid as the rows say, do not overlap: seen by shapely."""
    outlines, counts = [], []
    for spokes, count in shapes:
        angle = np.cumsum([gap for _, gap in spokes])
        angle = angle / (angle[-1] + 0.5) * 2 * pi
        reach = np.array([r for r, _ in spokes])
        outlines.append(
            Chain(np.column_stack((reach * np.cos(angle), reach * np.sin(angle))), np.zeros(len(reach)))
        )
        counts.append(count)
    laid = []
    profile, lay = yardage._profile, yardage._lay
    polygons, kept = {}, []

    def remember(outline):
        made = profile(outline)
        polygons[id(made)] = (made, outline.points - outline.points.min(axis=0))
        return made

    def watch(row, ways, width):
        kept.append(row)  # so that no later row has its id
        reach = row.reach.copy()
        if not lay(row, ways, width):
            return False
        for way in ways:
            shift = max(float((reach[: len(way.left)] - way.left).max()), 0.0)
            after = reach.copy()
            after[: len(way.left)] = np.maximum(after[: len(way.left)], shift + way.right)
            if np.array_equal(after, row.reach):
                laid.append((id(row), shapely.Polygon(polygons[id(way)][1] + [shift, 0.0])))
                return True
        raise AssertionError

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yardage, "_profile", remember)
        patch.setattr(yardage, "_lay", watch)
        length_of_rows(outlines, counts, 130.0)
    rows = {}
    for row, polygon in laid:
        rows.setdefault(row, []).append(polygon)
    for polygons_ in rows.values():
        for i, a in enumerate(polygons_):
            assert a.bounds[0] >= -1e-9
            assert a.bounds[2] <= 130.0 + 1e-6
            for b in polygons_[i + 1 :]:
                assert a.intersection(b).area < 1e-6


def test_the_least_rectangle_turns_with_the_shape(square):
    """A cloth shape measures the same however its piece lies in the drawing."""
    for angle in (0.0, 0.3, 1.1):
        long, short = yardage._rectangle(Similarity.turn(angle).points(rectangle(30.0, 20.0).points))
        assert (long, short) == pytest.approx((30.0, 20.0))
    (shape,) = cloth_shapes(square, 6.35)
    assert (shape.long, shape.short) == pytest.approx((62.7, 62.7))
    assert shape.area == pytest.approx(62.7**2)


def test_the_grain_turns_what_is_laid(square):
    """With the grain along a square's diagonal it takes 1.414 times the length of cloth."""
    shapes = cloth_shapes(square, 6.35)
    upright = needs(square, shapes, 200.0)["#e8c070"]
    slanted = needs(square, shapes, 200.0, grain_deg=45.0)["#e8c070"]
    assert upright.length == pytest.approx(62.7)
    assert slanted.length == pytest.approx(62.7 * 2**0.5, abs=1e-6)
    assert upright.pieces == 1
    assert needs(square, shapes, 200.0, blocks=7)["#e8c070"].length == pytest.approx(3 * 62.7)
    assert upright.waste(100.0) == pytest.approx(1.0 - 62.7**2 / 20_000.0)


def test_nested_cloth_is_shorter_where_that_saves_a_step(monkeypatch):
    """Arrow heads in each other take less cloth than in rows; shapely finds none over another or the end."""
    seen = []
    solved = Solver.most_blocks

    def watched(solver, most=None):
        best = solved(solver, most)
        seen.append((solver, best))
        return best

    monkeypatch.setattr(Solver, "most_blocks", watched)
    arrow = Chain(np.array([[0, 0], [60, 30], [120, 0], [60, 90]]), np.zeros(4))
    rows = length_of_rows([arrow], [12], 260.0)
    tries = Tries(4)
    close = closer_length([arrow], [12], 260.0, rows, (50.0,), tries)
    assert close <= rows - 50.0 + 1e-9
    assert tries.left < 4
    solver, best = [pair for pair in seen if pair[1].blocks][-1]
    laid = []
    for spot in best.spots:
        assert np.sin(spot.angle) == pytest.approx(0.0, abs=1e-9)
        z = solver.kinds[spot.kind].corners * np.exp(1j * spot.angle) + spot.at
        laid.append(shapely.Polygon(np.column_stack((z.real, z.imag))))
    assert len(laid) == 12
    assert max(p.bounds[3] for p in laid) == pytest.approx(close, abs=1e-3)
    assert min(p.bounds[0] for p in laid) > -1e-3
    assert max(p.bounds[2] for p in laid) < 260.0 + 1e-3
    for i, one in enumerate(laid):
        assert all(one.intersection(other).area < 0.1 for other in laid[:i])


@pytest.mark.parametrize(("count", "length"), [(6, 50.0), (500, 5000.0)])
def test_nothing_is_tried_without_hope(count, length):
    """Squares that fill their rows, and more shapes than nesting is for, stay in rows and cost no try."""
    tries = Tries(4)
    assert closer_length([rectangle(50.0, 50.0)], [count], 300.0, length, (25.0,), tries) == length
    assert closer_length([rectangle(50.0, 50.0)], [1], 300.0, 90.0, (25.0,), Tries(0)) == 90.0
    assert tries.left == 4


def test_a_profile_holds_all_of_its_outline():
    """The bands of a disc enclose its area, by at most a band's worth."""
    disc = Chain([[-10.0, 0.0], [10.0, 0.0]], [1.0, 1.0])
    made = yardage._profile(disc)
    strip = float((made.right - made.left).sum()) * yardage.BAND
    assert area(disc) < strip < area(disc) + 20.0 * 2 * yardage.BAND
    assert made.height == pytest.approx(box(disc)[3] - box(disc)[1])
