"""How long reading takes, beside svgelements' own parse of the same document in the same run.

Run it as `python tests/bench/bench_reader.py`. For drawings of straight pieces and of pieces with curved
sides (each side drawn by both its neighbours) it prints processor seconds, the ratio, the memory at its
highest, and how much longer it takes than a drawing of a tenth of the pieces, each reading in a process of
its own; to reach: 1.5 times at 10,000 pieces, 300 MB at 100,000, and a time that grows no faster than the
drawing.
"""

from __future__ import annotations

import subprocess
import sys
from math import isqrt

COUNTS = (1_000, 10_000, 100_000)
RUNS = 3

OURS = """
import resource, sys, time
from convert.reader import read_drawing_bytes
import convert.reader.draw
data = sys.stdin.buffer.read()
begun = time.process_time()
drawing = read_drawing_bytes(data, "bench.svg")
spent = time.process_time() - begun
print(spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, len(drawing.elements))
"""
THEIRS = """
import io, resource, sys, time
from svgelements import SVG, Shape
text = sys.stdin.read()
begun = time.process_time()
svg = SVG.parse(io.StringIO(text))
spent = time.process_time() - begun
shapes = sum(isinstance(e, Shape) for e in svg.elements())
print(spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, shapes)
"""


def straight(count: int) -> str:
    """Return a page of squares, each a path, polygon or rect of its own, in groups with transforms."""
    side = isqrt(count)
    shapes = []
    for i in range(count):
        x, y = i % side * 10, i // side * 10
        shapes.append(
            (
                f'<path style="fill:#{i % 4096:03x};stroke:#000" d="M{x} {y}h10v10h-10z"/>',
                f'<polygon class="k" points="{x},{y} {x + 10},{y} {x + 10},{y + 10} {x},{y + 10}"/>',
                f'<path fill="#abcdef" transform="translate({x} {y})" d="M 0 0 L 10 0 L 10 10 L 0 10 Z"/>',
            )[i % 3]
        )
    return page(side * 10, shapes)


def curved(count: int) -> str:
    """Return a page of pieces whose upright sides are waves, each drawn by both neighbours."""
    side = isqrt(count)
    shapes = []
    for i in range(count):
        x, y = i % side * 10, i // side * 10
        bend = 1 + i // side % 5 / 4
        shapes.append(
            f'<path class="k" d="M{x} {y}L{x + 10} {y}'
            f"C{x + 10 + bend} {y + 3} {x + 10 - bend} {y + 7} {x + 10} {y + 10}"
            f'L{x} {y + 10}C{x - bend} {y + 7} {x + bend} {y + 3} {x} {y}z"/>'
        )
    return page(side * 10, shapes)


def page(size: int, shapes: list[str]) -> str:
    """Return a document with a style sheet."""
    head = f'width="{size}mm" height="{size}mm" viewBox="0 0 {size} {size}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {head}>'
        f"<style>.k{{fill:#3a7ca5;stroke:#fff;stroke-width:.2px}}</style><g>{''.join(shapes)}</g></svg>"
    )


def least(script: str, data: bytes) -> tuple[float, float]:
    """Return the least seconds and the memory (MB) of a few runs."""
    runs = []
    for _ in range(RUNS):
        done = subprocess.run([sys.executable, "-c", script], input=data, capture_output=True, check=True)
        spent, memory, _ = map(float, done.stdout.split())
        runs.append((spent, memory))
    return min(runs)


def main() -> None:
    """Print one line for each kind and count."""
    print(f"{'kind':10s}{'pieces':>8s}{'ours s':>9s}{'MB':>6s}{'theirs s':>10s}{'ratio':>7s}{'growth':>8s}")
    for kind in (straight, curved):
        before = float("nan")
        for count in COUNTS:
            data = kind(count).encode()
            ours, memory = least(OURS, data)
            theirs, _ = least(THEIRS, data)
            print(
                f"{kind.__name__:10s}{count:8d}{ours:9.3f}{memory:6.0f}{theirs:10.3f}{ours / theirs:7.2f}"
                f"{ours / before:8.1f}",
                flush=True,
            )
            before = ours


if __name__ == "__main__":
    main()
