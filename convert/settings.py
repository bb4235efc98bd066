"""Strict reading of TOML files: profiles, and jobs beside a drawing.

A `Table` hands out values by key and notes everything that is missing, misspelt, of the wrong kind
or impossible, each with its file and key path. All of it is reported in one go by `finish`, which
must be called before any value is used: after a mistake the values handed out are stand-ins.
"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from convert.errors import Finding, Place, ProfileError, Severity, UsageError
from convert.units import LARGEST_MM, format_mm, parse_length

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

_LARGEST_FILE = 200_000


def read_table(text: str, file: str) -> Table:
    """Return the top table of a TOML text; `file` is named in every message.

    *Errors*: ProfileError when the text is not TOML.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        what = str(error).split(" (at ")[0]
        where = Place(file=file, line=int(place[1]) if place else None)
        what = f"this is not TOML: {what[:1].lower()}{what[1:]}"
        raise ProfileError.because("PROFILE-001", what, place=where) from error
    return Table(data, file)


def read_text(path: Path) -> str:
    """Return the text of a settings file.

    *Errors*: ProfileError when it can't be read, is far too large or is not UTF-8.
    """
    place = Place(file=str(path))
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST_FILE + 1)
        if len(raw) > _LARGEST_FILE:
            raise ProfileError.because("PROFILE-002", "this file is too large to be settings", place=place)
        return raw.decode("utf-8-sig")
    except OSError as error:
        what = f"this file can't be read: {error.strerror}"
        raise ProfileError.because("PROFILE-002", what, place=place) from error
    except UnicodeDecodeError as error:
        raise ProfileError.because("PROFILE-002", "this file is not UTF-8 text", place=place) from error


