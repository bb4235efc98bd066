"""A read-back file against the Sheet it was written from: every stroke, every word, the page, the header."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.sheet import Purpose
from convert.errors import Finding, Place, Severity
from convert.proof.outlines import Table, lengths, path_boxes, point_at, table_from, table_of

if TYPE_CHECKING:
    from convert.cutting.sheet import Sheet
    from convert.profile import Profile
    from convert.proof.model import ReadFile
    from convert.proof.outlines import Floats, Ints

LIMIT = 1e-4
"""No point of a file may be further than this (mm) from where it belongs: the promise of finished size."""
WORD_LIMIT = 1e-3
"""The same for the places and heights of words, mm, which only the eye uses."""


@dataclass(slots=True)
class Record:
    """What one proof gathers while it goes on."""

    file: str
    checked: int = 0
    largest: float = 0.0
    findings: list[Finding] = field(default_factory=list)

    def fail(self, code: str, what: str, value: float | None = None) -> None:
        """Add a finding."""
        advice = "Nothing was kept; please report this drawing"
        self.findings.append(Finding(code, Severity.ERROR, what, advice, Place(file=self.file), value))

    def measure(self, deviation: float) -> None:
        """Remember a deviation in mm, if it is the largest."""
        self.largest = max(self.largest, deviation)


def read_table(file: ReadFile) -> Table:
    """Return all segments of a file."""
    return table_from([(path.points, path.sweep, path.closed) for path in file.paths])


def gaps_between(wanted: Table, found: Table) -> tuple[Floats, Floats]:
    """Return how far each path of `found` is from its namesake in `wanted`, and its excess length (mm each).

    Both run the same way from the same start; `found` may have more vertices (wide arcs are written
    in two, and a cut may start within a side). Every wanted vertex is compared with the found vertex
    nearest to the same length along the path, and the start and middle of every found segment with
    the same place on the wanted segment.
    """
    long_wanted, long_found = lengths(wanted), lengths(found)
    line_wanted, line_found = _number_lines(wanted, found, long_wanted, long_found)
    row = _nearest(line_found, line_wanted)
    off = np.zeros(wanted.count)
    np.maximum.at(
        off, wanted.path, np.where(found.path[row] == wanted.path, np.abs(found.p[row] - wanted.p), np.inf)
    )
    np.maximum.at(off, found.path, _end_gap(wanted, found))

    # The found segments from one matched vertex to the next stand for one wanted segment.
    on = np.maximum(np.searchsorted(row, np.arange(len(found.p)), side="right") - 1, 0)
    whole = np.bincount(on, long_found, len(wanted.p))[on]
    before = line_found - line_found[row[on]]
    for part in (0.0, 0.5):
        along = before + part * long_found
        share = np.divide(along, whole, out=np.zeros_like(whole), where=whole > 0.0)
        here = point_at(found, np.full(len(share), part))
        there = point_at(wanted.take(on), np.clip(share, 0.0, 1.0))
        gap = np.where(wanted.path[on] == found.path, np.abs(here - there), np.inf)
        np.maximum.at(off, found.path, gap)
    excess = np.bincount(found.path, long_found, found.count) - np.bincount(
        wanted.path, long_wanted, wanted.count
    )
    return off, np.abs(excess)


def matching_rows(wanted: Table, found: Table) -> Ints:
    """Return for each wanted segment the found one whose start lies at the same length along its path."""
    line_wanted, line_found = _number_lines(wanted, found, lengths(wanted), lengths(found))
    return _nearest(line_found, line_wanted)


def _number_lines(
    wanted: Table, found: Table, long_wanted: Floats, long_found: Floats
) -> tuple[Floats, Floats]:
    """Lay all paths along one number line, each in a stretch of its own; return where each segment starts."""
    lines = []
    longest = 0.0
    for t, long in ((wanted, long_wanted), (found, long_found)):
        before = np.cumsum(long) - long
        first = np.full(t.count, np.inf)
        np.minimum.at(first, t.path, before)
        lines.append(before - first[t.path])
        longest = max(longest, float(np.bincount(t.path, long, t.count).max(initial=0.0)))
    stretch = 2.0 * longest + 1.0
    return wanted.path * stretch + lines[0], found.path * stretch + lines[1]


def _nearest(line: Floats, at: Floats) -> Ints:
    right = np.clip(np.searchsorted(line, at), 1, max(len(line) - 1, 1))
    left = right - 1
    right = np.minimum(right, len(line) - 1)
    return np.where(np.abs(line[left] - at) <= np.abs(line[right] - at), left, right)


def _end_gap(wanted: Table, found: Table) -> Floats:
    """Return, at each found segment that is its path's last, how far its end is from the wanted end."""
    gap = np.zeros(len(found.p))
    last = np.flatnonzero(np.append(np.diff(found.path) != 0, True))
    end = np.zeros(wanted.count, dtype=complex)
    end[wanted.path] = wanted.q
    gap[last] = np.abs(found.q[last] - end[found.path[last]])
    return gap


