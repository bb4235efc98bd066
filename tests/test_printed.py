"""Booklets and colourways from the command line: what is written, said and refused."""

import hashlib
import json
from pathlib import Path

import pymupdf
import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from convert.cli import cli
from convert.errors import PiecewrightError, UsageError
from convert.job import make_job
from convert.wishes import Wishes, parse_line, parse_sizes, read_wishes
from convert.writers.manifest import manifest_schema

COSMOS = Path(__file__).parents[1] / "fixtures" / "cosmos.svg"
COLOURS = '[fabrics]\n"#235347" = "forest"\n[colourways.night]\nforest = "#000020"\n'


def convert(tmp_path, *options):
    """Convert the flower; return its folder, its manifest and what was printed."""
    args = ["convert", str(COSMOS), "--out", str(tmp_path), "--size", "small=4in", *options]
    done = CliRunner().invoke(cli, args, catch_exceptions=False)
    folder = tmp_path / "cosmos"
    return folder, json.loads((folder / "manifest.json").read_text(encoding="utf-8")), done.stdout


def test_a_booklet_is_written_named_and_proved(tmp_path):
    """With --formats pdf alone there is the booklet and the manifest, which describes it."""
    options = ("--formats", "pdf", "--title", "Cosmos in bloom", "--author", "A. Example")
    folder, manifest, said = convert(tmp_path, *options)
    assert sorted(p.name for p in folder.iterdir()) == ["booklet-letter.pdf", "manifest.json"]
    (entry,) = manifest["booklets"]
    file = pymupdf.open(folder / "booklet-letter.pdf")
    assert entry["pages"] == len(file)
    assert entry["sheets"] == [
        {"page": len(file), "name": "pieces-1", "size": "small", "number": 1, "of": 1, "blocks": 1}
    ]
    assert (file.metadata["title"], file.metadata["author"]) == ("Cosmos in bloom", "A. Example")
    assert "booklet-letter.pdf" in said
    assert manifest["proof"]["passed"]
    assert manifest["proof"]["checked"] > 20
    Draft202012Validator(manifest_schema()).validate(manifest)


def test_letters_that_can_not_be_printed_are_told(tmp_path):
    """The title stays whole in the file's properties; the page has question marks, and that is said."""
    args = ["convert", str(COSMOS), "--out", str(tmp_path), "--size", "small=4in", "--formats", "pdf"]
    done = CliRunner().invoke(cli, [*args, "--title", "Moth 蛾", "--author", "夜"])
    assert "letters lack 蛾 in the title 'Moth 蛾', 夜 in the author '夜'" in done.stderr
    file = pymupdf.open(tmp_path / "cosmos" / "booklet-letter.pdf")
    assert file.metadata["title"] == "Moth 蛾"
    assert "Moth ?" in file[0].get_text()


def test_options_for_a_booklet_that_is_not_asked_for_are_told(tmp_path):
    """One line names them all; with a booklet, or without such options, there is none."""
    args = ["convert", str(COSMOS), "--out", str(tmp_path), "--size", "small=4in", "--formats", "svg"]
    options = ["--title", "T", "--author", "A", "--paper", "a4", "--cloth-width", "110cm"]
    done = CliRunner().invoke(cli, [*args, *options])
    assert done.exit_code == 0
    assert "--title, --author, --paper and --cloth-width are for the booklet" in done.stderr
    assert make_job(Wishes(paper="a4")).idle == ("--paper",)
    assert make_job(Wishes(paper="a4", formats=("pdf",))).idle == make_job(Wishes()).idle == ()


def test_the_usual_formats_make_no_booklet(tmp_path):
    """Who asks for nothing gets cut files, as before."""
    folder, manifest, _ = convert(tmp_path)
    assert not list(folder.glob("*.pdf"))
    assert "booklets" not in manifest