class Table:
    """One table of a TOML file, read key by key. Tables of one file share one list of findings."""

    def __init__(
        self, data: Mapping[str, Any], file: str, path: str = "", findings: list[Finding] | None = None
    ) -> None:
        self._data = data
        self._file = file
        self._path = path
        self._asked: list[str] = []
        self._children: list[Table] = []
        self._findings: list[Finding] = [] if findings is None else findings

    def __contains__(self, key: str) -> bool:
        """Tell whether `key` is there."""
        return key in self._data

    @property
    def names(self) -> tuple[str, ...]:
        """Return the keys that are there, in the order of the file."""
        return tuple(self._data)

    def reject(self, key: str, what: str, allowed: str) -> None:
        """Note that the value at `key` is impossible."""
        code = "PROFILE-005"
        self._findings.append(
            Finding(code, Severity.ERROR, f"{self._name(key)} {what}", allowed, Place(file=self._file))
        )

    def text(self, key: str, *, longest: int = 80, default: str | None = None) -> str:
        """Return one printable line of text."""
        value = self._take(key, str, "text in quotes", default)
        if not isinstance(value, str):
            return ""
        if not value.strip() or len(value) > longest or not value.isprintable():
            self.reject(key, "is not one line of text", f"Allowed is one line of 1 to {longest} letters")
        return value

    def matching(self, key: str, pattern: str, allowed: str, *, default: str | None = None) -> str:
        """Return a text that `pattern` matches wholly; `allowed` says in words what that is."""
        value = self._take(key, str, allowed, default)
        if isinstance(value, str) and not re.fullmatch(pattern, value, re.ASCII):
            self.reject(key, f"can't be {value!r}", f"Allowed is {allowed}")
        return value if isinstance(value, str) else ""

    def choice(self, key: str, allowed: Sequence[str], *, default: str | None = None) -> str:
        """Return one of the words in `allowed`."""
        words = "one of " + ", ".join(allowed)
        value = self._take(key, str, words, default)
        if isinstance(value, str) and value not in allowed:
            self.reject(key, f"can't be {value!r}", f"Allowed is {words}")
        return value if isinstance(value, str) and value in allowed else allowed[0]

    def choices(self, key: str, allowed: Sequence[str]) -> tuple[str, ...]:
        """Return a list of different words out of `allowed`, at least one."""
        words = "a list of " + ", ".join(allowed)
        value = self._take(key, list, words)
        if not isinstance(value, list):
            return ()
        if not value or any(word not in allowed for word in value) or len(set(value)) != len(value):
            self.reject(key, f"can't be {value!r}", f"Allowed is {words}, each once")
            return ()
        return tuple(value)

    def texts(self, key: str, *, longest: int = 80) -> tuple[str, ...]:
        """Return a list of printable lines of text, at least one."""
        words = "a list of texts in quotes"
        value = self._take(key, list, words)
        if not isinstance(value, list):
            return ()
        for text in value:
            if not isinstance(text, str) or not 0 < len(text) <= longest or not text.isprintable():
                self.reject(key, f"can't hold {text!r}", f"Allowed are lines of 1 to {longest} letters")
                return ()
        if not value:
            self.reject(key, "is empty", f"Allowed is {words}")
        return tuple(dict.fromkeys(value))

    def integer(self, key: str, least: int, most: int) -> int:
        """Return a whole number between `least` and `most`."""
        return int(self._number(key, int, least, most))

    def number(self, key: str, least: float, most: float, *, default: float | None = None) -> float:
        """Return a number between `least` and `most`."""
        return float(self._number(key, (int, float), least, most, default))

    def truth(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        self._asked.append(key)
        value: object = self._data.get(key, default)
        if not isinstance(value, bool):
            what = f"{self._name(key)} can't be {_described(value)}"
            self._note("PROFILE-004", what, "Allowed is true or false, without quotes")
            return default
        return value

    def word_or_number(
        self, key: str, words: Sequence[str], least: float, most: float, *, default: str
    ) -> str | float:
        """Return one of `words`, or a number between `least` and `most`."""
        allowed = f"{', '.join(map(_quoted, words))} or a number from {least:g} to {most:g}"
        value = self._take(key, (str, int, float), allowed, default)
        if isinstance(value, str) and value in words:
            return value
        if isinstance(value, int | float) and least <= value <= most:
            return float(value)
        if value is not None:
            self.reject(key, f"can't be {value!r}", f"Allowed is {allowed}")
        return default

    def length(
        self, key: str, *, allow_zero: bool = False, default: float | None = None, most: float = LARGEST_MM
    ) -> float:
        """Return a length of at most `most`, in mm; in the file it is a text with its unit."""
        words = 'a length in quotes with its unit, such as "3mm" or "1/4in"'
        if key not in self._data and default is not None:
            self._asked.append(key)
            return default
        value = self._take(key, str, words)
        if not isinstance(value, str):
            return 1.0
        try:
            length = parse_length(value, allow_zero=allow_zero)
        except UsageError as error:
            self.reject(key, f"is wrong: {error.findings[0].what}", error.findings[0].advice)
            return 1.0
        if length > most:
            self.reject(key, f"can't be {value!r}", f"Allowed is a length of at most {format_mm(most)}")
            return most
        return length

    def table(self, key: str, *, optional: bool = False) -> Table:
        """Return the table at `key`; an optional one that is missing is empty."""
        value = self._take(key, dict, f"a table [{self._name(key)}]", {} if optional else None)
        if not isinstance(value, dict):
            return Table({}, self._file)  # its keys are not missed one by one: the table is
        child = Table(value, self._file, self._name(key), self._findings)
        self._children.append(child)
        return child

    def finish(self) -> None:
        """Report everything that was wrong, here and in every table below, unknown keys included.

        *Errors*: ProfileError with one finding for each mistake.
        """
        self._note_unknown()
        if self._findings:
            raise ProfileError(*self._findings)

    def _note_unknown(self) -> None:
        for key in self._data:
            if key not in self._asked:
                allowed = f"Known here: {', '.join(self._asked)}"
                self._note("PROFILE-003", f"{self._name(key)} is not a known key", allowed)
        for child in self._children:
            child._note_unknown()  # noqa: SLF001 (same class)

    def _take(self, key: str, kind: type | tuple[type, ...], words: str, default: object = None) -> object:
        """Return the value if it is of `kind`, the default if there is none, else None after noting why."""
        self._asked.append(key)
        if key not in self._data:
            if default is None:
                self._note("PROFILE-004", f"{self._name(key)} is missing", f"Allowed is {words}")
            return default
        value: object = self._data[key]
        if not isinstance(value, kind) or isinstance(value, bool):
            what = f"{self._name(key)} can't be {_described(value)}"
            self._note("PROFILE-004", what, f"Allowed is {words}")
            return None
        return value

    def _number(
        self,
        key: str,
        kind: type | tuple[type, ...],
        least: float,
        most: float,
        default: float | None = None,
    ) -> float:
        words = f"a {'whole ' if kind is int else ''}number from {least:g} to {most:g}"
        value = self._take(key, kind, words, default)
        if not isinstance(value, int | float):
            return least
        if not least <= value <= most:
            self.reject(key, f"can't be {value}", f"Allowed is {words}")
            return least
        return value

    def _name(self, key: str) -> str:
        return ".".join(part for part in (self._path, key) if part)

    def _note(self, code: str, what: str, advice: str) -> None:
        self._findings.append(Finding(code, Severity.ERROR, what, advice, Place(file=self._file)))


def _quoted(word: str) -> str:
    return f'"{word}"'


def _described(value: object) -> str:
    kinds: dict[type, Callable[[Any], str]] = {
        bool: lambda v: str(v).lower(),
        dict: lambda _: "a table",
        list: lambda _: "a list",
        str: lambda v: f"the text {v[:40]!r}",
    }
    describe = kinds.get(type(value))
    return describe(value) if describe else str(value)[:40]
