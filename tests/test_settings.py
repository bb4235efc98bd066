"""Strict reading of TOML: every mistake is named, with its file and key path, all in one go."""

import pytest

from convert.errors import ProfileError
from convert.settings import read_table, read_text


def mistakes(table):
    """Return the printed lines of everything `finish` complains about."""
    with pytest.raises(ProfileError) as caught:
        table.finish()
    return [finding.line() for finding in caught.value.findings]


def test_all_mistakes_at_once():
    """Missing, misspelt, mistyped and impossible values in nested tables are all reported together."""
    table = read_table('a = 3\nb = "x"\nmisspelt = 1\n[t]\nlength = "6"\nother = 2\n', "j.toml")
    table.text("a")
    table.integer("b", 1, 9)
    table.text("gone")
    table.table("t").length("length")
    assert mistakes(table) == [
        "j.toml: a can't be 3. Allowed is text in quotes.",
        "j.toml: b can't be the text 'x'. Allowed is a whole number from 1 to 9.",
        "j.toml: gone is missing. Allowed is text in quotes.",
        "j.toml: t.length is wrong: '6' has no unit. Write 6in or 6mm.",
        "j.toml: misspelt is not a known key. Known here: a, b, gone, t.",
        "j.toml: t.other is not a known key. Known here: length.",
    ]


def test_missing_table_is_one_mistake():
    """A table that is missing is reported once, not once for each of its keys."""
    table = read_table("", "j.toml")
    table.table("sheet").length("width")
    assert mistakes(table) == ["j.toml: sheet is missing. Allowed is a table [sheet]."]


@pytest.mark.parametrize("value", ["nan", "inf", "-1", "11", "true", '"5"', "[5]", "1979-05-27"])
def test_numbers_are_numbers_in_range(value):
    """A number that is not finite, out of range or not a number is refused."""
    table = read_table(f"n = {value}", "j.toml")
    table.number("n", 0, 10)
    (line,) = mistakes(table)
    assert "n can't be" in line
    assert "a number from 0 to 10" in line


@pytest.mark.parametrize("value", ["[]", '["svg", "svg"]', '["png"]', "[1]", '"svg"', "[[]]"])
def test_lists_hold_known_words_once(value):
    """A list of words holds known ones only, each once and at least one."""
    table = read_table(f"formats = {value}", "j.toml")
    assert table.choices("formats", ("svg", "dxf")) == ()
    assert len(mistakes(table)) == 1


@pytest.mark.parametrize(("text", "line"), [("a = [1,\nb", 2), ("a = 1\na = 2\n", 2), ("= 1", 1)])
def test_not_toml(text, line):
    """Text that is not TOML is one error with its line."""
    with pytest.raises(ProfileError) as caught:
        read_table(text, "j.toml")
    (finding,) = caught.value.findings
    assert finding.line().startswith(f"j.toml:{line}: this is not TOML: ")


def test_deep_nesting_is_an_error():
    """Brackets nested without end are an error of the file, not of the program."""
    with pytest.raises(ProfileError):
        read_table("a = " + "[" * 100_000, "j.toml")


def test_unreadable_files(tmp_path):
    """A missing, huge or binary file and a folder are one error each that names the file."""
    huge, binary = tmp_path / "huge.toml", tmp_path / "binary.toml"
    huge.write_bytes(b"#" * 300_000)
    binary.write_bytes(b"\xff\xfe\x00")
    for path, words in [
        (tmp_path / "none.toml", "can't be read"),
        (tmp_path, "can't be read"),
        (huge, "too large"),
        (binary, "not UTF-8"),
    ]:
        with pytest.raises(ProfileError, match=words) as caught:
            read_text(path)
        assert caught.value.findings[0].line().startswith(str(path))


def test_byte_order_mark(tmp_path):
    """A byte order mark, which some editors write, does no harm."""
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbftitle = 'x'")
    assert read_table(read_text(path), "bom.toml").text("title") == "x"
