"""What a second process is asked in tests: it must find these functions in a module, as this one does."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from convert.errors import ProfileError


def own_number(value: int) -> tuple[int, int]:
    """Return a value, and the process that was asked."""
    time.sleep(0.2)
    return value, os.getpid()


def refused_elsewhere(home: int) -> str:
    """Return where it is done, but only at home."""
    if os.getpid() != home:
        raise ValueError(home)
    return "at home"


def refused(number: int) -> int:
    """Refuse every number but zero."""
    if number:
        raise ProfileError.because("TEST-001", f"no {number}")
    return number


def ended(home: int) -> str:
    """End the process that is asked, unless it is at home."""
    if os.getpid() != home:
        os._exit(1)
    return "at home"


def same(value: object) -> object:
    """Return what is given."""
    time.sleep(0.2)
    return value


def print_and_return(value: int) -> tuple[int, int]:
    """Print something, and return a value and the process that was asked."""
    time.sleep(0.2)
    sys.stdout.write("hello\n")
    os.write(1, b"hello\n")
    return value, os.getpid()


def long(seconds: float, mark: str) -> None:
    """Write down the process that is asked, and take long."""
    with Path(mark).open("a", encoding="ascii") as file:
        file.write(f"{os.getpid()}\n")
    time.sleep(seconds)
