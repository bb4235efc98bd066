"""Jobs: options and the file beside the drawing, which comes first, and what can't be meant."""

import pytest

from convert.block.choices import Choices, Lines, Unfilled
from convert.cutting.marks import MarkChoices
from convert.cutting.parts import CutChoices
from convert.cutting.sheet import Arrangement, Facing, Product
from convert.errors import ProfileError, UsageError
from convert.job import Measure, make_job
from convert.wishes import (
    Size,
    Wishes,
    job_file,
    parse_formats,
    parse_measure,
    parse_option,
    parse_products,
    parse_sizes,
    read_wishes,
)

WHOLE = """
measure = "edge:b"
profile = "own.toml"
formats = ["dxf"]
arrange = ["assembled"]
facing = "front"
blocks = 12
lines = "centre"
unfilled = "hole"
keep_background = true
only = ["seams", "leaf-*"]
skip = ["guides"]
one_unit = "1mm"
gap = "0.2mm"
cut = ["all"]
allowance = "3/8in"
junction_holes = true
centre_lines = false
grain = 45
without = ["seam-numbers"]
[sizes]
small = "1in"
large = "1 1/2in"
"""
OWN = """
title = "Own"
tool = "laser"
gap = "2mm"
sheet = {width = "500mm", height = "300mm"}
margins = {left = "5mm", right = "5mm", top = "5mm", bottom = "5mm"}
"""


def refusal(call, *arguments):
    """Return the one printed line with which a call is refused."""
    with pytest.raises(UsageError) as caught:
        call(*arguments)
    (finding,) = caught.value.findings
    return finding.line()


def test_defaults():
    """Without wishes: as drawn, letter card, both formats and arrangements, papers from the back."""
    job = make_job(Wishes())
    assert job.sizes == ()
    assert job.measure is Measure.WIDTH
    assert job.profile.name == "letter-card"
    assert job.formats == ("svg", "dxf")
    assert job.arrangements == (Arrangement.PIECES, Arrangement.ASSEMBLED)
    assert (job.product_facing(Product.FINISHED), job.assembled_facing) == (Facing.BACK, Facing.FRONT)
    assert (job.blocks, job.one_unit, job.gap, job.edge_of) == (1, None, None, None)
    assert (job.choices, job.only, job.skip) == (Choices(), (), ())
    assert (job.cut, job.marks) == (CutChoices(), MarkChoices())


def test_file_beside_the_drawing(tmp_path):
    """A job file of the drawing's name states everything that options can, its profile beside it."""
    (tmp_path / "moth.toml").write_text(WHOLE)
    (tmp_path / "own.toml").write_text(OWN)
    path = job_file(tmp_path / "moth.svg")
    assert path == tmp_path / "moth.toml"
    job = make_job(read_wishes(path))
    assert job.sizes == (Size("small", 25.4), Size("large", 38.1))
    assert (job.measure, job.edge_of) == (Measure.EDGE, "B")
    assert job.profile.width == 500
    assert job.formats == ("dxf",)
    assert job.arrangements == (Arrangement.ASSEMBLED,)
    assert {job.product_facing(product) for product in Product} == {job.assembled_facing} == {Facing.FRONT}
    assert (job.blocks, job.one_unit, job.gap) == (12, 1.0, 0.2)
    assert job.choices == Choices(Lines.CENTRE, Unfilled.HOLE, keep_background=True)
    assert (job.only, job.skip) == (("seams", "leaf-*"), ("guides",))
    assert job.cut == CutChoices(tuple(Product), 9.525, junction_holes=True, grain_deg=45.0)
    assert job.marks == MarkChoices(seam_numbers=False)


def test_no_file_beside(tmp_path):
    """A drawing without a job file has none; neither has one that is itself a TOML file."""
    (tmp_path / "moth.toml").write_text(WHOLE)
    assert job_file(tmp_path / "owl.svg") is None
    assert job_file(tmp_path / "moth.toml") is None
    (tmp_path / "folder.toml").mkdir()
    assert job_file(tmp_path / "folder.svg") is None


def test_command_line_comes_first(tmp_path):
    """A wish on the command line replaces the file's; the file's others stay."""
    (tmp_path / "moth.toml").write_text(WHOLE.replace("own.toml", "a4-card"))
    options = Wishes(sizes=(Size("tiny", 10.0),), formats=("svg",))
    job = make_job(options.before(read_wishes(tmp_path / "moth.toml")))
    assert job.sizes == (Size("tiny", 10.0),)
    assert job.formats == ("svg",)
    assert job.profile.name == "a4-card"
    assert job.blocks == 12


def test_options_are_plain_and_complete():
    """The manifest's options name everything in force, defaults included, as plain values in mm."""
    job = make_job(Wishes(sizes=(Size("s", 25.4),), measure="edge:a"))
    assert job.options() == {
        "sizes": {"s": 25.4},
        "measure": "edge:A",
        "profile": "letter-card",
        "formats": ["svg", "dxf"],
        "arrange": ["pieces", "assembled"],
        "facing": {"pieces": "back", "assembled": "front"},
        "blocks": 1,
        "effort": None,
        "lines": "auto",
        "unfilled": "auto",
        "keep_background": False,
        "only": [],
        "skip": [],
        "one_unit": None,
        "gap": None,
        "cut": ["finished"],
        "allowance": 0.0,
        "junction_holes": False,
        "centre_lines": False,
        "removal_holes": False,
        "grain": None,
        "without": [],
        "title": "",
        "author": "",
        "papers": ["letter"],
        "cloth_width": 1066.8,
    }


