"""A second process of our own, which takes a share of the work where there is a second processor.

What it is asked must be a function of a module, with arguments and results that can be pickled. Whatever it
can't do is done again here, where it fails as it would have alone; so the outcome is the same without it.
"""

from __future__ import annotations

import gc
import io
import os
import pickle
import signal
import subprocess
import sys
from collections import deque
from contextlib import suppress
from copyreg import dispatch_table
from importlib import import_module
from threading import Thread
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Self, TypeVar, TypeVarTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

Ts = TypeVarTuple("Ts")
R = TypeVar("R")
T = TypeVar("T")

# It finds its modules where this process does, however this one was told.
_PROGRAM = (
    "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
    "from convert.beside import serve; serve()"
)


class Beside:
    """A process beside this one, from `begin` to the end of the `with`; before `begin`, all is done here."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is not None:
            # What was being sent to it can't be sent any more.
            with suppress(OSError), self._process:
                self._process.kill()

    def begin(self, modules: Iterable[str]) -> None:
        """Start it, if there is a processor for it; while nothing is asked of it, it imports `modules`."""
        if self._process is None and _processors() > 1:
            self._process = subprocess.Popen(  # noqa: S603 - our own program, by our own interpreter
                [sys.executable, "-P", "-c", _PROGRAM],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
            with suppress(OSError):  # it ended at once; what can't be sent later is done here
                _tell(self._process, sys.path)
                _tell(self._process, (gc.get_threshold(), tuple(modules)))

    def each(self, function: Callable[[*Ts], R], tasks: Iterable[tuple[*Ts]]) -> list[R]:
        """Return what `function` makes of each task, in order: the first are done here, the last beside."""
        left = deque(enumerate(tasks))
        done: dict[int, R] = {}
        process = self._process

        def have_done() -> None:
            while process is not None and (task := _taken(left.pop)) is not None:
                try:
                    _tell(process, (function, task[1]))
                    done[task[0]] = _hear(process)
                except Exception:  # noqa: BLE001 (it is done here then, and fails here if it must)
                    process.kill()
                    left.append(task)
                    return

        other = Thread(target=have_done, daemon=True)
        if process is not None and len(left) > 1:
            other.start()
        while left or other.is_alive():
            while (task := _taken(left.popleft)) is not None:
                done[task[0]] = function(*task[1])
            if other.is_alive():
                other.join()
        return [done[number] for number in sorted(done)]


def serve() -> None:
    """Do what is asked on standard input, and answer on standard output, until nothing more can come."""
    # Who stops the program by hand stops the process that asks, which ends this one.
    signal.signal(signal.SIGINT, lambda *_: None)
    orders, answers = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what is printed must not come among the answers
    thresholds, modules = pickle.load(orders)  # noqa: S301 (from our own process)
    gc.set_threshold(*thresholds)
    for name in modules:
        import_module(name)
    with suppress(EOFError):
        while True:
            function, task = pickle.load(orders)  # noqa: S301
            try:
                answer = _pickled((True, function(*task)))
            except Exception:  # noqa: BLE001 (it is told where it is done again)
                answer = _pickled((False, None))
            answers.write(answer)
            answers.flush()


def _tell(process: subprocess.Popen[bytes], what: object) -> None:
    if process.stdin is not None:
        process.stdin.write(_pickled(what))
        process.stdin.flush()


def _hear(process: subprocess.Popen[bytes]) -> Any:  # noqa: ANN401 (whatever was asked for)
    done, result = pickle.load(process.stdout) if process.stdout else (False, None)  # noqa: S301 (our own)
    if not done:
        raise ValueError
    return result


def _pickled(what: object) -> bytes:
    stream = io.BytesIO()
    pickler = pickle.Pickler(stream, pickle.HIGHEST_PROTOCOL)
    # Read-only views of dictionaries, which can't be pickled by themselves.
    pickler.dispatch_table = {**dispatch_table, MappingProxyType: lambda view: (_view, (dict(view),))}
    pickler.dump(what)
    return stream.getvalue()


def _view(values: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(values)


def _taken(take: Callable[[], T]) -> T | None:
    """Return the next task, if the other process hasn't taken the last."""
    try:
        return take()
    except IndexError:
        return None


def _processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
