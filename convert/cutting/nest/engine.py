"""The nesting engine, asked for a layout of given copies in a given rectangle.

The engine packs a strip of fixed height, as short as it can. A rectangle is tried as a strip lying both ways,
each in a process of its own, side by side. Whichever way needed fewer reports (see child.py) wins, not
whichever was faster; so the same task gives the same layout as long as the clock, which is only
there to end what hangs, does not run out first.
"""

from __future__ import annotations

import json
import os
import selectors
import subprocess
import sys
import time
from dataclasses import dataclass, field
from math import degrees, inf, pi, radians
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from convert.cutting.nest.beds import Spot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.shapes import Kind
    from convert.geometry.chain import Floats

_CHILD = Path(__file__).with_name("child.py")
SLACK = 4e-5
"""The engine calculates with seven digits: a strip of exactly the shapes' height would not do (mm)."""
ROUNDING = 9e-4
"""So far (mm) over a sheet's edge it has laid copies; as near as that they may come to others (accept.py)."""
OTHER = 1000
"""From a seed to another one that no other try has."""
HOPE = 1.25
"""Of 25 measured tries that succeeded, none had a worse outlook at any time, by its reports; of 20 that
failed, half were given up within two seconds."""
PATIENCE = 12.0
GRACE_S = 5.0
"""A process that has not ended by itself after so many times its processor time, and so long, is ended."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What ends a try that fails: so many reports, so many lengths that the engine gave up; or its time.

    Time is processor time: so many `times` what the first hundred reports took, or so many seconds. Both are
    meant to end only what gets nowhere. A try that, as it gets on, will need more than `hope` times what it
    may spend is given up; one of which little is missing gets so much `more` time, as a share. A strip is
    given up, too, when the share that it is too long by, times the share of `times` that has passed, is more
    than `behind` (measured on 134 tries of bays: of 46 that succeed without, 45 do with 0.015, and those
    that fail take 29 % less time).
    """

    work: int
    given_up: int
    seconds: float
    times: float
    hope: float = HOPE
    more: float = 1.0
    behind: float = inf


@dataclass(frozen=True, slots=True)
class Tried:
    """The outcome of one try: the spots if there are any, work and processor seconds, and what ended it."""

    spots: tuple[Spot, ...] | None
    work: int
    seconds: float
    by_clock: bool = False
    failed: bool = False


@dataclass(slots=True)
class _Run:
    """One strip being packed."""

    process: subprocess.Popen[bytes]
    quarter: int
    work: int = 0
    seconds: float = 0.0
    end: dict[str, Any] | None = None
    rest: bytes = field(default=b"")


def pack(
    kinds: Sequence[Kind],
    counts: Sequence[int],
    width: float,
    height: float,
    gap: float,
    *,
    limits: Limits,
    seed: int,
) -> Tried:
    """Return a layout of `counts` copies of each kind in a rectangle, if the engine finds one."""
    # A square is the same task both ways, so it is tried with two seeds.
    seeds = (seed, seed + OTHER if abs(width - height) < SLACK else seed)
    runs = [
        _start(_task(kinds, counts, (width, height), gap, quarter, limits, seeds[quarter]), quarter)
        for quarter in (0, 1)
    ]
    seconds = limits.seconds
    try:
        _watch(runs, time.monotonic() + PATIENCE * seconds + GRACE_S)
    finally:
        for run in runs:
            run.process.kill()
            run.process.wait()
            if run.process.stdout is not None:
                run.process.stdout.close()
    won = [run for run in runs if run.end is not None and "copies" in run.end]
    by_clock = any(run.end is None or run.end.get("end") == "clock" for run in runs)
    # Lying one way only, a place may be too narrow for the engine to find where a shape fits.
    failed = all(run.end is not None and run.end.get("end") == "failed" for run in runs)
    seconds = max(run.seconds for run in runs)
    if not won:
        return Tried(None, max(run.work for run in runs), seconds, by_clock, failed)
    best = min(won, key=lambda run: (run.work, run.quarter))
    return Tried(_spots(kinds, counts, best, (width, height), gap), best.work, seconds)


