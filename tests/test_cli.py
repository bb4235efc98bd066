"""The command line: what each command prints, writes and ends with, for good input and for bad."""

import hashlib
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from command import SQUARES

from convert.writers.manifest import manifest_schema

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"
TWO = [*("--size", "small=60mm"), *("--size", "large=90mm")]


def tree(folder):
    """Return the files below a folder with their contents."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def names(folder):
    """Return the names of what lies directly in a folder."""
    return {path.name for path in folder.iterdir()}


COMMANDS = ["", "convert", "inspect", "profiles", "profiles list", "profiles new", "profiles show", "demo"]


@pytest.mark.parametrize("command", COMMANDS)
def test_help(run, command):
    """Every command explains itself."""
    code, out, err = run(*command.split(), "--help")
    assert (code, err) == (0, [])
    assert out[0].startswith(f"Usage: piecewright {command}".strip())


def test_no_command_is_help(run):
    """Without a command, the help is shown."""
    assert run()[1] == run("--help")[1]


@pytest.mark.parametrize("arguments", [("--help",), ("convert", "--help"), ("--version",)])
def test_help_is_light(arguments, tmp_path):
    """Help and version import none of the heavy libraries, which keeps them under 0.2 s."""
    command = [sys.executable, "-X", "importtime", "-m", "convert", *arguments]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
    imported = {line.split("|")[-1].strip() for line in done.stderr.splitlines()}
    heavy = {
        *("numpy", "shapely", "ezdxf", "svgelements", "svgwrite", "tinycss2", "cssselect2"),
        *("importlib.metadata", "xml.parsers.expat", "tomllib", "json", "convert.job"),
    }
    assert "click" in imported
    assert not heavy & imported


# Convert


def test_convert(run, squares, tmp_path):
    """A conversion writes both formats in both arrangements for each size, and says so."""
    code, out, err = run("convert", squares, "--out", tmp_path / "out", *TWO)
    assert code == 0
    assert [line for line in err if not line.startswith("Take care: ")] == []
    assert out[0] == "squares: 2 pieces, 1 template"
    assert out[1].strip() == "small: 2.362 in x 1.575 in (60 mm x 40 mm), a sheet can make 14 blocks, 4 files"
    assert re.fullmatch(r"  read back and proved: \d+ checks, largest deviation [\d.]+ mm", out[3])
    assert out[-1].strip() == f"in {tmp_path / 'out' / 'squares'}"
    files = {"pieces-1.svg", "pieces-1-mm.dxf", "assembled.svg", "assembled-mm.dxf"}
    wanted = {"squares/manifest.json"} | {f"squares/{size}/{n}" for size in ("small", "large") for n in files}
    assert set(tree(tmp_path / "out")) == wanted


def test_manifest(run, squares, tmp_path):
    """The manifest follows its schema, names the program, and lists every file with its hash."""
    run("convert", squares, "--out", tmp_path / "out", *TWO, "--blocks", "3")
    files = tree(tmp_path / "out" / "squares")
    manifest = json.loads(files.pop("manifest.json"))
    jsonschema.validate(manifest, manifest_schema())
    assert manifest["program"]["name"] == "piecewright"
    digest = hashlib.sha256(SQUARES.encode()).hexdigest()
    assert manifest["source"] == {"name": "squares.svg", "sha256": digest}
    assert manifest["options"]["sizes"] == {"small": 60.0, "large": 90.0}
    assert manifest["options"]["blocks"] == 3
    assert {f["path"]: f["sha256"] for f in manifest["files"]} == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items()
    }
    assert manifest["proof"]["passed"] is True
    assert [size["width"] for size in manifest["sizes"]] == [60.0, 90.0]
    copies = [s["copies"] for s in manifest["sizes"][0]["sheets"] if s["arrangement"] == "pieces"]
    assert sum(sheet["A"] for sheet in copies) == 6


def test_as_drawn(run, squares, tmp_path):
    """Without a size the block is made exactly as large as it was drawn."""
    some = ("--formats", "svg", "--arrange", "assembled")
    assert run("convert", squares, "--out", tmp_path / "out", *some)[0] == 0
    assert set(tree(tmp_path / "out")) == {"squares/manifest.json", "squares/as-drawn/assembled.svg"}
    manifest = json.loads((tmp_path / "out" / "squares" / "manifest.json").read_text())
    assert manifest["sizes"][0]["scale"] == 1.0
    assert (manifest["sizes"][0]["width"], manifest["sizes"][0]["height"]) == (60.0, 40.0)


def test_same_in_same_out(tmp_path):
    """Two runs in different processes, folders and hash orders give the same bytes."""
    drawing = FIXTURES / "lily-pond.svg"
    for order in ("1", "2"):
        arguments = ("convert", str(drawing), "--out", order, "--size", "s=6in")
        command = [sys.executable, "-m", "convert", *arguments]
        hashes = os.environ | {"PYTHONHASHSEED": order}
        subprocess.run(command, cwd=tmp_path, env=hashes, check=True, capture_output=True)
    assert tree(tmp_path / "1") == tree(tmp_path / "2")
    assert len(tree(tmp_path / "1")) >= 5


def test_file_beside_the_drawing(run, squares, tmp_path):
    """The file beside a drawing states its job; options come before it."""
    (tmp_path / "squares.toml").write_text('formats = ["dxf"]\n[sizes]\ntiny = "30mm"\n')
    run("convert", squares, "--out", tmp_path / "a", "--arrange", "pieces")
    assert set(tree(tmp_path / "a")) == {"squares/manifest.json", "squares/tiny/pieces-1-mm.dxf"}
    run("convert", squares, "--out", tmp_path / "b", "--arrange", "pieces", "--size", "big=99mm")
    assert set(tree(tmp_path / "b")) == {"squares/manifest.json", "squares/big/pieces-1-mm.dxf"}


def test_profile_decides_the_dxf_unit(run, squares, tmp_path):
    """A DXF file's name tells the unit of its profile."""
    run("convert", squares, "--out", tmp_path / "out", "--profile", "die-board", "--formats", "dxf")
    assert "squares/as-drawn/pieces-1-in.dxf" in tree(tmp_path / "out")


