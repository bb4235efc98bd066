"""From drawing to files: sizes are exact, curves fine enough, and what isn't proved doesn't stay."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import convert.beside
import convert.writers.svg
from convert.beside import Beside
from convert.cutting.effort import Effort
from convert.cutting.sheet import Arrangement
from convert.errors import DrawingError, ProofError, UsageError
from convert.job import make_job
from convert.pipeline import FIT_LIMIT_MM, convert_drawing, plan_drawing
from convert.wishes import Size, Wishes

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"
STAIRS = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="{}" height="{}" viewBox="0 0 60 40">'
    '<path d="M0 0H60V40H0Z M40 0V40 M0 20H40 M0 0L40 20" fill="none" stroke="black"/></svg>'
)


def job(*sizes, **wishes):
    """Return a job for sizes given as lengths in mm, named s0, s1 and so on."""
    named = tuple(Size(f"s{n}", length) for n, length in enumerate(sizes))
    return make_job(Wishes(sizes=named or None, **wishes))


@pytest.fixture
def stairs(tmp_path):
    """Write a drawing of a block 60 by 40 mm with two triangles and two rectangles."""
    path = tmp_path / "stairs.svg"
    path.write_text(STAIRS.format("60mm", "40mm"))
    return path


@pytest.mark.parametrize(
    ("measure", "measured"),
    [
        ("width", 60.0),
        ("height", 40.0),
        ("edge", 44.721359549995796),  # the diagonal of 40 by 20
        ("edge:a", 40.0),  # two rectangles: 20 by 40 and 40 by 20
        ("edge:B", 44.721359549995796),
    ],
)
def test_measures(stairs, measure, measured):
    """A size sets exactly the length that is measured, and everything else in proportion."""
    plan = plan_drawing(stairs, job(100.0, 250.0, measure=measure))
    for size, length in zip(plan.sizes, (100.0, 250.0), strict=True):
        assert size.scale == pytest.approx(length / measured, rel=1e-12)
        assert size.block.width == pytest.approx(60 * length / measured, rel=1e-12)
        assert size.block.height == pytest.approx(40 * length / measured, rel=1e-12)


def test_no_such_edge(stairs, tmp_path):
    """An unknown template, and one without a straight edge, are refused with what there is."""
    with pytest.raises(UsageError, match=r"no template D. It has A, B"):
        plan_drawing(stairs, job(10.0, measure="edge:D"))
    disc = tmp_path / "disc.svg"
    disc.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        '<circle cx="30" cy="30" r="20" fill="#345"/></svg>'
    )
    with pytest.raises(UsageError, match="no edge is straight"):
        plan_drawing(disc, job(10.0, measure="edge"))
    with pytest.raises(UsageError, match="template A has no straight edge"):
        plan_drawing(disc, job(10.0, measure="edge:A"))


def test_as_drawn(stairs):
    """Without sizes there is one, as drawn, at scale one; a bare drawing must be told its unit."""
    (size,) = plan_drawing(stairs, job()).sizes
    assert (size.name, size.scale) == ("as-drawn", 1.0)
    stairs.write_text(STAIRS.format("100%", "100%"))
    with pytest.raises(UsageError, match="does not say how large it is") as caught:
        plan_drawing(stairs, job())
    assert caught.value.findings[0].code == "JOB-020"
    (size,) = plan_drawing(stairs, job(one_unit=2.0)).sizes
    assert size.block.width == pytest.approx(120.0, rel=1e-12)


def test_a_size_settles_doubts_about_size():
    """What the reader doubts about a drawing's size is said only where it matters: without a size."""
    doubtful = FIXTURES / "wrong-rulers.svg"
    codes = [{f.code for f in plan_drawing(doubtful, j).findings} for j in (job(), job(60.0))]
    assert "READ-046" in codes[0]
    assert "READ-046" not in codes[1]
    unsized = FIXTURES / "cosmos.svg"
    jobs = (job(), job(60.0), job(one_unit=0.25))
    codes = [{f.code for f in plan_drawing(unsized, j, size_needed=False).findings} for j in jobs]
    assert ["JOB-020" in found for found in codes] == [True, False, False]
    assert not any("READ-015" in found for found in codes)


