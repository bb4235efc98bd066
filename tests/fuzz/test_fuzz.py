"""A short turn of the coverage-guided fuzzer, the same one each time; see fuzz_inspect.py for long ones."""

import importlib.util
import os
import platform
import subprocess
import sys
from pathlib import Path

import pytest

RUNS, SEED = 400, 20


def atheris_or_skip():
    """Skip the test where there is no atheris, but fail it in CI where there is one for the platform."""
    if importlib.util.find_spec("atheris") is not None:
        return
    wheel = sys.platform == "linux" and platform.machine() == "x86_64" and platform.libc_ver()[0] == "glibc"
    if os.environ.get("CI") and wheel and sys.implementation.name == "cpython" and sys.version_info < (3, 15):
        pytest.fail("CI must have atheris for the fuzz test")
    pytest.skip("no atheris on this machine")


def test_a_short_turn_of_fuzzing_finds_nothing(tmp_path):
    """Some hundred inputs beyond the seeds, each inspected wholly: no crash, no hang, no gigabyte."""
    atheris_or_skip()
    command = [
        sys.executable, str(Path(__file__).with_name("fuzz_inspect.py")), "60",
        "--runs", str(RUNS), "--seed", str(SEED), "--folder", str(tmp_path), "--few",
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)

    assert done.returncode == 0, done.stdout + done.stderr
    assert ", 0 findings" in done.stdout
    executed = int(done.stdout.split(" inputs")[0].split()[-1])
    assert executed > 100