def test_batch_goes_on(run, squares, tmp_path):
    """In a batch a drawing that fails is named at the end, the others are made, and the end is 1."""
    (tmp_path / "broken.svg").write_text("<svg")
    (tmp_path / "zebra.svg").write_text(SQUARES)
    code, out, err = run("convert", tmp_path, "--out", tmp_path / "out", *TWO)
    assert code == 1
    assert [line for line in out if not line.startswith(" ")] == [
        "squares: 2 pieces, 1 template",
        "zebra: 2 pieces, 1 template",
    ]
    assert err[-1] == f"1 of 3 drawings could not be converted: {tmp_path / 'broken.svg'}."
    assert err[0].startswith(f"{tmp_path / 'broken.svg'}:1: ")
    assert {name.split("/")[0] for name in tree(tmp_path / "out")} == {"squares", "zebra"}
    assert squares.read_text() == SQUARES


def test_quiet(run, squares, tmp_path):
    """With --quiet only errors are printed."""
    assert run("convert", squares, "--out", tmp_path / "out", "--quiet") == (0, [], [])
    code, out, err = run("convert", tmp_path / "none.svg", "--out", tmp_path / "out", "--quiet")
    assert (code, out) == (1, [])
    assert len(err) == 1


def test_files_in_the_way(run, squares, tmp_path):
    """A changed file is not replaced without --force; our own unchanged ones are."""
    arguments = ("convert", squares, "--out", tmp_path, "--formats", "svg")
    assert run(*arguments)[0] == 0
    assert run(*arguments)[0] == 0
    path = tmp_path / "squares" / "as-drawn" / "assembled.svg"
    path.write_text("mine")
    code, _, err = run(*arguments)
    assert code == 1
    assert len(err) == 1
    assert "--force" in err[0]
    assert path.read_text() == "mine"
    assert run(*arguments, "--force")[0] == 0
    assert path.read_text() != "mine"
    assert squares.read_text() == SQUARES