def test_unused_unit_is_said(stairs):
    """A unit given for a drawing that states its own size is not used, and that is said."""
    plan = plan_drawing(stairs, job(one_unit=2.0))
    assert plan.sizes[0].block.width == pytest.approx(60.0, rel=1e-12)
    assert [finding.code for finding in plan.findings if finding.code.startswith("JOB")] == ["JOB-023"]


@pytest.mark.parametrize("width", [50.0, 300.0, 3000.0])
def test_curves_are_fine_enough_at_the_largest_size(width):
    """However much a drawing is enlarged, its fitted curves stay within the promise at that size."""
    plan = plan_drawing(FIXTURES / "lily-pond.svg", job(20.0, width, arrange=(Arrangement.ASSEMBLED,)))
    largest = max(size.scale for size in plan.sizes)
    assert plan.drawing.fit_error > 0
    assert plan.drawing.fit_error * largest <= FIT_LIMIT_MM


def test_findings_name_file_and_size(stairs):
    """Every finding names the drawing; one that holds at a single size names the size."""
    plan = plan_drawing(stairs, job(20.0, 900.0, arrange=(Arrangement.ASSEMBLED,)))
    assert plan.findings
    assert all(finding.place.file == str(stairs) for finding in plan.findings)
    assert any(finding.what.startswith("size s1: ") for finding in plan.findings)


def test_files_are_proved(stairs, tmp_path):
    """A conversion compares thousands of numbers and finds them within the output step."""
    done = convert_drawing(stairs, job(60.0), tmp_path / "out")
    assert done.proof.passed
    assert done.proof.checked > 50
    assert 0 <= done.proof.largest_deviation < 1e-4
    assert "manifest.json" in done.published.written


