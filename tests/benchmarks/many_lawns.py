"""How long a folder of lawns takes in which no photo is new: today, relevel and report, wall time and peak memory.

    python tests/benchmarks/many_lawns.py [--lawns 200] [--room DIR]

Copies of the sample lawn, measured once; every tenth has a leaf that is overdue, every tenth no photo for two weeks.
Relevel and report run twice: the first one finds the spots of every lawn and keeps them in its record.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
DAY = "2026-07-01"
APART = """import os, subprocess, sys, time
start = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, usage = os.wait4(process.pid, 0)
taken = time.perf_counter() - start, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024
print(os.waitstatus_to_exitcode(status), *taken)"""
"""Runs a command from a small process: a child's peak memory begins at that of the process that started it."""


def main() -> None:
    """Make the lawns, run the commands and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--lawns", type=int, default=200)
    parser.add_argument("--room", type=Path)
    asked = parser.parse_args()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # pip compiles what it installs
    with tempfile.TemporaryDirectory() as place:
        folder = (asked.room or Path(place)) / "lawns"
        _make(folder, asked.lawns)
        _run("today", str(folder), "--as-of", DAY)  # reads what only has to be read once
        print(f"{asked.lawns} lawns of 8 photos")
        for word in ("today", "relevel", "relevel", "report", "report"):
            day = () if word == "relevel" else ("--as-of", DAY)
            code, wall, processor, peak = _run(word, str(folder), *day)
            print(
                f"{word:8} {wall:6.1f} s wall {processor:6.1f} s processor {peak:5.0f} MiB (exit code {code:.0f})"
            )


def _make(folder: Path, count: int) -> None:
    first = folder / "lawn-000"
    if first.exists():
        return
    shutil.copytree(SAMPLE, first)
    subprocess.run([sys.executable, "-m", "swardmark", "measure", str(first), "--quiet"], check=True)
    for number in range(1, count):
        made = folder / f"lawn-{number:03d}"
        shutil.copytree(first, made, copy_function=_linked)
        text = (made / "lawn.toml").read_text(encoding="utf-8")
        name = text.partition('name = "')[2].partition('"')[0]
        (made / "lawn.toml").unlink()
        (made / "lawn.toml").write_text(
            text.replace(f'name = "{name}"', f'name = "Lawn {number}"', 1), encoding="utf-8"
        )
        if number % 10 == 1:
            (made / "readings.csv").write_text("date,height_mm\n2026-06-30,60\n", encoding="utf-8")
        if number % 10 == 2:
            for photo in sorted((made / "photos").iterdir())[4:]:
                photo.unlink()


def _linked(source: str, target: str) -> None:
    """Link photos, which nobody writes; copy the rest."""
    if source.endswith(".jpg"):
        os.link(source, target)
    else:
        shutil.copy(source, target)


def _run(*words: str) -> tuple[float, ...]:
    command = [sys.executable, "-c", APART, sys.executable, "-m", "swardmark", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return tuple(float(number) for number in done.stdout.split())


if __name__ == "__main__":
    main()
