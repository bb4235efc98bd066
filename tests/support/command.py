"""Fixtures for tests of the command line: the program run in this process, and a small drawing."""

import sys

import pytest

from convert import cli

SQUARES = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<path d="M0 0H60V40H0Z M30 0V40" fill="none" stroke="black"/></svg>'
)


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the program in this process; return its exit code, output lines and message lines."""

    def call(*arguments):
        monkeypatch.setattr(sys, "argv", ["piecewright", *map(str, arguments)])
        try:
            cli.main()
            code = 0
        except SystemExit as end:
            code = end.code
        printed = capsys.readouterr()
        return code, printed.out.splitlines(), printed.err.splitlines()

    return call


@pytest.fixture
def squares(tmp_path):
    """Write a drawing of two rectangles of 30 by 40 mm, and return its path."""
    path = tmp_path / "squares.svg"
    path.write_text(SQUARES)
    return path