def test_a_wrong_file_does_not_stay(stairs, tmp_path, monkeypatch):
    """If a written file reads back wrong, nothing of the run stays and the earlier files do."""
    out = tmp_path / "out"
    convert_drawing(stairs, job(60.0), out)
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    written = convert.writers.svg.svg_bytes

    def off_by_a_hundredth(sheet, profile):
        strokes = list(sheet.strokes)
        chain = strokes[-1].chain
        points = np.array(chain.points)
        points[0] += 0.01
        strokes[-1] = replace(strokes[-1], chain=replace(chain, points=points))
        return written(replace(sheet, strokes=tuple(strokes)), profile)

    monkeypatch.setattr(convert.writers.svg, "svg_bytes", off_by_a_hundredth)
    with pytest.raises(ProofError) as caught:
        convert_drawing(stairs, job(60.0), out)
    assert all(finding.place.file for finding in caught.value.findings)
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before
    with pytest.raises(ProofError):
        convert_drawing(stairs, job(60.0), tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_nothing_closed(tmp_path):
    """A drawing without a closed piece is a drawing error, not an empty block."""
    path = tmp_path / "open.svg"
    path.write_text(STAIRS.format("60mm", "40mm").replace("M0 0H60V40H0Z ", "").replace("M0 0L40 20", ""))
    with pytest.raises(DrawingError):
        plan_drawing(path, job(60.0))


def test_the_readers_remarks_come_with_an_error(tmp_path):
    """When nothing can be pieced, what the reader noticed is said too: it is often the reason."""
    path = tmp_path / "cut short.svg"
    path.write_text(STAIRS.format("60mm", "40mm").replace("V40H0Z M40 0V40 M0 20H40", "VNaN"))
    with pytest.raises(DrawingError) as caught:
        plan_drawing(path, job(60.0))
    codes = [finding.code[:5] for finding in caught.value.findings]
    assert "READ-" in codes
    assert "BLOCK" in codes


def test_effort_lays_more_blocks_on_a_sheet_and_all_is_proved(tmp_path):
    """With an effort three blocks go on one sheet where rows need two; files are proved, the bound told."""
    wishes = Wishes(sizes=(Size("s", 101.6),), blocks=3, arrange=(Arrangement.PIECES,), effort=Effort.QUICK)
    done = convert_drawing(FIXTURES / "compass-bloom.svg", make_job(wishes), tmp_path)
    assert done.proof.passed
    (size,) = done.plan.sizes
    assert len(size.sheets[0]) == 1
    assert size.yields.blocks_per_sheet == 3
    assert size.yields.area_bound >= 3
    plain = plan_drawing(FIXTURES / "compass-bloom.svg", make_job(replace(wishes, effort=None)))
    assert len(plain.sizes[0].sheets[0]) == 2


def test_effort_fills_a_sheet_unless_a_number_of_blocks_is_asked_for():
    """With an effort and no number a sheet holds all the blocks it can make, and its title says how many."""
    wishes = Wishes(sizes=(Size("s", 101.6),), arrange=(Arrangement.PIECES,), effort=Effort.QUICK)
    plan = plan_drawing(FIXTURES / "compass-bloom.svg", make_job(wishes))
    (size,) = plan.sizes
    (sheet,) = size.sheets[0]
    assert sheet.blocks == size.yields.blocks_per_sheet >= 3
    assert len(sheet.copies) == sheet.blocks * len(plan.block.pieces)
    assert f"sheet 1 of 1 makes {sheet.blocks} blocks" in sheet.title
    one = plan_drawing(FIXTURES / "compass-bloom.svg", make_job(replace(wishes, blocks=1)))
    assert one.sizes[0].sheets[0][0].blocks == 1


def test_a_second_process_takes_its_share_and_changes_nothing(tmp_path, monkeypatch):
    """Some sizes are planned, written, proved and laid for the booklet beside; files are the same."""
    answers = []
    hear = convert.beside._hear
    monkeypatch.setattr(convert.beside, "_hear", lambda beside: answers.append(hear(beside)) or answers[-1])
    wishes = Wishes(
        sizes=(Size("s", 60.0), Size("t", 101.6)), formats=("svg", "dxf", "pdf"), effort=Effort.QUICK
    )
    files = []
    for processors in (1, 2):
        monkeypatch.setattr(convert.beside, "_processors", lambda: processors)  # noqa: B023 (used at once)
        folder = tmp_path / str(processors)
        convert_drawing(FIXTURES / "compass-bloom.svg", make_job(wishes), folder)
        inside = sorted(path for path in folder.rglob("*") if path.is_file())
        files.append([(path.relative_to(folder), path.read_bytes()) for path in inside])
        assert bool(answers) == (processors == 2)
    assert {type(answer).__name__ for answer in answers} == {"PlannedSize", "tuple", "Laid"}
    assert len(files[0]) > 8
    assert files[0] == files[1]


def test_the_second_process_ends_before_all_is_cleaned_up(tmp_path, monkeypatch):
    """When writing fails, it can't write any more when the staging folder goes; nothing is left of both."""
    out, seen = tmp_path / "out", []
    leave = Beside.__exit__

    def seeing(self, *error):
        leave(self, *error)
        seen.append([path.name[:13] for path in out.iterdir()])

    def broken(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(convert.beside, "_processors", lambda: 2)
    monkeypatch.setattr(Beside, "__exit__", seeing)
    monkeypatch.setattr(convert.writers.svg, "svg_bytes", broken)
    wishes = Wishes(sizes=(Size("s", 60.0), Size("t", 101.6)), effort=Effort.QUICK)
    with pytest.raises(KeyboardInterrupt):
        convert_drawing(FIXTURES / "compass-bloom.svg", make_job(wishes), out)
    assert seen == [[".piecewright-"]]
    assert not out.exists()


def test_rows_stay_where_a_closer_layout_saves_no_sheet():
    """One block of Compass bloom at 4 in takes one sheet either way: it lies in rows."""
    wishes = Wishes(sizes=(Size("s", 101.6),), blocks=1, arrange=(Arrangement.PIECES,), effort=Effort.QUICK)
    close, plain = (
        plan_drawing(FIXTURES / "compass-bloom.svg", make_job(replace(wishes, effort=effort)))
        for effort in (Effort.QUICK, None)
    )
    places = [
        [copy.placement for sheet in plan.sizes[0].sheets[0] for copy in sheet.copies]
        for plan in (close, plain)
    ]
    assert places[0] == places[1]
