"""Many drawings, one after another; one that fails never stops the rest."""

from __future__ import annotations

import os
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from convert.errors import InternalError, PiecewrightError, Place, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from convert.pipeline import Converted
    from convert.wishes import Wishes

DRAWING_ENDINGS: Final = (".svg", ".svgz")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one drawing: it was converted, or an error says why not."""

    path: Path
    converted: Converted | None
    error: PiecewrightError | None


def find_drawings(arguments: Iterable[Path]) -> tuple[Path, ...]:
    """Return the drawings that files and folders stand for, in order, each once.

    A folder stands for the drawings that lie directly in it.
    *Errors*: UsageError when a folder holds none, or when two drawings would fill one folder.
    """
    from convert.output import safe_name

    found: dict[Path, None] = {}
    for argument in arguments:
        is_folder = os.path.isdir(argument)  # noqa: PTH112 (unlike Path's own, this one never raises)
        found |= dict.fromkeys(_inside(argument) if is_folder else (argument,))
    taken: dict[str, Path] = {}
    for path in found:
        first = taken.setdefault(safe_name(path.stem).casefold(), path)
        if first != path:
            what = f"{first} and {path} would both write into the folder {safe_name(path.stem)}"
            raise UsageError.because("CLI-003", what, "Rename one, or convert them into different folders")
    return tuple(found)


def _inside(folder: Path) -> list[Path]:
    place = Place(file=str(folder))
    try:
        inside = sorted(path for path in folder.iterdir() if path.suffix.lower() in DRAWING_ENDINGS)
    except OSError as error:
        what = f"this folder can't be read: {error.strerror}"
        raise UsageError.because("CLI-001", what, place=place) from error
    if not inside:
        raise UsageError.because("CLI-002", "this folder holds no .svg drawing", place=place)
    return inside


def convert_all(paths: Iterable[Path], wishes: Wishes, out: Path, *, force: bool) -> Iterator[Outcome]:
    """Convert each drawing by `wishes` and the job file beside it, and yield what became of it."""
    from convert.job import job_for
    from convert.pipeline import convert_drawing

    for path in paths:

        def convert(path: Path = path) -> Converted:
            return convert_drawing(path, job_for(path, wishes), out, force=force)

        yield _outcome(path, convert)


def _outcome(path: Path, convert: Callable[[], Converted]) -> Outcome:
    try:
        return Outcome(path, convert(), None)
    except PiecewrightError as error:
        return Outcome(path, None, error.in_file(str(path)))
    except Exception as error:  # noqa: BLE001 (a mistake of ours must not stop the other drawings)
        return Outcome(path, None, internal_error(error).in_file(str(path)))


def internal_error(error: Exception) -> InternalError:
    """Return an unexpected exception as one line that is worth reporting."""
    frames = traceback.extract_tb(error.__traceback__)
    where = f" in {Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    text = " ".join(str(error).split())[:200]
    what = f"internal error: {type(error).__name__}{f': {text}' if text else ''}{where}"
    return InternalError.because("INTERNAL-001", what, "Please report this line together with the drawing")
