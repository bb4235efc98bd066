"""Profiles: those that come with the program are sound, and mistakes in others are named."""

import pytest

from convert.cutting.sheet import Purpose
from convert.errors import ProfileError
from convert.profile import (
    DEFAULT_LAYERS,
    AdviceSettings,
    Ends,
    Home,
    NickSettings,
    OrderSettings,
    Smallest,
    StartAt,
    Tool,
    load_profile,
    parse_profile,
    profile_names,
)
from convert.profile_text import format_profile

PLAIN = """
title = "Own"
tool = "blade"
gap = "3mm"
[sheet]
width = "300mm"
height = "200mm"
[margins]
left = "0mm"
right = "1/4in"
top = "5mm"
bottom = "5mm"
"""


def problems(text):
    """Return the printed lines of everything that is wrong with a profile."""
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "own", "own.toml")
    assert caught.value.exit_code == 2
    return [finding.line() for finding in caught.value.findings]


def test_shipped_names():
    """The promised profiles come with the program."""
    assert profile_names() == (
        "a4-card",
        "die-board",
        "laser-600x400",
        "letter-card",
        "mat-12x12",
        "mat-12x24",
    )


@pytest.mark.parametrize("name", profile_names())
def test_shipped_profiles(name):
    """Each is sound: a layer for every purpose, room on the sheet, and steps finer than the promise."""
    profile = load_profile(name)
    assert profile.name == name
    assert set(profile.layers) == set(Purpose)
    assert profile.width - profile.margins.left - profile.margins.right > 150
    assert profile.height - profile.margins.top - profile.margins.bottom > 150
    assert profile.gap >= 2


@pytest.mark.parametrize("name", profile_names())
def test_show_is_complete(name):
    """What `profiles show` prints can be saved and read again, and means the same."""
    profile = load_profile(name)
    text = format_profile(profile)
    assert parse_profile(text, name, "again.toml") == profile
    assert format_profile(parse_profile(text, name, "again.toml")) == text


def test_show_keeps_odd_sizes_exactly():
    """Lengths that are no neat inch or millimetre, and quotes in a title, survive being shown."""
    text = PLAIN.replace('"300mm"', '"11.7in"').replace('"Own"', '"My \\"best\\" mat"')
    profile = parse_profile(text, "own", "own.toml")
    assert profile.title == 'My "best" mat'
    assert parse_profile(format_profile(profile), "own", "own.toml") == profile


def test_own_file(tmp_path):
    """A profile of one's own is used by its path, absolute or beside the job, and named after its file."""
    (tmp_path / "own.toml").write_text(PLAIN)
    absolute = load_profile(str(tmp_path / "own.toml"))
    beside = load_profile("own.toml", beside=tmp_path)
    assert absolute == beside
    assert absolute.name == "own"
    assert absolute.tool is Tool.BLADE
    assert (absolute.margins.left, absolute.margins.right) == (0.0, 6.35)
    assert absolute.svg.units_per_inch == 96
    assert absolute.dxf.version == "R2000"
    assert {p.value: layer for p, layer in absolute.layers.items()} == DEFAULT_LAYERS


def test_every_field():
    """Every field is read as what it says, in millimetres, and survives being shown."""
    text = PLAIN.replace('gap = "3mm"', 'gap = "3mm"\nkerf = "0.2mm"\nrotation = 90') + (
        '[smallest]\nfeature = "1mm"\ngap = "2mm"\nbend = "1/8in"\n'
        '[ends]\nclosed = false\novercut = "0.5mm"\n'
        '[cut_order]\nstart = "corner"\nfar_side_first = true\nhome = "upper right"\n'
        '[nicks]\nlength = "0.5mm"\nspacing = "40mm"\n'
        '[advice]\nsharp_corner_deg = 30\nshort_edge = "10mm"\nsmall_piece = "8mm"\ntight_curve = "12mm"\n'
    )
    profile = parse_profile(text, "own", "own.toml")
    assert (profile.kerf, profile.turn_step_deg) == (0.2, 90.0)
    assert profile.smallest == Smallest(1.0, 2.0, 3.175)
    assert profile.ends == Ends(closed=False, overcut=0.5)
    assert profile.order == OrderSettings(StartAt.CORNER, far_side_first=True, home=Home.UPPER_RIGHT)
    assert profile.nicks == NickSettings(0.5, 40.0)
    assert profile.advice == AdviceSettings(30.0, 10.0, 8.0, 12.0)
    assert parse_profile(format_profile(profile), "own", "own.toml") == profile


@pytest.mark.parametrize(("words", "step"), [('"any"', None), ('"none"', 0.0), ("45", 45.0), ("22.5", 22.5)])
def test_rotation(words, step):
    """Pieces may be turned anyhow, not at all, or in steps."""
    profile = parse_profile(
        PLAIN.replace('gap = "3mm"', f'gap = "3mm"\nrotation = {words}'), "own", "own.toml"
    )
    assert profile.turn_step_deg == step
    assert parse_profile(format_profile(profile), "own", "own.toml") == profile


def test_one_layer_for_all():
    """A machine that wants everything on one layer can have it, in one colour."""
    rows = "".join(f'[layers.{p.value}]\nname = "ALL"\ncolour = "#000000"\n' for p in Purpose)
    profile = parse_profile(PLAIN + rows, "own", "own.toml")
    assert {layer.name for layer in profile.layers.values()} == {"ALL"}
    two_colours = rows.replace('"#000000"', '"#ffffff"', 1)
    assert all("is a second one for layer ALL" in line for line in problems(PLAIN + two_colours))


