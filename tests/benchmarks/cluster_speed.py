"""Time measuring on a Dask cluster: one worker and two, on the same 12-megapixel photos, in one run.

    python tests/benchmarks/cluster_speed.py --photos 24 --rounds 3

The sample lawn's photos are enlarged to 4000 x 3000 with sensor noise. A scheduler and workers of one thread each run
on this machine; the photos travel to them as bytes, or as file:// URLs with --urls. Every run begins with no record.
Printed are the medians of the rounds, their ratios, and whether all tables are the same to the byte.
"""

from __future__ import annotations

import argparse
import datetime as dt
import statistics
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "pipeline"))

from dask_cluster import DaskProcesses, dask_processes

from swardmark.cluster import Cluster
from swardmark.crew import Crew, Threads
from swardmark.lawn.record import forget_record
from swardmark.report.tables import write_cover
from swardmark.review import measure_covers

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
SIZE = (4000, 3000)


def draw(folder: Path, photos: int, *, seed: int = 1) -> None:
    """Write a lawn of large photos, each like one of the sample's and none like another."""
    rng, originals = np.random.default_rng(seed), sorted((SAMPLE / "photos").iterdir())
    (folder / "photos").mkdir(parents=True)
    (folder / "lawn.toml").write_text((SAMPLE / "lawn.toml").read_text())
    for number in range(photos):
        with Image.open(originals[number * len(originals) // photos]) as original:
            large = np.asarray(original.convert("RGB").resize(SIZE, Image.Resampling.BICUBIC), np.int16)
        noisy = np.clip(large + rng.normal(0, 3, large.shape).astype(np.int16), 0, 255).astype(np.uint8)
        day = dt.date(2026, 6, 3) + dt.timedelta(days=number)
        Image.fromarray(noisy).save(folder / "photos" / f"{day}.jpg", quality=88)


def seconds(lawn: Path, crew: Crew, url: str | None = None) -> tuple[float, bytes]:
    """Measure a lawn from nothing; returns the time and the table."""
    forget_record(lawn)
    start = time.monotonic()
    covers = measure_covers(lawn, crew=crew, photos_url=url)
    taken = time.monotonic() - start
    return taken, write_cover(covers, folder=lawn / "out").read_bytes()


def on_cluster(lawn: Path, processes: DaskProcesses, url: str | None) -> tuple[float, bytes]:
    """Measure a lawn from nothing on the workers that are there."""
    with Cluster(processes.address) as crew:
        return seconds(lawn, crew, url)


def main() -> int:
    """Draw, measure in turn, and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--photos", type=int, default=24)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--urls", action="store_true", help="workers read the photos themselves")
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    taken: dict[str, list[float]] = {"here, 1 thread": [], "1 worker": [], "2 workers": []}
    tables = set()
    with tempfile.TemporaryDirectory(prefix="swardmark-cluster-") as scratch:
        lawn = Path(scratch) / "lawn"
        draw(lawn, options.photos)
        url = (lawn / "photos").as_uri() if options.urls else None
        with (
            dask_processes(Path(scratch), workers=1) as one,
            dask_processes(Path(scratch), workers=2) as two,
        ):
            for _ in range(options.rounds):
                for name, (took, table) in (
                    ("here, 1 thread", seconds(lawn, Threads())),
                    ("1 worker", on_cluster(lawn, one, url)),
                    ("2 workers", on_cluster(lawn, two, url)),
                ):
                    taken[name].append(took)
                    tables.add(table)
    middle = {name: statistics.median(values) for name, values in taken.items()}
    way = "file:// URLs" if options.urls else "bytes"
    print(
        f"{options.photos} photos of {SIZE[0]} x {SIZE[1]}, sent as {way}; medians of {options.rounds} rounds"
    )
    for name, value in middle.items():
        print(f"{name:15} {value:6.2f} s  {value / options.photos:5.3f} s a photo")
    print(f"two workers over one: {middle['1 worker'] / middle['2 workers']:.2f} times as fast")
    print(
        f"one worker over one thread here: {middle['here, 1 thread'] / middle['1 worker']:.2f} times as fast"
    )
    print("all tables are the same to the byte" if len(tables) == 1 else "TABLES DIFFER")
    return 0 if len(tables) == 1 else 1


if __name__ == "__main__":
    sys.exit(main())
