"""Where files go, and how they get there whole.

Everything made from one drawing lies in one folder, DIR/<drawing's name>. Files are first written
to a **staging** folder beside it; only when all of them are there, and proved, are they moved into
place, and a move that fails is undone. A file that is already in place is replaced only if it is
**ours**: named in the folder's manifest and unchanged since. Files that are no longer made go.
"""

from __future__ import annotations

import json
import shutil
import tempfile
import unicodedata
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final

from convert.errors import Finding, OutputError, Place, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

MANIFEST: Final = "manifest.json"
_LONGEST_NAME: Final = 100
_LARGEST_MANIFEST: Final = 200_000_000
_RESERVED: Final = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))]
)
"""Names that mean devices on one widespread system, with any ending."""


def safe_name(text: str) -> str:
    """Return `text` as the name of a file or folder on any system, always one step and never hidden.

    Letters and digits of any language stay; other signs become dashes. An empty rest is "drawing".
    """
    text = unicodedata.normalize("NFC", text)
    name = "".join(c if c.isalnum() or c in " ._-()+,&'" else "-" for c in text)
    while len(name.encode()) > _LONGEST_NAME:
        name = name[:-1]
    name = name.strip(" .")
    if name.split(".")[0].strip().casefold() in _RESERVED:
        name = f"{name.split('.')[0]}-{name[len(name.split('.')[0]) :]}".rstrip(".")
    return name or "drawing"


@dataclass(frozen=True, slots=True)
class Published:
    """What a move into place did: the folder, files written and removed in it, and remarks."""

    folder: Path
    written: tuple[str, ...]
    removed: tuple[str, ...]
    findings: tuple[Finding, ...]


