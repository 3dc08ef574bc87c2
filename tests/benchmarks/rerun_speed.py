"""Time what a lawn of many measured photos costs when nothing, or one thing, is new.

    python tests/benchmarks/rerun_speed.py --photos 1000

The sample lawn is measured once. Then its photos and maps are copied, the photos each with a number behind its end and
so with another content hash, into one lawn and its record, as if each had been measured. The commands run as processes
of their own; printed are their wall and processor time (user and system), the median of the rounds. Where other work
shares the machine, the processor time is the one to compare.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from swardmark.lawn.toml import Lawn, PhotoFile, read_lawn
from swardmark.measure.survey import open_record, survey, task_of
from swardmark.photo.decode import digest_of
from swardmark.record.frames import reference_of
from swardmark.record.store import Record

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


def fabricate(folder: Path, photos: int) -> Lawn:
    """Make a lawn of so many measured photos; the first is the sample's first, and the others' reference."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    lawn = read_lawn(folder)
    with open_record(lawn) as record:
        measured = survey(lawn, record).measured
        reference = measured[0].name, reference_of(measured[0], side_m=1.0, record=record.path)
        first, raw = (
            measured[0].taken_at,
            {e.name: (folder / "photos" / e.name).read_bytes() for e in measured},
        )
        assert first is not None
        for name in list(raw)[1:]:
            (folder / "photos" / name).unlink()
        for number in range(1, photos):
            entry, when = measured[number * len(measured) // photos], first + dt.timedelta(days=number)
            path = folder / "photos" / f"{number:05}.jpg"
            path.write_bytes(raw[entry.name] + str(number).encode())
            file = PhotoFile("main", path, path.name)
            _copy(record, entry, file, when, task_of(lawn, file, reference=reference).digest)
    return lawn


def _copy(record: Record, entry: object, file: PhotoFile, when: dt.datetime, settings: str) -> None:
    digest = digest_of(file.read())
    new = replace(entry, digest=digest, name=file.name, taken_at=when, settings=settings)
    record.put(new, record.ground_map(entry))
    record.remember_files([(file.name, *file.size_and_time(), digest)])


def run(*words: object) -> tuple[float, float]:
    """Run a command to its end; returns wall and processor time, seconds."""
    before, start = os.times(), time.monotonic()
    subprocess.run(
        [sys.executable, "-m", "swardmark", *map(str, words)], check=True, stdout=subprocess.DEVNULL
    )
    after = os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return time.monotonic() - start, used


def show(name: str, rounds: list[tuple[float, float]]) -> None:
    """Print the medians of some rounds."""
    wall, used = (statistics.median(values) for values in zip(*rounds, strict=True))
    print(f"{name:44} {wall:6.2f} s wall  {used:6.2f} s processor", flush=True)


def main() -> int:
    """Fabricate a lawn and time the commands."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--photos", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="swardmark-rerun-") as scratch:
        lawn = fabricate(Path(scratch) / "lawn", options.photos)
        folder, size = lawn.folder, (lawn.folder / "record.sqlite").stat().st_size
        print(
            f"{options.photos} photos, record {size / 1e6:.0f} MB, {size / options.photos / 1000:.0f} kB a photo"
        )
        show("nothing: swardmark --help", [run("--help") for _ in range(options.rounds)])
        show("measure, first time after the maps", [run("measure", folder)])
        show("measure, nothing new", [run("measure", folder) for _ in range(options.rounds)])
        show("outlook, nothing new", [run("outlook", folder) for _ in range(options.rounds)])
        show("outlook --as-of the middle", [run("outlook", folder, "--as-of", "2027-01-01")])
        toml = folder / "lawn.toml"
        toml.write_text(toml.read_text().replace("[[-0.10, 1.20]", "[[-0.15, 1.20]"))
        show("measure, one of three zones changed", [run("measure", folder)])
        toml.write_text(toml.read_text() + "\n[measure]\nthreshold = 0.1\n")
        show("measure, threshold changed", [run("measure", folder)])
    return 0


if __name__ == "__main__":
    sys.exit(main())
