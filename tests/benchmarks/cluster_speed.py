"""Time measuring on a Dask cluster: one worker and two, on the same 12-megapixel photos, in one run.

    python tests/benchmarks/cluster_speed.py --photos 24 --rounds 3

The sample lawn's photos are enlarged to 4000 x 3000 with sensor noise. A scheduler and workers of one thread each run
on this machine; the photos travel to them as bytes, or as file:// URLs with --urls. Every run begins with no record.
Printed are the medians of the rounds, their ratios, whether all tables are the same to the byte, and what follows from
the processor time and the bytes of a photo for a million of them.
"""

from __future__ import annotations

import argparse
import datetime as dt
import statistics
import sys
import tempfile
import time
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "scale"))

from dask_cluster import DaskProcesses, dask_processes

from swardmark.common.crew import Crew, Threads
from swardmark.measure.covers import measure_covers
from swardmark.record.place import forget_record
from swardmark.scale.cluster import Cluster
from swardmark.scale.remote import remote_photos
from swardmark.words.tables import write_cover

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


@dataclass(frozen=True)
class Run:
    """One run: wall time, processor time of this process, and what came of it."""

    wall_s: float
    here_s: float
    table: bytes
    record_bytes: int


def seconds(lawn: Path, crew: Crew, url: str | None = None) -> Run:
    """Measure a lawn from nothing."""
    forget_record(lawn)
    start, used = time.monotonic(), time.process_time()
    covers = measure_covers(lawn, crew=crew, files=remote_photos(url) if url else None)
    wall, here = time.monotonic() - start, time.process_time() - used
    return Run(wall, here, write_cover(covers, folder=lawn / "out").read_bytes(), covers.record_bytes)


def on_cluster(lawn: Path, processes: DaskProcesses, url: str | None) -> Run:
    """Measure a lawn from nothing on the workers that are there."""
    with Threads(2) as here, Cluster(processes.address, here=here) as crew:
        return seconds(lawn, crew, url)


def arithmetic(
    photo_s: float, client_s: float, photo_bytes: float, record_bytes: float, *, photos: int = 1_000_000
) -> list[str]:
    """Say what so many photos take: the lines of docs/scaling.md."""
    hours = photo_s * photos / 3600
    return [
        f"a photo: {photo_s * 1000:.0f} ms of a core, {client_s * 1000:.1f} ms of them where the command runs",
        f"  {photo_bytes / 1e6:.1f} MB in, {record_bytes / 1e3:.0f} kB kept",
        f"{photos:,} photos: {hours:.0f} core-hours; {hours / 100:.1f} h on 100 cores",
        f"  the command's own part: {client_s * photos / 3600:.1f} h of one core, so that it keeps"
        f" {photo_s / client_s:.0f} cores busy",
        f"  photos {photo_bytes * photos / 1e12:.1f} TB, records {record_bytes * photos / 1e9:.0f} GB",
        f"  network to the workers at 1 Gbit/s: {photo_bytes * photos / 125e6 / 3600:.1f} h",
    ]


def main() -> int:
    """Draw, measure in turn, and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--photos", type=int, default=24)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--urls", action="store_true", help="workers read the photos themselves")
    parser.add_argument("--lawn", type=Path, help="draw the photos here, or use those that are here")
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    runs: dict[str, list[Run]] = {"here, 1 thread": [], "1 worker": [], "2 workers": []}
    with tempfile.TemporaryDirectory(prefix="swardmark-cluster-") as scratch:
        lawn = options.lawn or Path(scratch) / "lawn"
        if not lawn.exists():
            draw(lawn, options.photos)
        options.photos = len(list((lawn / "photos").iterdir()))
        photo_bytes = sum(path.stat().st_size for path in (lawn / "photos").iterdir()) / options.photos
        url = (lawn / "photos").as_uri() if options.urls else None
        with (
            dask_processes(Path(scratch), workers=1) as one,
            dask_processes(Path(scratch), workers=2) as two,
        ):
            for _ in range(options.rounds):
                runs["here, 1 thread"].append(seconds(lawn, Threads()))
                runs["1 worker"].append(on_cluster(lawn, one, url))
                runs["2 workers"].append(on_cluster(lawn, two, url))
    middle = {name: statistics.median(run.wall_s for run in some) for name, some in runs.items()}
    tables = {run.table for some in runs.values() for run in some}
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
    alone = statistics.median(run.here_s for run in runs["here, 1 thread"]) / options.photos
    client = statistics.median(run.here_s for run in runs["2 workers"]) / options.photos
    record_bytes = runs["2 workers"][-1].record_bytes / options.photos
    print(*arithmetic(alone, client, photo_bytes, record_bytes), sep="\n")
    return 0 if len(tables) == 1 else 1


if __name__ == "__main__":
    sys.exit(main())
