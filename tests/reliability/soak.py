"""Measure a thousand photos in one run and watch the memory.

    python tests/reliability/soak.py --photos 1000

The sample lawn's photos are encoded anew, each time with other noise and another day, into one lawn. One process
measures them; its memory is noted every fifty photos. Ends with exit code 1 where the memory grows by more than 40 MiB
from the hundredth photo to the last, or a rerun measures anything.
"""

from __future__ import annotations

import argparse
import datetime as dt
import shutil
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np
from PIL import Image

from swardmark.measure.covers import measure_covers
from swardmark.season import season_of

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
MOST_GROWTH_MIB = 40


def rss_mib() -> float:
    """Return the process's resident memory, MiB (Linux)."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 2**20


def draw(folder: Path, photos: int, *, width: int, seed: int) -> None:
    """Write so many photos, each like one of the sample's and none like another."""
    rng, first = np.random.default_rng(seed), dt.date(2020, 6, 3)
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("photos", "record.sqlite*", "out"))
    (folder / "photos").mkdir()
    originals = [Image.open(path).convert("RGB") for path in sorted((SAMPLE / "photos").iterdir())]
    small = [
        np.asarray(im.resize((width, width * im.height // im.width), Image.Resampling.LANCZOS))
        for im in originals
    ]
    for number in range(photos):
        rgb = small[number * len(small) // photos].astype(np.int16)
        noisy = np.clip(rgb + rng.normal(0, 2, rgb.shape), 0, 255).astype(np.uint8)
        day = first + dt.timedelta(days=number)
        Image.fromarray(noisy).save(folder / "photos" / f"{day}.jpg", quality=88)


def main() -> int:
    """Draw, measure, and print what it took."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--photos", type=int, default=1000)
    parser.add_argument("--width", type=int, default=1024)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory(prefix="swardmark-soak-") as scratch:
        lawn = Path(scratch) / "lawn"
        draw(lawn, options.photos, width=options.width, seed=options.seed)
        memory: list[tuple[int, float]] = []

        def note(done: int, total: int, name: str) -> None:
            if done % 50 == 0 or done == total:
                memory.append((done, rss_mib()))

        start = time.monotonic()
        season = season_of(measure_covers(lawn, progress=note))
        taken_s, after = time.monotonic() - start, rss_mib()
        record_mb = (lawn / "record.sqlite").stat().st_size / 1e6
        start = time.monotonic()
        again = season_of(measure_covers(lawn))
        again_s = time.monotonic() - start
    measured = {cover.photo for cover in season.covers}
    growth = memory[-1][1] - next(mib for done, mib in memory if done >= min(100, options.photos))
    print(*(f"{done:5} photos  {mib:6.1f} MiB" for done, mib in memory), sep="\n")
    print(
        f"{season.newly_measured} photos in {taken_s:.0f} s, {len(measured)} measured, {len(season.refused)} refused"
    )
    print(f"memory grew by {growth:.1f} MiB from photo 100 to the last; {after:.0f} MiB with all maps open")
    print(f"record {record_mb:.1f} MB, {record_mb * 1000 / options.photos:.0f} kB a photo")
    print(f"rerun {again_s:.1f} s, {again.newly_measured} measured anew")
    return 1 if growth > MOST_GROWTH_MIB or again.newly_measured else 0


if __name__ == "__main__":
    sys.exit(main())
