"""Lines that nearly meet are made to meet, others stay apart, and what is left over is told."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
import pytest
from drawings import Shape, arcs, areas, circle, line, make_drawing, polygon, rectangle, reverse, turned

from convert.block import loose, meeting
from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.block.snapping import near_groups
from convert.errors import GeometryError, Severity
from convert.geometry.index import BoxIndex
from convert.geometry.tolerance import Tolerances

GAP = Tolerances.for_extent(100.0).gap


def arranged(shapes, gap=GAP):
    """Return the arrangement of shapes about 100 mm large, after checking every invariant."""
    tolerances = Tolerances(1e-7, gap, 1e-3, 0.05)
    result = arrange(make_drawing(shapes), tolerances)
    assert check_map(result.map, touching=gap) == []
    return result


def told(findings):
    """Return the codes of findings."""
    return [f.code for f in findings]


def test_same_circle_in_other_parts_is_one_edge_ring():
    """A circle drawn in two, three and four arcs, either way round and turned, encloses one face."""
    result = arranged([circle(50, 50, 30), circle(50, 50, 30, 3, 0.4), reverse(circle(50, 50, 30, 4, 1.0))])
    assert areas(result.map) == pytest.approx([900 * pi], rel=1e-12)
    assert result.map.edge_count == 9
    sources = [
        set(result.map.sources[a:b])
        for a, b in zip(result.map.source_start, result.map.source_start[1:], strict=False)
    ]
    assert all(s == {0, 1, 2} for s in sources)


def test_line_drawn_twice_in_other_parts():
    """A side drawn as one line and as several that overlap is one chain of edges."""
    shapes = [
        rectangle(0, 0, 100, 100),
        line((0, 50), (70, 50)),
        line((100, 50), (30, 50)),
        line((10, 50), (20, 50), (40, 50)),
    ]
    result = arranged(shapes)
    assert areas(result.map) == pytest.approx([5000, 5000], rel=1e-12)
    assert result.warnings == ()


@pytest.mark.parametrize("angle", [0.0, 0.4, pi / 2, 3.0])
def test_corner_beside_a_long_edge(angle):
    """A corner 0.0005 mm beside a neighbour's long edge leaves no sliver; that edge stays straight."""
    shapes = [
        Shape(rectangle(0, 0, 100, 50)),
        Shape(polygon((0, 50), (37, 50.0005), (37, 100), (0, 100))),
        Shape(polygon((37, 50.0005), (100, 50), (100, 100), (37, 100))),
    ]
    result = arranged(turned(shapes, angle, (50, 50)))
    assert result.map.face_count == 3
    assert areas(result.map)[-1] == pytest.approx(5000, rel=1e-9)
    assert told(result.repairs) == ["BLOCK-011"]
    assert result.repairs[0].value == pytest.approx(0.0005, rel=1e-3)


def test_near_duplicates_leave_no_slivers():
    """Shapes drawn twice, off by a hundredth of a percent, are one, and that is told."""
    near = rectangle(0.004, 0.004, 100, 99.994)
    result = arranged(
        [rectangle(0, 0, 100, 100), near, circle(50, 50, 30), circle(50.003, 50, 30.002, 4, 0.3)]
    )
    assert result.map.face_count == 2
    assert areas(result.map) == pytest.approx([900 * pi, 1e4 - 900 * pi], abs=1.5)
    assert "BLOCK-010" in told(result.repairs)


@pytest.mark.parametrize("off", [-0.9, -0.3, 0.0, 1e-7, 0.3, 0.9])
@pytest.mark.parametrize("angle", [0.0, 0.7])
def test_circle_that_should_touch_touches(off, angle):
    """A circle drawn into a square touches its sides whatever the last decimals say."""
    shapes = [rectangle(0, 0, 100, 100), circle(50, 50, 50 + off * GAP, 2, 0.2)]
    result = arranged(turned([Shape(s) for s in shapes], angle, (50, 50)))
    assert result.map.face_count == 5
    assert areas(result.map) == pytest.approx(4 * [2500 - 625 * pi] + [2500 * pi], abs=2.5)


def test_circles_that_should_touch_touch():
    """Circles that touch from outside and from inside within the gap share one vertex."""
    shapes = [circle(0, 0, 20), circle(0, 35.004, 15, 3), circle(5.003, 0, 15, 3, 0.3)]
    result = arranged(turned([Shape(s) for s in shapes], 0.9))
    assert result.map.face_count == 3
    assert areas(result.map) == pytest.approx([175 * pi, 225 * pi, 225 * pi], abs=0.5)


