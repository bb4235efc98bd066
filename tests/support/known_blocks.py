"""Blocks with known answers, as loops of (x, y, bulge) in millimetres, y up: see maps.make_map.

Constructions are our own unless a function names a classic; each is written out beside its code.
"""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
from maps import loop, make_map

from convert.block.assemble import assemble
from convert.geometry.tolerance import Tolerances

INCH = 25.4


def turned(x, y, degrees):
    """Return the point turned about the origin."""
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return c * x - s * y, s * x + c * y


def moved(faces, *, turn=0.0, scale=1.0, mirror=False, dx=0.0, dy=0.0):
    """Return faces turned (degrees), scaled, mirrored and shifted."""

    def point(x, y, b):
        x = -x if mirror else x
        x, y = turned(scale * x, scale * y, turn)
        return x + dx, y + dy, -b if mirror else b

    return [
        [[point(*v) for v in r] for r in f] if isinstance(f[0], list) else [point(*v) for v in f]
        for f in faces
    ]


def started_elsewhere(faces, step):
    """Return faces whose loops start `step` vertices later."""
    return [f[step % len(f) :] + f[: step % len(f)] for f in faces]


def block_of(faces, *, shape=None, fabrics=None, tolerances=None):
    """Return the Block of some faces, as make_block would from their map."""
    planar = make_map(faces)
    # As make_block does: the side of the square whose diagonal is the drawing's diameter.
    apart = planar.points[:, None] - planar.points[None]
    used = tolerances or Tolerances.for_extent(float(np.sqrt((apart**2).sum(axis=2).max() / 2)))
    if shape is not None:
        used = Tolerances(used.same_point, used.gap, used.fit, shape)
    none = [None] * planar.face_count
    return assemble(planar, used, name="block", fabrics=fabrics or none, names=none, page_height=0.0)


def tangram(side=100.0):
    """Return the tangram, traditional: seven pieces in a square, areas in sixteenths 4, 4, 2, 2, 2, 1, 1."""
    u = side / 4
    faces = [
        [(0, 0), (4, 0), (2, 2)],
        [(0, 0), (2, 2), (0, 4)],
        [(4, 0), (4, 2), (3, 3), (3, 1)],
        [(2, 2), (3, 1), (3, 3)],
        [(2, 2), (3, 3), (2, 4), (1, 3)],
        [(4, 2), (4, 4), (2, 4)],
        [(2, 4), (0, 4), (1, 3)],
    ]
    return [loop([(u * x, u * y) for x, y in f]) for f in faces]


def eight_point_star(side=12 * INCH):
    """Return the star of eight 45-degree diamonds in a square: their side is S / (2 + sqrt 2)."""
    s = side / (2 + sqrt(2))
    a = [(s * cos(radians(45 * k)), s * sin(radians(45 * k))) for k in range(8)]

    def plus(p, q):
        return p[0] + q[0], p[1] + q[1]

    faces = []
    for k in range(8):
        p, q = a[k], a[(k + 1) % 8]
        faces.append([(0.0, 0.0), p, plus(p, q), q])
    for k in range(8):
        p, q, r = a[k - 1], a[k], a[(k + 1) % 8]
        tips = plus(p, q), plus(q, r)
        if k % 2:  # a corner square lies beyond every diagonal spoke
            faces.append([q, tips[1], plus(tips[1], p), tips[0]])
        else:
            faces.append([q, tips[1], tips[0]])
    return [loop(f) for f in faces]


def hexagon(cx, cy, s):
    """Return the corners of a hexagon with the side s and a corner to the right."""
    return [(cx + s * cos(radians(60 * k)), cy + s * sin(radians(60 * k))) for k in range(6)]


def hexagon_rosette(rings, s=INCH):
    """Return 1 + 3 n (n + 1) hexagons of side s."""
    steps = range(-rings, rings + 1)
    places = [(i, j) for i in steps for j in steps if abs(i + j) <= rings]
    return [loop(hexagon(1.5 * s * i, sqrt(3) * s * (j + i / 2), s)) for i, j in places]


def ring_of_seven(s=INCH):
    """Return seven hexagons and six 60-degree diamonds in the notches: a hexagon of side 3."""
    faces = [hexagon(0, 0, s)]
    for k in range(6):
        faces.append(hexagon(*turned(sqrt(3) * s, 0, 30 + 60 * k), s))
        rhomb = [(2, 0), (2.5, -sqrt(3) / 2), (3, 0), (2.5, sqrt(3) / 2)]
        faces.append([turned(s * x, s * y, 60 * k) for x, y in rhomb])
    return [loop(f) for f in faces]


