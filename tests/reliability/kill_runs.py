"""Kill measuring runs at random moments and look whether anything was lost.

    python tests/reliability/kill_runs.py --kills 200 --seed 1

A copy of the sample lawn is measured once undisturbed. Then, as often as wanted, a run on another copy is killed with
SIGKILL at a random moment of its life, and measured on to the end. Afterwards cover.csv must be that of the undisturbed
run, every file of the keeper's unchanged, and no lock or temporary file left. Ends with exit code 1 where it is not.
"""

from __future__ import annotations

import argparse
import hashlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
KEEPERS = ("lawn.toml", "marks.toml", "readings.csv", "diary.csv", "weather.csv")
RECORD = ("record.sqlite", "record.sqlite-wal", "record.sqlite-shm")
PHOTOS = 3


@dataclass
class Outcome:
    """How many runs were killed, how many had ended before, and what was found wrong."""

    killed: int = 0
    ended: int = 0
    partly: int = 0
    faults: list[str] = field(default_factory=list)


def small_lawn(folder: Path) -> Path:
    """Copy the sample lawn with its first photos and with files of the keeper's."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    for photo in sorted((folder / "photos").iterdir())[PHOTOS:]:
        photo.unlink()
    (folder / "readings.csv").write_text("date,height_mm,note\n2026-06-06,22,dry\n")
    (folder / "diary.csv").write_text("date,what\n2026-06-04,watered\n")
    return folder


def keepers_files(folder: Path) -> dict[str, str]:
    """Return a hash of every file of the keeper's, the photos among them."""
    files = [folder / name for name in KEEPERS] + sorted((folder / "photos").rglob("*"))
    return {
        str(f.relative_to(folder)): hashlib.sha256(f.read_bytes()).hexdigest() for f in files if f.is_file()
    }


def run_kills(kills: int, *, seed: int, told: Callable[[str], None] = print) -> Outcome:
    """Kill so many runs, the first of each two with nothing measured, the second where that one was killed."""
    rng, outcome = np.random.default_rng(seed), Outcome()
    with tempfile.TemporaryDirectory(prefix="swardmark-kills-") as scratch:
        whole = small_lawn(Path(scratch) / "whole")
        _seconds_of(whole)
        _forget(whole)
        longest = _seconds_of(whole)
        expected = (whole / "out/cover.csv").read_bytes()
        lawn = small_lawn(Path(scratch) / "lawn")
        before = keepers_files(lawn)
        while outcome.killed < kills:
            was_killed = _kill_one(lawn, float(rng.uniform(0.02, longest)), outcome)
            if not was_killed or outcome.killed % 2 == 0 or outcome.killed == kills:
                continue_to_end(lawn)
                faults = left_wrong(lawn, expected, before)
                outcome.faults += [f"kill {outcome.killed}: {fault}" for fault in faults]
                _forget(lawn)
            if was_killed and outcome.killed % 20 == 0:
                told(f"{outcome.killed} of {kills}: {len(outcome.faults)} faults")
    return outcome


def continue_to_end(lawn: Path) -> None:
    """Measure a lawn to the end."""
    subprocess.run(_command(lawn), check=True, capture_output=True, timeout=120)


def left_wrong(lawn: Path, expected: bytes, before: dict[str, str]) -> list[str]:
    """Return what is not as after an undisturbed run."""
    faults = []
    if (lawn / "out/cover.csv").read_bytes() != expected:
        faults.append("cover.csv differs")
    if keepers_files(lawn) != before:
        faults.append("a file of the keeper's differs")
    left = [path.name for path in lawn.rglob("*") if path.name.endswith((".part", ".lock", "-wal", "-shm"))]
    return faults + [f"{name} is left" for name in left]


def _kill_one(lawn: Path, after_s: float, outcome: Outcome) -> bool:
    process = subprocess.Popen(_command(lawn), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        process.wait(after_s)
        outcome.ended += 1
        return False
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
        process.wait()
        outcome.killed += 1
        outcome.partly += (lawn / RECORD[0]).exists()
        return True


def _forget(lawn: Path) -> None:
    for name in RECORD:
        (lawn / name).unlink(missing_ok=True)
    shutil.rmtree(lawn / "out", ignore_errors=True)


def _seconds_of(lawn: Path) -> float:
    start = time.monotonic()
    continue_to_end(lawn)
    return time.monotonic() - start


def _command(lawn: Path) -> list[str]:
    return [sys.executable, "-m", "swardmark", "measure", str(lawn), "--quiet"]


def main() -> int:
    """Kill the runs and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    outcome = run_kills(options.kills, seed=options.seed, told=lambda line: print(line, flush=True))
    print(*outcome.faults, sep="\n")
    print(f"{outcome.killed} killed ({outcome.partly} with a record begun), {outcome.ended} had ended before")
    print(f"{len(outcome.faults)} faults")
    return 1 if outcome.faults else 0


if __name__ == "__main__":
    sys.exit(main())
