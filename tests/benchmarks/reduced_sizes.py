"""What reading large photos at a half or a quarter costs in accuracy: `python tests/benchmarks/reduced_sizes.py`.

Draws the scenes of the accuracy benchmark at 12 megapixels, keeps each as a phone's JPEG, and measures it whole, at a
half and at a quarter, each time as a photo point of its own. Prints the error of the corners (pixels of the file), the
mean absolute error and bias of percent cover against the drawn truth, the largest error, the share of truths inside
the 95 % interval, and how far the cover is from that of the whole photo.
"""

from __future__ import annotations

import argparse
import io

import numpy as np
from accuracy import covers_of
from accuracy_scenes import Lawn, grow_lawn
from PIL import Image

from swardmark.canopy.cover import Cover
from swardmark.common.errors import PhotoRefused
from swardmark.lawn.toml import MeasureSettings
from swardmark.measure.survey import Task, measure_photo
from swardmark.photo.decode import decode
from swardmark.practice.draw import DrawnPhoto

WIDTH_PX = 4000
LEAST_SIDES = {"whole": None, "a half": 1900, "a quarter": 950}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--scenes", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1500)
    options = parser.parse_args()
    found: dict[str, list[tuple[float, list[Cover], list[float]]]] = {name: [] for name in LEAST_SIDES}
    for seed in range(options.seed, options.seed + options.scenes):
        lawn = grow_lawn(seed, width_px=WIDTH_PX)
        photo, truth = lawn.draw(seed=seed), lawn.true_cover_pct()
        data = as_phone_jpeg(photo)
        try:
            of_scene = {name: measured(data, photo, lawn, side) for name, side in LEAST_SIDES.items()}
        except PhotoRefused as refusal:
            print(f"seed {seed}: {refusal.what}")
            continue
        for name, (off, covers) in of_scene.items():
            found[name].append((off, covers, truth))
    print("read at     corners px   zones   MAE   bias    max  in 95 %  off the whole photo's cover")
    whole = np.array([cover.cover_pct for _, covers, _ in found["whole"] for cover in covers])
    for name, scenes in found.items():
        covers = [cover for _, of_scene, _ in scenes for cover in of_scene]
        truth = np.array([true for _, _, of_scene in scenes for true in of_scene])
        values = np.array([cover.cover_pct for cover in covers])
        seen = np.isfinite(values) & np.isfinite(whole)
        error, apart = (values - truth)[seen], np.abs(values - whole)[seen]
        inside = np.mean(
            [c.low_pct <= t <= c.high_pct for c, t, s in zip(covers, truth, seen, strict=True) if s]
        )
        corners = np.sqrt(np.mean([off**2 for off, _, _ in scenes]))
        print(
            f"{name:<11} {corners:10.2f} {seen.sum():7d} {np.abs(error).mean():5.2f} {error.mean():+6.2f}"
            f" {np.abs(error).max():6.1f} {100 * inside:8.0f}  mean {apart.mean():.2f}, largest {apart.max():.2f}"
        )


def as_phone_jpeg(photo: DrawnPhoto) -> bytes:
    """Encode at quality 92 with the focal length."""
    exif, out = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8769)[0xA405] = round(photo.scene.camera.focal35_mm)
    Image.fromarray(photo.rgb).save(out, "JPEG", quality=92, exif=exif)
    return out.getvalue()


def measured(data: bytes, photo: DrawnPhoto, lawn: Lawn, least_side: int | None) -> tuple[float, list[Cover]]:
    """Measure a photo read at a size; returns the corners' root mean square error in file pixels, and the covers."""
    decoded = decode(data, name="2026-06-01.jpg", least_side=least_side)
    found = measure_photo(decoded, Task("main", 1.0, MeasureSettings()))
    off = np.linalg.norm(np.array(found[1].corners_px) - photo.corners_px, axis=1)
    return float(np.sqrt((off**2).mean())), covers_of(found, photo, lawn, [found])


if __name__ == "__main__":
    main()