def test_awkward_drawing_names(run, tmp_path):
    """Whatever a drawing is called, its files stay in the folder asked for, under a plain name."""
    (tmp_path / "in").mkdir()
    for name in ("..svg", " a.svg", "line\nbreak.svg", "con.svg", "Blüte.svg", "-rf.svg"):
        (tmp_path / "in" / name).write_text(SQUARES)
    code, out, _ = run("convert", tmp_path / "in", "--out", tmp_path / "out", "--formats", "svg")
    assert code == 0
    assert all(line.isprintable() for line in out)
    assert names(tmp_path / "out") == {"drawing", "a", "line-break", "con-", "Blüte", "-rf"}
    assert names(tmp_path) == {"in", "out"}


def test_drawing_in_a_folder_above(run, tmp_path, monkeypatch):
    """A drawing given as ../x.svg writes into DIR/x and nowhere else."""
    (tmp_path / "x.svg").write_text(SQUARES)
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    assert run("convert", "../x.svg", "--out", "out", "--formats", "svg")[0] == 0
    assert names(tmp_path) == {"x.svg", "here"}
    assert names(tmp_path / "here" / "out") == {"x"}


def test_two_drawings_of_one_name(run, squares, tmp_path):
    """Two drawings that would fill one folder are refused before anything is written."""
    (tmp_path / "other").mkdir()
    second = tmp_path / "other" / "Squares.svg"
    second.write_text(SQUARES)
    code, _, err = run("convert", squares, second, "--out", tmp_path / "out")
    assert code == 2
    assert "would both write into the folder" in err[0]
    assert not (tmp_path / "out").exists()


# Inspect, profiles, demo


def test_inspect(run, squares, tmp_path):
    """Inspecting tells pieces, templates, sizes and sheets, and writes nothing."""
    before = tree(tmp_path)
    code, out, err = run("inspect", squares, *TWO)
    assert (code, err) == (0, [])
    assert out[0] == "squares: 2 pieces, 1 template"
    assert "  template A: 2; 4 edges, 140 mm round" in out
    large = "  size large: 3.543 in x 2.362 in (90 mm x 60 mm), 1.5 times as drawn, a sheet can make"
    assert [line for line in out if line.startswith(large)]
    assert "    pieces-1: 2 pieces on 215.9 mm x 279.4 mm" in out
    assert tree(tmp_path) == before


def test_inspect_json(run, squares, tmp_path):
    """As JSON it is the manifest that a conversion would write, but for what only files can show."""
    code, out, err = run("inspect", squares, "--json", *TWO)
    assert (code, err) == (0, [])
    shown = json.loads("\n".join(out))
    run("convert", squares, "--out", tmp_path / "out", *TWO)
    written = json.loads((tmp_path / "out" / "squares" / "manifest.json").read_text())
    del written["proof"], written["files"]
    assert shown == written


def test_profiles(run):
    """Profiles are listed with their titles and shown as TOML; an unknown one is a usage error."""
    code, out, _ = run("profiles", "list")
    assert code == 0
    assert "mat-12x12      12 by 12 inch mat in a blade cutter" in out
    assert "[sheet]" in run("profiles", "show", "mat-12x12")[1]
    code, out, err = run("profiles", "show", "mat")
    assert (code, out) == (2, [])
    assert len(err) == 1


