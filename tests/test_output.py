"""Files appear whole or not at all, only where they may, and never in place of somebody else's."""

import json
import os
import re
import stat
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from convert.errors import OutputError
from convert.output import MANIFEST, safe_name, staging


def tree(folder):
    """Return everything below a folder, hidden files included: path to content (None for folders)."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


def manifest(files):
    """Return a manifest that lists `files` (path to content), as the program writes it."""
    entries = [{"path": name, "sha256": sha256(data).hexdigest()} for name, data in files.items()]
    return json.dumps({"schema": 1, "program": {"name": "piecewright"}, "files": entries}).encode()


def publish(out, files, *, name="moth", source=None, force=False):
    """Publish `files` and their manifest the way a conversion does."""
    source = source or next(p for p in out.parents if p.exists()) / "moth.svg"
    if not source.exists():
        source.write_bytes(b"<svg/>")
    with staging(out, name, source, force=force) as staged:
        for relative, data in files.items():
            staged.write(relative, data)
        staged.write(MANIFEST, manifest(files))
        return staged.publish()


FIRST = {"small/a.svg": b"1", "small/b.dxf": b"2", "large/a.svg": b"3"}
SECOND = {"small/a.svg": b"11", "tiny/a.svg": b"4"}


def test_publish(tmp_path):
    """Files land in DIR/<name>, folders are made on the way, and nothing else stays behind."""
    out = tmp_path / "deep" / "out"
    result = publish(out, FIRST)
    assert result.folder == out / "moth"
    assert set(result.written) == {*FIRST, MANIFEST}
    found = {path for path, data in tree(out).items() if data is not None}
    assert found == {f"moth/{name}" for name in (*FIRST, MANIFEST)}
    assert stat.S_IMODE((out / "moth" / "small").stat().st_mode) & 0o500 == 0o500


def test_again_replaces_and_tidies(tmp_path):
    """A second run replaces our own files and removes those, and folders, that are no longer made."""
    publish(tmp_path / "out", FIRST)
    (tmp_path / "out" / "moth" / "notes.txt").write_bytes(b"mine")
    result = publish(tmp_path / "out", SECOND)
    assert result.removed == ("large/a.svg", "small/b.dxf")
    assert result.findings == ()
    assert tree(tmp_path / "out" / "moth") == {
        "manifest.json": manifest(SECOND),
        "notes.txt": b"mine",
        "small": None,
        "small/a.svg": b"11",
        "tiny": None,
        "tiny/a.svg": b"4",
    }


def test_whole_folders_go(tmp_path):
    """When a size with several files, in folders within folders, is no longer made, all of it goes."""
    publish(tmp_path / "out", {"old/a.svg": b"1", "old/b.svg": b"2", "old/deep/c.svg": b"3"})
    publish(tmp_path / "out", {"new/a.svg": b"1"})
    assert set(tree(tmp_path / "out" / "moth")) == {"manifest.json", "new", "new/a.svg"}


def test_same_again_is_the_same(tmp_path):
    """Running twice with the same result changes no byte."""
    publish(tmp_path / "out", FIRST)
    before = tree(tmp_path)
    publish(tmp_path / "out", FIRST)
    assert tree(tmp_path) == before


def test_changed_file_is_not_replaced(tmp_path):
    """A file of ours that was edited since is refused, nothing changes, and --force replaces it."""
    publish(tmp_path / "out", FIRST)
    (tmp_path / "out" / "moth" / "small" / "a.svg").write_bytes(b"edited")
    before = tree(tmp_path)
    with pytest.raises(OutputError, match="--force") as caught:
        publish(tmp_path / "out", SECOND)
    assert caught.value.findings[0].code == "OUTPUT-004"
    assert tree(tmp_path) == before
    publish(tmp_path / "out", SECOND, force=True)
    assert (tmp_path / "out" / "moth" / "small" / "a.svg").read_bytes() == b"11"


def test_changed_file_that_is_no_longer_made_stays(tmp_path):
    """An edited file that would be removed stays, and a warning says so, even with --force."""
    publish(tmp_path / "out", FIRST)
    edited = tmp_path / "out" / "moth" / "large" / "a.svg"
    edited.write_bytes(b"edited")
    result = publish(tmp_path / "out", SECOND, force=True)
    assert edited.read_bytes() == b"edited"
    assert [finding.code for finding in result.findings] == ["OUTPUT-005"]


@pytest.mark.parametrize("other", ["small/a.svg", MANIFEST])
def test_foreign_file_is_not_replaced(tmp_path, other):
    """A file that we never wrote is refused, a foreign manifest too; --force replaces it."""
    path = tmp_path / "out" / "moth" / other
    path.parent.mkdir(parents=True)
    path.write_bytes(b'{"schema": 1}')
    before = tree(tmp_path / "out")
    with pytest.raises(OutputError) as caught:
        publish(tmp_path / "out", FIRST)
    assert caught.value.findings[0].code == "OUTPUT-004"
    assert tree(tmp_path / "out") == before
    publish(tmp_path / "out", FIRST, force=True)
    assert (tmp_path / "out" / "moth" / "small" / "a.svg").read_bytes() == b"1"


def test_manifest_that_lies(tmp_path):
    """A manifest that names files outside its folder, or through a link, removes none of them."""
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"keep")
    publish(tmp_path / "out", FIRST)
    folder = tmp_path / "out" / "moth"
    (folder / "way").symlink_to(tmp_path)
    lies = {"../../outside.txt": b"keep", str(outside): b"keep", "way/outside.txt": b"keep"}
    (folder / MANIFEST).write_bytes(manifest(FIRST | lies))
    publish(tmp_path / "out", SECOND)
    assert outside.read_bytes() == b"keep"


@pytest.mark.parametrize(
    "text",
    [b"", b"[]", b"{", b'{"files": 3}', b'{"schema": 1, "files": [{"path": 1, "sha256": 2}]}', b"[" * 99_999],
)
def test_broken_manifest(tmp_path, text):
    """A broken manifest means that nothing here is ours: files in the way are refused."""
    publish(tmp_path / "out", FIRST)
    (tmp_path / "out" / "moth" / MANIFEST).write_bytes(text)
    with pytest.raises(OutputError, match="--force"):
        publish(tmp_path / "out", FIRST)


def test_links_lead_nowhere(tmp_path):
    """A folder of ours that is a link to elsewhere is refused, so nothing is written outside DIR."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    out = tmp_path / "out"
    out.mkdir()
    (out / "moth").symlink_to(elsewhere)
    with pytest.raises(OutputError, match="is a link"):
        publish(out, FIRST, force=True)
    (out / "moth").unlink()
    (out / "moth").mkdir()
    (out / "moth" / "small").symlink_to(elsewhere)
    with pytest.raises(OutputError, match="is a link"):
        publish(out, FIRST, force=True)
    assert tree(elsewhere) == {}


