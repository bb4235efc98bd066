"""What is seen is what is pieced: fills over lines, fills over fills, strokes over fills."""

from __future__ import annotations

from math import pi

import pytest
from drawings import Shape, areas, circle, line, make_drawing, polygon, rectangle

from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.errors import Severity
from convert.geometry.tolerance import Tolerances
from convert.reader.drawing import FillRule

RED, GREEN, BLUE = "#cc0000", "#00cc00", "#0000cc"


def filled(chains, fill=RED, **more):
    """Return a shape without a stroke."""
    return Shape(chains, None, fill, **more)


def arranged(shapes, texts=()):
    """Return the arrangement of shapes about 100 mm large."""
    result = arrange(make_drawing(shapes, texts), Tolerances.for_extent(100.0))
    assert check_map(result.map, touching=0.01) == []
    return result


def fabrics(result):
    """Return (area, fabric) of each face, by area."""
    one_by_one = [(round(a, 6), f) for a, f in zip(_face_areas(result.map), result.fabric, strict=True)]
    return sorted(one_by_one, key=lambda pair: pair[0])


def _face_areas(table):
    from drawings import loop_area, loops

    return [sum(loop_area(r) for r in loops(table, f)) for f in range(table.face_count)]


def test_upper_fill_hides_lines_below():
    """Of two overlapping fills the upper one is whole and the lower one lacks what is covered."""
    result = arranged([filled(rectangle(0, 0, 60, 60)), filled(rectangle(30, 30, 60, 60), GREEN)])
    assert fabrics(result) == [(2700.0, RED), (3600.0, GREEN)]


def test_order_decides():
    """The same two shapes in the other order give the other picture."""
    result = arranged([filled(rectangle(30, 30, 60, 60), GREEN), filled(rectangle(0, 0, 60, 60))])
    assert fabrics(result) == [(2700.0, GREEN), (3600.0, RED)]


def test_strokes_on_top_cut_fills():
    """Lines drawn over a fill are seams; lines under it are gone."""
    over = arranged([filled(rectangle(0, 0, 60, 60)), line((0, 30), (60, 30))])
    assert fabrics(over) == [(1800.0, RED), (1800.0, RED)]
    under = arranged([line((0, 30), (60, 30)), filled(rectangle(0, 0, 60, 60))])
    assert fabrics(under) == [(3600.0, RED)]
    assert [f.code for f in under.warnings] == ["BLOCK-006"]


def test_own_stroke_lies_over_own_fill():
    """A stroked path that overlaps itself shows all its lines; without a stroke only the fill's border."""
    bow = polygon((0, 0), (60, 60), (60, 0), (0, 60))
    overlap = [rectangle(0, 0, 40, 40), rectangle(20, 20, 40, 40)]
    assert areas(arranged([Shape(overlap, "#000000", RED)]).map) == pytest.approx([400, 1200, 1200])
    assert areas(arranged([filled(overlap)]).map) == pytest.approx([2800])
    assert areas(arranged([filled(bow)]).map) == pytest.approx([900, 900])


def test_even_odd_paths_have_holes():
    """Two nested squares in one path are a ring under the even-odd rule, one square under nonzero."""
    nested = [rectangle(0, 0, 60, 60), rectangle(20, 20, 20, 20)]
    ring = arranged([filled(nested, rule=FillRule.EVENODD)])
    assert fabrics(ring) == [(3200.0, RED)]
    assert fabrics(arranged([filled(nested)])) == [(3600.0, RED)]
    both = arranged([filled(rectangle(0, 0, 60, 60), BLUE), filled(nested, rule=FillRule.EVENODD)])
    assert fabrics(both) == [(400.0, BLUE), (3200.0, RED)]


def test_faces_without_fill():
    """In a drawing with fills, a bare face is a hole unless a line is drawn round it."""
    frame = [
        filled(rectangle(0, 0, 60, 20)), filled(rectangle(0, 40, 60, 20)),
        filled(rectangle(0, 20, 20, 20)), filled(rectangle(40, 20, 20, 20)),
    ]  # fmt: skip
    hole = arranged(frame)
    assert fabrics(hole) == [(400.0, RED), (400.0, RED), (1200.0, RED), (1200.0, RED)]
    lined = arranged([*frame, rectangle(20, 20, 20, 20)])
    assert len(fabrics(lined)) == 5
    assert [f.code for f in lined.warnings] == ["BLOCK-015"]
    half = arranged([*frame, line((20, 20), (40, 40))])
    assert [f.code for f in half.warnings] == ["BLOCK-008", "BLOCK-008", "BLOCK-015"]


def test_half_transparent_fills_hide_nothing():
    """A half-transparent fill over lines is named once; the lines stay seams."""
    result = arranged(
        [
            filled(rectangle(0, 0, 60, 60)),
            Shape(line((0, 30), (60, 30))),
            filled(circle(30, 30, 20), GREEN, opacity=0.5),
        ]
    )
    assert [f.code for f in result.warnings] == ["BLOCK-005"]
    assert result.warnings[0].place.element == "path[3]"
    assert len(fabrics(result)) == 4


def test_closing_line_of_a_filled_open_path_is_an_edge_of_the_fill_only():
    """A filled open path is closed by its fill; a fill above hides that closing line like any other."""
    result = arranged([Shape(line((0, 0), (60, 0), (60, 60)), "#000000", RED)])
    assert fabrics(result) == [(1800.0, RED)]
    covered = arranged(
        [Shape(line((0, 0), (60, 0), (60, 60)), "#000000", RED), filled(rectangle(0, 0, 60, 60), GREEN)]
    )
    assert fabrics(covered) == [(3600.0, GREEN)]


def test_covered_edge_is_gone_but_the_shared_border_stays():
    """A seam between two abutting fills goes under a disc, and comes out on its other side."""
    result = arranged(
        [
            filled(rectangle(0, 0, 30, 60)),
            filled(rectangle(30, 0, 30, 60), GREEN),
            filled(circle(30, 30, 10), BLUE),
        ]
    )
    half = round(1800 - 50 * pi, 6)
    assert fabrics(result) == [(round(100 * pi, 6), BLUE), (half, RED), (half, GREEN)] or fabrics(result) == [
        (round(100 * pi, 6), BLUE), (half, GREEN), (half, RED)
    ]  # fmt: skip


def test_same_colour_does_not_join_shapes():
    """Two abutting shapes of one colour stay two pieces: a shape is a piece."""
    assert len(fabrics(arranged([filled(rectangle(0, 0, 30, 60)), filled(rectangle(30, 0, 30, 60))]))) == 2


def test_texts_name_the_pieces_they_lie_in():
    """A text names its piece; two texts in one piece are read from the top; a text outside is noted."""
    shapes = [rectangle(0, 0, 60, 60), circle(30, 30, 10)]
    result = arranged(shapes, [("sky", 30, 30), ("ray", 10, 10), ("sun", 10, 50), ("lost", 90, 90)])
    assert set(result.name) == {"sky", "sun ray"}
    notes = [("BLOCK-009", Severity.NOTE), ("BLOCK-032", Severity.NOTE)]
    assert [(f.code, f.severity) for f in result.warnings] == notes