def test_overshoot_and_undershoot_within_the_gap():
    """Lines that stop short of a side or run past it by less than the gap end on it."""
    shapes = [
        rectangle(0, 0, 100, 100),
        line((30, 0.008), (30, 100.008)),
        line((0.008, 60), (100.007, 60.003)),
    ]
    result = arranged(shapes)
    assert result.map.face_count == 4
    assert sum(areas(result.map)) == pytest.approx(1e4, rel=1e-9)
    assert result.warnings == ()


def test_three_lines_through_nearly_one_point():
    """Lines that pass each other by less than the gap meet in one vertex, not in a tiny triangle."""
    shapes = [circle(50, 50, 40), line((10, 50), (90, 50))]
    for degrees in (60, 120):
        a = degrees * pi / 180
        x, y = 40 * cos(a), 40 * sin(a)
        shapes.append(line((50.004 - x, 50 - y), (50.004 + x, 50 + y)))
    result = arranged(shapes)
    assert result.map.face_count == 6
    assert len(result.map.points) <= 9
    assert areas(result.map) == pytest.approx(6 * [1600 * pi / 6], abs=1.0)


def test_what_is_further_apart_than_the_gap_stays_apart():
    """A strip three gaps wide stays a face, and is named a sliver that can't be a piece."""
    result = arranged(
        [rectangle(0, 0, 100, 50), rectangle(0, 50 + 3 * GAP, 100, 50), rectangle(0, 0, 100, 101)]
    )
    assert result.map.face_count == 4
    errors = [f for f in result.warnings if f.severity is Severity.ERROR]
    assert told(errors) == ["BLOCK-007"]


def test_lens_between_two_arcs_is_a_face():
    """Arcs between the same two points are one edge within the gap, and bound a lens beyond it."""
    half = [(10, 50, 0.3), (90, 50, 0)]
    other = [(10, 50, 0.32), (90, 50, 0)]
    result = arranged([arcs(*half), arcs(*other), line((10, 50), (90, 50))])
    assert result.map.face_count == 2
    close = [(10, 50, 0.3001), (90, 50, 0)]
    assert arranged([arcs(*half), arcs(*close), line((10, 50), (90, 50))]).map.face_count == 1


def test_chains_of_short_segments_do_not_collapse():
    """A curve drawn in steps shorter than the gap keeps its shape: no point moves by more than two gaps."""
    angle = np.linspace(0, 2 * pi, 400, endpoint=False)
    ring = np.column_stack((50 + 30 * np.cos(angle), 50 + 30 * np.sin(angle)))
    result = arranged([polygon(*ring)], gap=0.6)
    assert areas(result.map) == pytest.approx([900 * pi], rel=0.02)
    reach = np.hypot(*(result.map.points - 50).T)
    assert np.abs(reach - 30).max() < 1.2


def test_loose_lines_are_left_out_and_told():
    """Strokes that stand alone, stick out or only bridge a hole part nothing, and each is told."""
    frame = [rectangle(0, 0, 100, 100), circle(50, 50, 20)]
    alone = arranged([*frame, line((80, 80), (85, 90))])
    sticking = arranged([*frame, line((40, 0), (40, 2), (60, 2), (60, 0)), line((50, 2), (50, 4))])
    bridge = arranged([*frame, line((0, 50), (30, 50))])
    past = arranged([*frame, line((0, 90), (103, 90))])
    assert [r.map.face_count for r in (alone, sticking, bridge, past)] == [2, 3, 2, 3]
    for result in (alone, sticking, bridge, past):
        assert told(result.warnings) == ["BLOCK-003"]
        assert result.warnings[0].severity is Severity.WARNING
        assert result.warnings[0].place.at is not None
    assert "sticks out by 3.00 mm" in past.warnings[0].what


def test_open_outline_is_named_once():
    """An outline left open by 1 mm is one fault, with the piece that would close."""
    result = arranged([rectangle(0, 0, 100, 100), line((20, 20), (80, 20), (80, 80), (20, 80), (20, 21))])
    assert told(result.warnings) == ["BLOCK-002"]
    assert result.warnings[0].value == pytest.approx(1.0)
    assert "3600" in result.warnings[0].what


def test_many_loose_ends_are_summed_up():
    """Twenty seams that all stop short are told as the worst few and one sum."""
    shapes = [rectangle(0, 0, 100, 100), *(line((5 * k, 0), (5 * k, 99 + k / 40)) for k in range(1, 20))]
    result = arranged(shapes)
    assert told(result.warnings) == ["BLOCK-002"] * 6 + ["BLOCK-004"]
    assert "19 lines in all" in result.warnings[-1].what
    assert result.warnings[0].value == pytest.approx(0.975)


