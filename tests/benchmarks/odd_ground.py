"""Odd ground: how often it is noted, how often in vain, and what it does to the covers.

    python tests/benchmarks/odd_ground.py [--lawns 6] [--first 1] [--folder DIR]

Lawns of four zones, each a photo point of six photos over 17 days in changing light, sand now dry, now damp. Into one
photo of each comes something odd, once in the middle of the series and once in its newest photo: dew glare on the
whole lawn or on a part of it, clippings, sand soaked all over or in places, a person, a dog, a hose, a sheet of
plastic (odd_lawns.py). With --folder every second lawn is painted with photographs of turf and ground (photo_yards.py
says which; they are kept there); without it all are drawn.

A line per case: photos noted, in the middle and as the newest, and of all those in which the odd thing moves a zone by
3 points or more against the same photo without it; covers' mean absolute error and the share inside their 95 %
interval, without what is done about odd ground and with it, in the zones that it moves (all of them where it moves
none). Last, the notes on photos where nothing is
odd.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import shutil
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
import photo_yards
from odd_lawns import CASES, CORNERS, DAYS, OddLawn, save, write_lawn
from photo_yards import Photographs

from swardmark.canopy.cover import Cover
from swardmark.measure.covers import measure_covers

MOVED = 3.0


@dataclass(frozen=True)
class Seen:
    """One odd photo: whether it is noted, and its zones without what is done about odd ground and with it.

    Attributes
    ----------
    said : str
        What is noted; empty where nothing is.
    is_newest : bool
        Whether it is the newest photo of its series.
    truth : dict of str to float
        True cover of each zone, percent.
    usual, raw, mended : dict of str to Cover
        Covers of the photo before the odd thing came, with it, and with what is done about it.
    beside : int
        Other photos of the series that are noted.
    """

    case: str
    said: str
    is_newest: bool
    truth: dict[str, float]
    usual: dict[str, Cover]
    raw: dict[str, Cover]
    mended: dict[str, Cover]
    beside: int

    @property
    def moved(self) -> list[str]:
        """The zones whose cover the odd thing moved by `MOVED` points or more."""
        points = (abs(self.raw[zone].cover_pct - self.usual[zone].cover_pct) for zone in CORNERS)
        return [zone for zone, far in zip(CORNERS, points, strict=True) if far >= MOVED]


def score_lawn(seed: int, known: Photographs | None, cases: Sequence[str]) -> tuple[int, list[Seen]]:
    """Draw and measure one lawn; returns how many plain photos are noted, and what was seen of the odd ones."""
    rng, textures = np.random.default_rng([seed, 3]), None
    if known is not None and seed % 2:
        textures = tuple(pool[rng.integers(len(pool))] for pool in (known.grounds, known.turfs))
    lawn = OddLawn(seed, textures)
    with tempfile.TemporaryDirectory() as spare:
        home = Path(spare) / "plain"
        truths = write_lawn(lawn, home)
        usual, noted = measured(home, plainly=True)[0], measured(home)[1]
        seen = []
        for case, number in ((c, n) for c in cases for n in CASES[c][1]):
            folder = Path(shutil.copytree(home, Path(spare) / f"{case} {number}"))
            rgb, camera, _ = lawn.photo(number, case)
            name = save(folder, number, rgb, camera)
            raw, (mended, said) = measured(folder, plainly=True)[0], measured(folder)
            own, newest = said.pop(name, ""), number == len(DAYS) - 1
            seen.append(
                Seen(case, own, newest, truths[number], usual[name], raw[name], mended[name], len(said))
            )
    return len(noted), seen


def measured(folder: Path, *, plainly: bool = False) -> tuple[dict[str, dict[str, Cover]], dict[str, str]]:
    """Return the covers of each photo by zone, and what is said of the photos that are noted as odd."""
    nothing = mock.patch(
        "swardmark.measure.zonal.unpacked_odd", lambda kept, *_: [() for _ in json.loads(kept)]
    )
    with nothing if plainly else contextlib.nullcontext():
        lawn = measure_covers(folder)
    covers: dict[str, dict[str, Cover]] = {}
    for row in lawn.covers:
        covers.setdefault(row.photo, {})[row.zone] = row.cover
    return covers, {one.photo: one.sentence for point in lawn.points for one in point.noted}


def describe(seen: Sequence[Seen]) -> str:
    """Return one line of the table."""
    noted = [
        f"{sum(bool(one.said) for one in some):3d} of {len(some):2d}"
        for some in (
            [one for one in seen if not one.is_newest],
            [one for one in seen if one.is_newest],
            [one for one in seen if one.moved],
        )
    ]
    error, inside = [], []
    for one in seen:
        for zone in one.moved or CORNERS:
            truth, covers = one.truth[zone], (one.raw[zone], one.mended[zone])
            error.append([abs(cover.cover_pct - truth) for cover in covers])
            inside.append([cover.low_pct <= truth <= cover.high_pct for cover in covers])
    (before, after), (held_before, held_after) = np.mean(error, axis=0), np.mean(inside, axis=0)
    return (
        f"{seen[0].case:18s} {noted[0]:>9s} {noted[1]:>9s} {noted[2]:>14s}"
        f"  {before:8.1f} {after:8.1f}   {held_before:>8.0%} {held_after:>8.0%}"
    )


def told(one: Seen) -> str:
    """Return a line on one odd photo."""
    zones = "; ".join(
        f"{zone}: true {one.truth[zone]:.0f}, usual {one.usual[zone].cover_pct:.0f}, raw"
        f" {one.raw[zone].cover_pct:.0f}, {one.mended[zone].cover_pct:.0f}"
        f" [{one.mended[zone].low_pct:.0f}, {one.mended[zone].high_pct:.0f}]"
        for zone in one.moved or CORNERS
    )
    return f"{one.case}{', newest' if one.is_newest else ''}: {one.said or 'NOT NOTED'} {zones}"


def main() -> None:
    """Draw, measure, print."""
    cv2.setNumThreads(1)
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--lawns", type=int, default=6)
    options.add_argument("--first", type=int, default=1, help="seed of the first lawn")
    options.add_argument("--folder", type=Path, help="where the packages with photographs are kept")
    options.add_argument("--cases", nargs="*", default=list(CASES))
    options.add_argument("--verbose", action="store_true")
    chosen = options.parse_args()
    known = photo_yards.photographs(chosen.folder, "checked on") if chosen.folder else None
    every: list[Seen] = []
    in_vain = 0
    for seed in range(chosen.first, chosen.first + chosen.lawns):
        plain, seen = score_lawn(seed, known, chosen.cases)
        in_vain, every = in_vain + plain, every + seen
        if chosen.verbose:
            print(f"lawn {seed}: {plain} plain photos noted", *map(told, seen), sep="\n", flush=True)
    print(
        f"{'case':18s} {'noted':>9s} {'newest':>9s} {'moving a zone':>14s}  error before, after   inside before, after"
    )
    for case in chosen.cases:
        print(describe([one for one in every if one.case == case]))
    true, beside = sum(bool(one.said) for one in every), sum(one.beside for one in every)
    print(
        f"notes that are true {true} of {len(every)}; in vain {in_vain} on {chosen.lawns * len(DAYS)} plain"
        f" photos, {beside} on the {len(every) * (len(DAYS) - 1)} beside odd ones;"
        f" {time.process_time() / chosen.lawns:.0f} CPU seconds a lawn"
    )


if __name__ == "__main__":
    main()