class Staging:
    """The files of one drawing on their way; made by `staging`."""

    def __init__(self, workspace: Path, folder: Path, source: Path, *, force: bool) -> None:
        self._new = workspace / "new"
        self._old = workspace / "old"
        self._folder = folder
        self._source = source
        self._force = force
        self._hashes: dict[str, str] = {}
        self._new.mkdir()
        self._old.mkdir()

    @property
    def hashes(self) -> dict[str, str]:
        """The SHA-256 of every file written so far, by its path in the drawing's folder."""
        return dict(self._hashes)

    def write(self, relative: str, data: bytes) -> Path:
        """Write one file into the staging folder and return where it is for now."""
        if not _is_inside(relative) or relative in self._hashes:
            raise OutputError.because("OUTPUT-001", f"a file can't be called {relative!r}")
        path = self._new / relative
        with _named_errors(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        self._hashes[relative] = sha256(data).hexdigest()
        return path

    def add(self, *hashes: Mapping[str, str]) -> None:
        """Take over files that another process has written into this staging folder, by their SHA-256."""
        for some in hashes:
            self._hashes.update(some)

    def publish(self) -> Published:
        """Move everything into place, or nothing.

        *Errors*: OutputError when a file in the way is not ours or the system refuses; the folder is
        then as it was before.
        """
        with _named_errors(self._folder):
            self._refuse_links()
            earlier = _earlier_files(self._folder)
            names = sorted(self._hashes, key=lambda name: (name == MANIFEST, name))
            replaced = [name for name in names if self._must_replace(name, earlier)]
            gone, findings = self._obsolete(earlier)
        undo: list[tuple[Path, Path]] = []
        made: list[Path] = []
        try:
            for name in (*gone, *replaced):
                _move(self._folder / name, self._old / name, undo, made)
            for name in names:
                _move(self._new / name, self._folder / name, undo, made)
        except BaseException as error:
            for here, back in reversed(undo):
                here.replace(back)
            for folder in reversed(made):
                folder.rmdir()
            if isinstance(error, OSError):
                raise _error(error, self._folder) from error
            raise
        around = {self._folder / up for name in gone for up in PurePosixPath(name).parents if up.name}
        for emptied in sorted(around, reverse=True):  # the deepest first
            if not any(emptied.iterdir()):
                emptied.rmdir()
        return Published(self._folder, tuple(names), tuple(gone), tuple(findings))

    def _refuse_links(self) -> None:
        folders = {self._folder / parent for name in self._hashes for parent in PurePosixPath(name).parents}
        for folder in sorted(folders):
            if folder.is_symlink():
                what = f"{folder} is a link to somewhere else"
                raise OutputError.because("OUTPUT-002", what, "Remove the link or choose another --out")
            if folder.exists() and not folder.is_dir():
                what = f"{folder} is a file where a folder must be"
                raise OutputError.because("OUTPUT-002", what, "Rename the file or choose another --out")

    def _must_replace(self, name: str, earlier: dict[str, str]) -> bool:
        """Tell whether a file stands in the way that may be replaced; one that may not is an error."""
        path = self._folder / name
        if not path.exists() and not path.is_symlink():
            return False
        if path.is_dir():
            raise OutputError.because("OUTPUT-002", f"{path} is a folder where a file must be", "Rename it")
        if path.exists() and path.samefile(self._source):
            raise OutputError.because("OUTPUT-003", f"{path} is the drawing itself", "Choose another --out")
        if self._force or _is_ours(path, name, earlier):
            return True
        what = f"{path} is in the way and is not, or no longer, what this program wrote there"
        raise OutputError.because("OUTPUT-004", what, "Move it away, choose another --out, or use --force")

    def _obsolete(self, earlier: dict[str, str]) -> tuple[list[str], list[Finding]]:
        """Return our earlier files that are no longer made, and remarks on those that were changed."""
        gone, findings = [], []
        for name in sorted(earlier):
            path = self._folder / name
            inside = path.resolve().is_relative_to(self._folder.resolve())
            if name in self._hashes or not inside or path.is_symlink() or not path.is_file():
                continue
            if path.samefile(self._source):
                continue
            if _is_ours(path, name, earlier):
                gone.append(name)
            else:
                findings.append(_changed(path))
        return gone, findings


def write_new(path: Path, data: bytes) -> None:
    """Write a file where there is none.

    *Errors*: OutputError when there is one, or the system refuses.
    """
    with _named_errors(path):
        try:
            with path.open("xb") as file:
                file.write(data)
        except FileExistsError as error:
            advice = "Choose another name, or move it away"
            raise OutputError.because("OUTPUT-007", f"{path} is there already", advice) from error


@contextmanager
def staging(out: Path, name: str, source: Path, *, force: bool) -> Iterator[Staging]:
    """Give a staging area for the files of one drawing, and clean up behind it.

    The drawing's folder will be `out`/`name`, with `name` made safe. Folders made on the way vanish
    again when nothing is published.
    *Errors*: OutputError when the system refuses.
    """
    with _named_errors(out):
        made = [folder for folder in (out, *out.parents) if not folder.exists()]
        out.mkdir(parents=True, exist_ok=True)
        workspace = Path(tempfile.mkdtemp(prefix=".piecewright-", dir=out))
    try:
        yield Staging(workspace, out / safe_name(name), source, force=force)
    finally:
        shutil.rmtree(workspace, ignore_errors=True)
        for folder in made:
            if not any(folder.iterdir()):
                folder.rmdir()


def _earlier_files(folder: Path) -> dict[str, str]:
    """Return path and SHA-256 of the files that an earlier manifest lists; without one of ours, none."""
    try:
        path = folder / MANIFEST
        if path.is_symlink() or path.stat().st_size > _LARGEST_MANIFEST:
            return {}
        data = json.loads(path.read_bytes())
        files = {entry["path"]: entry["sha256"] for entry in data["files"]}
        ours = isinstance(data["schema"], int) and data["program"]["name"] == "piecewright"
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}
    texts = all(isinstance(text, str) for pair in files.items() for text in pair)
    if not ours or not texts:
        return {}
    # The manifest may have been edited or come from elsewhere: it must not lead out of its folder.
    return {name: digest for name, digest in files.items() if _is_inside(name)} | {MANIFEST: ""}


def _is_ours(path: Path, name: str, earlier: dict[str, str]) -> bool:
    """Tell whether a file is as we wrote it; a manifest can't hold its own hash, so being one is enough."""
    if name not in earlier or path.is_symlink():
        return False
    return name == MANIFEST or sha256(path.read_bytes()).hexdigest() == earlier[name]


def _is_inside(relative: str) -> bool:
    parts = relative.split("/")
    return bool(relative) and all(part == safe_name(part) for part in parts)


def _changed(path: Path) -> Finding:
    what = "this earlier file is no longer made, but it was changed since, so it stays"
    advice = "Delete it if it is not needed"
    return Finding("OUTPUT-005", Severity.WARNING, what, advice, Place(file=str(path)))


def _move(source: Path, target: Path, undo: list[tuple[Path, Path]], made: list[Path]) -> None:
    for folder in reversed(target.parents):
        if not folder.exists():
            folder.mkdir()
            made.append(folder)
    source.replace(target)
    undo.append((target, source))


@contextmanager
def _named_errors(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise _error(error, path) from error


def _error(error: OSError, path: Path) -> OutputError:
    what = f"can't write here: {error.strerror or error}"
    advice = "Check the folder's permissions and the space left"
    return OutputError.because("OUTPUT-006", what, advice, place=Place(file=str(error.filename or path)))
