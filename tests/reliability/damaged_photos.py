"""Damage JPEGs of drawn lawns, keep their end, measure them, and count what is wrong in silence.

    python tests/reliability/damaged_photos.py --count 500 --seed 1
    python tests/reliability/damaged_photos.py --count 500 --seed 1 --cuts

Drawn photos of known cover are saved as cameras and programs do (baseline, progressive, with restart marks), and each
copy is damaged once, as cards, cables and copies do it: bytes overwritten, zeroed, lost, doubled, moved, taken from
another photo, bits turned, in the picture's data or in its tables; with `--cuts` as in jpeg_surgery.py. A copy is
refused, or measured; one whose truth lies outside the interval in a zone where the whole photo holds it, and that no
note calls damaged, is wrong in silence. Ends with exit code 1 where there is one.
"""

from __future__ import annotations

import argparse
import collections
import datetime as dt
import io
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from accuracy import covers_of
from accuracy_scenes import Lawn, grow_lawn

from jpeg_surgery import cut
from swardmark.canopy.cover import Cover
from swardmark.common.errors import PhotoRefused
from swardmark.lawn.toml import MeasureSettings
from swardmark.measure.survey import Task, measure_photo
from swardmark.photo.decode import decode
from swardmark.photo.sentences import ODD_COLORS, ODD_TABLE, SEAM, STRAY_BYTES, TWICE
from swardmark.practice.draw import DrawnPhoto

LAWNS, WIDTH_PX, LEAST_POINTS = 10, 1024, 500
KINDS = {
    "baseline": {"quality": 90},
    "progressive": {"quality": 85, "progressive": True},
    "restart marks": {"quality": 90, "restart_marker_rows": 1},
}
NAMED = {"one color", SEAM, STRAY_BYTES, TWICE, ODD_TABLE, ODD_COLORS}
"""Findings and notes that say that the file is damaged."""


@dataclass(frozen=True, eq=False)
class Whole:
    """A drawn photo as a file, and which of its zones hold the truth when it is whole."""

    kind: str
    data: bytes
    photo: DrawnPhoto
    lawn: Lawn
    holds: tuple[bool, ...]
    covers: tuple[Cover, ...]


@dataclass
class Tally:
    """What became of the damaged copies, and those that were wrong in silence."""

    refused: int = 0
    measured: int = 0
    unchanged: int = 0
    noted: int = 0
    worst_pct: float = 0.0
    silent: list[str] = field(default_factory=list)
    ways: collections.Counter = field(default_factory=collections.Counter)


def whole_photos(lawns: int = LAWNS, *, width_px: int = WIDTH_PX, first: int = 4000) -> list[Whole]:
    """Draw lawns and save each as one kind of JPEG; lawns that are refused when whole are passed over."""
    found: list[Whole] = []
    seed = first
    while len(found) < lawns:
        lawn, kind = grow_lawn(seed, width_px=width_px), list(KINDS)[len(found) % len(KINDS)]
        photo = lawn.draw(seed=seed)
        data = saved(photo, kind)
        seed += 1
        try:
            covers, _ = measured(data, photo, lawn)
        except PhotoRefused:
            continue
        truth = lawn.true_cover_pct()
        holds = tuple(
            c.points > LEAST_POINTS and c.low_pct <= t <= c.high_pct
            for c, t in zip(covers, truth, strict=True)
        )
        found.append(Whole(kind, data, photo, lawn, holds, tuple(covers)))
    return found


def saved(photo: DrawnPhoto, kind: str) -> bytes:
    """Return a drawn photo as a JPEG of some kind, with date and focal length."""
    exif, out = Image.Exif(), io.BytesIO()
    inner = exif.get_ifd(0x8769)
    inner[36867] = f"{dt.datetime(2026, 6, 1, 10):%Y:%m:%d %H:%M:%S}"
    inner[41989] = round(photo.scene.camera.focal35_mm)
    Image.fromarray(photo.rgb).save(out, "JPEG", exif=exif, **KINDS[kind])
    return out.getvalue()


def measured(data: bytes, photo: DrawnPhoto, lawn: Lawn) -> tuple[list[Cover], bool]:
    """Measure a file as a photo point of its own; returns the zones' covers and whether a note says it is damaged."""
    decoded = decode(data, name="2026-06-01.jpg")
    ground_map, facts = measure_photo(decoded, Task("main", 1.0, MeasureSettings()))
    noted = {*facts.notes, *(name for name, _ in facts.findings)}
    is_noted = bool(noted & NAMED)
    return covers_of((ground_map, facts), photo, lawn, [(ground_map, facts)]), is_noted


