"""The README's pictures are what the program makes today."""

import importlib.util
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_the_pictures_are_the_programs_own_output(tmp_path):
    """Made again, they are the same to the letter, and the README shows each of them."""
    spec = importlib.util.spec_from_file_location("make_pictures", ROOT / "fixtures" / "make_pictures.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")

    made = script.pictures(tmp_path)

    for name, text in made.items():
        kept = (script.FOLDER / name).read_text(encoding="utf-8")
        assert kept == text, f"{name} is out of date: run fixtures/make_pictures.py"
        assert f"fixtures/pictures/{name}" in readme
