"""A read-back file against the Block: what was asked for, not what some stage in between made of it.

Separate pieces: each outline is laid on its template by the one turn and shift that fits best, and
must lie on it as it is, not mirrored, with the same area and length. The whole block: every edge
of the map must lie on the cuts, and the cuts must be no longer than the edges together, so that
each is cut once.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.block.model import OUTSIDE
from convert.cutting.sheet import Facing, Product, Purpose
from convert.geometry.index import box_pairs, box_pairs_between
from convert.proof.against_product import check_outside, check_shapes
from convert.proof.against_sheet import LIMIT, gaps_between, matching_rows
from convert.proof.outlines import (
    Table,
    areas,
    boxes,
    distances,
    flattened,
    lengths,
    path_boxes,
    point_at,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from convert.block.model import Block
    from convert.cutting.parts import CutChoices
    from convert.cutting.sheet import Sheet
    from convert.geometry.chain import Chain
    from convert.geometry.similarity import Similarity
    from convert.profile import Profile
    from convert.proof.against_sheet import Record
    from convert.proof.outlines import Floats, Ints, Points

    Bools = NDArray[np.bool_]

CLOSE = 1e-3
"""Shapes that lie edge to edge may come so much (mm) into each other: far less than any tool can cut."""
FINE = 1e-3
"""Outlines near each other are compared as polygons no further than this (mm) from their arcs."""
SHARES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
"""The places on each edge that are looked for on the cuts: five fix a line or an arc many times over."""


def check_counts(sheets: Iterable[Sheet], block: Block, record: Record) -> None:
    """Check that the sheets of one product together hold each template as often as is needed.

    Papers and cloth are needed for every piece; one window template serves them all, and is flipped.
    """
    every = tuple(sheets)
    blocks = every[0].blocks if every else 0
    once = bool(every) and every[0].product is Product.WINDOW
    found = Counter((copy.template, copy.reversed) for sheet in every for copy in sheet.copies)
    for number, template in enumerate(block.templates):
        for is_reversed, count in ((False, template.count), (True, template.reversed_count)):
            record.checked += 1
            wanted = int(not is_reversed) if once else count * blocks
            if found[number, is_reversed] != wanted:
                name = template.label + (" reversed" if is_reversed else "")
                record.fail(
                    "PROOF-014", f"template {name} is there {found[number, is_reversed]} times, not {wanted}"
                )


def check_pieces(
    found: Table, sheet: Sheet, block: Block, profile: Profile, choices: CutChoices, record: Record
) -> None:
    """Check every shape of a sheet of separate pieces, and the gaps between them."""
    outer = {s.copy: number for number, s in enumerate(sheet.strokes) if s.purpose is Purpose.OUTER}
    count = sum(s.purpose is Purpose.OUTER for s in sheet.strokes)
    if sorted(outer) != list(range(len(sheet.copies))) or count != len(outer):
        record.fail("PROOF-014", f"{count} outlines stand for {len(sheet.copies)} pieces")
        return
    back = _shows_back(sheet)
    mirrored = [copy.reversed != back for copy in sheet.copies]
    plain = sheet.product is Product.FINISHED and profile.kerf == 0.0 and not choices.removal_holes
    if not plain:
        if mirrored != [copy.placement.flipped for copy in sheet.copies]:
            record.fail("PROOF-014", "a shape shows the other side than the sheet says")
        check_shapes(found, sheet, block, profile.kerf, choices, record)
        own = _aligned(found, [outer[number] for number in range(count)], np.zeros(count, complex), 1.0)
        _check_gaps(own, profile.gap, record)
        return
    patterns = [
        _mirror(block.templates[c.template].outline, m) for c, m in zip(sheet.copies, mirrored, strict=True)
    ]
    wanted = _joined(patterns)
    starts = np.array(
        [
            complex(*c.placement.point(*block.templates[c.template].outline.points[-1 if m else 0]))
            for c, m in zip(sheet.copies, mirrored, strict=True)
        ]
    )
    own = _aligned(found, [outer[number] for number in range(count)], starts, 1.0)
    turn, shift = _best_fit(wanted, own)
    off, _ = gaps_between(_moved(wanted, turn, shift), own)
    _check_holes(found, sheet, block, mirrored, (turn, shift), off)
    record.checked += len(off)
    record.measure(float(off.max(initial=0.0)))

    perimeter = np.bincount(own.path, lengths(own), own.count)
    net = areas(own)
    for stroke, hole in zip(sheet.strokes, np.abs(areas(found)), strict=True):
        if stroke.purpose is Purpose.INNER and stroke.copy >= 0:
            net[stroke.copy] -= hole
    for number, copy in enumerate(sheet.copies):
        template = block.templates[copy.template]
        name = f"piece {number + 1}, {copy.label}{' reversed' if copy.reversed else ''},"
        if off[number] > LIMIT:
            record.fail(
                "PROOF-007",
                f"{name} does not lie on its template: {off[number]:.6f} mm off",
                float(off[number]),
            )
        off_area = abs(net[number] - template.area)
        if off_area > LIMIT * perimeter[number]:
            record.fail(
                "PROOF-008", f"{name} has {net[number]:.4f} mm2 instead of {template.area:.4f}", off_area
            )
        around = float(perimeter[number])
        if abs(around - template.perimeter) > LIMIT * max(len(template.outline), 1):
            record.fail(
                "PROOF-009", f"{name} is {around:.4f} mm round instead of {template.perimeter:.4f}", around
            )
    _check_gaps(own, profile.gap, record)


def _shows_back(sheet: Sheet) -> bool:
    """Tell whether outlines are those seen from the back; a block that is its own mirror may have either."""
    if sheet.facing is Facing.EITHER and sheet.copies:
        return sheet.copies[0].placement.flipped != sheet.copies[0].reversed
    return sheet.facing is Facing.BACK


def _mirror(chain: Chain, mirrored: bool) -> tuple[Points, Floats]:  # noqa: FBT001 - a fact, not an option
    """Return an outline's vertices and sweeps; if mirrored, in reversed order, so that it turns alike."""
    points, sweep = chain.points[:, 0] + 1j * chain.points[:, 1], 4.0 * np.arctan(chain.bulge)
    if not mirrored:
        return points, sweep
    # Reversed, segment k runs from vertex n-1-k to n-2-k; mirrored and reversed, an arc keeps its sense.
    return points.conj()[::-1], np.append(sweep[:-1][::-1], sweep[-1])