def test_both_papers_have_one_layout(tmp_path):
    """--paper both makes two files of as many pages, on the two sizes of paper."""
    folder, manifest, _ = convert(tmp_path, "--formats", "svg,pdf", "--paper", "both")
    assert [entry["paper"] for entry in manifest["booklets"]] == ["letter", "a4"]
    one, two = (pymupdf.open(folder / entry["file"]) for entry in manifest["booklets"])
    assert len(one) == len(two)
    assert (round(one[0].rect.width), round(two[0].rect.width)) == (612, 595)
    assert (folder / "small" / "pieces-1.svg").exists()


def test_colourways_are_pictures_and_a_page(tmp_path):
    """Each colourway is an SVG, stands in the manifest, and is shown in the booklet."""
    colours = tmp_path / "colours.toml"
    colours.write_text(COLOURS, encoding="utf-8")
    folder, manifest, said = convert(tmp_path, "--formats", "pdf", "--colourways", str(colours))
    (way,) = manifest["colourways"]
    assert (way["name"], way["file"], way["colours"]["#235347"]) == (
        "night",
        "colourways/night.svg",
        "#000020",
    )
    assert b'fill="#000020"' in (folder / way["file"]).read_bytes()
    assert "colourways: night" in said
    pages = pymupdf.open(folder / "booklet-letter.pdf")
    assert [entry[1] for entry in pages.get_toc()].count("Colourways") == 1
    assert any("forest" in page.get_text() for page in pages)
    Draft202012Validator(manifest_schema()).validate(manifest)


def test_a_colourway_for_another_drawing_writes_nothing(tmp_path):
    """A cloth that the drawing has not got is an error with the file's name, and nothing is written."""
    colours = tmp_path / "colours.toml"
    colours.write_text('[colourways.x]\nsky = "#000000"', encoding="utf-8")
    args = ["convert", str(COSMOS), "--out", str(tmp_path / "out"), "--size", "s=4in"]
    done = CliRunner().invoke(cli, [*args, "--colourways", str(colours)])
    assert done.exit_code != 0
    assert 'colours.toml: colourways.x."sky" is no cloth of this drawing' in done.stderr
    assert not list(tmp_path.glob("out/**/*.svg"))


def test_same_job_same_bytes(tmp_path):
    """Two runs give the same booklet, byte for byte."""
    one, two = (convert(tmp_path / run, "--formats", "pdf")[0] / "booklet-letter.pdf" for run in "ab")
    digest = hashlib.sha256(one.read_bytes()).hexdigest()
    assert digest == hashlib.sha256(two.read_bytes()).hexdigest()
    manifest = json.loads((one.parent / "manifest.json").read_text(encoding="utf-8"))
    assert {"path": "booklet-letter.pdf", "sha256": digest} in manifest["files"]


def test_a_job_file_says_all_of_it(tmp_path):
    """Title, author, paper, cloth and colourways, the last by a path from the job file."""
    (tmp_path / "c.toml").write_text(COLOURS, encoding="utf-8")
    job = tmp_path / "cosmos.toml"
    lines = ['formats = ["pdf"]', 'title = "T"', 'author = "A"', 'paper = "both"', 'cloth_width = "110cm"']
    job.write_text("\n".join([*lines, 'colourways = "c.toml"', 'allowance = "3/8in"']), encoding="utf-8")
    made = make_job(read_wishes(job))
    assert (made.title, made.author, made.papers, made.cloth_width) == ("T", "A", ("letter", "a4"), 1100.0)
    assert [name for name, _ in made.palette.wishes] == ["night"]
    assert made.cut.allowance_mm == pytest.approx(9.525)


def test_defaults():
    """Letter, 42 inches of cloth, no title of its own; the allowance needs a booklet or cloth to apply to."""
    job = make_job(Wishes(sizes=parse_sizes(["s=4in"])))
    assert (job.papers, job.title, job.author) == (("letter",), "", "")
    assert job.cloth_width == pytest.approx(42 * 25.4)
    with pytest.raises(UsageError):
        make_job(Wishes(allowance=6.35))


@pytest.mark.parametrize("text", ["", "  ", "two\nlines", "x" * 81])
def test_a_title_is_one_line(text):
    """Anything else is refused with the option's name."""
    with pytest.raises(PiecewrightError, match="--title"):
        parse_line("--title", text)