def rhomb_rings(m, rings, s=1.5 * INCH):
    """Return rhombs round a point: ring r has m rhombs with the tip r × 360 / m degrees.

    m = 12 with two rings has 24 pieces, with all five a regular 12-gon of side 2 s and 60 pieces.
    """
    v = [(s * cos(2 * pi * k / m), s * sin(2 * pi * k / m)) for k in range(m)]

    def total(first, count):
        chosen = [v[(first + i) % m] for i in range(count)]
        return sum(p[0] for p in chosen), sum(p[1] for p in chosen)

    return [
        loop([total(k + 1, r - 1), total(k, r), total(k, r + 1), total(k + 1, r)])
        for r in range(1, rings + 1)
        for k in range(m)
    ]


def moth():
    """Return a moth in a square of 160 mm, mirrored in x = 80: nine pairs of straight pieces and a body."""
    p = {
        "A": (0, 0), "T": (80, 0), "h": (80, 30), "m": (46, 20), "u": (12, 30), "s": (30, 60), "b": (74, 70),
        "W": (0, 75), "l": (22, 105), "n": (58, 118), "t": (80, 130), "F": (0, 160), "B": (80, 160),
    }  # fmt: skip
    left = ["AThmu", "umbs", "mhb", "AusW", "sbl", "WslF", "lbn", "nbt", "FlntB"]
    faces = [[p[c] for c in f] for f in left]
    faces += [[(160 - x, y) for x, y in f] for f in faces]
    faces.append([(80, 30), (86, 70), (80, 130), (74, 70)])
    return [loop(f) for f in faces]


def bell():
    """Return five petals of two 45-degree arcs in a circle of 2 in, in a square with four diagonal seams."""
    r, c = 2 * INCH, 2.5 * INCH
    tips = [turned(r, 0, -90 + 72 * k) for k in range(5)]
    side, outer = tan(radians(45) / 4), tan(radians(72) / 4)
    faces = []
    for k in range(5):
        faces.append(loop([(0, 0), tips[k]], [side, side]))
        faces.append(loop([(0, 0), tips[k], tips[(k + 1) % 5]], [-side, outer, -side]))
    for k in range(4):
        low, high = turned(r, 0, -45 + 90 * k), turned(r, 0, 45 + 90 * k)
        far = turned(c, -c, 90 * k), turned(c, c, 90 * k)
        faces.append(loop([low, *far, high], [0, 0, 0, -tan(pi / 8)]))
    return moved(faces, dx=c, dy=c)


def clams():
    """Return rows of 3, 2 and 3 clamshells of radius 0.75 in: area 2 r², a cusp at the bottom of each."""
    r = 0.75 * INCH
    faces = []
    for j, count in enumerate((3, 2, 3)):
        for i in range(count):
            x, y = 2 * r * i + (r if j % 2 else 0), -r * j
            quarter = tan(pi / 8)
            faces.append(loop([(x - r, y), (x + r, y), (x, y - r)], [-1, quarter, quarter]))
    return faces


def turnstile(u=INCH):
    """Return four rectangles 2 by 4 turning round a square."""
    faces = [
        [(0, 0), (4, 0), (4, 2), (0, 2)],
        [(4, 0), (6, 0), (6, 4), (4, 4)],
        [(2, 4), (6, 4), (6, 6), (2, 6)],
        [(0, 2), (2, 2), (2, 6), (0, 6)],
        [(2, 2), (4, 2), (4, 4), (2, 4)],
    ]
    return [loop([(u * x, u * y) for x, y in f]) for f in faces]


def split_leaves(u=INCH):
    """Return four quadrants, each a leaf of two mirrored halves and a background of two."""
    leaf = [(0, 0), (2.2, 0.9), (2.7, 2.7)]
    ground = [(0, 0), (3, 0), (3, 3), (2.7, 2.7), (2.2, 0.9)]
    faces = []
    for k in range(4):
        for f in (leaf, ground):
            faces.append(loop([turned(u * x, u * y, 90 * k) for x, y in f]))
            faces.append(loop([turned(u * y, u * x, 90 * k) for x, y in f]))
    return faces


