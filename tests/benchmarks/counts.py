"""The keeper's own count: what 100 points counted in one photo do to the covers of the rest of a season.

    python tests/benchmarks/counts.py [--lawns 6] [--first 1] [--points 100] [--eye 0.03] [--off 8]

Drawn lawns of four zones and six photos each (odd_lawns.py, nothing odd on them) are measured by the whole pipeline:
as they are, and with their scale moved so that the photo to be counted reads so many points high or low. Points of that
photo are then counted through `count`'s own steps by an eye that sees leaf as often as there is leaf in the pixel and
errs now and then; 60 points are shown twice. What is printed is of the zones in the five other photos, before the count
and after it: error and bias of the cover, share of truths inside the 95 % interval, and its mean width.
"""

from __future__ import annotations

import argparse
import contextlib
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
from odd_lawns import DAYS, OddLawn, write_lawn

from swardmark.canopy.cover import Cover
from swardmark.canopy.scale import LeafScale, leaf_scale
from swardmark.lawn.counts import read_counts
from swardmark.measure.count_round import CountRound, begin_repeat, begin_round, keep_answer
from swardmark.measure.covers import LawnCovers, measure_covers

COUNTED = 3
"""The photo that is counted, by its place in the series: about half covered."""
SHOWN_TWICE = 60
TURNS = np.linspace(0.0, 6.0, 25)


@contextlib.contextmanager
def scale_moved(turn: float) -> Iterator[None]:
    """Have every scale moved along its full end by so many half-widths of its range."""

    def moved(*counts: object, **known: object) -> LeafScale:
        return leaf_scale(*counts, **known).moved(0.0, turn)

    with mock.patch("swardmark.measure.points.leaf_scale", moved):
        yield


def count(folder: Path, covers: LawnCovers, lawn: OddLawn, *, points: int, errs: float, seed: int) -> None:
    """Count points of one photo by eye, and some of them once more."""
    rng, leaf = np.random.default_rng([lawn.seed, seed]), lawn.leaf_share(COUNTED)
    name = covers.points[0].entries[COUNTED].name
    counting = begin_round(covers, photo=name, points=points, seed=seed)
    is_leaf: dict[tuple[float, float], bool] = {}

    def answer(counting: CountRound, number: int) -> None:
        point = counting.points[number]
        place = (round(point.x_m, 4), round(point.y_m, 4))
        if place not in is_leaf:
            share = leaf[min(round(point.y_px), leaf.shape[0] - 1), min(round(point.x_px), leaf.shape[1] - 1)]
            is_leaf[place] = rng.random() < share
        said = "leaf" if is_leaf[place] != (rng.random() < errs) else "ground"
        keep_answer(folder, counting, number, said)

    for number in range(points):
        answer(counting, number)
    if errs:
        again = begin_repeat(covers, read_counts(folder), photo=name)
        for number in range(min(SHOWN_TWICE, points)):
            answer(again, number)


def rest_of(covers: LawnCovers, truths: list[dict[str, float]]) -> list[tuple[float, Cover]]:
    """Return truth and cover of each zone in the photos that were not counted."""
    names = [entry.name for entry in covers.points[0].entries]
    return [
        (truths[names.index(row.photo)][row.zone], row.cover)
        for row in covers.covers
        if row.photo != names[COUNTED] and row.zone in truths[0]
    ]


def turn_for(folder: Path, off: float) -> float:
    """Return the turn by which the counted photo reads so many points off."""
    plain = _seen_pct(measure_covers(folder))
    way, best = -np.sign(off), (float("inf"), 0.0)
    for size in TURNS:
        with scale_moved(way * size):
            gap = abs(_seen_pct(measure_covers(folder)) - plain - off)
        if gap > best[0]:
            break
        best = (gap, float(way * size))
    return best[1]


def _seen_pct(covers: LawnCovers) -> float:
    name = covers.points[0].entries[COUNTED].name
    rows = [row.cover for row in covers.covers if row.photo == name]
    return float(np.average([c.seen_pct for c in rows], weights=[c.points for c in rows]))


def describe(name: str, zones: list[tuple[float, Cover]]) -> str:
    """Return one line of the table."""
    error = np.array([cover.cover_pct - truth for truth, cover in zones])
    inside = np.mean([cover.low_pct <= truth <= cover.high_pct for truth, cover in zones])
    width = np.mean([cover.high_pct - cover.low_pct for _, cover in zones])
    return f"{name:24s} {len(zones):4d} {abs(error).mean():6.1f} {error.mean():+6.1f} {100 * inside:7.1f} {width:7.1f}"


def main() -> None:
    """Draw, measure, count, print."""
    cv2.setNumThreads(1)
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--lawns", type=int, default=6)
    parser.add_argument("--first", type=int, default=1, help="seed of the first lawn")
    parser.add_argument("--points", type=int, default=100)
    parser.add_argument("--eye", type=float, default=0.03, help="share of the points in which the eye errs")
    parser.add_argument("--off", type=float, default=8.0, help="points by which the moved scales read off")
    chosen = parser.parse_args()
    table: dict[str, list[tuple[float, Cover]]] = {}
    fitted = {"as it is": 0, "off": 0}
    for seed in range(chosen.first, chosen.first + chosen.lawns):
        lawn = OddLawn(seed, None, dead_share=0.0)
        with tempfile.TemporaryDirectory() as spare:
            folder = Path(spare) / "lawn"
            truths = write_lawn(lawn, folder)
            for off in (0.0, -chosen.off, chosen.off):
                kind = "off" if off else "as it is"
                (folder / "counts.csv").unlink(missing_ok=True)
                with scale_moved(turn_for(folder, off) if off else 0.0):
                    before = measure_covers(folder)
                    count(folder, before, lawn, points=chosen.points, errs=chosen.eye, seed=seed)
                    after = measure_covers(folder)
                table.setdefault(f"{kind}, before", []).extend(rest_of(before, truths))
                table.setdefault(f"{kind}, counted", []).extend(rest_of(after, truths))
                fitted[kind] += after.points[0].threshold.source == "counts"
    print(f"{'zones of other photos':24s}         MAE   bias  in 95 %   width")
    for name, zones in table.items():
        print(describe(name, zones))
    print(
        f"fitted to the count: {fitted['as it is']} of {chosen.lawns} as they are,"
        f" {fitted['off']} of {2 * chosen.lawns} that were off;"
        f" {len(DAYS)} photos, {time.process_time() / chosen.lawns:.0f} CPU seconds a lawn"
    )


if __name__ == "__main__":
    main()