def test_link_in_place_of_a_file(tmp_path):
    """A link in place of a file is foreign; with --force the link goes and its target stays."""
    target = tmp_path / "target.svg"
    target.write_bytes(b"keep")
    path = tmp_path / "out" / "moth" / "small" / "a.svg"
    path.parent.mkdir(parents=True)
    path.symlink_to(target)
    with pytest.raises(OutputError):
        publish(tmp_path / "out", FIRST)
    publish(tmp_path / "out", FIRST, force=True)
    assert target.read_bytes() == b"keep"
    assert not path.is_symlink()


def test_original_is_never_replaced(tmp_path):
    """The drawing itself is never overwritten or removed, even if it lies where a file should go."""
    publish(tmp_path / "out", FIRST)
    drawing = tmp_path / "out" / "moth" / "small" / "a.svg"
    with pytest.raises(OutputError) as caught:
        publish(tmp_path / "out", SECOND, source=drawing, force=True)
    assert caught.value.findings[0].code == "OUTPUT-003"
    publish(tmp_path / "out", {"tiny/a.svg": b"4"}, source=drawing)
    assert drawing.read_bytes() == b"1"


def test_file_where_a_folder_must_be(tmp_path):
    """A file in place of a folder, and a folder in place of a file, are named and left alone."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "moth").write_bytes(b"x")
    with pytest.raises(OutputError, match="is a file where a folder must be"):
        publish(out, FIRST, force=True)
    (out / "moth").unlink()
    (out / "moth" / "small" / "a.svg").mkdir(parents=True)
    with pytest.raises(OutputError, match="is a folder where a file must be"):
        publish(out, FIRST, force=True)
    file = tmp_path / "file"
    file.write_bytes(b"x")
    with pytest.raises(OutputError, match="can't write here") as caught:
        publish(file, FIRST)
    assert caught.value.findings[0].code == "OUTPUT-006"


def test_impossible_folder(tmp_path):
    """A folder name that the system refuses is one error that names it."""
    with pytest.raises(OutputError, match="can't write here"):
        publish(tmp_path / ("x" * 300), FIRST)


def test_nothing_published_nothing_left(tmp_path):
    """When the work is given up, neither files nor folders stay, and earlier output is untouched."""
    source = tmp_path / "moth.svg"

    def give_up(out):
        with staging(out, "moth", source, force=True) as staged:
            staged.write("small/a.svg", b"new")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        give_up(tmp_path / "a" / "b")
    assert tree(tmp_path) == {}
    publish(tmp_path / "out", FIRST)
    before = tree(tmp_path)
    with pytest.raises(ZeroDivisionError):
        give_up(tmp_path / "out")
    assert tree(tmp_path) == before


@pytest.mark.parametrize("broken_step", range(9))
def test_a_failed_move_is_undone(tmp_path, monkeypatch, broken_step):
    """If the system fails at any step of moving into place, the folder is as it was before."""
    publish(tmp_path / "out", FIRST)
    before = tree(tmp_path)
    replace, steps = Path.replace, iter(range(100))

    def failing(self, target):
        if next(steps) == broken_step:
            raise OSError(28, os.strerror(28), str(target))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    new = {"small/a.svg": b"11", "small/b.dxf": b"2", "very/deep/c.svg": b"5"}
    if broken_step < 8:  # three replaced, one gone, four written
        with pytest.raises(OutputError, match="No space left"):
            publish(tmp_path / "out", new)
        assert tree(tmp_path) == before
    else:
        publish(tmp_path / "out", new)
        assert tree(tmp_path) != before


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("moth", "moth"),
        ("Dusk moth (2)", "Dusk moth (2)"),
        ("Blüte № 3", "Blüte - 3"),
        ("../x", "-x"),
        ("..", "drawing"),
        (".", "drawing"),
        ("", "drawing"),
        (".hidden", "hidden"),
        ("a/b\\c:d*e?f", "a-b-c-d-e-f"),
        ("line\nbreak\x1b[31m", "line-break--31m"),
        ("trailing. . ", "trailing"),
        ("CON", "CON-"),
        ("nul.tar", "nul-.tar"),
        ("com1", "com1-"),
        ("\u202egnp", "-gnp"),
    ],
)
def test_safe_names(name, safe):
    """Known awkward names become plain ones that still can be recognised."""
    assert safe_name(name) == safe


@given(st.text(max_size=200))
@example("é" * 200)
@example("a" * 99 + " .b")
def test_any_name_is_one_safe_step(text):
    """Any text becomes one visible path step of moderate length, and a safe name stays as it is."""
    name = safe_name(text)
    assert name
    assert name not in {".", ".."}
    assert not re.search(r'[/\\:*?"<>|\x00-\x1f]', name)
    assert name[0] not in " ."
    assert name[-1] not in " ."
    assert len(name.encode()) <= 101
    assert safe_name(name) == name


@pytest.mark.parametrize("name", ["../a", "/a", "a//b", "", "a/", "a/../b", "con", "a\nb"])
def test_only_safe_paths_are_staged(tmp_path, name):
    """No file can be staged outside the drawing's folder."""
    with staging(tmp_path / "out", "x", tmp_path, force=False) as staged, pytest.raises(OutputError):
        staged.write(name, b"")
    assert tree(tmp_path) == {}
