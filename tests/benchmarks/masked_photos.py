"""Score a folder of photos taken straight down with hand-made masks: each photo by itself, and as one series.

The folder holds manifest.csv with the columns `image` and `mask` (paths in the folder; white is plant) and, if there,
`part` (figures are given for each part: say which one was looked at while tuning) and `source` (photos of one source
are one series; without it all of a part are). Without a manifest a photo goes with the mask of its name: in a folder
beside it (images/0368.jpg and masks/0368.png), or with an ending (0368.jpg and 0368-mask.png). A file of the manifest
that is not there is looked for by its name alone, with any ending.

The truth is the mask's share of plant: white or any color of a mask that is drawn, every number but 0 of one that
numbers its classes. Photo and mask may be of different size and turn; a mask of another shape than its photo is said.

A series goes through the parts of the package that a photo point goes through, with the footprint of pure pixels: one
map for each photo, one scale from all their value counts and full-turf estimates, and the cover of the whole map.
"""

from __future__ import annotations

import csv
import glob
import re
from collections import defaultdict
from collections.abc import Iterator
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
PICTURES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".bmp")
MOST_CLASSES = 20
"""A mask whose highest value is not above this numbers its classes; JPEG cannot keep such numbers."""
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
    """Return the photos of a folder that are there with their masks; says how many are not."""
    rows = list(_rows(folder))
    found = []
    for row in rows:
        image, mask = (_there(folder, row[column]) for column in ("image", "mask"))
        if image is not None and mask is not None:
            plant = plant_of(mask)
            if not _same_shape(image, plant):
                print(f"{mask} has another shape than {image}: is it the mask of the whole photo?")
            share = 100 * float(plant.mean())
            found.append(
                Masked(row["image"], row.get("part") or "all", row.get("source") or "", image, share)
            )
    if len(found) < len(rows):
        print(f"{len(rows) - len(found)} of {len(rows)} photos of {folder} are not there: left out")
    if not found:
        raise SystemExit(f"{folder}: no photo with a mask; {Path(__file__).name} says what the folder holds")
    return found


def plant_of(mask: Path) -> np.ndarray:
    """Return where a mask shows plant, shape (rows, cols): drawn in white or a color, or numbered from 1 up."""
    picture = Image.open(mask)
    is_exact = picture.format != "JPEG"
    if picture.mode in ("P", "PA", "RGBA", "LA", "CMYK", "YCbCr"):
        picture = picture.convert("RGB")
    values = np.asarray(picture)
    values = values.max(axis=2) if values.ndim == 3 else values.astype(float)
    if is_exact and values.max() <= MOST_CLASSES:
        return np.asarray(values > 0)
    return np.asarray(values > (values.max() / 2 if is_exact else 127))


def _rows(folder: Path) -> Iterator[dict[str, str]]:
    """Return the rows of the manifest; without one, what goes together by name."""
    manifest = folder / "manifest.csv"
    if manifest.exists():
        with manifest.open(newline="", encoding="utf-8-sig") as table:
            yield from csv.DictReader(table)
        return
    files = [path for path in sorted(folder.rglob("*")) if path.suffix.lower() in PICTURES]
    masks = {_bare_name(path): path for path in files if _is_mask(path, folder)}
    for path in files:
        if not _is_mask(path, folder) and _bare_name(path) in masks:
            mask = masks[_bare_name(path)]
            yield {name: str(one.relative_to(folder)) for name, one in (("image", path), ("mask", mask))}


def _is_mask(path: Path, folder: Path) -> bool:
    return any("mask" in part.lower() for part in path.relative_to(folder).parts)


def _bare_name(path: Path) -> str:
    return re.sub(r"[-_. ]?masks?$", "", path.stem.lower())


def _there(folder: Path, name: str) -> Path | None:
    """Return a file of the folder, by its name and any ending where it is not there as it is written."""
    path = folder / name
    others = sorted(path.parent.glob(f"{glob.escape(path.stem)}.*"))
    pictures = [one for one in others if one.suffix.lower() in PICTURES]
    return path if path.exists() else next(iter(pictures), None)


def _same_shape(image: Path, plant: np.ndarray) -> bool:
    """Tell whether a mask is as long and as high as its photo, turned or not, to a hundredth."""
    with Image.open(image) as picture:
        sides = sorted(picture.size)
    return abs(sides[0] * max(plant.shape) / (sides[1] * min(plant.shape)) - 1) < 0.01


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
