"""The booklet's own proof: it passes what is right, and finds every kind of damage."""

import contextlib
import re
import zlib
from dataclasses import replace

import numpy as np
import pytest
from booklets import BOTH, fixture_booklet
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.booklet.leaf import box
from convert.booklet.model import CUT_COLOUR, CUT_WIDTH, Booklet, Page, Shape
from convert.booklet.templates import sheet_profile
from convert.cutting.effort import Effort
from convert.cutting.parts import CutChoices
from convert.cutting.sheet import Purpose
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity
from convert.proof.booklet import prove_booklet
from convert.proof.model import UnreadableError
from convert.proof.read_pdf import read_pdf
from convert.writers.pdf import pdf_bytes


def codes(content, pages, data, choices=None):
    """Return the codes of everything that the proof finds."""
    proof = prove_booklet(data, pages, sheet_profile(content.frame), choices or CutChoices())
    return {finding.code for finding in proof.findings}


@pytest.mark.parametrize(
    ("name", "cloth"),
    [("cosmos", True), ("river-stones", False), ("compass-bloom", False), ("ring-of-seven", True)],
)
def test_a_booklet_passes(name, cloth):
    """Papers and cloth shapes, straight and curved, lie within a ten-thousandth of a millimetre."""
    content, pages, data, _ = fixture_booklet(name, "a4", cloth=cloth)
    proof = prove_booklet(data, pages, sheet_profile(content.frame), BOTH if cloth else CutChoices())
    assert proof.findings == ()
    assert proof.checked > 20
    assert 0.0 < proof.largest_deviation < 1e-4


def without(pages, wanted):
    """Return the pages without the marks of template pages for which `wanted` is false."""
    changed = [
        replace(page, marks=tuple(m for m in page.marks if wanted(m))) if page.sheet else page
        for page in pages.pages
    ]
    return replace(pages, pages=tuple(changed))


def is_cut(mark):
    """Tell whether a mark is a cut."""
    return isinstance(mark, Shape) and (mark.stroke, mark.width) == (CUT_COLOUR, CUT_WIDTH)


def test_a_missing_cut_is_found():
    """A template that is not on its page."""
    content, pages, _, _ = fixture_booklet("cosmos")
    seen = []
    damaged = without(pages, lambda m: not is_cut(m) or bool(seen.append(m) or len(seen) != 2))
    assert codes(content, pages, pdf_bytes(damaged)) == {"PROOF-032"}


def test_a_cut_that_is_moved_stretched_or_bent_is_found():
    """By no more than two thousandths of a millimetre."""
    content, pages, _, _ = fixture_booklet("cosmos")

    def changed(how):
        marks = [
            replace(m, chains=tuple(how(c) for c in m.chains)) if is_cut(m) else m
            for m in pages.pages[-1].marks
        ]
        return replace(pages, pages=(*pages.pages[:-1], replace(pages.pages[-1], marks=tuple(marks))))

    moved = changed(lambda c: Chain(c.points + np.array([0.002, 0.0]), c.bulge, c.closed))
    assert codes(content, pages, pdf_bytes(moved)) == {"PROOF-032"}
    stretched = changed(lambda c: Chain(c.points * [1.0001, 1.0], c.bulge, c.closed))
    assert "PROOF-007" in codes(content, pages, pdf_bytes(stretched))
    bent = changed(lambda c: Chain(c.points, np.where(c.bulge != 0, c.bulge * 0.999, 0.0), c.closed))
    assert "PROOF-007" in codes(content, pages, pdf_bytes(bent))


@pytest.mark.parametrize("side", [25.4, 50.0])
def test_a_check_square_that_is_missing_is_found(side):
    """Both squares must be on every sheet."""
    content, pages, _, _ = fixture_booklet("cosmos")

    def other(mark):
        size = np.ptp(mark.chains[0].points, axis=0) if isinstance(mark, Shape) else np.zeros(2)
        return not np.allclose(size, side)

    assert codes(content, pages, pdf_bytes(without(pages, other))) == {"PROOF-033"}


def test_papers_that_overlap_are_found_where_they_may_touch():
    """Without a gap a sheet passes; with a paper two hundredths over its neighbour, cut and all, it fails."""
    content, pages, data, _ = fixture_booklet("midwinter", effort=Effort.QUICK)
    assert pages.pages[-1].gap == 0.0
    assert codes(content, pages, data) == set()
    page = pages.pages[-1]
    nudged = Similarity.shift(0.02, 0.0)
    strokes, copies, marks = list(page.sheet.strokes), list(page.sheet.copies), list(page.marks)
    stroke = next(n for n, s in enumerate(strokes) if s.purpose is Purpose.OUTER)
    mark = next(n for n, m in enumerate(marks) if is_cut(m))
    number, chain = strokes[stroke].copy, nudged.chain(strokes[stroke].chain)
    strokes[stroke] = replace(strokes[stroke], chain=chain)
    copies[number] = replace(copies[number], placement=nudged.after(copies[number].placement))
    marks[mark] = replace(marks[mark], chains=(chain,))
    sheet = replace(page.sheet, strokes=tuple(strokes), copies=tuple(copies))
    over = replace(pages, pages=(*pages.pages[:-1], replace(page, sheet=sheet, marks=tuple(marks))))
    assert codes(content, over, pdf_bytes(over)) == {"PROOF-016"}