def _joined(patterns: list[tuple[Points, Floats]]) -> Table:
    """Return closed patterns as one table."""
    sizes = [len(points) for points, _ in patterns]
    p = np.concatenate([points for points, _ in patterns])
    q = np.concatenate([np.append(points[1:], points[0]) for points, _ in patterns])
    sweep = np.concatenate([sweep for _, sweep in patterns])
    return Table(p, q, sweep, np.repeat(np.arange(len(sizes)), sizes), len(sizes))


def _aligned(found: Table, paths: list[int], starts: Points, turning: float) -> Table:
    """Return some closed paths of a table, numbered from 0 in the order of `paths`.

    A cut may run either way round and start anywhere: each is returned running counter-clockwise
    (`turning` 1) or clockwise (-1), from its vertex nearest to its point in `starts`.
    """
    number = np.full(found.count, -1)
    number[paths] = np.arange(len(paths))
    part = found.take(number[found.path] >= 0)
    path = number[part.path]
    against = (np.sign(areas(part))[part.path] * turning) < 0.0
    p, q = np.where(against, part.q, part.p), np.where(against, part.p, part.q)
    sweep = np.where(against, -part.sweep, part.sweep)
    size = np.bincount(path, minlength=len(paths))[path]
    place = np.arange(len(path)) - np.searchsorted(part.path, part.path)
    place = np.where(against, size - 1 - place, place)
    nearest = np.lexsort((np.abs(p - starts[path]), path))
    first = np.zeros(len(paths), dtype=np.int64)
    first[path[nearest[::-1]]] = place[nearest[::-1]]
    order = np.lexsort(((place - first[path]) % size, path))
    return Table(p[order], q[order], sweep[order], path[order], len(paths))


def _best_fit(wanted: Table, found: Table) -> tuple[Points, Points]:
    """Return for each path the turn (a unit number) and shift that lay `wanted` best on `found`.

    *Source*: in the plane the best turn by least squares is the direction of the sum of conj(a) · b over the
    vertices a, b measured from their means (Procrustes; derivation by completing the square).
    """
    there = found.p[matching_rows(wanted, found)]
    sizes = np.bincount(wanted.path, minlength=wanted.count)
    mean_wanted, mean_found = (_sums(values, wanted) / sizes for values in (wanted.p, there))
    products = (wanted.p - mean_wanted[wanted.path]).conj() * (there - mean_found[wanted.path])
    turn = _sums(products, wanted)
    turn = turn / np.maximum(np.abs(turn), 1e-300)
    return turn, mean_found - turn * mean_wanted


def _sums(values: Points, t: Table) -> Points:
    return np.bincount(t.path, values.real, t.count) + 1j * np.bincount(t.path, values.imag, t.count)


