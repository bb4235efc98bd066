"""Planar maps made by hand for tests, from the outlines of their faces.

It shares no code with the arrangement: every face is given as loops of vertices, vertices with the
same coordinates (to 1e-7) are one, and an edge is split where another face's vertex lies on it.
"""

from __future__ import annotations

from itertools import pairwise
from math import atan, atan2, hypot, pi, sin, tan

import numpy as np

from convert.block.model import OUTSIDE, PlanarMap

SAME = 1e-7


def loop(points, bulges=None):
    """Return a loop as [(x, y, bulge to the next vertex)]."""
    bulges = [0.0] * len(points) if bulges is None else bulges
    return [(float(x), float(y), float(b)) for (x, y), b in zip(points, bulges, strict=True)]


def area(ring):
    """Return the signed area of a loop, arcs included (shoelace plus circular segments)."""
    total = 0.0
    for (x1, y1, b), (x2, y2, _) in zip(ring, ring[1:] + ring[:1], strict=True):
        total += (x1 * y2 - x2 * y1) / 2
        if b:
            sweep = 4 * atan(b)
            radius = hypot(x2 - x1, y2 - y1) / 2 / sin(abs(sweep) / 2)
            total += radius**2 * (sweep - sin(sweep)) / 2
    return total


def backwards(ring):
    """Return the loop walked the other way."""
    return [
        (x, y, -b)
        for (x, y, _), b in zip(ring[::-1], [r[2] for r in ring[::-1][1:] + ring[::-1][:1]], strict=True)
    ]


def make_map(faces):
    """Return the PlanarMap of `faces`: each a loop, or a list of an outer loop and holes."""
    faces = [f if isinstance(f[0], list) else [f] for f in faces]
    faces = [[_turned(r, clockwise=i > 0) for i, r in enumerate(f)] for f in faces]
    points, number = [], {}

    def vertex(x, y):
        key = (round(x / SAME), round(y / SAME))
        for i in (-1, 0, 1):
            for j in (-1, 0, 1):
                if (key[0] + i, key[1] + j) in number:
                    return number[key[0] + i, key[1] + j]
        number[key] = len(points)
        points.append((x, y))
        return number[key]

    rings = [(n, [(vertex(x, y), b) for x, y, b in r]) for n, f in enumerate(faces) for r in f]
    edges, start, end, bulge, next_half, face_of = {}, [], [], [], {}, {}
    for n, ring in rings:
        sides = zip(ring, ring[1:] + ring[:1], strict=True)
        halves = []
        for u, v, part in [p for (i, b), (j, _) in sides for p in _split(i, j, b, points)]:
            kind = round(part, 6)
            if (v, u, -kind) in edges:
                half = 2 * edges[v, u, -kind] + 1
            else:
                edges[u, v, kind] = len(start)
                half = 2 * len(start)
                start.append(u)
                end.append(v)
                bulge.append(part)
            assert half not in face_of, "two faces overlap"
            face_of[half] = n
            halves.append(half)
        next_half.update(zip(halves, halves[1:] + halves[:1], strict=True))
    outside = [h for h in range(2 * len(start)) if h not in face_of]
    face_of.update(dict.fromkeys(outside, OUTSIDE))
    leaving = {}
    for h in outside:
        leaving.setdefault(_ends(h, start, end)[0], []).append(h)
    for h in outside:
        v = _ends(h, start, end)[1]
        back = _direction(h ^ 1, start, end, bulge, points)
        next_half[h] = min(
            leaving[v], key=lambda g: (back - _direction(g, start, end, bulge, points) - 1e-9) % (2 * pi)
        )
    count = 2 * len(start)
    return PlanarMap(
        np.array(points, float).reshape(-1, 2),
        np.array(start, np.int64),
        np.array(end, np.int64),
        np.array(bulge, float),
        np.array([next_half[h] for h in range(count)], np.int64),
        np.array([face_of[h] for h in range(count)], np.int64),
        np.zeros(len(start) + 1, np.int64),
        np.zeros(0, np.int64),
    )


def _turned(ring, *, clockwise):
    return backwards(ring) if (area(ring) < 0) != clockwise else ring


def _ends(h, start, end):
    return (start[h // 2], end[h // 2]) if h % 2 == 0 else (end[h // 2], start[h // 2])


def _direction(h, start, end, bulge, points):
    u, v = _ends(h, start, end)
    b = bulge[h // 2] * (1 if h % 2 == 0 else -1)
    return atan2(points[v][1] - points[u][1], points[v][0] - points[u][0]) - 2 * atan(b)


def _split(u, v, b, points):
    """Yield (from, to, bulge) for the parts of an edge between the vertices that lie on it."""
    (ax, ay), (bx, by) = points[u], points[v]
    found = []
    sweep = 4 * atan(b)
    chord = hypot(bx - ax, by - ay)
    if b:
        radius = chord / 2 / sin(abs(sweep) / 2)
        height = chord / 4 * (1 / b - b)
        cx = (ax + bx) / 2 - height * (by - ay) / chord
        cy = (ay + by) / 2 + height * (bx - ax) / chord
    for w, (x, y) in enumerate(points):
        if w in {u, v}:
            continue
        if not b:
            t = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / chord**2
            off = abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / chord
        else:
            off = abs(hypot(x - cx, y - cy) - radius)
            turned = atan2(y - cy, x - cx) - atan2(ay - cy, ax - cx)
            t = (turned * (1 if b > 0 else -1) % (2 * pi)) / abs(sweep)
        if off < SAME * 10 and 1e-9 < t < 1 - 1e-9:
            found.append((t, w))
    stops = [(0.0, u), *sorted(found), (1.0, v)]
    for (t1, p), (t2, q) in pairwise(stops):
        yield p, q, (tan(sweep * (t2 - t1) / 4) if b else 0.0)
