"""Can it be pieced? What a maker should know before cutting, at one finished size.

English paper piecing folds cloth over every edge of every paper, so sharp points, narrow pieces,
short edges, inside corners and tight curves cost time or spoil the work. None of it stops a
conversion: each remark says where, the number that makes it so, and what helps.

The limits are suggestions; they stand in one record, and whoever has other habits passes another.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from typing import TYPE_CHECKING

import numpy as np

from convert.block.joins import Corners, corners_of, junctions_of, loops_of, stretches_of
from convert.block.labels import ranks
from convert.block.model import OUTSIDE
from convert.block.pieces import half_edge_table
from convert.errors import Finding, Place, Severity
from convert.geometry.measure import radius
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block, Ints
    from convert.geometry.chain import Floats

APART = 4
"""Up to so many equal remarks stand one by one, each with its place; more are told once."""

MOST = 24
"""Of one kind so many remarks are listed, the worst: a drawing of a thousand pieces stays readable."""

NEARLY_DEG = 0.05
NEARLY_SHARE = 0.01
"""Degrees, and share of a length, by which a limit may be missed: what meets it but for rounding is well."""


@dataclass(frozen=True, slots=True)
class Advice:
    """When to say something. *Units*: degrees and millimetres, at finished size.

    All values are suggestions: no published figure was found for the sharpest point or the least
    radius; a quarter inch of allowance and the remark that twelve points are hard to join are common
    practice.
    """

    remark_deg: float = 60.0
    sharp_deg: float = 45.0
    very_sharp_deg: float = 30.0
    too_sharp_deg: float = 18.0
    cusp_deg: float = 3.0
    straight_deg: float = 1.0
    hard_points: int = 10
    too_many_points: int = 16
    short_edge: float = MM_PER_INCH / 2
    very_short_edge: float = MM_PER_INCH / 4
    faulty_edge: float = MM_PER_INCH / 16
    narrow: float = MM_PER_INCH * 3 / 8
    inward_radius: float = MM_PER_INCH
    outward_radius: float = MM_PER_INCH * 3 / 4
    allowance: float = MM_PER_INCH / 4


def check(block: Block, advice: Advice | None = None) -> tuple[Finding, ...]:
    """Return what a maker should know about a block at its present size, worst kinds first."""
    report = _Report(block, advice or Advice())
    kinds = (
        report.holes(),
        report.cusps(),
        report.points(),
        report.sharp_corners(),
        report.inside_corners(),
        report.narrow_pieces(),
        report.short_edges(),
        report.tight_curves(),
        report.partial_seams(),
        report.t_junctions(),
    )
    return tuple(f for kind in kinds for f in _bounded(kind))


def _ascending(found: list[Finding]) -> list[Finding]:
    """Return findings by their value; equal but for rounding, they keep their order."""
    return sorted(found, key=lambda f: round(f.value or 0.0, 3))


def _bounded(found: list[Finding]) -> list[Finding]:
    """Return the first MOST findings of one kind, and one that tells how many more there are."""
    if len(found) <= MOST:
        return found
    last = found[-1]
    more = Finding(last.code, last.severity, f"{len(found) - MOST} more places like these", value=last.value)
    return [*found[:MOST], more]


class _Report:
    """The tables that several checks share, made once for one block."""

    def __init__(self, block: Block, advice: Advice) -> None:
        self.block = block
        self.advice = advice
        self.map = block.map
        self.corners: Corners = corners_of(block.map)
        self.degrees: Floats = np.degrees(self.corners.angle)
        piece_of = np.full(block.map.face_count + 1, -1)
        piece_of[[p.face for p in block.pieces]] = np.arange(len(block.pieces))
        # The last entry serves OUTSIDE (-1).
        self.piece: Ints = piece_of[block.map.face_of]
        template = np.array([*(p.template for p in block.pieces), -1])
        self.template: Ints = template[self.piece]
        self.is_piece = block.map.face_of != OUTSIDE
        for p in block.pieces:
            # The inside of a hole is told with the hole.
            self.is_piece[list(p.half_edges[len(p.outline) :])] = False
        self.junctions = junctions_of(block.map, self.corners, radians(advice.straight_deg))

    def finding(
        self, code: str, severity: Severity, what: str, advice: str, vertex: int, value: float
    ) -> Finding:
        x, y = self.map.points[vertex].tolist()
        place = Place(at=self.block.on_page(x, y))
        return Finding(code, severity, what, advice, place, value)

    def groups(self, rows: Ints, value: Floats, tolerance: float, apart: int = APART) -> list[list[int]]:
        """Return half-edges by template and by about one value: one group for each remark."""
        found: list[list[int]] = []
        for template in np.unique(self.template[rows]).tolist():
            own = rows[self.template[rows] == template]
            rank = ranks(value[own], tolerance)
            for r in range(int(rank.max(initial=-1)) + 1):
                members = sorted(own[rank == r].tolist(), key=self.number)
                found += [[h] for h in members] if len(members) <= apart else [members]
        return found

    def number(self, half: int) -> tuple[int, int]:
        """Return the place of a half-edge's piece in the block's order, then the half-edge: for sorting."""
        return int(self.piece[half]), half

    def name(self, halves: Sequence[int]) -> str:
        """Return the pieces that some half-edges bound and a verb, such as "Piece B3 has"."""
        labels = list(dict.fromkeys(self.block.pieces[int(self.piece[h])].label for h in halves))
        if len(labels) == 1:
            return f"Piece {labels[0]} has"
        return f"{len(labels)} pieces ({', '.join(labels[:3])}{' …' if len(labels) > 3 else ''}) have"

    def holes(self) -> list[Finding]:
        """Find pieces with holes: they can't be pieced."""
        found = []
        for p in self.block.pieces:
            if p.holes:
                many = "a hole" if len(p.holes) == 1 else f"{len(p.holes)} holes"
                place = Place(at=self.block.on_page(*p.at))
                found.append(
                    Finding(
                        "BLOCK-050",
                        Severity.WARNING,
                        f"Piece {p.label} has {many} in it, so it can't be pieced",
                        "Split it by a seam from the hole to its edge, or sew what lies in the hole on top",
                        place,
                        float(len(p.holes)),
                    )
                )
        return found

    def cusps(self) -> list[Finding]:
        """Find points that narrow to nothing: they can't be basted; a clamshell's lies hidden."""
        rows = np.flatnonzero(self.is_piece & (self.degrees < self.advice.cusp_deg))
        together = np.bincount(self.corners.vertex[rows], minlength=len(self.map.points))
        _, table = half_edge_table(self.map)
        found = []
        for halves in self.groups(rows, self.degrees, self.advice.cusp_deg):
            h = halves[0]
            vertex = int(self.corners.vertex[h])
            many = int(together[vertex])
            # Both sides curve into the piece: it lies beside two outward curves, as a clamshell does.
            hollow = table.bulge[h] < 0 and table.bulge[int(self.corners.before[h])] < 0
            value = float(self.degrees[h])
            what = f"{self.name(halves)} a point of {value:.1f} degrees"
            if hollow and many == 1:
                found.append(
                    self.finding(
                        "BLOCK-052",
                        Severity.NOTE,
                        f"{what} between two inward curves, like a clamshell",
                        "Leave the lower curves raw and lap the next row over them: only the outward curve"
                        " is turned and basted",
                        vertex,
                        value,
                    )
                )
                continue
            if many > 2:
                help_it = "Narrow the petals so that the points between them open, or add a centre circle"
            else:
                help_it = "Open the angle between its two sides, or sew the piece on top of its neighbours"
            found.append(
                self.finding(
                    "BLOCK-051", Severity.WARNING, f"{what}: it can't be basted", help_it, vertex, value
                )
            )
        return found

    def points(self) -> list[Finding]:
        """Find where many points meet, which is bulky and leaves a hole."""
        is_point = self.is_piece & (self.degrees < 180.0 - self.advice.straight_deg)
        count = np.bincount(self.corners.vertex[is_point], minlength=len(self.map.points))
        found = []
        for many in sorted(set(count[count >= self.advice.hard_points].tolist()), reverse=True):
            vertices = np.flatnonzero(count == many).tolist()
            if many >= self.advice.too_many_points:
                help_it = "Replace the meeting point by a centre circle, sewn on top"
            else:
                help_it = "Turn all tails the same way round, or add a centre circle"
            for v in vertices if len(vertices) <= APART else vertices[:1]:
                also = "" if len(vertices) <= APART else f", and in {len(vertices) - 1} more places"
                found.append(
                    self.finding(
                        "BLOCK-053",
                        Severity.WARNING,
                        f"{many} points meet in one place{also}",
                        help_it,
                        v,
                        many,
                    )
                )
        return found

    def sharp_corners(self) -> list[Finding]:
        """Find sharp corners; cusps are told apart."""
        low, high = self.advice.cusp_deg, self.advice.sharp_deg - NEARLY_DEG
        sharp = self.is_piece & (self.degrees >= low) & (self.degrees < self.advice.remark_deg - NEARLY_DEG)
        mild = sharp & (self.degrees >= high)
        found = []
        groups = self.groups(np.flatnonzero(sharp & ~mild), self.degrees, 0.05)
        # Points that need no more than a word are told once for each template.
        for halves in groups + self.groups(np.flatnonzero(mild), self.degrees, 0.05, apart=0):
            value = float(self.degrees[halves[0]])
            vertex = int(self.corners.vertex[halves[0]])
            how, help_it = self.sharpness(value, vertex)
            severity = Severity.NOTE if value >= high else Severity.WARNING
            what = f"{self.name(halves)} a corner of {value:.1f} degrees: {how}"
            found.append(self.finding("BLOCK-054", severity, what, help_it, vertex, value))
        return _ascending(found)

    def sharpness(self, value: float, vertex: int) -> tuple[str, str]:
        """Return in words how sharp a corner is, and what helps."""
        if value < self.advice.too_sharp_deg - NEARLY_DEG:
            return "far too sharp", "Redraw it wider if you can: such a point rarely survives basting"
        if value <= self.advice.very_sharp_deg + NEARLY_DEG:
            crowded = self.corners.degree[vertex] >= self.advice.hard_points
            other = "add a centre circle" if crowded else "redraw it wider"
            return "very sharp", f"Use stiff card and blunt the cloth beyond the point, or {other}"
        if value < self.advice.sharp_deg - NEARLY_DEG:
            return "sharp", "Use stiff card and blunt the cloth beyond the point"
        return "rather sharp", "Card holds the point better than paper"

    def inside_corners(self) -> list[Finding]:
        """Find corners over 180 degrees, where the allowance has to be snipped to the paper."""
        inside = self.is_piece & (self.degrees > 180.0 + self.advice.straight_deg)
        found = []
        for halves in self.groups(np.flatnonzero(inside), self.degrees, 0.05):
            value = float(self.degrees[halves[0]])
            found.append(
                self.finding(
                    "BLOCK-055",
                    Severity.WARNING,
                    f"{self.name(halves)} an inside corner of {value:.1f} degrees",
                    "Add a seam from that corner, going on along one of its sides or halving the angle",
                    int(self.corners.vertex[halves[0]]),
                    value,
                )
            )
        return sorted(found, key=lambda f: -round(f.value or 0.0, 3))

    def narrow_pieces(self) -> list[Finding]:
        """Find templates whose largest inner circle is small: the folded allowances meet on the back."""
        found = []
        for number, t in enumerate(self.block.templates):
            width = 2 * t.clearance
            if width >= self.advice.narrow * (1 - NEARLY_SHARE):
                continue
            p = next(p for p in self.block.pieces if p.template == number)
            many = t.count + t.reversed_count
            who = f"Piece {p.label} is" if many == 1 else f"{many} pieces {t.label} are"
            found.append(
                Finding(
                    "BLOCK-056",
                    Severity.WARNING,
                    f"{who} only {width:.1f} mm wide at the widest place",
                    "Cut the allowance narrower, make the block larger, or join it to a neighbour",
                    Place(at=self.block.on_page(*p.at)),
                    width,
                )
            )
        return _ascending(found)

    def short_edges(self) -> list[Finding]:
        """Find stretches that are short to fold and sew, equal ones together."""
        a = self.advice
        number, length = stretches_of(self.map, self.corners, radians(a.straight_deg))
        first = np.full(len(length), -1)
        first[number[::-1]] = np.arange(len(number))[::-1]
        short = np.flatnonzero(length < a.short_edge * (1 - NEARLY_SHARE))
        rank = ranks(length[short], 0.01)
        found = []
        for r in range(int(rank.max(initial=-1)) + 1):
            group = short[rank == r].tolist()
            value = float(length[group[0]])
            if value < a.faulty_edge:
                how, help_it = "almost surely a slip of the drawing", "Join its two ends in the drawing"
            elif value < a.very_short_edge:
                how, help_it = "very short to fold and sew", "Move one of its ends, or make the block larger"
            else:
                how, help_it = "short to fold and sew", "Take care there, or make the block larger"
            for e in group if len(group) <= APART else group[:1]:
                who = "An edge is" if len(group) <= APART else f"{len(group)} edges are"
                edge = int(first[e])
                middle = (self.map.points[self.map.start[edge]] + self.map.points[self.map.end[edge]]) / 2
                place = Place(at=self.block.on_page(*middle.tolist()))
                what = f"{who} {value:.2f} mm long: {how}"
                found.append(Finding("BLOCK-057", Severity.WARNING, what, help_it, place, value))
        return found

    def tight_curves(self) -> list[Finding]:
        """Find each template's tightest inward and tightest outward curve, if too tight."""
        a = self.advice
        _, table = half_edge_table(self.map)
        size = radius(table)
        found = []
        for inward in (True, False):
            limit = a.inward_radius if inward else a.outward_radius
            curved = self.is_piece & ((table.bulge < 0) if inward else (table.bulge > 0))
            rows = np.flatnonzero(curved & (size < limit * (1 - NEARLY_SHARE)))
            for template in np.unique(self.template[rows]).tolist():
                own = rows[self.template[rows] == template]
                value = float(size[own].min())
                halves = sorted(own[size[own] <= value * 1.001].tolist(), key=self.number)
                way = "inward" if inward else "outward"
                if inward and value <= a.allowance:
                    how = f": not more than the allowance of {a.allowance:.2f} mm"
                    help_it = "Redraw it wider, or sew the piece that fills it on top"
                elif inward:
                    how, help_it = "", "Clip the allowance closely and mark the middle, or redraw it wider"
                else:
                    how, help_it = "", "Ease the allowance with small running stitches, and mark the middle"
                found.append(
                    self.finding(
                        "BLOCK-058",
                        Severity.WARNING,
                        f"{self.name(halves)} an {way} curve of {value:.1f} mm radius{how}",
                        help_it,
                        int(self.corners.vertex[halves[0]]),
                        value,
                    )
                )
        return found

    def t_junctions(self) -> list[Finding]:
        """Tell where a seam ends on the side of a piece: the bar needs a mark, the stem is sewn first."""
        label = {p.face: p.label for p in self.block.pieces}
        return [
            self.finding(
                "BLOCK-059",
                Severity.NOTE,
                f"A seam ends on the side of piece {label[j.bar]}",
                "Mark the place on that side, and sew the seam that ends there first",
                j.vertex,
                float(len(j.stems)),
            )
            for j in self.junctions
        ]

    def partial_seams(self) -> list[Finding]:
        """Find seams that wait for each other in a circle."""
        found = []
        for loop in loops_of(self.junctions):
            n = loop.partial_seams
            one = "one partial seam" if n == 1 else f"{n} partial seams"
            found.append(
                self.finding(
                    "BLOCK-060",
                    Severity.NOTE,
                    f"{len(loop.junctions)} seams wait for each other in a circle: {one} needed",
                    "Sew one of them part-way, go round, and finish it last",
                    loop.junctions[0].vertex,
                    float(n),
                )
            )
        return found
