"""Many drawings: which ones are meant, and that one which fails never stops the rest."""

import pytest

import convert.pipeline
from convert.batch import convert_all, find_drawings, internal_error
from convert.errors import DrawingError, InternalError, UsageError
from convert.wishes import Wishes


def test_files_and_folders(tmp_path):
    """Files stay in the order given, a folder stands for its drawings by name, and each counts once."""
    for name in ("b.svg", "a.SVG", "c.svgz", "notes.txt", "a.toml"):
        (tmp_path / name).touch()
    (tmp_path / "deeper").mkdir()
    (tmp_path / "deeper" / "d.svg").touch()
    found = find_drawings([tmp_path / "b.svg", tmp_path, tmp_path / "missing.svg"])
    assert [path.name for path in found] == ["b.svg", "a.SVG", "c.svgz", "missing.svg"]


def test_folder_without_drawings(tmp_path):
    """A folder without drawings is a usage error that names it."""
    with pytest.raises(UsageError, match=r"holds no \.svg drawing"):
        find_drawings([tmp_path])


@pytest.mark.parametrize("names", ["moth.svg moth.svgz", "moth.svg Moth.svg", "a?.svg a*.svg"])
def test_one_folder_for_two(tmp_path, names):
    """Drawings whose names make the same folder, on some system, are refused together."""
    with pytest.raises(UsageError, match="would both write into the folder"):
        find_drawings(tmp_path / name for name in names.split())


def test_failures_are_outcomes(tmp_path, monkeypatch):
    """Expected errors and mistakes of our own both become the outcome of one drawing, with its name."""

    def convert_drawing(path, *_, **__):
        if path.stem == "bad":
            raise DrawingError.because("READ-001", "this is bad")
        if path.stem == "ugly":
            raise RuntimeError
        return path.stem

    monkeypatch.setattr(convert.pipeline, "convert_drawing", convert_drawing)
    paths = [tmp_path / name for name in ("bad.svg", "ugly.svg", "good.svg")]
    bad, ugly, good = convert_all(paths, Wishes(), tmp_path, force=False)
    assert bad.error.findings[0].line() == f"{paths[0]}: this is bad."
    assert isinstance(ugly.error, InternalError)
    words = f"{paths[1]}: internal error: RuntimeError in test_batch.py:"
    assert ugly.error.findings[0].line().startswith(words)
    assert (good.converted, good.error) == ("good", None)


def test_internal_error_without_frames():
    """An exception that was never raised still makes one line."""
    assert internal_error(ValueError("x")).findings[0].what == "internal error: ValueError: x"
