"""Score a folder of photos taken straight down with hand-made masks: each photo by itself, and as one series.

The folder holds manifest.csv with the columns `image` and `mask` (paths in the folder; white is plant) and, if there,
`part` (figures are given for each part: say which one was looked at while tuning) and `source` (photos of one source
are one series; without it all of a part are). The truth is the mask's share of white.

A series goes through the parts of the package that a photo point goes through, with the footprint of pure pixels: one
map for each photo, one scale from all their value counts and full-turf estimates, and the cover of the whole map.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from swardmark.canopy.cover import Cover, zone_cover
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import leaf_scale, value_counts
from swardmark.canopy.straight import cover_straight_down, straight_values
from swardmark.canopy.turf import full_turf

PIXEL_M = 0.001
"""Ground that a pixel of a series is said to see, meters: cells of 200 pixels' side."""
BANDS = ((0, 10), (10, 30), (30, 70), (70, 101))


@dataclass(frozen=True, eq=False)
class Masked:
    """One photo of the folder."""

    name: str
    part: str
    source: str
    image: Path
    true_pct: float

    @property
    def rgb(self) -> np.ndarray:
        return np.asarray(Image.open(self.image).convert("RGB"))


def listed(folder: Path) -> list[Masked]:
    """Return the photos of a folder's manifest that are there; says how many are not."""
    with (folder / "manifest.csv").open(newline="") as table:
        rows = list(csv.DictReader(table))
    found = []
    for row in rows:
        image, mask = folder / row["image"], folder / row["mask"]
        if image.exists() and mask.exists():
            white = np.asarray(Image.open(mask).convert("L")) > 127
            found.append(
                Masked(
                    row["image"],
                    row.get("part") or "all",
                    row.get("source") or "",
                    image,
                    100 * float(white.mean()),
                )
            )
    if len(found) < len(rows):
        print(
            f"{len(rows) - len(found)} of {len(rows)} photos of {folder}/manifest.csv are not there: left out"
        )
    return found


def score_folder(folder: Path) -> None:
    """Print the figures of a folder, part by part."""
    photos = listed(folder)
    print(f"{'part':8s} {'path':8s} {'true':>9s} {'number':>6s}   MAE   bias    P95   in 95 %   width")
    for part in dict.fromkeys(photo.part for photo in photos):
        own = [photo for photo in photos if photo.part == part]
        truth = np.array([photo.true_pct for photo in own])
        show(part, "single", truth, [cover_straight_down(photo.rgb) for photo in own])
        show(part, "series", truth, series_covers(own))


def series_covers(photos: list[Masked]) -> list[Cover]:
    """Measure photos as series, one for each source; in the order given."""
    sources = defaultdict(list)
    for number, photo in enumerate(photos):
        sources[photo.source].append(number)
    covers: dict[int, Cover] = {}
    for numbers in sources.values():
        maps = [GroundMap(straight_values(photos[n].rgb), 0, 0, PIXEL_M) for n in numbers]
        covers |= dict(zip(numbers, covers_of_series(maps), strict=True))
    return [covers[number] for number in range(len(photos))]


def covers_of_series(maps: list[GroundMap]) -> list[Cover]:
    """Return the cover of whole maps of pure pixels by their one scale."""
    scale = leaf_scale(sum(map(value_counts, maps)), full_index=[full_turf(one).green for one in maps])
    return [zone_cover(one, np.ones(one.values.shape, bool), scale=scale, view_deg=0.0) for one in maps]


def show(part: str, path: str, truth: np.ndarray, covers: list[Cover]) -> None:
    """Print one line for all photos of a part and one for each band of true cover."""
    read = np.array([(c.cover_pct, c.low_pct, c.high_pct) for c in covers])
    for low, high in ((0, 101), *BANDS):
        chosen = (truth >= low) & (truth < high)
        if not chosen.any():
            continue
        error, ends = read[chosen, 0] - truth[chosen], read[chosen, 1:]
        inside = (ends[:, 0] <= truth[chosen]) & (truth[chosen] <= ends[:, 1])
        band = "all" if (low, high) == (0, 101) else f"{low}-{min(high, 100)} %"
        print(
            f"{part:8s} {path:8s} {band:>9s} {chosen.sum():6d} {abs(error).mean():5.2f} {error.mean():+6.2f} "
            f"{np.quantile(abs(error), 0.95):6.1f} {100 * inside.mean():8.0f} {np.ptp(ends, axis=1).mean():8.1f}"
        )