def _moved(t: Table, turn: Points, shift: Points) -> Table:
    turns, shifts = turn[t.path], shift[t.path]
    return Table(turns * t.p + shifts, turns * t.q + shifts, t.sweep, t.path, t.count)


def _check_holes(
    found: Table, sheet: Sheet, block: Block, mirrored: list[bool], fit: tuple[Points, Points], off: Floats
) -> None:
    """Raise `off` of a copy to the largest deviation of its holes, moved by the same turn and shift."""
    left: dict[int, list[int]] = {number: [] for number in range(len(sheet.copies))}
    for number, stroke in enumerate(sheet.strokes):
        if stroke.purpose is Purpose.INNER and stroke.copy >= 0:
            left[stroke.copy].append(number)
    for copy, placed in enumerate(sheet.copies):
        for hole in block.templates[placed.template].holes:
            wanted = _moved(_joined([_mirror(hole, mirrored[copy])]), fit[0][[copy]], fit[1][[copy]])
            gaps = [
                float(gaps_between(wanted, _aligned(found, [number], wanted.p[:1], -1.0))[0].max())
                for number in left[copy]
            ]
            best = int(np.argmin(gaps)) if gaps else -1
            off[copy] = max(off[copy], gaps[best] if gaps else np.inf)
            if gaps:
                del left[copy][best]
        if left[copy]:
            off[copy] = np.inf


def _check_gaps(own: Table, gap: float, record: Record) -> None:
    """Check that no two outlines overlap or lie nearer than the gap."""
    box = path_boxes(own)
    grow = 0.5 * gap - LIMIT
    i, j = box_pairs(box + np.array([-grow, -grow, grow, grow]))
    record.checked += own.count
    if not len(i):
        return
    rings = [np.column_stack((ring.real, ring.imag)) for ring in flattened(own, FINE)]
    # An outline of fewer than three points has no inside; that it is none is found elsewhere.
    shapes = np.array([shapely.Polygon(r) if len(r) > 2 else shapely.LineString(r[[0, -1]]) for r in rings])
    if gap <= CLOSE:
        _check_overlaps(shapes, i, j, record)
        return
    apart = shapely.distance(shapes[i], shapes[j])
    for k in np.flatnonzero(apart < gap - FINE - LIMIT).tolist():
        what = f"pieces {i[k] + 1} and {j[k] + 1} are {apart[k]:.4f} mm apart instead of {gap:g}"
        record.fail("PROOF-016", what, float(apart[k]))


def _check_overlaps(shapes: NDArray[np.object_], i: Ints, j: Ints, record: Record) -> None:
    """Check that outlines that may touch do no more than that.

    What two of them share is a sliver, as wide on average as twice its area by its perimeter.
    """
    shared = shapely.intersection(shapely.make_valid(shapes[i]), shapely.make_valid(shapes[j]))
    round_about = np.maximum(shapely.length(shared), LIMIT)
    deep = 2.0 * shapely.area(shared) / round_about
    for k in np.flatnonzero(deep > CLOSE + 2.0 * FINE).tolist():
        what = f"pieces {i[k] + 1} and {j[k] + 1} overlap by {deep[k]:.4f} mm"
        record.fail("PROOF-016", what, float(deep[k]))


def check_whole(found: Table, sheet: Sheet, block: Block, kerf: float, record: Record) -> None:
    """Check the sheet of an assembled block: its finished size, and every edge on a cut, once.

    With a kerf (mm) the cuts round its outside must lie half of it farther out.
    """
    if [copy.label for copy in sheet.copies] != [piece.label for piece in block.pieces]:
        record.fail("PROOF-014", f"the sheet names {len(sheet.copies)} pieces instead of {len(block.pieces)}")
    purposes = [stroke.purpose for stroke in sheet.strokes]
    outer = np.array([purpose is Purpose.OUTER for purpose in purposes])
    rim = np.array([purpose in {Purpose.OUTER, Purpose.INNER} for purpose in purposes])
    seam = np.array([purpose is Purpose.SEAM for purpose in purposes])
    if not outer.any():
        record.fail("PROOF-014", "the block has no outside")
        return
    is_seam = (block.map.face_of[0::2] != OUTSIDE) & (block.map.face_of[1::2] != OUTSIDE)
    if kerf > 0.0:
        edges = _edges_placed(block, sheet.copies[0].placement)
        _check_edges(edges.take(is_seam), found.take(seam[found.path]), "seam", record)
        check_outside(found, sheet, block, kerf, record)
        return
    corner, turned = _check_size(found, sheet, block, (outer, rim), record)
    edges = _edges_on_sheet(block, sheet, corner, turned=turned)
    for kind, rows, cuts in (("seam", is_seam, seam), ("outside", ~is_seam, rim)):
        _check_edges(edges.take(rows), found.take(cuts[found.path]), kind, record)


