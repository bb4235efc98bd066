"""Independent ways to know a parallel outline: fine chords with pyclipper, and distances by trigonometry.

Nothing here uses the package's geometry beyond the arrays of a chain.
"""

import numpy as np
import pyclipper
import shapely

SCALE = 1e6


def flat(chain, sagitta=1e-3):
    """Return the vertices of a closed chain with every arc cut into chords that stray by `sagitta` mm.

    Chords of a circle enclose sin(a) / a of its area, a being the angle of one: vertices between the
    ends of an arc are moved out to make up for it, so that areas agree far better than the sagitta.
    """
    p, b = chain.points, chain.bulge
    q = np.roll(p, -1, axis=0)
    out = []
    for a, c, bulge in zip(p, q, b, strict=True):
        if bulge == 0:
            out.append(a[None])
            continue
        half = np.hypot(*(c - a)) / 2
        sweep = 4 * np.arctan(bulge)
        radius = half / abs(np.sin(sweep / 2))
        steps = max(2, int(np.ceil(abs(sweep) / (2 * np.arccos(max(1 - sagitta / radius, 0))))))
        middle = (a + c) / 2 + np.array([-(c - a)[1], (c - a)[0]]) * (1 - bulge**2) / (4 * bulge)
        angle = np.arctan2(*(a - middle)[::-1]) + sweep * np.arange(steps) / steps
        step = abs(sweep) / steps
        longer = radius * np.sqrt(step / np.sin(step))
        arc = middle + longer * np.stack((np.cos(angle), np.sin(angle)), axis=1)
        arc[0] = a
        out.append(arc)
    return np.concatenate(out)


def polygon(chain, holes=(), sagitta=1e-3):
    """Return a region as a shapely polygon of fine chords."""
    return shapely.Polygon(flat(chain, sagitta), [flat(h, sagitta) for h in holes])


def grown(chain, holes, distance, sagitta=1e-3, arc_step=5e-4):
    """Return the region grown by `distance` mm with round corners, from pyclipper, as a shapely geometry."""
    machine = pyclipper.PyclipperOffset(2.0, arc_step * SCALE)
    rings = [shapely.LinearRing(flat(c, sagitta)) for c in (chain, *holes)]
    for k, ring in enumerate(rings):
        xy = np.asarray(ring.coords)[:-1]
        xy = xy if shapely.is_ccw(ring) == (k == 0) else xy[::-1]
        path = np.round(xy * SCALE).astype(np.int64).tolist()
        machine.AddPath(path, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    tree = machine.Execute2(distance * SCALE)
    shapes = []
    stack = list(tree.Childs)
    while stack:
        node = stack.pop()
        inner = [np.array(c.Contour) / SCALE for c in node.Childs if len(c.Contour) > 2]
        if len(node.Contour) > 2:
            shapes.append(shapely.Polygon(np.array(node.Contour) / SCALE, inner).buffer(0))
        for hole in node.Childs:
            stack.extend(hole.Childs)
    return shapely.union_all(shapes)


def is_right(shape, chain, holes, distance, slack=4e-3):
    """Tell whether every third vertex of an oracle's result is at the distance from the source's chords."""
    if shape.is_empty:
        return True
    edge = shapely.MultiLineString([shapely.LinearRing(flat(c)) for c in (chain, *holes)])
    points = shapely.points(shapely.get_coordinates(shape)[::3])
    return bool(np.abs(shapely.distance(points, edge) - abs(distance)).max() < slack)


def tangents(chain):
    """Return unit directions at the start and at the end of every segment, (n, 2) each."""
    way = np.roll(chain.points, -1, axis=0) - chain.points
    angle = np.arctan2(way[:, 1], way[:, 0])
    half = 2 * np.arctan(chain.bulge)
    return tuple(np.stack((np.cos(a), np.sin(a)), axis=1) for a in (angle - half, angle + half))


def corner_tips(chain, distance, reach):
    """Return what mitres, or square cuts at `reach`, add at the corners of a counter-clockwise outline."""
    leave, arrive = tangents(chain)
    tips = []
    for i in range(len(chain.points)):
        a, b, vertex = arrive[i - 1], leave[i], chain.points[i]
        turn = np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)
        if turn * distance <= 0 or abs(turn) < 1e-2:
            continue
        half = abs(turn) / 2
        first = vertex + distance * np.array([a[1], -a[0]])
        last = vertex + distance * np.array([b[1], -b[0]])
        full = abs(distance) * np.tan(half)
        if abs(distance) / np.cos(half) <= reach:
            ring = [vertex, first, first + a * full, last]
        else:
            part = (reach - abs(distance) * np.cos(half)) / np.sin(half)
            ring = [vertex, first, first + a * part, last - b * part, last]
        tips.append(shapely.Polygon(ring))
    return tips


def distances(points, chains):
    """Return the distance of every point (m, 2) from the nearest segment of the chains, m x n at once."""
    start = np.concatenate([c.points for c in chains])
    end = np.concatenate([np.roll(c.points, -1, axis=0) for c in chains])
    bulge = np.concatenate([c.bulge for c in chains])
    best = np.full(len(points), np.inf)
    for a, c, b in zip(start, end, bulge, strict=True):
        if (a == c).all():
            continue
        ends = np.minimum(np.hypot(*(points - a).T), np.hypot(*(points - c).T))
        if b == 0:
            way = c - a
            t = (points - a) @ way / (way @ way)
            off = np.abs(way[0] * (points - a)[:, 1] - way[1] * (points - a)[:, 0]) / np.hypot(*way)
            inside = (t > 0) & (t < 1)
        else:
            side = np.array([-(c - a)[1], (c - a)[0]])
            middle = (a + c) / 2 + side * (1 - b**2) / (4 * b)
            axis = (a + c) / 2 - side * b / 2 - middle
            away = points - middle
            off = np.abs(np.hypot(*away.T) - np.hypot(*axis))
            turn = np.arctan2(np.abs(axis[0] * away[:, 1] - axis[1] * away[:, 0]), away @ axis)
            inside = turn < 2 * np.arctan(abs(b))
        best = np.minimum(best, np.where(inside, off, ends))
    return best


def sampled(chain, per=7):
    """Return points on a closed chain, vertices first, (n * per, 2), by turning and shortening the chord."""
    p, q, b = chain.points, np.roll(chain.points, -1, axis=0), chain.bulge
    out = [p]
    for t in np.arange(1, per) / per:
        half = 2 * np.arctan(b)
        sine = np.where(half == 0, 1, np.sin(half))
        size = np.where(half == 0, t, np.sin(t * half) / sine)
        turn = -(1 - t) * half
        way = q - p
        out.append(
            p
            + size[:, None]
            * np.stack(
                (
                    way[:, 0] * np.cos(turn) - way[:, 1] * np.sin(turn),
                    way[:, 0] * np.sin(turn) + way[:, 1] * np.cos(turn),
                ),
                axis=1,
            )
        )
    return np.concatenate(out)
