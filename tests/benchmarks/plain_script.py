"""The same job as a plain scikit-image script would do it, for comparison: `python tests/benchmarks/plain_script.py`.

It is handed the square's corners (finding them is not even counted), rectifies the photo, computes the excess green in
floating point, takes Otsu's threshold, and prints the mean of the canopy in each zone. Nothing is corrected for slant,
nothing is judged, and there is no interval. It is written as its reader would write it, not to lose.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from skimage.draw import polygon2mask
from skimage.filters import threshold_otsu
from skimage.io import imread
from skimage.transform import ProjectiveTransform, warp

WINDOW_M = (-1.5, -0.5, 2.5, 3.0)
"""Ground that is rectified, from x, y to x, y: the zones and a rim."""


def plain_cover(
    path: Path,
    corners_px: list[list[float]],
    zones: dict[str, list[list[float]]],
    *,
    spacing_m: float = 0.002,
) -> dict[str, float]:
    """Return percent cover by zone.

    Parameters
    ----------
    path : Path
        The photo.
    corners_px : list, shape (4, 2)
        The corners of the 1 m square in it.
    zones : dict
        Outlines in meters by name.
    spacing_m : float
        Side of a pixel of the rectified ground, meters: 2 mm keeps what the photo shows of the nearer ground.
    """
    photo = imread(path)
    x0, y0, x1, y1 = WINDOW_M
    size = (round((y1 - y0) / spacing_m), round((x1 - x0) / spacing_m))
    to_raster = ProjectiveTransform(
        np.array([[1 / spacing_m, 0, -x0 / spacing_m], [0, 1 / spacing_m, -y0 / spacing_m], [0, 0, 1]])
    )
    square = to_raster(np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float))
    to_photo = ProjectiveTransform()
    assert to_photo.estimate(square, np.array(corners_px)), "the corners give no homography"
    ground = warp(photo, to_photo, output_shape=size)
    total = ground.sum(axis=2)
    green = np.where(total > 0, (3 * ground[..., 1] - total) / np.maximum(total, 1e-9), 0)
    canopy = green > threshold_otsu(green[total > 0])
    masks = {name: polygon2mask(size, to_raster(np.array(rim))[:, ::-1]) for name, rim in zones.items()}
    return {name: 100 * float(canopy[mask & (total > 0)].mean()) for name, mask in masks.items()}


if __name__ == "__main__":
    print(json.dumps(plain_cover(Path(sys.argv[1]), *(json.loads(word) for word in sys.argv[2:4]))))
