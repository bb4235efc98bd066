"""What is installed works: wheel, sdist and editable install carry the same code and data."""

import ast
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

import convert

ROOT = Path(__file__).resolve().parent.parent
PROBE = """
import convert, json
from importlib import resources
from convert.profile import load_profile, profile_names
from convert.writers.manifest import manifest_schema
print(json.dumps({
    "profiles": {name: load_profile(name).width for name in profile_names()},
    "samples": sorted(f.name for f in (resources.files("convert") / "samples").iterdir()),
    "typed": (resources.files("convert") / "py.typed").is_file(),
    "schema": bool(manifest_schema()),
    "where": convert.__file__,
}))
"""


def run(*command, cwd, **environment):
    """Run a command and return its output; its complaints are shown when it fails.

    It finds packages where it is installed, not where the tests were told to.
    """
    told = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        [*map(str, command)], cwd=cwd, env=told | environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    """Copy what the project keeps, so that building leaves nothing behind in it."""
    copy = tmp_path_factory.mktemp("source")
    for name in ("convert", "profiles"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy / name)
    return copy


@pytest.fixture(scope="module")
def built(source, tmp_path_factory):
    """Build a wheel straight from the source, an sdist, and a wheel from the sdist."""
    out = tmp_path_factory.mktemp("dist")
    build = (sys.executable, "-m", "build", "--no-isolation")
    run(*build, "--sdist", "--wheel", "--outdir", out, source, cwd=out)
    (sdist,) = out.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        archive.extractall(out / "unpacked", filter="data")
    (unpacked,) = (out / "unpacked").iterdir()
    run(*build, "--wheel", "--outdir", out / "again", unpacked, cwd=out)
    return next(out.glob("*.whl")), sdist, next((out / "again").glob("*.whl"))


def probe(folder, tmp_path):
    """Return what the package in `folder` finds of its own data, asked from elsewhere."""
    # -P and a path of our own: neither this checkout nor an installed copy answers instead.
    code = f"import sys; sys.path.insert(0, {str(folder)!r})\n{PROBE}"
    return run(sys.executable, "-P", "-c", code, cwd=tmp_path)


def members(wheel):
    """Return name and content of a wheel's files, without the record of them."""
    with zipfile.ZipFile(wheel) as archive:
        return {name: archive.read(name) for name in archive.namelist() if not name.endswith("RECORD")}


def test_wheel_holds_everything(built):
    """Every module and data file of the source is in the wheel: no sub-package was forgotten."""
    wheel, _, _ = built
    names = set(members(wheel))
    kept = {".py", ".toml", ".svg", ".json", ".typed"}
    for folder, inside in ((ROOT / "convert", "convert"), (ROOT / "profiles", "convert/profiles")):
        for path in folder.rglob("*"):
            if path.is_file() and (path.suffix in kept or path.name == "py.typed"):
                assert f"{inside}/{path.relative_to(folder).as_posix()}" in names


def test_sdist_makes_the_same_wheel(built):
    """The wheel built from the sdist equals the one built from the source, file by file."""
    wheel, _, again = built
    assert members(again) == members(wheel)


def test_wheel_works(built, tmp_path):
    """The unpacked wheel finds its profiles, demo drawings and schema from any folder."""
    wheel, _, _ = built
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "site")
    answer = probe(tmp_path / "site", tmp_path)
    assert str(tmp_path / "site") in answer
    assert '"mat-12x12": 304.8' in answer
    assert '"typed": true, "schema": true' in answer
    assert '"samples": []' not in answer


def test_editable_install_works(source, tmp_path):
    """An editable install finds its profiles, and sees a new one at once."""
    # Built and unpacked by hand, as an installer would do it, because an installer that runs in this
    # environment might take away the copy that is being tested.
    build = "import setuptools.build_meta as b, sys; print(b.build_editable(sys.argv[1]))"
    wheel = run(sys.executable, "-c", build, tmp_path, cwd=source).splitlines()[-1]
    environment = tmp_path / "environment"
    venv.create(environment)
    (site,) = environment.glob("lib/python*/site-packages")
    with zipfile.ZipFile(tmp_path / wheel) as archive:
        archive.extractall(site)
    # The libraries come from the environment that runs this test.
    libraries = [path for path in sys.path if path.endswith("site-packages")]
    ask = ("-c", f"import sys; sys.path += {libraries!r}\n{PROBE}")
    python = environment / "bin" / "python"
    answer = run(python, *ask, cwd=tmp_path)
    assert str(source) in answer
    assert '"mat-12x12": 304.8' in answer
    own = source / "profiles" / "mine.toml"
    text = (source / "profiles" / "mat-12x12.toml").read_text()
    own.write_text(text.replace('width = "12in"', 'width = "10in"'))
    assert '"mine": 254.0' in run(python, *ask, cwd=tmp_path)
    own.unlink()


def test_version_is_told_once():
    """The version in the code is the one in the project file."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert convert.__version__ == project["version"]
    assert project["scripts"] == {"piecewright": "convert.cli:main"}


def test_every_outside_import_is_declared():
    """Each library that the package imports is among its dependencies, and each of these is imported."""
    imported = set()
    for path in (ROOT / "convert").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                imported |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                imported.add(node.module.split(".")[0])
    outside = imported - set(sys.stdlib_module_names) - {"convert"}
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dependencies"]
    assert outside == {name.split("=")[0].split(">")[0] for name in declared}