def test_products():
    """Products come in their usual order; without papers the block is not made whole."""
    assert parse_products(["window", "finished"]) == (Product.FINISHED, Product.WINDOW)
    assert parse_products(["all"]) == tuple(Product)
    job = make_job(Wishes(cut=(Product.WINDOW,), allowance=6.35, blocks=2))
    assert job.arrangements == (Arrangement.PIECES,)
    assert job.options()["facing"] == {"window": "front", "assembled": "front"}


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"cut": (Product.CLOTH,)}, "cloth shapes are asked for, but no allowance"),
        ({"allowance": 6.35}, "an allowance is asked for, but nothing that has it. Add --cut cloth"),
        ({"grain": 0.0}, "a grain direction is asked for"),
        ({"junction_holes": True}, "junction holes are asked for, but nothing that has them"),
        ({"centre_lines": True}, "centre lines are asked for"),
        ({"removal_holes": True, "cut": (Product.CLOTH,), "allowance": 5.0}, "Add --cut finished"),
        (
            {"cut": (Product.WINDOW,), "allowance": 5.0, "arrange": (Arrangement.ASSEMBLED,)},
            "window templates can't be cut edge to edge",
        ),
        (
            {"cut": (Product.CLOTH,), "allowance": 5.0, "arrange": (Arrangement.ASSEMBLED,)},
            "their allowances overlap",
        ),
    ],
)
def test_wishes_that_go_nowhere(wishes, words):
    """A wish that would change nothing, or can't be met, is refused with what to add."""
    assert words in refusal(make_job, Wishes(**wishes))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('measure = "depth"', "measure can't be 'depth'. Allowed is width, height, edge"),
        ('formats = ["png"]', "formats can't be ['png']. Allowed is a list of svg, dxf"),
        ("arrange = []", "arrange can't be []. Allowed is a list of pieces, assembled"),
        ('facing = "either"', "facing can't be 'either'. Allowed is one of back, front"),
        ("blocks = 0", "blocks can't be 0. Allowed is a whole number from 1 to 10000"),
        ("blocks = 2.5", "blocks can't be 2.5. Allowed is a whole number"),
        ('lines = "middle"', "lines can't be 'middle'. Allowed is one of centre, as-drawn, auto"),
        ("only = [1]", "only can't hold 1. Allowed are lines of 1 to 80 letters"),
        ("skip = []", "skip is empty. Allowed is a list of texts in quotes"),
        ('one_unit = "1"', "one_unit is wrong: '1' has no unit. Write 1in or 1mm"),
        ('cut = ["papers"]', "cut can't be ['papers']. Allowed is a list of finished, cloth, window, all"),
        ("junction_holes = 1", "junction_holes can't be 1. Allowed is true or false"),
        ("grain = 400", "grain can't be 400. Allowed is a number from -360 to 360"),
        ('without = ["letters"]', "without can't be ['letters']"),
        ('gap = "0mm"', "gap is wrong: '0mm' is zero"),
        ('size = "4in"', "size is not a known key"),
        ('[sizes]\nsmall = "4"', "sizes.small is wrong: '4' has no unit"),
        ('[sizes]\n"../x" = "4in"', "sizes.../x can't be a size: no folder can be called '../x'"),
        ('[sizes]\na = "4in"\nA = "5in"', "sizes.A can't be a size: 'A' is there twice"),
        ("[sizes]", "sizes is empty. Allowed are lines such as small"),
        ('profile = "mat"', "there is no profile 'mat'"),
        ('profile = "gone.toml"', "can't be read"),
    ],
)
def test_mistakes_in_the_file(tmp_path, line, words):
    """Every mistake in a job file is named with what is allowed, and ends with exit code 2."""
    path = tmp_path / "moth.toml"
    path.write_text(line)
    with pytest.raises(ProfileError) as caught:
        read_wishes(path)
    assert caught.value.exit_code == 2
    assert any(words in finding.line() for finding in caught.value.findings)


def test_sizes():
    """Sizes keep their order and names; spaces round the name don't count."""
    assert parse_sizes(["small=4in", " Größe 2 = 150mm"]) == (Size("small", 101.6), Size("Größe 2", 150.0))
    assert parse_sizes([]) == ()


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["4in"], "has no name. Write NAME=LENGTH"),
        (["=4in"], "no folder can be called ''"),
        (["../x=4in"], "no folder can be called '../x'"),
        (["a/b=4in"], "no folder can be called 'a/b'"),
        (["con=4in"], "no folder can be called 'con'"),
        (["manifest.json=4in"], "no folder can be called 'manifest.json'"),
        (["s=4in", "S=5in"], "'S' is there twice"),
        (["small=6"], "--size small: '6' has no unit. Write 6in or 6mm."),
        (["small=1,000mm"], "--size small: '1,000mm' could mean 1mm or 1000mm"),
        (["small="], "--size small: '' is not a length"),
        (["small=0in"], "--size small: '0in' is zero"),
    ],
)
def test_impossible_sizes(texts, words):
    """A size without a usable name or a clear length is refused in one line."""
    assert words in refusal(parse_sizes, texts)


def test_other_options():
    """Measures, formats and lengths are checked where they are given."""
    assert parse_measure("edge:AB") == "edge:AB"
    assert parse_formats("DXF, svg") == ("dxf", "svg")
    assert parse_option("--one-unit", "1px") == pytest.approx(25.4 / 96)
    assert "--measure can't be 'edge:'" in refusal(parse_measure, "edge:")
    assert "--formats can't be 'svg,svg'" in refusal(parse_formats, "svg,svg")
    assert "Use svg or dxf" in refusal(parse_formats, "")
    assert refusal(parse_option, "--one-unit", "1") == "--one-unit: '1' has no unit. Write 1in or 1mm."


def test_measure_needs_a_size():
    """A measure without a size would change nothing, so it is refused."""
    assert "Add --size" in refusal(make_job, Wishes(measure="height"))