def test_new_profile(run, tmp_path, monkeypatch, squares):
    """A new profile is written beside nothing else, explains itself, and can be used at once."""
    monkeypatch.chdir(tmp_path)
    code, out, err = run("profiles", "new", "my-mat", "--from", "mat-12x24")
    assert (code, err) == (0, [])
    assert out == ["my-mat.toml is written. Edit it, and use it with --profile my-mat.toml."]
    text = (tmp_path / "my-mat.toml").read_text()
    assert 'height = "24in"' in text
    assert "# Where the tool waits" in text
    assert run("convert", squares, "--out", "out", "--profile", "my-mat.toml")[0] == 0
    (tmp_path / "my-mat.toml").write_text(text.replace('overcut = "0mm"', 'overcut = "9"'))
    code, _, err = run("convert", squares, "--out", "out", "--profile", "my-mat.toml")
    assert code == 2
    assert err[0] == "my-mat.toml: ends.overcut is wrong: '9' has no unit. Write 9in or 9mm."
    code, _, err = run("profiles", "new", "my-mat.toml", "--from", "a4-card")
    assert code == 1
    assert err == ["my-mat.toml is there already. Choose another name, or move it away."]
    assert run("profiles", "new", "other", "--from", "nope")[0] == 2


def test_products(run, squares, tmp_path):
    """Asked for all, papers, cloth shapes and window templates are made, proved, and described."""
    options = ("--cut", "all", "--allowance", "1/4in", "--junction-holes", "--removal-holes", "--grain", "45")
    code, _, _ = run("convert", squares, "--out", tmp_path / "out", *options, "--formats", "svg")
    assert code == 0
    made = {name.split("/")[-1] for name in tree(tmp_path / "out")}
    assert made == {"manifest.json", "assembled.svg", "pieces-1.svg", "cloth-1.svg", "window-1.svg"}
    manifest = json.loads((tmp_path / "out" / "squares" / "manifest.json").read_text())
    jsonschema.validate(manifest, manifest_schema())
    assert manifest["options"]["allowance"] == 6.35
    assert manifest["options"]["cut"] == ["finished", "cloth", "window"]
    code, out, err = run("convert", squares, "--out", tmp_path / "bad", "--allowance", "1/4in")
    assert (code, out, len(err)) == (2, [], 1)
    assert "nothing that has it" in err[0]


def test_a_gap_is_closed_when_asked(run, tmp_path):
    """A line that ends short is an error that names the gap to allow; allowing it makes the block."""
    path = tmp_path / "short.svg"
    path.write_text(SQUARES.replace("M30 0V40", "M30 0V39.8"))
    code, _, err = run("convert", path, "--out", tmp_path / "out")
    assert code == 1
    assert any("allow a gap of 0." in line for line in err)
    code, out, _ = run("convert", path, "--out", tmp_path / "out", "--gap", "0.3mm")
    assert code == 0
    assert out[0] == "short: 2 pieces, 1 template"


OUTLINED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'
    '<rect id="sheet" width="80" height="60" fill="white"/><path id="ink" fill-rule="evenodd" '
    'd="M9.5 9.5H70.5V50.5H9.5Z M10.5 10.5V49.5H39.5V10.5Z M40.5 10.5V49.5H69.5V10.5Z"/>'
    '<text x="25" y="30">left</text><g id="notes"><path d="M20 15L35 45" stroke="red"/></g></svg>'
)


def test_drawings_are_understood_as_asked(run, tmp_path):
    """What was decided about lines, paper and layers is told in plain words, and can be decided otherwise."""
    path = tmp_path / "ink.svg"
    path.write_text(OUTLINED)
    code, out, _ = run("inspect", path, "--skip", "notes")
    assert code == 0
    assert out[0] == "ink: 2 pieces, 1 template"
    assert any("1 filled shape is taken for drawn lines, 1.00 mm wide" in line for line in out)
    assert any("sheet is white and reaches beyond all that lies on it" in line for line in out)
    assert any("A piece has a name, from the text that lies there: 'left'" in line for line in out)
    _, out, _ = run("inspect", path, "--skip", "notes", "--lines", "as-drawn", "--unfilled", "piece")
    assert out[0] == "ink: 3 pieces, 2 templates"
    assert not any("drawn lines" in line for line in out)
    code, out, _ = run("inspect", path, "--only", "ink", "--lines", "centre")
    assert (code, out[0]) == (0, "ink: 2 pieces, 1 template")
    code, out, _ = run("inspect", path, "--skip", "notes", "--keep-background", "--json")
    manifest = json.loads("\n".join(out))
    assert (code, len(manifest["block"]["pieces"])) == (0, 3)
    asked = {key: manifest["options"][key] for key in ("lines", "unfilled", "keep_background", "skip")}
    assert asked == {"lines": "auto", "unfilled": "auto", "keep_background": True, "skip": ["notes"]}


