"""Feed thousands of damaged files to every reader: none may crash it, hold it up or eat the memory.

    python tests/reliability/fuzz_inputs.py --count 10000 --seed 1

Whole files of every kind are damaged at random (bits flipped, cut off, spliced with another, stretches removed, doubled
or zeroed, numbers and words replaced by monsters) and read as swardmark reads them. Each must be accepted, or be
refused in one line that names the file, the reason and the remedy. Ends with exit code 1 where one is not.
"""

from __future__ import annotations

import argparse
import collections
import io
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pillow_heif
from PIL import Image

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.marks import read_marks
from swardmark.lawn.readings import read_diary, read_readings
from swardmark.lawn.toml import MeasureSettings, read_lawn
from swardmark.lawn.weather import read_weather
from swardmark.measure.covers import measure_covers
from swardmark.measure.survey import Task, measure_photo
from swardmark.photo.decode import read_photo
from swardmark.photo.location import has_place, without_place
from swardmark.season import season_of

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
LONGEST_S = 10
MOST_MEMORY_GIB = 1.5
MEASURED_ONE_IN, WHOLE_LAWN_ONE_IN = 4, 25
MONSTERS = (
    b"1e308", b"-1e308", b"9" * 400, b"nan", b"inf", b"-0", b"0x7fffffff", b"1_000", b"''", b'"', b"=cmd()", b"\0",
    b"\xff\xfe", b"[" * 3000, b"{" * 50, b"\r", b"\n\n", b";", b",,,,", b"0001-01-01", b"9999-12-31", b"true", b"[]",
    "\u202e\u2028".encode(), "\U0001f33f".encode(), b"1979-05-27T07:32:00-08:00", b"-9999", b"a" * 70_000,
)  # fmt: skip
BINARY_MONSTERS = (b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\0\0\0\0", b"\x80\0\0\0", b"\xff\xff", b"\0\1")
TEXTS = {
    "marks.toml": '[photo."2026-06-03.jpg"]\ncorners_px = [[480.0, 1065.0], [1165.0, 1075.0], [1046.0, 685.0],'
    " [598.0, 678.0]]\ntaken_at = 2026-06-03T10:30:00\n",
    "readings.csv": "date,point,zone,height_mm,dip_mm,firm,note,spot,x_m,y_m\n"
    "2026-06-10,main,old dip,22.5,,yes,dry,,,\n"
    '2026-06-12,main,,,14,no,"by the, path",2,1.25,-0.5\n',
    "diary.csv": 'date,what,amount,note\n2026-06-04,watered,12 mm,"evening, late"\n2026-06-20,mowed,,first\n',
    "weather.csv": "date,tmin_c,tmax_c\n2026-06-03,14.2,27.5\n2026-06-04,15,29\n2026-06-05,,\n",
    "ghcn": "USW00003889,20260603,TMAX,278,,,W,2400\nUSW00003889,20260603,TMIN,150,,,W,2400\n"
    "USW00003889,20260604,TMAX,283,,,W,2400\nUSW00003889,20260604,TMIN,-9999,,,W,2400\n",
}


@dataclass
class Tally:
    """What became of the inputs."""

    accepted: collections.Counter = field(default_factory=collections.Counter)
    refused: collections.Counter = field(default_factory=collections.Counter)
    faults: list[str] = field(default_factory=list)
    slowest_s: float = 0.0
    slowest: str = ""


class TooLong(Exception):
    """An input held its reader up."""


def whole_files() -> dict[str, bytes]:
    """Return one whole small file of each kind, by kind."""
    photo = Image.open(next(iter(sorted((SAMPLE / "photos").iterdir())))).convert("RGB").resize((320, 240))
    exif = Image.Exif()
    exif[271], exif[274] = "Maker", 6
    exif.get_ifd(0x8769).update({36867: "2026:06:03 10:15:00", 41989: 26})
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 12.5), 3: "W", 4: (0.0, 7.0, 39.9)})
    pillow_heif.register_heif_opener()
    kinds = {
        "a.jpg": ("JPEG", {"quality": 85, "exif": exif}),
        "progressive.jpg": ("JPEG", {"quality": 80, "exif": exif, "progressive": True}),
        "a.png": ("PNG", {"exif": exif}),
        "a.tif": ("TIFF", {"compression": "tiff_lzw"}),
        "a.webp": ("WEBP", {"quality": 80, "exif": exif}),
        "a.heic": ("HEIF", {"quality": 60, "exif": exif.tobytes()}),
    }
    files = {}
    for name, (kind, options) in kinds.items():
        out = io.BytesIO()
        photo.save(out, kind, **options)
        files[name] = out.getvalue()
    files["lawn.toml"] = (SAMPLE / "lawn.toml").read_bytes()
    return files | {name: text.encode() for name, text in TEXTS.items()}