def fits(kinds: Sequence[Kind], counts: Sequence[int], width: float, height: float) -> bool:
    """Tell whether every shape needed can lie in the rectangle at some turn; else the engine would panic."""
    for kind, count in zip(kinds, counts, strict=True):
        if count and not any(
            _extent(kind, angle)[0] <= width + SLACK and _extent(kind, angle)[1] <= height + SLACK
            for angle in kind.rotation.angles or np.arange(0.0, pi, pi / 180.0).tolist()
        ):
            return False
    return True


def _extent(kind: Kind, angle: float) -> tuple[float, float]:
    z = kind.corners * np.exp(1j * angle)
    return float(np.ptp(z.real)), float(np.ptp(z.imag))


def _task(
    kinds: Sequence[Kind],
    counts: Sequence[int],
    room: tuple[float, float],
    gap: float,
    quarter: int,
    limits: Limits,
    seed: int,
) -> dict[str, Any]:
    length, height = (room[1], room[0]) if quarter else room
    shapes = []
    for kind, count in zip(kinds, counts, strict=True):
        if count:
            z = kind.corners - kind.centre
            allowed = kind.rotation.angles
            angles = None if allowed is None else [degrees(angle) - 90.0 * quarter for angle in allowed]
            points = list(zip(z.real.tolist(), z.imag.tolist(), strict=True))
            shapes.append({"points": points, "demand": count, "angles": angles})
    # The engine keeps the gap from the strip's edges, too.
    return {
        "shapes": shapes,
        "height": height + 2.0 * gap + SLACK,
        "length": length + 2.0 * gap + SLACK,
        "gap": gap,
        "work": limits.work,
        "given_up": limits.given_up,
        "seconds": limits.seconds,
        "times": limits.times,
        "hope": limits.hope,
        "more": limits.more,
        "behind": limits.behind,
        "seed": seed,
    }


def _start(task: dict[str, Any], quarter: int) -> _Run:
    process = subprocess.Popen(  # noqa: S603 - our own program, by our own interpreter
        [sys.executable, "-P", str(_CHILD)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    if process.stdin is not None:
        process.stdin.write(json.dumps(task).encode() + b"\n")
        process.stdin.close()
    return _Run(process, quarter)


def _watch(runs: list[_Run], deadline: float) -> None:
    """Read what the processes report until all have ended, or can't win any more."""
    with selectors.DefaultSelector() as selector:
        for run in runs:
            if run.process.stdout is not None:
                selector.register(run.process.stdout, selectors.EVENT_READ, run)
        while selector.get_map() and time.monotonic() < deadline:
            for key, _ in selector.select(timeout=0.1):
                run = key.data
                chunk = os.read(key.fd, 1 << 16)
                *lines, run.rest = (run.rest + chunk).split(b"\n")
                for line in lines:
                    said = json.loads(line)
                    run.work, run.seconds = said["work"], said["seconds"]
                    if len(said) > 2:
                        run.end = said
                if not chunk:
                    run.end = run.end or {"end": "failed"}
                if not chunk or run.end is not None:
                    selector.unregister(key.fileobj)
            won = [run.work for run in runs if run.end is not None and "copies" in run.end]
            if won and all(run.end is not None or run.work >= min(won) for run in runs):
                return


def _spots(
    kinds: Sequence[Kind], counts: Sequence[int], run: _Run, room: tuple[float, float], gap: float
) -> tuple[Spot, ...]:
    needed = [kind for kind, count in zip(kinds, counts, strict=True) if count]
    spots = []
    if run.end is None:
        return ()
    for number, turn, x, y in run.end["copies"]:
        kind = needed[number]
        angle = radians(turn)
        at = complex(x - gap, y - gap) - kind.centre * np.exp(1j * angle)
        if run.quarter:
            angle, at = angle + pi / 2.0, 1j * at + room[0]
        z = kind.corners * np.exp(1j * angle) + at
        at += complex(_back(z.real, room[0]), _back(z.imag, room[1]))
        spots.append(Spot(kind.number, angle, complex(at)))
    return tuple(spots)


def _back(along: Floats, room: float) -> float:
    """Return how far a copy must be moved to lie between 0 and `room`, if no farther than by rounding."""
    by = max(-float(along.min()), 0.0) or min(room - float(along.max()), 0.0)
    return by if abs(by) < ROUNDING else 0.0