@pytest.mark.parametrize("limit", [1e-3, 0.5, 30.0])
@pytest.mark.parametrize("count", [1, 40, 500])
def test_the_edges_near_a_loose_end_are_those_of_sorting_all(limit, count):
    """Every box within the limit, at least the 64 nearest, by distance: also where all are far away."""
    random = np.random.default_rng(count)
    low = random.uniform(0, 100, (count, 2))
    box = np.concatenate((low, low + random.uniform(0, 5, (count, 2))), axis=1)
    for point in np.array([(50.0, 50.0), (200.0, -40.0)]):
        x = np.clip(point, box[:, :2], box[:, 2:]) - point
        distance = np.hypot(x[:, 0], x[:, 1])
        order = np.argsort(distance, kind="stable")
        expected = order[: max(64, int((distance <= limit).sum()))]
        assert loose._nearest(BoxIndex(box), box, point, limit).tolist() == expected.tolist()


def star(count):
    """Return lines that all cross each other, no three in one point, within a frame."""
    angles = [pi * k / count for k in range(count)]
    middles = [(50 - 3 * sin(7 * a) * sin(a), 50 + 3 * sin(7 * a) * cos(a)) for a in angles]
    ends = [(x, y, 40 * cos(a), 40 * sin(a)) for (x, y), a in zip(middles, angles, strict=True)]
    return [rectangle(0, 0, 100, 100), *(line((x - c, y - s), (x + c, y + s)) for x, y, c, s in ends)]


def test_lines_that_cross_too_often_are_refused(monkeypatch):
    """Some lines that all cross are cut; with one crossing more than there may be they are refused."""
    monkeypatch.setattr(meeting, "BATCH", 64)
    monkeypatch.setattr(meeting, "MOST_CROSSINGS", 29 * 30 // 2)
    assert arranged(star(30)).map.face_count > 300
    monkeypatch.setattr(meeting, "MOST_CROSSINGS", 29 * 30 // 2 - 1)
    with pytest.raises(GeometryError, match="cross each other in more than 434 places") as refused:
        arranged(star(30))
    assert told(refused.value.findings) == ["BLOCK-016"]


def test_looking_in_small_batches_cuts_the_same(monkeypatch):
    """Lines and arcs that cross and touch are cut alike however many pairs are looked at in one go."""
    shapes = [*star(20), *(circle(30 + 5 * k, 50, 20, 3, k) for k in range(8))]
    whole = arranged(shapes)
    monkeypatch.setattr(meeting, "BATCH", 7)
    parts = arranged(shapes)
    assert whole.map.face_count == parts.map.face_count > 200
    assert sorted(areas(parts.map)) == pytest.approx(sorted(areas(whole.map)), rel=1e-9)


def test_tiny_elements_are_told():
    """An element smaller than the gap is left out with a warning; nothing at all is an error."""
    result = arranged([rectangle(0, 0, 100, 100), circle(50, 50, 0.002)])
    assert told(result.warnings) == ["BLOCK-013"]
    assert told(arranged([]).warnings) == ["BLOCK-001"]


@pytest.mark.parametrize("count", [0, 1, 7, 400])
def test_near_groups_agree_with_plain_comparison(count):
    """Groups of near points are what comparing every pair gives, at every place of the cells."""
    rng = np.random.default_rng(count)
    spots = rng.uniform(0, 100, (count, 2))
    points = np.concatenate((spots, spots + rng.uniform(-0.3, 0.3, spots.shape), spots[: count // 2]))
    groups = near_groups(points, 0.5)
    assert len(groups) == len(points)
    label = list(range(len(points)))
    for i in range(len(points)):
        for j in range(i):
            if np.hypot(*(points[i] - points[j])) <= 0.5:
                a, b = label[i], label[j]
                label = [min(a, b) if x in {a, b} else x for x in label]
    plain = {}
    for k, x in enumerate(label):
        plain.setdefault(x, set()).add(k)
    found = {}
    for k, x in enumerate(groups.tolist()):
        found.setdefault(x, set()).add(k)
    wide = [g for g in plain.values() if np.ptp(points[list(g)], axis=0).max() > 0.9]
    small = [g for g in plain.values() if g not in wide]
    assert all(g in found.values() for g in small)
    for g in found.values():
        inside = points[list(g)]
        assert np.hypot(*(inside[:, None] - inside[None]).transpose(2, 0, 1)).max() <= 1.0 + 1e-12
