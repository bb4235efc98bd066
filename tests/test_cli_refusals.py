"""The command line when something is wrong: usage, names, a stop by hand, and mistakes of our own."""

import json

import pytest
from command import SQUARES

import convert.pipeline


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["convret"], "Did you mean 'convert'?"),
        (["convert"], "Missing argument"),
        (["convert", "x.svg"], "Missing option '--out'"),
        (["convert", "x.svg", "--out", "o", "--sise", "a=1in"], "No such option"),
        (["convert", "x.svg", "--out", "o", "--size", "4in"], "has no name"),
        (["convert", "x.svg", "--out", "o", "--size", "a=4"], "'4' has no unit. Write 4in or 4mm."),
        (["convert", "x.svg", "--out", "o", "--size", "a=1,000mm"], "could mean 1mm or 1000mm"),
        (["convert", "x.svg", "--out", "o", "--size", "../a=1in"], "no folder can be called '../a'"),
        (["convert", "x.svg", "--out", "o", "--measure", "depth"], "--measure can't be 'depth'"),
        (["convert", "x.svg", "--out", "o", "--formats", "png"], "--formats can't be 'png'"),
        (["convert", "x.svg", "--out", "o", "--arrange", "heap"], "'heap' is not one of"),
        (["convert", "x.svg", "--out", "o", "--facing", "up"], "'up' is not one of"),
        (["convert", "x.svg", "--out", "o", "--blocks", "0"], "0 is not in the range"),
        (["convert", "x.svg", "--out", "o", "--profile", "nope"], "there is no profile 'nope'"),
        (["convert", "x.svg", "--out", "o", "--one-unit", "1"], "--one-unit: '1' has no unit"),
        (["convert", "x.svg", "--out", "o", "--cut", "cloth"], "cloth shapes are asked for"),
        (["convert", "x.svg", "--out", "o", "--allowance", "1/4"], "--allowance: '1/4' has no unit"),
        (["convert", "x.svg", "--out", "o", "--without", "letters"], "'letters' is not one of"),
        (["convert", "x.svg", "--out", "o", "--grain", "400"], "400.0 is not in the range"),
        (["inspect", "x.svg", "--size", "a=nan"], "'nan' is not a length"),
    ],
)
def test_wrong_usage(run, tmp_path, monkeypatch, arguments, words):
    """Wrong usage is one line that names the option, ends with 2, and writes nothing."""
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*arguments)
    assert (code, out) == (2, [])
    assert len(err) == 1
    assert words in err[0]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["convert", "inspect"])
def test_internal_error_is_one_line(run, squares, tmp_path, monkeypatch, command):
    """A mistake of the program itself is one line worth reporting, not a traceback."""

    def broken(*_, **__):
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setattr(convert.pipeline, "plan_drawing", broken)
    out = ("--out", tmp_path / "out") if command == "convert" else ()
    code, _, err = run(command, squares, *out)
    assert code == 1
    assert len(err) == 1
    assert "internal error: ZeroDivisionError: division by zero in test_cli_refusals.py:" in err[0]
    assert "Please report" in err[0]


def test_stopped_by_hand(run, squares, tmp_path, monkeypatch):
    """Stopping the program leaves nothing half done behind."""

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(convert.pipeline, "_write_size", stop)
    code, out, err = run("convert", squares, "--out", tmp_path / "out")
    assert (code, out) == (130, [])
    assert err == ["Stopped. Nothing that was under way is left behind."]
    assert not (tmp_path / "out").exists()


def test_folder_as_a_drawing(run, tmp_path):
    """A folder can't be inspected, and one without drawings can't be converted."""
    code, _, err = run("inspect", tmp_path)
    assert code in {1, 2}
    assert len(err) == 1
    code, _, err = run("convert", tmp_path, "--out", tmp_path / "out")
    assert code == 2
    assert err == [f"{tmp_path}: this folder holds no .svg drawing."]


def test_impossible_names(run, tmp_path):
    """A name too long for any file is an error of its own, for drawings and for folders."""
    code, _, err = run("convert", tmp_path / ("x" * 300), "--out", tmp_path / "out")
    assert code in {1, 2}
    assert len(err) == 1
    assert "internal error" not in err[0]


def test_unknown_size_is_asked(run, tmp_path):
    """A drawing that doesn't say how large it is can't be made as drawn; a size or a unit settles it."""
    drawing = tmp_path / "unsized.svg"
    drawing.write_text(SQUARES.replace(' width="60mm" height="40mm"', ""))
    code, _, err = run("convert", drawing, "--out", tmp_path / "out")
    assert code == 2
    assert any("--one-unit LENGTH" in line for line in err)
    assert not (tmp_path / "out").exists()
    code, out, err = run("inspect", drawing)
    assert (code, out[0]) == (0, "unsized: 2 pieces, 1 template")
    assert any("--one-unit LENGTH" in line for line in err)
    assert run("convert", drawing, "--out", tmp_path / "out", "--size", "s=6in")[0] == 0
    assert run("convert", drawing, "--out", tmp_path / "out", "--one-unit", "2mm")[0] == 0
    manifest = json.loads((tmp_path / "out" / "unsized" / "manifest.json").read_text())
    assert manifest["sizes"][0]["width"] == pytest.approx(120, abs=1e-6)