def test_layers_cannot_be_changed():
    """A profile is a value: its layers can't be altered after it is read."""
    profile = load_profile("mat-12x12")
    with pytest.raises(TypeError):
        profile.layers[Purpose.OUTER] = profile.layers[Purpose.MARK]


def test_unknown_name():
    """An unknown name is answered with the nearest known one and all of them."""
    with pytest.raises(ProfileError) as caught:
        load_profile("mat-12x21")
    line = caught.value.findings[0].line()
    assert "Did you mean mat-12x24?" in line
    assert "letter-card" in line


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('tool = "blade"', 'tool = "sword"', "tool can't be 'sword'. Allowed is one of blade, laser"),
        ('gap = "3mm"', 'gap = "3"', "gap is wrong: '3' has no unit"),
        ('gap = "3mm"', "gap = 3", "gap can't be 3. Allowed is a length in quotes with its unit"),
        ('gap = "3mm"', 'gap = "0mm"', "gap is wrong: '0mm' is zero"),
        ('gap = "3mm"', 'gap = "250mm"', "gap is wider than the usable sheet"),
        ('gap = "3mm"', 'gap = "3kg"', "gap is wrong: '3kg' has an unknown unit"),
        ('width = "300mm"', 'width = "1,000mm"', "sheet.width is wrong: '1,000mm' could mean"),
        ('width = "300mm"', 'widht = "300mm"', "sheet.widht is not a known key. Known here: width, height"),
        ('left = "0mm"', 'left = "-1mm"', "margins.left is wrong: '-1mm' is negative"),
        ('left = "0mm"', 'left = "294mm"', "margins leave nothing of the sheet"),
        ("[sheet]", "[svg]\nunits_per_inch = 0\n[sheet]", "svg.units_per_inch can't be 0"),
        ("[sheet]", "[svg]\ndigits = 3\n[sheet]", "svg.digits can't be 3. Allow more"),
        ("[sheet]", "[dxf]\ndigits = 2.5\n[sheet]", "dxf.digits can't be 2.5. Allowed is a whole number"),
        ("[sheet]", '[dxf]\nunit = "in"\ndigits = 5\n[sheet]', "dxf.digits can't be 5. Allow more"),
        ("[sheet]", '[dxf]\nversion = "R13"\n[sheet]', "dxf.version can't be 'R13'. Allowed is one of"),
        ("[sheet]", '[layers.outer]\nname = "cut me"\n[sheet]', "layers.outer.name can't be 'cut me'"),
        ("[sheet]", '[layers.outer]\ncolour = "red"\n[sheet]', "layers.outer.colour can't be 'red'"),
        ("[sheet]", '[layers.outer]\nwidth = "0mm"\n[sheet]', "layers.outer.width is wrong"),
        ("[sheet]", "[layers.outre]\n[sheet]", "layers.outre is not a known key. Known here: outer, inner"),
        ('title = "Own"', 'title = "a\\nb"', "title is not one line of text"),
        (
            'gap = "3mm"',
            'gap = "3mm"\nkerf = "4mm"',
            "kerf can't be '4mm'. Allowed is a length of at most 3 mm",
        ),
        (
            'gap = "3mm"',
            'gap = "1mm"\nkerf = "2mm"',
            "gap is less than the kerf. Allowed is a length of 2 mm",
        ),
        ('gap = "3mm"', 'gap = "3mm"\nkerf = 0.1', "kerf can't be 0.1. Allowed is a length in quotes"),
        (
            'gap = "3mm"',
            'gap = "3mm"\nrotation = "some"',
            'rotation can\'t be \'some\'. Allowed is "any", "none"',
        ),
        (
            'gap = "3mm"',
            'gap = "3mm"\nrotation = 7',
            'rotation can\'t be 7. Allowed is "any", "none" or degrees',
        ),
        ('gap = "3mm"', 'gap = "3mm"\nrotation = true', "rotation can't be true"),
        ("[sheet]", '[smallest]\ngap = "5mm"\n[sheet]', "gap is less than smallest.gap"),
        (
            "[sheet]",
            '[smallest]\nbend = "1m"\n[sheet]',
            "smallest.bend can't be '1m'. Allowed is a length of at",
        ),
        ("[sheet]", '[ends]\novercut = "1mm"\n[sheet]', "ends.overcut does not go with closed ends"),
        (
            "[sheet]",
            '[ends]\nclosed = "no"\n[sheet]',
            "ends.closed can't be the text 'no'. Allowed is true or false",
        ),
        (
            "[sheet]",
            '[cut_order]\nhome = "left"\n[sheet]',
            "cut_order.home can't be 'left'. Allowed is one of lower",
        ),
        ("[sheet]", '[cut_order]\nstart = "end"\n[sheet]', "cut_order.start can't be 'end'"),
        ("[sheet]", '[nicks]\nlength = "1mm"\n[sheet]', "nicks.spacing is too short for such nicks"),
        ("[sheet]", "[advice]\nsharp_corner_deg = 120\n[sheet]", "advice.sharp_corner_deg can't be 120"),
        ("[sheet]", '[advice]\nshort_edge = "2"\n[sheet]', "advice.short_edge is wrong: '2' has no unit"),
    ],
)
def test_mistakes(old, new, words):
    """Each kind of mistake is one line with the file, the key path and what is allowed."""
    assert old in PLAIN
    lines = problems(PLAIN.replace(old, new, 1))
    assert all(line.startswith("own.toml: ") for line in lines)
    assert any(words in line for line in lines), lines
