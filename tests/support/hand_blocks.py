"""Blocks put together by hand: vertices, and the outline of each piece over them.

Nothing of the reader or the normaliser is used, so that cutting, writers and proof are tested alone.
"""

import cmath
from functools import cache
from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import shapely

from convert.block.model import OUTSIDE, Block, Piece, PlanarMap, Template
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity


def _length(chord, bulge):
    sweep = 4 * np.arctan(abs(bulge))
    return chord if bulge == 0 else chord * (sweep / 2) / sin(sweep / 2)


def _area(points, bulge):
    total = 0.0
    for p, q, b in zip(points, np.roll(points, -1, axis=0), bulge, strict=True):
        total += 0.5 * (p[0] * q[1] - q[0] * p[1])
        chord = np.hypot(*(q - p))
        if b:
            sweep = 4 * np.arctan(b)
            radius = chord / 2 / abs(sin(sweep / 2))
            total += 0.5 * radius**2 * (sweep - sin(sweep))
    return float(total)


def _tangents(p, q, b):
    way = complex(*(q - p))
    half = 2 * np.arctan(b)
    return way * cmath.exp(-1j * half), way * cmath.exp(1j * half)


def _corners(points, bulge):
    ways = [_tangents(p, q, b) for p, q, b in zip(points, np.roll(points, -1, axis=0), bulge, strict=True)]
    return [pi - cmath.phase(ways[i][0] / ways[i - 1][1]) for i in range(len(points))]


def _deepest(points, bulge):
    ring = []
    for p, q, b in zip(points, np.roll(points, -1, axis=0), bulge, strict=True):
        start, way = complex(*p), complex(*(q - p))
        steps = np.arange(64 if b else 1) / 64
        half = 2 * np.arctan(b)
        ring.extend(
            start + way * (np.sin(steps * half) / sin(half) * np.exp(1j * half * (steps - 1)) if b else steps)
        )
    line = shapely.maximum_inscribed_circle(shapely.Polygon([(z.real, z.imag) for z in ring]))
    return tuple(shapely.get_coordinates(line)[0].tolist()), float(line.length)


def _lay(template, outline):
    """Return (placement, misfit) of the best fit over every start vertex, or None."""
    n = len(template.points)
    if len(outline.points) != n:
        return None
    best = None
    for flipped in (False, True):
        image = Similarity(flipped=flipped).outline(template)
        a = image.points[:, 0] + 1j * image.points[:, 1]
        z = outline.points[:, 0] + 1j * outline.points[:, 1]
        for k in range(n):
            w, b = np.roll(z, -k), np.roll(outline.bulge, -k)
            if np.abs(b - image.bulge).max() > 1e-6:
                continue
            turn = np.vdot(a - a.mean(), w - w.mean())
            turn /= abs(turn)
            shift = w.mean() - turn * a.mean()
            misfit = float(np.abs(turn * a + shift - w).max())
            if misfit < 1e-6 and best is None:
                best = (Similarity(turn.real, turn.imag, shift.real, shift.imag, flipped), misfit)
    return best


def _reach(points, start, end, bulge):
    """Return the vertices and, of every arc, points half a degree apart or nearer."""
    reach = list(points)
    for s, e, b in zip(start, end, bulge, strict=True):
        if b:
            first, way = complex(*points[s]), complex(*(points[e] - points[s]))
            steps, half = np.linspace(0, 1, 721), 2 * np.arctan(b)
            arc = first + way * np.sin(steps * half) / sin(half) * np.exp(1j * half * (steps - 1))
            reach.extend(np.column_stack((arc.real, arc.imag)))
    return np.asarray(reach)