def lattice(u=INCH):
    """Return nine squares of side 2, the corner ones halved."""
    faces = []
    for i in range(3):
        for j in range(3):
            a, b, c, d = [(2 * i + x, 2 * j + y) for x, y in ((0, 0), (2, 0), (2, 2), (0, 2))]
            if i % 2 == 0 and j % 2 == 0:
                faces += [[a, b, d], [b, c, d]] if (i == j) else [[a, b, c], [a, c, d]]
            else:
                faces.append([a, b, c, d])
    return [loop([(u * x, u * y) for x, y in f]) for f in faces]


def sun():
    """Return a disc of radius 20 in four quarters of a diamond, with four corner triangles: 120 mm square."""
    faces = []
    for k in range(4):
        faces.append(loop([turned(x, y, 90 * k) for x, y in ((60, 60), (0, 60), (60, 0))]))
        quarter = [turned(x, y, 90 * k) for x, y in ((0, 20), (0, 60), (60, 0), (20, 0))]
        faces.append(loop(quarter, [0, 0, 0, tan(pi / 8)]))
    faces.append(loop([(20, 0), (0, 20), (-20, 0), (0, -20)], [tan(pi / 8)] * 4))
    return moved(faces, dx=60, dy=60)


def sun_stack():
    """Return a disc in a diamond in a square, each in a hole of the next: two can't be pieced."""
    disc = loop([(40, 60), (80, 60)], [1, 1])
    diamond = loop([(60, 10), (110, 60), (60, 110), (10, 60)])
    square = loop([(0, 0), (120, 0), (120, 120), (0, 120)])
    return [[square, diamond], [diamond, disc], disc]


def pinwheel_kite():
    """Return twelve triangles of 30, 60 and 90 degrees in a hexagon, six of them mirrored."""
    faces = []
    for k in range(6):
        for sign in (1, -1):
            points = ((0, 0), (60, 0), (45, sign * 15 * sqrt(3)))
            faces.append(loop([turned(x, y, 60 * k) for x, y in points]))
    return faces


def bloom(r=2 * INCH):
    """Return six petals of two 60-degree arcs in a circle: they fill the centre, so the webs end in cusps."""
    side = tan(radians(60) / 4)
    tips = [turned(r, 0, 60 * k) for k in range(6)]
    faces = []
    for k in range(6):
        faces.append(loop([(0, 0), tips[k]], [side, side]))
        faces.append(loop([(0, 0), tips[k], tips[(k + 1) % 6]], [-side, side, -side]))
    return faces


def nearly_equal_triangles():
    """Return triangles 60, 80, 100 mm: exact, mirrored, off by 0.05 and by 0.5 mm in a corner."""
    shapes = [
        [(0, 0), (80, 0), (0, 60)],
        [(180, 0), (180, 60), (100, 0)],
        [(0, 100), (80.05, 100), (0, 160)],
        [(100, 100), (180.5, 100), (100, 160)],
    ]
    return [loop(s) for s in shapes]


def drop(x=0.0, y=0.0, angle=0.0, *, cuts=1, hand=1):
    """Return one lopsided drop with a single corner, its arcs cut into `cuts` equal parts.

    From the tip an arc of 60 degrees and radius 30 goes to the foot, then arcs turn smoothly round to
    the tip again; only the first and the last meet in a corner.
    """
    arcs = [(30.0, 60.0), (12.0, 150.0), (45.0, 35.0)]
    points, bulges = [(0.0, 0.0)], []
    heading = 0.0
    px = py = 0.0
    for radius, sweep in arcs:
        for _ in range(cuts):
            part = radians(sweep / cuts)
            chord = 2 * radius * sin(part / 2)
            px += chord * cos(heading + part / 2)
            py += chord * sin(heading + part / 2)
            heading += part
            points.append((px, py))
            bulges.append(tan(part / 4))
    bulges.append(0.0)
    ring = loop(points, bulges)
    if hand < 0:
        ring = [(-p, q, -b) for p, q, b in ring]
    return moved([ring], turn=angle, dx=x, dy=y)[0]


ALL = {
    "tangram": tangram,
    "star": eight_point_star,
    "rosette": lambda: hexagon_rosette(1),
    "ring of seven": ring_of_seven,
    "twelve rhombs": lambda: rhomb_rings(12, 2),
    "moth": moth,
    "bell": bell,
    "clams": clams,
    "turnstile": turnstile,
    "split leaves": split_leaves,
    "lattice": lattice,
    "sun": sun,
    "pinwheel kite": pinwheel_kite,
    "bloom": bloom,
    "triangles": nearly_equal_triangles,
}
