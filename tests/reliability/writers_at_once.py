"""Let several writers change one lawn at the same moment, round after round, and count what is lost.

    python tests/reliability/writers_at_once.py --rounds 200 --writers 5

Each writer is a process of its own. In every round all of them add another photo under one and the same name with its
day, mark a square, and add a line to readings.csv and one to diary.csv. Afterward every photo that was said to be added
must be there with its bytes and its day, and every mark and line. Ends with exit code 1 where one is not.
"""

from __future__ import annotations

import argparse
import collections
import datetime as dt
import hashlib
import io
import multiprocessing
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from swardmark.lawn.editing import add_diary_entry, add_reading
from swardmark.lawn.folder import add_photos, start_lawn
from swardmark.lawn.marks import PhotoMarks, read_marks, write_marks
from swardmark.lawn.readings import read_diary, read_readings
from swardmark.lawn.toml import read_lawn

LONGEST_S = 120
FIRST_DAY = dt.datetime(2026, 1, 1, 10)
CORNERS = ((10.0, 200.0), (200.0, 200.0), (180.0, 20.0), (30.0, 20.0))


def photo(number: int) -> bytes:
    """Return a small photo that no other number gives."""
    rgb = np.random.default_rng(number).integers(0, 255, (250, 260, 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=30)
    return out.getvalue()


def day_of(number: int) -> dt.datetime:
    """Return the day that a photo is added with."""
    return FIRST_DAY + dt.timedelta(minutes=number % 100_000)


def write(folder: Path, place: Path, number: int) -> str:
    """Make all changes of one writer in one round; returns the name that its photo was added under."""
    place.mkdir(exist_ok=True)
    shot = place / "IMG_0001.jpg"
    shot.write_bytes(photo(number))
    done = add_photos(read_lawn(folder), [shot], date=day_of(number))
    write_marks(folder, {f"hand-{number}.jpg": PhotoMarks(corners_px=CORNERS)})
    add_reading(folder, {"date": "2026-06-03", "height_mm": 20, "note": f"reading {number}"})
    add_diary_entry(folder, {"date": "2026-06-03", "what": "watered", "note": f"entry {number}"})
    return done.added[0] if done.added else f"({done.refused[0]})"


def run(rounds: int, writers: int, *, seed: int = 1) -> tuple[int, list[str]]:
    """Return how many photos were called added, and what is missing of what was said to be written."""
    with tempfile.TemporaryDirectory(prefix="swardmark-writers-") as scratch:
        folder = Path(scratch) / "lawn"
        start_lawn(folder)
        context = multiprocessing.get_context("fork")
        barrier, said = context.Barrier(writers), context.Queue()
        crew = [
            context.Process(
                target=_writer, args=(who, rounds, writers, seed, folder, Path(scratch), barrier, said)
            )
            for who in range(writers)
        ]
        for process in crew:
            process.start()
        names = dict(said.get(timeout=LONGEST_S) for _ in range(rounds * writers))
        for process in crew:
            process.join(LONGEST_S)
        return len(names), list(_missing(folder, names, seed))


def _writer(
    who: int, rounds: int, writers: int, seed: int, folder: Path, scratch: Path, barrier: Any, said: Any
) -> None:
    for turn in range(rounds):
        number = turn * writers + who
        barrier.wait(LONGEST_S)
        try:
            name = write(folder, scratch / str(who), seed * 1_000_000 + number)
        except Exception as error:
            name = f"({type(error).__name__}: {error})"
        said.put((number, name))


def _missing(folder: Path, names: dict[int, str], seed: int) -> list[str]:
    marks, readings, diary = read_marks(folder), read_readings(folder), read_diary(folder)
    noted = collections.Counter(row.note for row in (*readings, *diary))
    there = {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in (folder / "photos").iterdir()
    }
    faults = []
    for number, name in names.items():
        own = seed * 1_000_000 + number
        if there.get(name) != hashlib.sha256(photo(own)).hexdigest():
            faults.append(f"photo {number} is gone, added as {name}")
        if name not in marks or marks[name].taken_at != day_of(own):
            faults.append(f"the day of photo {number} is lost")
        if f"hand-{own}.jpg" not in marks:
            faults.append(f"mark {number} is lost")
        faults += [
            f"{what} {number} stands {noted[f'{what} {own}']} times"
            for what in ("reading", "entry")
            if noted[f"{what} {own}"] != 1
        ]
    left = [path.name for path in folder.rglob(".*") if path.is_file()]
    return faults + [f"{name} is left" for name in left]


def main() -> int:
    """Let the writers write and print what was lost."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--writers", type=int, default=5)
    options = parser.parse_args()
    added, faults = run(options.rounds, options.writers)
    print(*faults[:40], sep="\n")
    print(f"{options.rounds} rounds of {options.writers} writers, {added} photos: {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
