"""The engine through our wrapper against the bare engine, on irregular instances of our own.

Published irregular instances are not to hand here, so these are made: jigsaws, which fill a rectangle
without waste by construction (as some published ones do), and a mixture of dented and curved shapes. The bare
engine packs a strip; our wrapper must fit the same shapes into a rectangle at most 1 % longer, for half as
much work again.
"""

import json
import subprocess
import sys

import numpy as np
import pytest
import shapely
from nest_shapes import SHAPES, polygon
from shapely import affinity
from shapely.ops import split

from convert.cutting.nest.accept import Judge
from convert.cutting.nest.engine import Limits, pack
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import kinds_of
from convert.geometry.edit import flatten

WORK, HEIGHT = 60, 200.0


def jigsaw(seed, cuts):
    """Return the pieces of a square of side HEIGHT cut by so many random lines, as outlines."""
    rng = np.random.default_rng(seed)
    pieces = [shapely.box(0, 0, HEIGHT, HEIGHT)]
    for _ in range(cuts):
        largest = max(range(len(pieces)), key=lambda n: pieces[n].area)
        whole = pieces.pop(largest)
        middle = np.array(whole.centroid.coords[0]) + rng.uniform(-8, 8, 2)
        angle = rng.uniform(0, np.pi)
        way = 1e3 * np.array([np.cos(angle), np.sin(angle)])
        line = shapely.LineString([middle - way, middle + way])
        pieces += list(split(whole, line).geoms)
    return [
        polygon(shapely.get_coordinates(affinity.translate(shapely.orient_polygons(piece), 5.0, -3.0))[:-1])
        for piece in pieces
    ]


INSTANCES = {
    "jigsaw of 12": (jigsaw(1, 11), 1, 0.0),
    "jigsaw of 20": (jigsaw(2, 19), 1, 0.0),
    "dented and curved": ([SHAPES[name] for name in ("corner", "bean", "lens", "kite", "jewel")], 4, 2.0),
}


BARE = """
import json, os, sys, threading, time
import spyrrow
task = json.load(sys.stdin)
copies, shapes = task["copies"], task["shapes"]
items = [spyrrow.Item(str(n), [tuple(p) for p in s], copies, None) for n, s in enumerate(shapes)]
instance = spyrrow.StripPackingInstance("", task["height"], items)
config = spyrrow.StripPackingConfig(
    early_termination=False, total_computation_time=None, exploration_time=30, compression_time=1,
    num_workers=1, seed=1, min_items_separation=task["gap"] or None)
queue = spyrrow.ProgressQueue()
threading.Thread(target=instance.solve, args=(config, queue), daemon=True).start()
reports = []
while len(reports) < task["work"]:
    time.sleep(0.01)
    reports += queue.drain()
print(min(s.width for kind, s in reports[: task["work"]] if kind == spyrrow.ReportType.ExplFeas), flush=True)
os._exit(0)
"""
"""The bare engine, in a process of its own, since it can't be stopped."""


def bare(outlines, copies, gap):
    """Return the shortest strip that the bare engine finds with WORK reports."""
    shapes = [flatten(outline, 1e-3).tolist() for outline in outlines]
    height = HEIGHT + 2.0 * gap + 1e-3
    task = {"shapes": shapes, "copies": copies, "gap": gap, "height": height, "work": WORK}
    done = subprocess.run(
        [sys.executable, "-c", BARE], input=json.dumps(task), capture_output=True, text=True, check=True
    )
    return float(done.stdout) - 2.0 * gap


@pytest.mark.parametrize("name", INSTANCES)
def test_the_wrapper_loses_no_density(name):
    """What the bare engine packs into a strip, the wrapper packs into a rectangle no more than 1 % longer."""
    outlines, copies, gap = INSTANCES[name]
    length = 1.01 * bare(outlines, copies, gap)
    kinds = kinds_of([Item(outline, 1) for outline in outlines], Rotation())
    # The wrapper's stand-ins differ a little, so its steps do: it may spend half as much again.
    limits = Limits(WORK * 3 // 2, 10, 20.0, 1e9)
    tried = pack(kinds, [copies] * len(kinds), length, HEIGHT, gap, limits=limits, seed=1)
    assert tried.spots is not None
    copies_laid = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in tried.spots]
    assert Judge(outlines, gap).judge(copies_laid, length, HEIGHT).passed
