"""Coverage-guided fuzzing of the reader and the whole of `inspect`, with atheris.

Run it as `python tests/fuzz/fuzz_inspect.py [SECONDS] [--runs N] [--seed N] [--folder DIR] [--few]`. It
starts from `seeds`, changes files as `mutations` do and as libFuzzer does, and watches what `looking` calls
broken. A finding doesn't end the run: it is kept in DIR/findings with its traceback, once for each place in
the code, and looked at again afterwards in a process of its own without the fuzzer. The last line has the
figures; the program ends with 1 if a finding holds. Without `--folder` everything lies in a folder that is
removed; with it, a later run goes on from the corpus.
"""

from __future__ import annotations

import argparse
import re
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
from hashlib import sha256
from pathlib import Path
from random import Random

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
LARGEST = 16_000
"""Bytes: drawings that use everything are smaller, and smaller ones are tried more often."""
TURN_SECONDS = 600
"""How long one process fuzzes: atheris itself keeps some 100 kB of every input."""
HARD_SECONDS = 60
"""Of the clock: when libFuzzer ends an input that never returns to Python."""
_DONE = re.compile(r"#(\d+)\s+\w+\s+cov: (\d+) ft: (\d+) corp: (\d+)/")
_ROOMS = (
    "block",
    "cutting",
    "geometry",
    "reader",
    "writers.manifest",
    "cli",
    "errors",
    "job",
    "pipeline",
    "remarks",
    "settings",
    "units",
)


def fuzz(folder: Path, seconds: int, runs: int, seed: int) -> None:
    """Fuzz in this process, which libFuzzer ends. The corpus and the findings are in `folder`."""
    import importlib
    import pkgutil

    import atheris

    with atheris.instrument_imports(include=["convert"]):
        import convert

        for module in pkgutil.walk_packages(convert.__path__, "convert."):
            if module.name.removeprefix("convert.").startswith(_ROOMS) and not module.name.endswith("child"):
                importlib.import_module(module.name)
    from looking import limit_memory, looked_at
    from mutations import mutated
    from seeds import seeds

    files = seeds()
    own = Path(tempfile.mkdtemp(dir=folder)) / "fuzzed.svg"

    def test(data: bytes) -> None:
        limit_memory()
        try:
            looked_at(data, own)
        except Exception as fault:  # noqa: BLE001 - whatever it is, it is what is looked for
            keep(folder / "findings", data, fault)

    def mutate(data: bytes, most: int, number: int) -> bytes:
        chance = Random(number)
        if chance.random() < 0.1:
            return atheris.Mutate(data, most)
        changed = mutated(data or files[number % len(files)], chance, files, 3)
        return changed if len(changed) <= most else data[:most]

    def cross(first: bytes, second: bytes, most: int, number: int) -> bytes:
        changed = mutated(first, Random(number), [second or b" "], 3)
        return changed if len(changed) <= most else first[:most]

    limits = [
        f"-max_len={LARGEST}",
        "-len_control=0",
        f"-timeout={HARD_SECONDS}",
        "-rss_limit_mb=3000",
        "-use_value_profile=0",
    ]
    limits += [
        f"-max_total_time={seconds}",
        f"-seed={seed}",
        f"-artifact_prefix={folder}/artifacts/",
        "-print_final_stats=1",
    ]
    if runs:
        limits.append(f"-runs={runs}")
    atheris.Setup(
        [sys.argv[0], *limits, f"{folder}/corpus"], test, custom_mutator=mutate, custom_crossover=cross
    )
    atheris.Fuzz()


def keep(folder: Path, data: bytes, fault: BaseException) -> None:
    """Keep a file and the traceback it led to, unless one from the same place is kept already."""
    frames = [f for f in traceback.extract_tb(fault.__traceback__) if "/convert/" in f.filename]
    where = f"{Path(frames[-1].filename).stem}-{frames[-1].lineno}" if frames else "looking"
    name = f"{type(fault).__name__}-{where}"
    if not (folder / f"{name}.svg").exists():
        (folder / f"{name}.txt").write_text(
            "".join(traceback.format_exception(fault)), "utf-8", "backslashreplace"
        )
        (folder / f"{name}.svg").write_bytes(data)