def damaged(data: bytes, other: bytes, rng: np.random.Generator) -> tuple[str, bytes]:
    """Damage a JPEG once, its first bytes and its end kept; returns how, and the file."""
    scan = data.find(b"\xff\xda") + 14
    in_tables = rng.random() < 0.15
    first = data.find(b"\xff\xdb") if in_tables else scan
    last = scan if in_tables else len(data) - 2
    longest = max(2, min(last - first, int(2 ** rng.uniform(1, 6 if in_tables else 16))))
    length = int(rng.integers(1, longest))
    at = int(rng.integers(first, last - length))
    part, end = data[at : at + length], at + length
    ways: dict[str, Callable[[], bytes]] = {
        "overwritten": lambda: data[:at] + rng.bytes(length) + data[end:],
        "zeroed": lambda: data[:at] + bytes(length) + data[end:],
        "lost": lambda: data[:at] + data[end:],
        "doubled": lambda: data[:end] + part + data[end:],
        "from another photo": lambda: data[:at] + other[at:end].ljust(length, b"\0") + data[end:],
        "moved": lambda: _moved(data, at, length, scan, rng),
        "bits turned": lambda: _bits_turned(data, at, end, rng),
        "rest lost": lambda: data[:at] + data[-2:],
    }
    way = list(ways)[rng.integers(len(ways))]
    return f"{way}{' in the tables' if in_tables else ''}", ways[way]()


def run(
    count: int,
    seed: int,
    wholes: list[Whole],
    told: Callable[[str], None] = lambda _: None,
    *,
    cuts: bool = False,
) -> Tally:
    """Damage and measure so many copies, by cuts that decoders do not see if wanted."""
    rng, tally = np.random.default_rng(seed), Tally()
    for number in range(count):
        one = wholes[number % len(wholes)]
        other = wholes[rng.integers(len(wholes))]
        way, data = cut(one.data, rng) if cuts else damaged(one.data, other.data, rng)
        tally.ways[way] += 1
        _count(tally, f"{number}: {one.kind}, {way}", one, data)
        if number % 50 == 49:
            told(f"{number + 1} of {count}: {tally.refused} refused, {len(tally.silent)} wrong in silence")
    return tally


def _count(tally: Tally, name: str, one: Whole, data: bytes) -> None:
    try:
        covers, is_noted = measured(data, one.photo, one.lawn)
    except PhotoRefused:
        tally.refused += 1
        return
    tally.measured += 1
    tally.noted += is_noted
    off = max(
        (abs(c.cover_pct - w.cover_pct) for c, w in zip(covers, one.covers, strict=True) if c.points),
        default=0.0,
    )
    tally.unchanged += off < 0.5
    tally.worst_pct = max(tally.worst_pct, off)
    outside = [
        f"true {truth:.1f}, measured {cover.cover_pct:.1f} ({cover.low_pct:.1f} to {cover.high_pct:.1f})"
        for truth, cover, held in zip(one.lawn.true_cover_pct(), covers, one.holds, strict=True)
        if held and cover.points and not cover.low_pct <= truth <= cover.high_pct
    ]
    if outside and not is_noted:
        tally.silent.append(f"{name}: {'; '.join(outside)}")


def _moved(data: bytes, at: int, length: int, scan: int, rng: np.random.Generator) -> bytes:
    part, rest = data[at : at + length], data[:at] + data[at + length :]
    to = int(rng.integers(scan, len(rest) - 2))
    return rest[:to] + part + rest[to:]


def _bits_turned(data: bytes, at: int, end: int, rng: np.random.Generator) -> bytes:
    changed = bytearray(data)
    for place in rng.integers(at, end, size=int(rng.integers(1, 9))):
        changed[place] ^= 1 << int(rng.integers(8))
    return bytes(changed)


def main() -> int:
    """Damage the copies and print what became of them."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cuts", action="store_true")
    options = parser.parse_args()
    tally = run(
        options.count, options.seed, whole_photos(), lambda line: print(line, flush=True), cuts=options.cuts
    )
    print(*tally.silent, sep="\n")
    print(
        f"{tally.refused} refused, {tally.measured} measured: {tally.unchanged} within 0.5 points of the whole photo,"
    )
    print(f"{tally.noted} with a note, the worst off by {tally.worst_pct:.1f} points")
    print(f"{len(tally.silent)} wrong in silence")
    return 1 if tally.silent else 0


if __name__ == "__main__":
    sys.exit(main())