def check_sheet(file: ReadFile, sheet: Sheet, profile: Profile, record: Record) -> Table | None:
    """Compare everything; return the file's segments if its paths are the sheet's strokes one by one."""
    _check_page(file, sheet, record)
    for complaint in file.complaints:
        record.fail("PROOF-002", complaint)
    _check_words(file, sheet, profile, record)
    record.checked += 1
    if len(file.paths) != len(sheet.strokes):
        record.fail(
            "PROOF-003", f"it holds {len(file.paths)} paths instead of {len(sheet.strokes)}", len(file.paths)
        )
        return None
    for number, (path, stroke) in enumerate(zip(file.paths, sheet.strokes, strict=True)):
        layer = profile.layers[stroke.purpose].name
        if path.layer != layer:
            record.fail("PROOF-004", f"path {number + 1} is on layer {path.layer} instead of {layer}")
        rim = stroke.purpose in {Purpose.OUTER, Purpose.INNER} and stroke.outline < 0
        must_close = stroke.chain.closed or rim
        if path.closed != must_close:
            state = "open" if must_close else "closed"
            record.fail("PROOF-005", f"path {number + 1} on layer {path.layer} is {state}")
    if any(
        path.closed != stroke.chain.closed for path, stroke in zip(file.paths, sheet.strokes, strict=True)
    ):
        return None
    if not file.paths:
        return None
    found = read_table(file)
    off, excess = gaps_between(table_of([stroke.chain for stroke in sheet.strokes]), found)
    record.checked += len(off)
    record.measure(float(off.max()))
    sizes = np.bincount(found.path, minlength=found.count)
    for number in np.flatnonzero((off > LIMIT) | (excess > LIMIT * np.maximum(sizes, 1))).tolist():
        at = file.paths[number].points[0]
        record.fail(
            "PROOF-006",
            f"path {number + 1} on {file.paths[number].layer}, starting at {at.real:.3f}, {at.imag:.3f} mm, "
            f"is {_size(float(max(off[number], excess[number])))} away from where it belongs",
            float(off[number]),
        )
    _check_extents(file, sheet, profile, path_boxes(found), record)
    return found


def _size(value: float) -> str:
    return f"{value:.6f} mm" if np.isfinite(value) else "far"


def _check_page(file: ReadFile, sheet: Sheet, record: Record) -> None:
    if file.page is None:
        return
    record.checked += 1
    off = max(abs(file.page[0] - sheet.width), abs(file.page[1] - sheet.height))
    if off > LIMIT:
        record.fail(
            "PROOF-002",
            f"its page is {file.page[0]:.4f} x {file.page[1]:.4f} mm "
            f"instead of {sheet.width:.4f} x {sheet.height:.4f}",
            off,
        )


def _check_words(file: ReadFile, sheet: Sheet, profile: Profile, record: Record) -> None:
    record.checked += len(sheet.letterings)
    left = list(file.texts)
    for wanted in sheet.letterings:
        layer = profile.layers[wanted.purpose].name
        at = complex(*wanted.at)
        for index, text in enumerate(left):
            same = text.text == wanted.text and text.layer == layer and abs(text.at - at) <= WORD_LIMIT
            if (
                same
                and abs(text.height - wanted.height) <= WORD_LIMIT
                and abs(text.angle_rad - wanted.angle_rad) <= WORD_LIMIT
            ):
                del left[index]
                break
        else:
            record.fail(
                "PROOF-013", f"the words {wanted.text!r} at {at.real:.2f}, {at.imag:.2f} mm are missing"
            )
    for text in left:
        record.fail(
            "PROOF-013", f"the words {text.text!r} at {text.at.real:.2f}, {text.at.imag:.2f} mm do not belong"
        )


def _check_extents(file: ReadFile, sheet: Sheet, profile: Profile, box: Floats, record: Record) -> None:
    """Check that whatever a tool follows is in the usable area, and that the header's extents are true."""
    margins = profile.margins
    tool = np.array([stroke.purpose is not Purpose.CHECK for stroke in sheet.strokes])
    low = np.array([margins.left, margins.bottom])
    high = np.array([sheet.width - margins.right, sheet.height - margins.top])
    over = np.maximum((low - box[:, :2]).max(axis=1), (box[:, 2:] - high).max(axis=1))
    over[~tool] = 0.0
    record.checked += int(tool.sum())
    for number in np.flatnonzero(over > LIMIT).tolist():
        record.fail(
            "PROOF-011",
            f"path {number + 1} reaches {over[number]:.4f} mm out of the usable area",
            float(over[number]),
        )
    if file.extents is not None:
        record.checked += 1
        whole = np.concatenate((box[:, :2].min(axis=0), box[:, 2:].max(axis=0)))
        off = float(np.abs(whole - np.array(file.extents)).max())
        if off > LIMIT:
            record.fail("PROOF-012", f"the extents in its header are {off:.4f} mm wrong", off)