def again(file: Path, folder: Path) -> str:
    """Look at a file in a process of its own; return what is wrong with it, or an empty string."""
    command = [sys.executable, str(HERE / "looking.py"), str(file), str(folder)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=2 * HARD_SECONDS)
    except subprocess.TimeoutExpired:
        return f"no end within {2 * HARD_SECONDS} s"
    return (
        ""
        if done.returncode == 0
        else (done.stderr.strip() or f"exit code {done.returncode}").splitlines()[-1]
    )


def supervise(folder: Path, seconds: int, runs: int, seed: int, *, few: bool) -> int:
    """Fuzz in processes of their own until the time is over; return how many findings hold."""
    from seeds import BLOCKS, drawings, seeds

    for name in ("corpus", "findings", "artifacts"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    for data in drawings()[-len(BLOCKS) :] if few else seeds():
        if len(data) <= LARGEST:
            (folder / "corpus" / sha256(data).hexdigest()[:40]).write_bytes(data)
    begun, executed, covered, turns, died = time.monotonic(), 0, (0, 0), 0, 0
    while (left := round(seconds - (time.monotonic() - begun))) > 0:
        log = folder / f"log-{turns}.txt"
        command = [
            sys.executable,
            __file__,
            str(min(left, TURN_SECONDS)),
            "--runs",
            str(runs),
            "--seed",
            str(seed + turns),
            "--folder",
            str(folder),
            "--inner",
        ]
        with log.open("wb") as stream:
            done = subprocess.run(command, stdout=stream, stderr=stream)
        lines = _DONE.findall(log.read_text("utf-8", "replace"))
        if lines:
            executed += int(lines[-1][0])
            covered = max(covered, (int(lines[-1][1]), int(lines[-1][2])))
        turns += 1
        died += done.returncode != 0
        if runs and not done.returncode:
            break
        if not lines:
            sys.exit(f"fuzzing did not start:\n{log.read_text('utf-8', 'replace')[-3000:]}")
    for artifact in (folder / "artifacts").iterdir():
        # What is only slow under the fuzzer is told by `looking` if it matters.
        if not artifact.name.startswith("slow-unit"):
            shutil.copy(artifact, folder / "findings" / f"{artifact.name}.svg")
    holding = 0
    for file in sorted((folder / "findings").glob("*.svg")):
        wrong = again(file, folder)
        holding += bool(wrong)
        print(f"finding {file.stem}: {wrong or 'only while fuzzing'}")
        if wrong:
            print(file.read_bytes()[:2000].decode("utf-8", "backslashreplace"))
    corpus = sum(1 for _ in (folder / "corpus").iterdir())
    print(
        f"{time.monotonic() - begun:.0f} s, {executed} inputs, {covered[0]} branches and {covered[1]} "
        f"features covered, {corpus} files in the corpus, {died} ends before the time, {holding} findings"
    )
    return holding


def main() -> None:
    """Read the arguments and fuzz."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("seconds", nargs="?", type=int, default=60)
    parser.add_argument("--runs", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--few", action="store_true", help="start from a few small blocks only")
    parser.add_argument("--inner", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.inner:
        fuzz(asked.folder, asked.seconds, asked.runs, asked.seed)
    elif asked.folder:
        sys.exit(supervise(asked.folder.resolve(), asked.seconds, asked.runs, asked.seed, few=asked.few) > 0)
    else:
        with tempfile.TemporaryDirectory() as folder:
            sys.exit(supervise(Path(folder), asked.seconds, asked.runs, asked.seed, few=asked.few) > 0)


if __name__ == "__main__":
    main()
