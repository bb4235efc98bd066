"""Ends of cuts: nicks hold parts on straight edges only, overcuts retrace their start; both are proved."""

from dataclasses import replace

import numpy as np
import pytest
from hand_blocks import compass_flower, pinwheel
from hand_profiles import mat
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.cutting.ends import CLEAR_MM, nick_places, overcut, stretch, with_ends
from convert.cutting.order import cut_order, in_cutting_order
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Purpose, Stroke
from convert.geometry.chain import Chain
from convert.geometry.measure import length, lengths, point_at
from convert.profile import Ends, NickSettings
from convert.proof import prove
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

NICKS = NickSettings(0.5, 40.0)
BAR = Chain(np.array([(0, 0), (120, 0), (120, 30), (0, 30.0)]), np.array([0, 0.4, 0, 0.4]))


def walk(chain, place):
    """Return the point at a length from the first vertex of a closed chain."""
    table = chain.segments
    begin = np.append(0.0, np.cumsum(lengths(table)))
    place = place % begin[-1]
    row = int(np.searchsorted(begin, place, side="right")) - 1
    share = (place - begin[row]) / (begin[row + 1] - begin[row])
    return point_at(table.take(np.array([row])), np.array([share]))[0]


def test_nicks_stand_on_straight_edges_clear_of_their_ends():
    """On a bar with round ends every nick is on one of the two lines, and not near where they end."""
    places = nick_places(BAR, NICKS)
    assert len(places) >= 2
    for place in places:
        x, y = walk(BAR, place)
        assert min(abs(y), abs(y - 30)) < 1e-9
        least = CLEAR_MM + 0.25
        assert least - 1e-9 <= x <= 120 - least + 1e-9
    assert np.diff(places).min() > 20


@pytest.mark.parametrize(
    "chain",
    [
        Chain(np.array([(0, 0), (60.0, 0)]), np.ones(2)),
        Chain(np.array([(0, 0), (5, 0), (5, 5), (0, 5.0)]), np.zeros(4)),
    ],
    ids=["a disc", "a square of 5 mm"],
)
def test_no_nicks_where_none_belong(chain):
    """A round or small part gets none."""
    assert len(nick_places(chain, NICKS)) == 0


@settings(deadline=None, max_examples=50)
@given(st.floats(0, 1), st.floats(0.05, 1))
def test_a_stretch_lies_on_its_chain_and_has_its_length(start, share):
    """Wherever it begins, round the end or not, a stretch has the length asked for and follows its chain."""
    around = length(BAR)
    begin = start * around * (1 - 1e-9)
    cut = stretch(BAR, begin, begin + share * around)
    assert not cut.closed
    assert length(cut) == pytest.approx(share * around, abs=1e-6)
    assert np.allclose(cut.points[0], walk(BAR, begin), atol=1e-6)
    assert np.allclose(cut.points[-1], walk(BAR, begin + share * around), atol=1e-6)


def test_an_overcut_retraces_its_start():
    """The tail ends where a walk of its length from the start does."""
    cut = overcut(Stroke(BAR, Purpose.OUTER, 0), 7, 2.5)
    assert (cut.outline, cut.overlap) == (7, 2.5)
    assert length(cut.chain) == pytest.approx(length(BAR) + 2.5)
    assert np.allclose(cut.chain.points[-1], (2.5, 0))
    tiny = overcut(Stroke(Chain(np.array([(0, 0), (1.0, 0)]), np.ones(2)), Purpose.INNER, 0), 0, 5.0)
    assert tiny.overlap == pytest.approx(np.pi / 2)


CHANGES = {
    "overcut": {"ends": Ends(closed=False, overcut=1.0)},
    "open": {"ends": Ends(closed=False)},
    "nicks": {"nicks": NICKS},
    "both": {"ends": Ends(closed=False, overcut=1.0), "nicks": NickSettings(0.5, 60.0)},
}


@pytest.fixture(params=CHANGES)
def made(request):
    """Return block, profile and first sheet of pieces, ended in one of the ways."""
    profile = mat(**CHANGES[request.param])
    block = pinwheel() if profile.nicks.length else compass_flower()
    sheet = piece_sheets(block, profile)[0]
    done, _ = in_cutting_order(sheet, cut_order(profile, sheet))
    return block, profile, with_ends(done, profile)


@pytest.mark.parametrize(("kind", "write"), [("svg", svg_bytes), ("dxf", dxf_bytes)])
def test_files_with_open_outlines_are_proved(made, kind, write):
    """What is written open reads back as the whole outline."""
    block, profile, sheet = made
    assert any(stroke.outline >= 0 for stroke in sheet.strokes)
    proof = prove(write(sheet, profile), kind, sheet, block, profile)
    assert [finding.line() for finding in proof.findings] == []


def changed(sheet, number, **changes):
    """Return a sheet with one stroke changed."""
    strokes = list(sheet.strokes)
    strokes[number] = replace(strokes[number], **changes)
    return replace(sheet, strokes=tuple(strokes))


def test_a_wrong_end_is_found(made):
    """A bridge or tail that is not as long as it says, or leads astray, fails the proof."""
    block, profile, sheet = made
    number, stroke = next((n, s) for n, s in enumerate(sheet.strokes) if s.outline >= 0)
    points = stroke.chain.points.copy()
    points[-1] += (0.05, 0.02)
    astray = changed(sheet, number, chain=Chain(points, stroke.chain.bulge, closed=False))
    for wrong in (
        astray,
        changed(sheet, number, bridge=stroke.bridge + 0.01) if stroke.bridge else astray,
        changed(sheet, number, overlap=stroke.overlap + 0.01) if stroke.overlap else astray,
    ):
        proof = prove(svg_bytes(wrong, profile), "svg", wrong, block, profile)
        assert not proof.passed
