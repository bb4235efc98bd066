"""Waste on booklet pages whose papers share lines: what MuPDF finds hatched is what shapely finds left over.

*Sources*: MuPDF (pymupdf) reads the paths out of the file, shapely joins them; neither shares code with us.
"""

from dataclasses import replace

import numpy as np
import pymupdf
import pytest
import shapely
from booklets import drawn, made

from convert.booklet import booklet
from convert.booklet.templates import HATCH_COLOUR
from convert.booklet.wanted import Wanted
from convert.cutting.effort import Effort
from convert.cutting.sheet import Purpose
from convert.writers.pdf import pdf_bytes

MM = 25.4 / 72.0
HATCH = tuple(int(HATCH_COLOUR[k : k + 2], 16) / 255 for k in (1, 3, 5))


def outline(path):
    """Return the corners of a path, its curves in steps, in mm."""
    corners = []
    for kind, *places in path["items"]:
        if kind in {"re", "qu"}:
            quad = places[0] if kind == "qu" else places[0].quad
            corners += [(q.x * MM, q.y * MM) for q in (quad.ul, quad.ur, quad.lr, quad.ll)]
            continue
        p = np.array([(q.x, q.y) for q in places]) * MM
        t = np.linspace(0, 1, 33)[:, None]
        if kind == "l":
            corners += list(p)
        else:
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
            corners += list(sum(w * q for w, q in zip(weights, p, strict=True)))
    return corners


def without_the_middle_one(content):
    """Return a booklet's content whose first template sheet lacks the copy nearest its middle."""
    (size,) = content.sizes
    group, *more = size.groups
    sheet, *others = group.sheets
    middle = np.array([sheet.width, sheet.height]) / 2
    places = {s.copy: s.chain.points.mean(axis=0) for s in sheet.strokes if s.purpose is Purpose.OUTER}
    out = min(places, key=lambda copy: np.abs(places[copy] - middle).max())

    def others_of(marks):
        return tuple(replace(m, copy=m.copy - (m.copy > out)) for m in marks if m.copy != out)

    less = replace(
        sheet,
        copies=(*sheet.copies[:out], *sheet.copies[out + 1 :]),
        strokes=others_of(sheet.strokes),
        letterings=others_of(sheet.letterings),
    )
    group = replace(group, sheets=(less, *others))
    return replace(content, sizes=(replace(size, groups=(group, *more)),))


@pytest.mark.parametrize("lacking", [False, True])
@pytest.mark.parametrize(("name", "width"), [("cosmos", 76.2), ("lattice", 101.6)])
def test_all_that_papers_enclose_is_hatched_and_nothing_else(name, width, lacking):
    """Each enclosed leaf of 20 mm² or more is crossed by lines; no line leaves one, or comes onto a cut.

    Where a copy is taken out of the middle there is such a leaf, whatever way the copies are laid.
    """
    content, *_ = made(drawn(name), {"small": width}, Wanted(effort=Effort.QUICK))
    assert [group.gap for group in content.sizes[0].groups] == [0.0]
    if lacking:
        content = without_the_middle_one(content)
    pages = booklet(content)
    data = pdf_bytes(pages)
    hatched = 0
    for page, read in zip(pages.pages, pymupdf.open(stream=data, filetype="pdf"), strict=True):
        if page.sheet is None:
            continue
        paths = read.get_drawings()
        black = [p for p in paths if p["color"] == (0, 0, 0)]
        cuts = [p for p in black if p["width"] * MM == pytest.approx(0.25, abs=1e-3)]
        papers = [shapely.Polygon(outline(cut)) for cut in cuts]
        assert len(papers) == len(page.sheet.copies)
        whole = shapely.union_all([paper.buffer(0.02) for paper in papers])
        holes = [shapely.Polygon(ring) for part in shapely.get_parts(whole) for ring in part.interiors]
        found = [p for p in paths if p["color"] == pytest.approx(HATCH, abs=1e-3)]
        lines = [shapely.LineString(outline({"items": [item]})) for p in found for item in p["items"]]
        places = [[k for k, hole in enumerate(holes) if hole.contains(line)] for line in lines]
        assert all(len(place) == 1 for place in places)
        large = {k for k, hole in enumerate(holes) if hole.area >= 20 and not hole.buffer(-1.5).is_empty}
        assert large <= {k for place in places for k in place}
        assert ("Hatched: waste" in read.get_text()) == bool(lines)
        hatched += len(lines)
    if name == "lattice" or lacking:
        assert bool(hatched) == lacking
