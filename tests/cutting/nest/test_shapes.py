"""Stand-ins hold their shapes, and sliding one onto another is exact."""

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import SHAPES, polygon

from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import (
    REACH,
    faces,
    kinds_of,
    lower_profile,
    plain,
    rise,
    side_faces,
    stand_in,
    upper_profile,
)
from convert.errors import GeometryError
from convert.geometry.edit import flatten
from convert.geometry.measure import area


def ring(z):
    """Return corners as a shapely polygon."""
    return shapely.Polygon(np.column_stack((z.real, z.imag)))


@pytest.mark.parametrize("name", SHAPES)
def test_a_stand_in_holds_its_shape_and_little_more(name):
    """No point of the outline is outside its stand-in, and no corner of that farther off than REACH."""
    outline = SHAPES[name]
    outer = ring(stand_in(outline))
    true = shapely.Polygon(flatten(outline, 1e-5))
    assert true.difference(outer).area < 1e-6
    corners = shapely.points(np.array(outer.exterior.coords))
    assert shapely.distance(corners, true).max() <= REACH + 1e-4
    assert outer.is_valid


def test_straight_shapes_stand_for_themselves():
    """A polygon is its own stand-in, without doubled corners and corners on a side."""
    z = stand_in(polygon([(0, 0), (5, 0), (10, 0), (10, 1e-9), (10, 10), (0, 10)]))
    assert sorted(z.tolist(), key=lambda c: (c.real, c.imag)) == [0, 10j, 10, 10 + 10j]
    assert len(plain(np.array([0, 1, 1 + 1j, 1j]))) == 4


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(sorted(SHAPES)), st.sampled_from(sorted(SHAPES)), st.floats(0, 2 * pi),
    st.floats(-30, 30), st.sampled_from([0.0, 0.7, 3.0]),
)  # fmt: skip
def test_what_has_risen_clears_and_nothing_lower_does(below, above, angle, shift, gap):
    """Raised by `rise`, a shape keeps the gap from what is below; a bit lower it does not."""
    base = stand_in(SHAPES[below])
    top = stand_in(SHAPES[above]) * np.exp(1j * angle)
    upper, _ = faces(base, gap)
    _, lower = faces(top)
    height = float(rise(upper_profile(upper), lower_profile(lower), np.array([shift]))[0])
    if not np.isfinite(height):
        assert np.ptp(base.real) + np.ptp(top.real) + 2 * gap < 2000.0
        return
    raised = ring(top + complex(shift, height))
    assert ring(base).distance(raised) >= gap - 2e-6
    assert ring(base).intersection(raised).area < 1e-4
    # Chamfers round corners take up to 2 % of the gap too much; a nearly upright side gives little way.
    lowered = ring(top + complex(shift, height - 0.03 * gap - 1e-3))
    assert ring(base).distance(lowered) < gap * 1.03 + 1e-9
    if gap == 0.0:
        assert ring(base).intersects(lowered)


def test_squares_side_by_side_touch():
    """A square beside a square is exactly its width away, with a gap by so much more; above likewise."""
    z = np.array([0, 10, 10 + 10j, 10j])
    for gap in (0.0, 2.0):
        right, left = side_faces(z, gap)
        pitch = rise(upper_profile(right), lower_profile(left), np.zeros(1))[0]
        assert pitch == pytest.approx(10 + gap, abs=1e-9)
        upper, lower = faces(z, gap)
        heights = rise(upper_profile(upper), lower_profile(lower), np.array([0.0, 3.0, 9.999]))
        assert heights == pytest.approx([10 + gap] * 3, abs=1e-6)


def test_what_is_beside_need_not_rise():
    """A square that stands exactly beside another one is not above it."""
    z = np.array([0, 10, 10 + 10j, 10j])
    upper, lower = faces(z)
    assert rise(upper_profile(upper), lower_profile(lower), np.array([10.0]))[0] == -np.inf


def test_kinds_are_items_on_each_hand():
    """An item needed both ways makes two kinds, the second one flipped; both have the item's area."""
    item = Item(SHAPES["quadrilateral"], 3, 2)
    one, two = kinds_of([item], Rotation())
    assert (one.flipped, one.demand, two.flipped, two.demand) == (False, 3, True, 2)
    assert one.area == pytest.approx(two.area)
    assert area(two.outline) > 0
    placed = two.turn_and_shift(0.5, 3 + 4j)
    assert placed.flipped
    where = placed.points(item.outline.points)
    turned = (item.outline.points[:, 0] - 1j * item.outline.points[:, 1]) * np.exp(0.5j) + 3 + 4j
    assert where[:, 0] + 1j * where[:, 1] == pytest.approx(turned)


def test_turning_in_steps():
    """Steps of 90 degrees allow four turns, none one; very fine steps count as any."""
    assert Rotation().angles is None
    assert Rotation(0.0).angles == (0.0,)
    assert Rotation(pi / 2).angles == pytest.approx((0, pi / 2, pi, 3 * pi / 2))
    assert Rotation(pi / 180).angles is None
    kind = kinds_of([Item(SHAPES["square"], 1, rotation=Rotation(pi))], Rotation())[0]
    assert kind.may_turn(pi)
    assert kind.may_turn(-pi)
    assert not kind.may_turn(pi / 2)


def test_items_must_be_needed():
    """An item that no block needs is a mistake."""
    with pytest.raises(GeometryError):
        Item(SHAPES["square"], 0)
