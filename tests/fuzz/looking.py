"""What is done to every hostile file: the whole of `inspect`, as the command does it, under a watch."""

from __future__ import annotations

import contextlib
import io
import json
import re
import resource
import sys
import time
import warnings
from pathlib import Path
from typing import Any

from convert.cli import inspect
from convert.errors import DrawingError, InternalError, OutputError, PiecewrightError, ProofError, Severity
from convert.job import job_for
from convert.pipeline import convert_drawing

SECONDS = 5.0
MEMORY = 1 << 30
_ASKED = re.compile(rb"<!--asked (\d{1,6})-->\s*\Z")
_NO_NUMBER = re.compile(r"(?<![\w#.-])-?(?:nan|inf)\b")
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"|<[^>]*>")
"""What the file itself says."""


class BrokenError(AssertionError):
    """Something came out that must not."""


def options(data: bytes) -> dict[str, Any]:
    """Return the command's options that a comment at the file's end asks for, by number; usually none."""
    found = _ASKED.search(data[-40:])
    n = int(found[1]) if found else 0
    asked: dict[str, Any] = {"as_json": bool(n & 1)}
    n >>= 1
    for name, values in (
        ("lines", (None, "centre", "as-drawn")),
        ("unfilled", (None, "piece", "hole")),
        ("keep_background", (False, True)),
        ("sizes", ((), ("a=100mm",), ("a=1in", "b=20in"))),
        ("one_unit", (None, "1mm", "1in")),
        ("cut", ((), ("all",))),
        ("gap", (None, "0.5mm")),
        ("measure", (None, "edge")),
        ("skip", ((), ("g*",))),
        ("profile", (None, "laser-600x400", "die-board")),
    ):
        n, which = divmod(n, len(values))
        asked[name] = values[which]
    if asked["cut"]:
        asked["allowance"] = "1/4in"
    return asked


def looked_at(data: bytes, path: Path) -> str:
    """Write a file, inspect it, and return what came of it: "read", or the code of the first finding.

    *Errors*: BrokenError for anything but our own errors, for warnings of Python's, for more than SECONDS or
    MEMORY, and for words that no person should read.
    """
    path.write_bytes(data)
    out, err = io.StringIO(), io.StringIO()
    asked = options(data)
    begun = time.process_time()
    with warnings.catch_warnings(), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        warnings.simplefilter("error")
        try:
            inspect.callback(str(path), **asked)
            outcome = "read"
        except PiecewrightError as error:
            _check_error(error, path)
            outcome = _code(error)
    spent = time.process_time() - begun
    if spent > SECONDS:
        raise BrokenError(f"it took {spent:.1f} s of the processor")
    if asked["as_json"]:
        if outcome == "read":
            json.loads(out.getvalue(), parse_constant=_no_constant)
    elif (found := _NO_NUMBER.search(_QUOTED.sub("", out.getvalue()))) and found[0].encode() not in data:
        raise BrokenError(f"{found[0]} was printed")
    return outcome


def converted(data: bytes, path: Path, out: Path) -> str:
    """Convert a file that `looked_at` could read; return "proved", or the code that says why not."""
    path.write_bytes(data)
    begun = time.process_time()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            done = convert_drawing(path, job_for(path, wishes()), out, force=True)
            if not done.proof.checked:
                raise BrokenError("nothing was checked")
            outcome = "proved"
        except PiecewrightError as error:
            if isinstance(error, ProofError):
                raise BrokenError(f"the proof failed: {error}") from error
            _check_error(error, path)
            outcome = _code(error)
    spent = time.process_time() - begun
    if spent > 4 * SECONDS:
        raise BrokenError(f"converting took {spent:.1f} s of the processor")
    return outcome


def wishes() -> Any:
    """Return what is asked of every conversion: one size."""
    from convert.wishes import Wishes, parse_sizes

    return Wishes(sizes=parse_sizes(("a=100mm",)))


def _code(error: PiecewrightError) -> str:
    """Return the code of the first thing that is wrong; remarks may stand before it."""
    wrong = [finding.code for finding in error.findings if finding.severity is Severity.ERROR]
    if not wrong:
        raise BrokenError(f"refused, but nothing is said to be wrong: {error!r}") from error
    return wrong[0]


def _check_error(error: PiecewrightError, path: Path) -> None:
    if isinstance(error, InternalError) or not error.findings:
        raise BrokenError(f"an internal error: {error!r}") from error
    for finding in error.in_file(str(path)).findings:
        line = finding.line()
        if "\n" in line or not finding.code or not finding.what or not line.startswith(str(path)):
            raise BrokenError(f"no message for a person: {line!r}") from error
        if isinstance(error, DrawingError | OutputError) and _NO_NUMBER.search(_QUOTED.sub("", finding.what)):
            raise BrokenError(f"no number for a person: {line!r}") from error


def _no_constant(word: str) -> None:
    raise BrokenError(f"{word} stands in the JSON")


def limit_memory() -> None:
    """Let this process take no more than MEMORY beyond what it has now (where the system can tell)."""
    statm = Path("/proc/self/statm")
    if statm.exists():
        now = int(statm.read_bytes().split()[0]) * resource.getpagesize()
        resource.setrlimit(resource.RLIMIT_AS, (now + MEMORY, resource.getrlimit(resource.RLIMIT_AS)[1]))


def main() -> None:
    """Look at one file, as nothing but this program does, and print what came of it."""
    data = Path(sys.argv[1]).read_bytes()
    path = Path(sys.argv[2]) / "looked-at.svg"
    looked_at(b"<svg/>", path)
    limit_memory()
    print(looked_at(data, path))


if __name__ == "__main__":
    main()
