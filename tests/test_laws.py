"""The same picture written differently gives the same pieces, templates and labels."""

from __future__ import annotations

import hashlib
from collections import Counter
from functools import cache

import numpy as np
import pytest
from fixture_values import GOOD, Expected
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from variations import Variation, varied

from convert.block import make_block
from convert.geometry.measure import box
from convert.reader import read_drawing

STACKED = {"compass-bloom", "cosmos", "lily-pond", "river-stones", "stacked-sun"}
"""Drawings in which the order of shapes is part of the picture."""

LAWS = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
DRAWINGS = st.sampled_from(GOOD)
TURNS = st.one_of(st.sampled_from([0.0, 30.0, 45.0, 90.0, 180.0]), st.floats(-180, 180))


@cache
def _plain(name: str, fit: float | None = None):
    e = next(e for e in GOOD if e.name == name)
    return make_block(read_drawing(e.path, fit=fit))


def _block_of(folder, e: Expected, how: Variation):
    text = varied(e.path.read_text("utf-8"), how)
    path = folder / f"{hashlib.sha256(text.encode()).hexdigest()[:16]}.svg"
    path.write_text(text, "utf-8")
    same = how.matrix == (1.0, 0.0, 0.0, 1.0) and e.curves == "beziers"
    return make_block(read_drawing(path, fit=_fit(e) * how.factor if same else None))


def _fit(e: Expected) -> float:
    return 0.002 * max(e.width, e.height) / 127


def _same_templates(e: Expected, how: Variation, block) -> None:
    """Compare label, counts, area and corners; a mirrored picture may swap a template for its reverse."""
    plain = _plain(e.name, _fit(e) if e.curves == "beziers" else None)
    close = 1e-4 if e.curves == "beziers" else 1e-7
    assert len(block.pieces) == len(plain.pieces)
    assert block.own_mirror == plain.own_mirror
    assert [t.label for t in block.templates] == [t.label for t in plain.templates]
    for found, want in zip(block.templates, plain.templates, strict=True):
        counts = (found.count, found.reversed_count), (want.count, want.reversed_count)
        assert sorted(counts[0]) == sorted(counts[1])
        assert found.own_mirror == want.own_mirror
        assert found.area == pytest.approx(want.area * how.factor**2, rel=close)
        assert found.perimeter == pytest.approx(want.perimeter * how.factor, rel=close)
        if e.curves != "beziers":
            assert np.sort(found.corners) == pytest.approx(np.sort(want.corners), abs=1e-5)


@LAWS
@given(e=DRAWINGS, turn=TURNS, mirrored=st.booleans(), factor=st.sampled_from([1.0, 0.3, 2.5]))
def test_turned_mirrored_or_larger(e: Expected, turn: float, mirrored, factor: float, tmp_path) -> None:
    """A picture turned, seen in a mirror or drawn larger has the same templates under the same labels."""
    how = Variation(turn_deg=turn, mirrored=mirrored, factor=factor)
    _same_templates(e, how, _block_of(tmp_path, e, how))


@LAWS
@given(e=DRAWINGS, doubled=st.booleans(), reordered=st.booleans(), backwards=st.booleans())
@example(e=GOOD[0], doubled=True, reordered=False, backwards=False)
def test_drawn_twice_or_in_another_order(e: Expected, doubled, reordered, backwards, tmp_path) -> None:
    """A picture drawn twice, in another order or backwards has the same pieces, label by label."""
    reordered = reordered and e.name not in STACKED
    how = Variation(doubled=doubled, reordered=reordered, backwards=backwards)
    block = _block_of(tmp_path, e, how)
    _same_templates(e, how, block)
    plain = _plain(e.name, _fit(e) if e.curves == "beziers" else None)
    found = {p.label: box(p.outline) for p in block.pieces}
    for piece in plain.pieces:
        assert found[piece.label] == pytest.approx(box(piece.outline), abs=0.02), piece.label
    assert [p.fabric for p in block.pieces] == [p.fabric for p in plain.pieces]


@LAWS
@given(e=DRAWINGS, turn=TURNS, mirrored=st.booleans(), backwards=st.booleans(), doubled=st.booleans())
def test_everything_at_once(e: Expected, turn: float, mirrored, backwards, doubled, tmp_path) -> None:
    """All of it together changes nothing either, and every seam still has two sides."""
    how = Variation(turn, mirrored, 1.7, doubled, reordered=e.name not in STACKED, backwards=backwards)
    block = _block_of(tmp_path, e, how)
    _same_templates(e, how, block)
    faces = block.map.face_of.reshape(-1, 2)
    assert (faces[:, 0] != faces[:, 1]).all()
    total = sum(p.area for p in block.pieces)
    assert total == pytest.approx(e.area * how.factor**2, rel=1e-4 if e.curves == "beziers" else 1e-6)


@pytest.mark.parametrize("e", GOOD, ids=lambda e: e.name)
@pytest.mark.parametrize("digits", [3, 4])
def test_rounded_coordinates(e: Expected, digits: int, tmp_path) -> None:
    """Saved with few digits, as many programs do, a drawing still closes and keeps its templates."""
    block = _block_of(tmp_path, e, Variation(digits=digits))
    plain = _plain(e.name)
    assert [(t.label, t.count, t.reversed_count) for t in block.templates] == [
        (t.label, t.count, t.reversed_count) for t in plain.templates
    ]
    assert sum(p.area for p in block.pieces) == pytest.approx(e.area, rel=1e-3)


@pytest.mark.parametrize("e", GOOD, ids=lambda e: e.name)
@pytest.mark.parametrize(
    "matrix", [(1.0, 0.0, 0.4, 1.0), (1.3, 0.2, -0.1, 0.8), (0.5, 0.0, 0.0, 1.0), (-1.0, 0.7, 0.0, 1.0)]
)
def test_skewed_or_stretched(e: Expected, matrix, tmp_path) -> None:
    """A picture skewed or stretched keeps its pieces and fabrics, and its area grows by the determinant."""
    a, b, c, d = matrix
    block = _block_of(tmp_path, e, Variation(matrix=matrix))
    assert len(block.pieces) == e.pieces
    assert Counter(p.fabric for p in block.pieces) == (e.fabrics or {None: e.pieces})
    close = 1e-7 if e.curves == "lines" else 1e-4
    assert sum(p.area for p in block.pieces) == pytest.approx(abs(a * d - b * c) * e.area, rel=close)


@pytest.mark.parametrize("e", GOOD, ids=lambda e: e.name)
@pytest.mark.parametrize(("scale", "pages"), [(0.02, 1), (30.0, 60)])
def test_tiny_and_huge(e: Expected, scale: float, pages: int, tmp_path) -> None:
    """A picture drawn a few millimetres or several metres large is the same picture."""
    block = _block_of(tmp_path, e, Variation(matrix=(scale, 0.0, 0.0, scale), pages=pages))
    plain = _plain(e.name)
    assert [(t.label, t.count, t.reversed_count) for t in block.templates] == [
        (t.label, t.count, t.reversed_count) for t in plain.templates
    ]
    assert sum(p.area for p in block.pieces) == pytest.approx(e.area * scale**2, rel=1e-4)