def _check_size(
    found: Table, sheet: Sheet, block: Block, cuts: tuple[Bools, Bools], record: Record
) -> tuple[complex, bool]:
    """Check the size and area of the outside; return its box's lower left corner, and whether it is turned.

    `cuts` say which paths are outer ones, and which are outer or inner.
    """
    outer, rim = cuts
    box = path_boxes(found)[outer]
    left, low = box[:, :2].min(axis=0).tolist()
    right, high = box[:, 2:].max(axis=0).tolist()
    # How the block is turned on the sheet is no matter of size: the sheet's own word is taken for it.
    turned = bool(sheet.copies) and abs(sheet.copies[0].placement.b) > 0.5
    width, height = (block.height, block.width) if turned else (block.width, block.height)
    off = max(abs(right - left - width), abs(high - low - height))
    record.checked += 1
    record.measure(off)
    if off > LIMIT:
        size = f"{right - left:.5f} x {high - low:.5f} mm instead of {width:.5f} x {height:.5f}"
        record.fail("PROOF-010", f"the finished size is {size}", off)
    total = float(sum(piece.area for piece in block.pieces))
    whole = np.abs(areas(found))
    inside = float(whole[outer].sum() - whole[rim & ~outer].sum())
    round_about = float(lengths(found.take(rim[found.path])).sum())
    if abs(total - inside) > LIMIT * round_about:
        record.fail("PROOF-008", f"the outside holds {inside:.4f} mm2 instead of {total:.4f}", inside)
    return complex(left, low), turned


def _edges_placed(block: Block, placement: Similarity) -> Table:
    """Return the map's edges laid on the sheet by a placement."""
    points = block.map.points[:, 0] + 1j * block.map.points[:, 1]
    sweep = 4.0 * np.arctan(block.map.bulge)
    if placement.flipped:
        points, sweep = points.conj(), -sweep
    points = complex(placement.a, placement.b) * points + complex(placement.dx, placement.dy)
    count = block.map.edge_count
    return Table(points[block.map.start], points[block.map.end], sweep, np.arange(count), count)


def _edges_on_sheet(block: Block, sheet: Sheet, corner: complex, *, turned: bool) -> Table:
    """Return the map's edges where they must lie when its box's lower left corner is at `corner`."""
    points = block.map.points[:, 0] + 1j * block.map.points[:, 1]
    sweep = 4.0 * np.arctan(block.map.bulge)
    mirrored = sheet.facing is Facing.BACK
    if sheet.facing is Facing.EITHER and sheet.copies:
        mirrored = sheet.copies[0].placement.flipped
    if mirrored:
        points, sweep = block.width - points.conj(), -sweep
    if turned:
        points = 1j * points + block.height
    points = points + corner
    count = block.map.edge_count
    return Table(points[block.map.start], points[block.map.end], sweep, np.arange(count), count)


def _check_edges(edges: Table, cuts: Table, kind: str, record: Record) -> None:
    if len(edges.p) == 0 and len(cuts.p) == 0:
        return
    record.checked += len(edges.p)
    share = np.tile(SHARES, len(edges.p))
    row = np.repeat(np.arange(len(edges.p)), len(SHARES))
    points = point_at(edges.take(row), share)
    spot = np.stack((points.real, points.imag), axis=-1)
    i, j = box_pairs_between(np.concatenate((spot - LIMIT, spot + LIMIT), axis=-1), boxes(cuts))
    away = np.full(len(points), np.inf)
    np.minimum.at(away, i, distances(points[i], cuts.take(j)))
    reach = float(away[np.isfinite(away)].max(initial=0.0))
    record.measure(reach)
    for number in np.unique(row[away > LIMIT]).tolist():
        at = points[np.flatnonzero((row == number) & (away > LIMIT))[0]]
        record.fail("PROOF-015", f"an edge ({kind}) is not cut at {at.real:.3f}, {at.imag:.3f} mm")
    long_edges, long_cuts = float(lengths(edges).sum()), float(lengths(cuts).sum())
    if abs(long_edges - long_cuts) > LIMIT * max(len(edges.p), 1):
        what = f"cuts along the {kind} are {long_cuts:.4f} mm long together instead of {long_edges:.4f}"
        record.fail("PROOF-015", what, abs(long_edges - long_cuts))