def _outside(points, start, end, bulge, next_half, face_of):
    """Link the half-edges that no piece has on its left, and return the rings they make, turned round."""
    count = 2 * len(start)
    tails = [(end if h % 2 else start)[h // 2] for h in range(count)]
    free = [h for h in range(count) if next_half[h] < 0]
    before = {int(after): h for h, after in enumerate(next_half) if after >= 0}
    for h in free:  # walk round the head vertex through the pieces to the next free half-edge
        k = h ^ 1
        while face_of[k] >= 0:
            k = before[k] ^ 1
        next_half[h] = k
    rings, seen = [], set()
    for h in free:
        ring = []
        while h not in seen:
            seen.add(h)
            ring.append(h)
            h = int(next_half[h])  # noqa: PLW2901
        if ring:
            back = [r ^ 1 for r in reversed(ring)]
            bulges = [-bulge[r // 2] if r % 2 else bulge[r // 2] for r in back]
            rings.append(Chain(points[[tails[r] for r in back]], bulges))
    return rings


def hand_block(name, points, outlines, *, own_mirror=False, fabric="#e8c070"):
    """Build a Block from `points` (n, 2) and, for each piece, a counter-clockwise list of (vertex, bulge)."""
    points = np.asarray(points, dtype=float)
    low = points.min(axis=0)
    start, end, bulge, half_of = [], [], [], {}
    for outline in outlines:
        for i, (v, b) in enumerate(outline):
            w = outline[(i + 1) % len(outline)][0]
            if (w, v, -b) in half_of:
                half_of[v, w, b] = half_of[w, v, -b] + 1
            else:
                half_of[v, w, b] = 2 * len(start)
                start.append(v), end.append(w), bulge.append(b)
    reach = _reach(points, start, end, bulge)
    low, high = reach.min(axis=0), reach.max(axis=0)
    points = points - low
    face_of = np.full(2 * len(start), OUTSIDE)
    next_half = np.full(2 * len(start), -1)
    chains, halves = [], []
    for f, outline in enumerate(outlines):
        n = len(outline)
        ids = [half_of[outline[i][0], outline[(i + 1) % n][0], outline[i][1]] for i in range(n)]
        face_of[ids] = f
        next_half[ids] = np.roll(ids, -1)
        halves.append(tuple(ids))
        chains.append(Chain(points[[v for v, _ in outline]], [b for _, b in outline]))
    outside = _outside(points, start, end, bulge, next_half, face_of)

    templates, members = [], []
    for f, chain in enumerate(chains):
        for t, shape in enumerate(templates):
            if fit := _lay(shape, chain):
                members.append((f, t, *fit))
                break
        else:
            members.append((f, len(templates), Similarity(), 0.0))
            templates.append(chain)
    order = sorted(
        range(len(templates)), key=lambda t: -round(_area(templates[t].points, templates[t].bulge), 6)
    )
    rank = {t: i for i, t in enumerate(order)}
    letters = [("" if i < 26 else chr(64 + i // 26)) + chr(65 + i % 26) for i in range(len(order))]
    numbers = dict.fromkeys(letters, 0)
    pieces = []
    for f, t, placement, misfit in members:
        letter = letters[rank[t]]
        numbers[letter] += 1
        chain = chains[f]
        middle = chain.points.mean(axis=0)
        pieces.append(
            Piece(f"{letter}{numbers[letter]}", f, rank[t], placement.flipped, placement, misfit, chain, (),
                  halves[f], fabric, None, tuple(middle.tolist()), _area(chain.points, chain.bulge))
        )  # fmt: skip
    made = []
    for i, t in enumerate(order):
        shape = templates[t]
        uses = [p.reversed for p in pieces if p.template == i]
        chord = np.hypot(*(np.roll(shape.points, -1, axis=0) - shape.points).T)
        mirror = Similarity(flipped=True).outline(shape)
        fit = _lay(shape, mirror)
        made.append(
            Template(letters[i], shape, (), uses.count(False), uses.count(True),
                     fit is not None and not fit[0].flipped, np.array(_corners(shape.points, shape.bulge)),
                     _area(shape.points, shape.bulge),
                     sum(_length(c, b) for c, b in zip(chord, shape.bulge, strict=True)),
                     *_deepest(shape.points, shape.bulge))
        )  # fmt: skip
    table = PlanarMap(
        points, np.array(start), np.array(end), np.array(bulge, dtype=float), next_half, face_of,
        np.arange(len(start) + 1), np.arange(len(start)),
    )  # fmt: skip
    width, height = (float(v) for v in high - low)
    return Block(
        name, table, tuple(pieces), tuple(made), tuple(outside), width, height, (0.0, 0.0), own_mirror, (), ()
    )


def kite_pair(edge=50.0):
    """Make a square with a triangle on top and a scalene triangle, and its mirror image, at its sides."""
    e = edge
    points = [(0, 0), (e, 0), (e, e), (0, e), (1.5 * e, 0.3 * e), (-0.5 * e, 0.3 * e), (0.5 * e, 1.7 * e)]
    outlines = [
        [(0, 0), (1, 0), (2, 0), (3, 0)],
        [(1, 0), (4, 0), (2, 0)],
        [(0, 0), (3, 0), (5, 0)],
        [(3, 0), (2, 0), (6, 0)],
    ]
    return hand_block("kite pair", points, outlines, own_mirror=True)


def compass_flower(radius=60.0):
    """Make six petals of 60-degree arcs in a ring of six webs, which have a 0-degree cusp at the middle."""
    points = [(0.0, 0.0)] + [(radius * cos(radians(60 * k)), radius * sin(radians(60 * k))) for k in range(6)]
    b = tan(radians(60) / 4)
    outlines = []
    for k in range(6):
        here, after = 1 + k, 1 + (k + 1) % 6
        outlines.append([(0, b), (here, b)])
        outlines.append([(0, -b), (here, b), (after, -b)])
    return hand_block("compass flower", points, outlines, own_mirror=True)


def pinwheel(edge=40.0):
    """Make a chiral block: four quadrilaterals turned round the middle, with curved seams between them."""
    points = [(0.0, 0.0)]
    for k in range(4):
        a = radians(90 * k)
        points.append((edge * cos(a), edge * sin(a)))
        points.append((edge * sqrt(2) * cos(a + radians(45)), edge * sqrt(2) * sin(a + radians(45))))
    outlines = [[(0, 0.3), (1 + 2 * k, 0), (2 + 2 * k, 0), (1 + 2 * ((k + 1) % 4), -0.3)] for k in range(4)]
    return hand_block("pinwheel", points, outlines)


def one_circle(radius=20.0):
    """Make a single round piece of two half circles."""
    return hand_block("one circle", [(-radius, 0), (radius, 0)], [[(0, 1.0), (1, 1.0)]], own_mirror=True)


@cache
def shifted_grid(columns=10, rows=6, step=25.0):
    """Make quadrilaterals of many shapes: a grid with its inner vertices shifted by a fixed rule."""
    points = []
    for j in range(rows + 1):
        for i in range(columns + 1):
            inner = 0 < i < columns and 0 < j < rows
            dx = step * 0.22 * sin(1.7 * i + 2.9 * j) if inner else 0.0
            dy = step * 0.22 * cos(2.3 * i - 1.1 * j) if inner else 0.0
            points.append((i * step + dx, j * step + dy))
    bend = lambda i, j: 0.15 if (i + j) % 3 == 0 else 0.0  # noqa: E731
    outlines = []
    for j in range(rows):
        for i in range(columns):
            a = j * (columns + 1) + i
            low = bend(i, j) if j > 0 else 0.0
            high = -bend(i, j + 1) if j + 1 < rows else 0.0
            outlines.append([(a, low), (a + 1, 0.0), (a + columns + 2, high), (a + columns + 1, 0.0)])
    return hand_block("shifted grid", points, outlines)


ALL = (kite_pair, compass_flower, pinwheel, one_circle, shifted_grid)