def mutated(data: bytes, other: bytes, rng: np.random.Generator, *, is_text: bool) -> bytes:
    """Return a file damaged in one to four ways, half of them in one way alone, so that some get past the gate."""
    for _ in range(1 if rng.random() < 0.5 else rng.integers(2, 5)):
        if is_text and rng.random() < 0.6:
            data = _another_word(data, rng)
        elif not is_text and rng.random() < 0.4:
            data = _another_number(bytearray(data), rng)
        else:
            data = _damage(bytearray(data), other, rng, MONSTERS if is_text else BINARY_MONSTERS)
    return _with_checksums(data) if rng.random() < 0.7 else data


def run(count: int, seed: int, *, progress: bool = False) -> Tally:
    """Damage and read so many inputs."""
    warnings.simplefilter("ignore")
    rng, tally, files = np.random.default_rng(seed), Tally(), whole_files()
    names = list(files)
    previous = signal.signal(signal.SIGALRM, _too_long)
    with tempfile.TemporaryDirectory(prefix="swardmark-fuzz-") as scratch:
        lawn = _measured_lawn(Path(scratch) / "whole") if count >= WHOLE_LAWN_ONE_IN else None
        for number in range(count):
            name = names[number % len(names)]
            is_text = not name.startswith(("a.", "progressive"))
            data = mutated(files[name], files[names[rng.integers(len(names))]], rng, is_text=is_text)
            deep = bool(rng.integers(MEASURED_ONE_IN) == 0)
            if lawn is not None and is_text and rng.integers(WHOLE_LAWN_ONE_IN // 2) == 0:
                _try(
                    tally,
                    f"whole lawn, {name}",
                    number,
                    seed,
                    data,
                    lambda d=data, n=name: _in_lawn(lawn, n, d),
                )
            else:
                folder = Path(scratch) / "one"
                _try(
                    tally,
                    name,
                    number,
                    seed,
                    data,
                    lambda d=data, n=name, x=deep, f=folder: _read(f, n, d, deep=x),
                )
            if progress and number % 500 == 499:
                print(f"{number + 1} done, {len(tally.faults)} faults", file=sys.stderr, flush=True)
    signal.signal(signal.SIGALRM, previous)
    return tally


def peak_gib() -> float:
    """Return the process's highest memory so far, GiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


def _try(tally: Tally, name: str, number: int, seed: int, data: bytes, read: Callable[[], object]) -> None:
    start = time.monotonic()
    signal.alarm(LONGEST_S)
    fault = ""
    try:
        read()
        tally.accepted[name] += 1
    except SwardmarkError as error:
        tally.refused[name] += 1
        line = str(error)
        if "\n" in line or not (error.what and error.where and error.remedy):
            fault = f"not one line with file, reason and remedy: {line!r:.300}"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        fault = "".join(traceback.format_exception(error)[-3:])
    finally:
        signal.alarm(0)
    taken = time.monotonic() - start
    if taken > tally.slowest_s:
        tally.slowest_s, tally.slowest = taken, f"{name} {number}"
    if fault:
        kept = (
            Path(tempfile.gettempdir())
            / f"swardmark-fuzz-{seed}-{number}-{name.replace(', ', '-').replace(' ', '-')}"
        )
        kept.write_bytes(data)
        tally.faults.append(f"{kept}: {fault}")


def _read(folder: Path, name: str, data: bytes, *, deep: bool) -> None:
    """Read one damaged file as swardmark would."""
    folder.mkdir(exist_ok=True)
    readers: dict[str, Callable[[Path], object]] = {
        "lawn.toml": read_lawn, "marks.toml": read_marks, "readings.csv": read_readings, "diary.csv": read_diary,
        "weather.csv": read_weather, "ghcn": read_weather,
    }  # fmt: skip
    path = folder / ("weather.csv" if name == "ghcn" else name)
    path.write_bytes(data)
    if name in readers:
        readers[name](folder)
        return
    photo = read_photo(path)
    has_place(data)
    if name.endswith(".jpg"):
        without_place(data, name=name)
    if deep:
        measure_photo(photo, Task("main", 1.0, MeasureSettings()))


def _in_lawn(lawn: Path, name: str, data: bytes) -> None:
    """Measure and review a whole lawn with one of its keeper's files damaged."""
    path = lawn / ("weather.csv" if name == "ghcn" else name)
    before = path.read_bytes() if path.exists() else None
    path.write_bytes(data)
    try:
        season_of(measure_covers(lawn))
    finally:
        path.unlink() if before is None else path.write_bytes(before)


def _measured_lawn(folder: Path) -> Path:
    ignored = shutil.ignore_patterns("record.sqlite*", "out", "2026-06-0[69]*", "2026-06-15*", "2026-06-24*")
    shutil.copytree(SAMPLE, folder, ignore=ignored)
    season_of(measure_covers(folder))
    return folder


def _another_word(data: bytes, rng: np.random.Generator) -> bytes:
    """Put a monster, or a word from elsewhere in the file, in the place of a number, day or word."""
    words = list(re.finditer(rb"[-\w.:]+", data))
    if not words:
        return data
    place = words[rng.integers(len(words))]
    new = MONSTERS[rng.integers(len(MONSTERS))] if rng.random() < 0.7 else words[rng.integers(len(words))][0]
    return data[: place.start()] + new + data[place.end() :]


def _another_number(data: bytearray, rng: np.random.Generator) -> bytes:
    """Change one to four bytes, mostly in the header, where sizes, offsets and tags are."""
    size = max(len(data), 1)
    at = int(rng.integers(min(size, 800) if rng.random() < 0.7 else size))
    new = (
        BINARY_MONSTERS[rng.integers(len(BINARY_MONSTERS))]
        if rng.random() < 0.5
        else rng.bytes(rng.integers(1, 5))
    )
    data[at : at + len(new)] = new
    return bytes(data)


def _with_checksums(data: bytes) -> bytes:
    """Make a PNG's checksums right again, so that the damage behind them is met."""
    if not data.startswith(b"\x89PNG\r\n\x1a\n"):
        return data
    whole, at = bytearray(data), 8
    while at + 12 <= len(whole):
        length = int.from_bytes(whole[at : at + 4], "big")
        end = at + 8 + length
        if end + 4 > len(whole):
            break
        whole[end : end + 4] = zlib.crc32(whole[at + 4 : end]).to_bytes(4, "big")
        at = end + 4
    return bytes(whole)


def _damage(data: bytearray, other: bytes, rng: np.random.Generator, monsters: tuple[bytes, ...]) -> bytes:
    size = max(len(data), 1)
    at = int(rng.integers(min(size, 600) if rng.random() < 0.5 else size))
    length = int(rng.integers(1, min(size, 4 ** rng.integers(1, 7)) + 1))
    how = rng.integers(8)
    if how == 0:
        for place in rng.integers(size, size=rng.integers(1, 20)):
            if data:
                data[place] ^= 1 << int(rng.integers(8))
    elif how == 1:
        del data[at:]
    elif how == 2:
        start = int(rng.integers(max(len(other), 1)))
        data[at : at + length] = other[start : start + length]
    elif how == 3:
        del data[at : at + length]
    elif how == 4:
        data[at:at] = data[at : at + length] * int(rng.integers(1, 4))
    elif how == 5:
        data[at : at + length] = bytes(len(data[at : at + length]))
    else:
        monster = monsters[rng.integers(len(monsters))]
        data[at : at + int(rng.integers(len(monster) + 1))] = monster
    return bytes(data)


def _too_long(*_: object) -> None:
    raise TooLong(f"more than {LONGEST_S} s")


def _lines(tally: Tally, taken_s: float) -> Iterator[str]:
    for name in sorted(tally.accepted | tally.refused):
        yield f"{name:28} accepted {tally.accepted[name]:5}   refused {tally.refused[name]:5}"
    total = tally.accepted.total() + tally.refused.total() + len(tally.faults)
    yield f"{total} inputs in {taken_s:.0f} s; {len(tally.faults)} faults; slowest {tally.slowest_s:.2f} s"
    yield f"({tally.slowest}); peak memory {peak_gib():.2f} GiB"


def main() -> int:
    """Run the loop and print what became of the inputs."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    sys.stderr = os.fdopen(os.dup(2), "w")
    os.dup2(nowhere, 2)
    start = time.monotonic()
    tally = run(options.count, options.seed, progress=True)
    for line in (*tally.faults, *_lines(tally, time.monotonic() - start)):
        print(line)
    return 1 if tally.faults or peak_gib() > MOST_MEMORY_GIB else 0


if __name__ == "__main__":
    sys.exit(main())