def test_a_check_square_in_the_way_of_papers_is_found():
    """Squares moved onto the papers are there, but the papers are not clear of them."""
    content, pages, _, _ = fixture_booklet("cosmos")

    over = Similarity()

    def lifted(mark):
        size = np.ptp(mark.chains[0].points, axis=0) if isinstance(mark, Shape) else np.zeros(2)
        if not any(np.allclose(size, side) for side in (25.4, 50.0)):
            return mark
        return replace(mark, chains=tuple(over.chain(c) for c in mark.chains))

    cut = next(m for m in pages.pages[-1].marks if is_cut(m)).chains[0].points
    square = next(m for m in pages.pages[-1].marks if lifted(m) is not m).chains[0].points
    over = Similarity.shift(*(cut.mean(axis=0) - square[0]).tolist())
    page = replace(pages.pages[-1], marks=tuple(map(lifted, pages.pages[-1].marks)))
    assert codes(content, pages, pdf_bytes(replace(pages, pages=(*pages.pages[:-1], page)))) == {"PROOF-034"}


def test_a_missing_page_and_another_page_size_are_found():
    """Pages are counted, and each is measured."""
    content, pages, _, _ = fixture_booklet("cosmos")
    fewer = replace(pages, pages=pages.pages[:-1])
    assert codes(content, pages, pdf_bytes(fewer)) == {"PROOF-031"}
    larger = replace(pages, pages=(replace(pages.pages[0], width=216.0), *pages.pages[1:]))
    assert codes(content, pages, pdf_bytes(larger)) == {"PROOF-031"}


def test_a_file_that_may_be_scaled_is_found():
    """Without the wish to be printed at actual size the booklet fails."""
    content, pages, data, _ = fixture_booklet("cosmos")
    damaged = data.replace(b"/PrintScaling /None", b"/PrintScaling /Nine")
    assert damaged != data
    assert codes(content, pages, damaged) == {"PROOF-030"}


def repacked(data, change):
    """Return a file with the first page's content changed and its length kept by blanks."""
    match = re.search(rb"stream\r?\n(.*?)endstream", data, re.DOTALL)
    content = change(zlib.decompressobj().decompress(match[1]))
    packed = zlib.compress(content, 9)
    assert len(packed) <= len(match[1])
    return data[: match.start(1)] + packed.ljust(len(match[1])) + data[match.end(1) :]


def test_a_curve_that_is_no_arc_is_refused():
    """A cubic of another shape is not taken for an arc."""
    chain = Chain([[10.0, 10.0], [50.0, 10.0]], [0.4], closed=False)
    filler = tuple(Shape((box(x, 60.0, 0.777, 1.313),), "#000000") for x in range(10, 90))
    data = pdf_bytes(Booklet("a", "b", "c", (Page(100.0, 100.0, (Shape((chain,), "#000000"), *filler)),)))
    assert len(read_pdf(data)[0].paths) == 81

    def bend(content):
        numbers = re.search(rb"(\S+) (\S+ \S+ \S+ \S+ \S+ c)", content)
        bent = content.replace(numbers[0], b"%.1f " % (float(numbers[1]) - 5.0) + numbers[2], 1)
        return bent[: len(bent) // 2 + bent[len(bent) // 2 :].index(b"S") + 1]

    with pytest.raises(UnreadableError, match="no circular arc"):
        read_pdf(repacked(data, bend))


@given(st.data())
@settings(deadline=None, max_examples=150)
def test_broken_files_are_unreadable_not_a_crash(data):
    """Cut off, or with bytes changed, a file either reads as pages or is called unreadable."""
    chain = Chain([[10.0, 10.0], [50.0, 10.0]], [0.4], closed=False)
    good = pdf_bytes(Booklet("a", "b", "c", (Page(100.0, 100.0, (Shape((chain,), "#000000"),)),)))
    at = data.draw(st.integers(0, len(good) - 1))
    rest = b"" if data.draw(st.booleans()) else data.draw(st.binary(min_size=1, max_size=4)) + good[at:]
    with contextlib.suppress(UnreadableError):
        assert len(read_pdf(good[:at] + rest)) == 1


def test_shapes_are_read_as_they_were_drawn():
    """Points, sweeps, closedness, colour and width come back; a filled shape is told from a stroked one."""
    arc = Chain([[10.0, 10.0], [50.0, 10.0]], [-1.0, 0.2])
    page = Page(
        100.0, 100.0, (Shape((arc,), "#123456", 0.35), Shape((box(1, 2, 3, 4),), None, 0.25, "#abcdef"))
    )
    (read,) = read_pdf(pdf_bytes(Booklet("a", "b", "c", (page,))))
    first, second = read.paths
    assert (first.layer, second.layer) == ("#123456 0.35", "fill #abcdef")
    assert first.closed
    assert second.closed
    assert float(first.sweep[first.sweep < 0].sum()) == pytest.approx(-np.pi, abs=1e-4)
    assert abs(first.points[0] - (10 + 10j)) < 1e-4
    assert np.abs(second.points - np.array([1 + 2j, 4 + 2j, 4 + 6j, 1 + 6j])).max() < 1e-4