def test_layers_are_chosen_in_the_file_beside_the_drawing(run, tmp_path):
    """The file's layers count like those asked for by option; a slip names the layers that there are."""
    path, job = tmp_path / "ink.svg", tmp_path / "ink.toml"
    path.write_text(OUTLINED)
    job.write_text('skip = ["note*"]\n')
    code, out, _ = run("inspect", path)
    assert (code, out[0]) == (0, "ink: 2 pieces, 1 template")
    assert "  Layer 'notes': 1 shape, all left out." in out
    assert any("A shape in layer 'notes' not asked for was left out" in line for line in out)
    assert run("convert", path, "--out", tmp_path / "out")[0] == 0
    job.write_text('only = ["inkk"]\nskip = ["notes"]\n')
    for command in (("inspect", path), ("convert", path, "--out", tmp_path / "new")):
        code, out, err = run(*command)
        assert (code, out) == (1, [])
        assert err[0] == f"{path}: nothing in the drawing is called 'inkk'. Its layers are called 'notes'."


@pytest.mark.parametrize(("profile", "words"), [("laser-600x400", "cuts, "), ("die-board", "mm of rule")])
def test_work(run, squares, tmp_path, profile, words):
    """A machine's work is summed up in the size's line, and stands in the manifest."""
    code, out, _ = run("convert", squares, "--out", tmp_path / "out", "--profile", profile)
    assert code == 0
    assert words in out[1]
    manifest = json.loads((tmp_path / "out" / "squares" / "manifest.json").read_text())
    jsonschema.validate(manifest, manifest_schema())
    sheets = {sheet["arrangement"]: sheet for sheet in manifest["sizes"][0]["sheets"]}
    kerf = 0.08 if profile.startswith("laser") else 0.0
    assert sheets["pieces"]["cut_length"] == pytest.approx(2 * 140 + 8 * kerf)
    assert sheets["assembled"]["cut_length"] == pytest.approx(200 + 40 + 4 * kerf)
    assert sheets["assembled"]["shared_length"] == pytest.approx(40)
    if kerf:
        assert sheets["pieces"]["pierces"] == 2
        assert sheets["pieces"]["travel"] > 0
    else:
        assert sheets["pieces"]["pierces"] is None


def test_cautions_once_a_run(run, squares, tmp_path):
    """Cautions are printed once however many drawings there are, and stand in every manifest."""
    more = squares.with_name("more.svg")
    more.write_text(SQUARES)
    laser = ("--profile", "laser-600x400", "--out", tmp_path / "out")
    _, _, err = run("convert", tmp_path, *laser)
    told = [line for line in err if line.startswith("Take care: ")]
    assert len(told) == 2
    assert "Never cut PVC or vinyl" in told[0]
    for name in ("squares", "more"):
        manifest = json.loads((tmp_path / "out" / name / "manifest.json").read_text())
        assert [f"Take care: {words}" for words in manifest["cautions"]] == told
    assert run("convert", tmp_path, *laser, "--quiet")[2] == []


def test_demo(run, tmp_path):
    """The demo converts every drawing that comes along in three sizes, all proved."""
    code, out, _ = run("demo", "--out", tmp_path / "demo")
    assert code == 0
    assert sum("read back and proved" in line for line in out) >= 3
    for path in (tmp_path / "demo").glob("*/manifest.json"):
        manifest = json.loads(path.read_text())
        assert [size["name"] for size in manifest["sizes"]] == ["small", "medium", "large"]
        assert [size["width"] for size in manifest["sizes"]] == pytest.approx([101.6, 152.4, 228.6], abs=1e-6)
