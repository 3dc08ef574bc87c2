"""Write a drawn photo as a phone would: JPEG with its date, camera and focal length in EXIF."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

LARGEST_BYTES = 1_000_000
_MAKE, _MODEL, _ORIENTATION, _DATE_TIME, _EXIF = 0x010F, 0x0110, 0x0112, 0x0132, 0x8769
_DATE_TIME_ORIGINAL, _FOCAL_35MM = 0x9003, 0xA405


def save_photo(
    path: Path,
    rgb: NDArray[np.uint8],
    *,
    taken_at: dt.datetime | None = None,
    focal35_mm: float | None = None,
    quality: int = 90,
) -> int:
    """Write a JPEG of at most 1 MB, where the quality can be lowered to 40 for it.

    Parameters
    ----------
    path : Path
        Where to write.
    rgb : ndarray of uint8, shape (H, W, 3)
        Coded sRGB, red first.
    taken_at : datetime, optional
        Local time for EXIF DateTimeOriginal; without it the photo carries no date.
    focal35_mm : float, optional
        35 mm equivalent focal length for EXIF, rounded to whole millimeters as cameras do [mm].
    quality : int
        Best JPEG quality to begin with.

    Returns
    -------
    int
        The quality that was used.
    """
    from PIL import Image

    picture = Image.fromarray(rgb)
    exif = _exif(taken_at, focal35_mm)
    for step in range(quality, 39, -5):
        buffer = io.BytesIO()
        picture.save(buffer, "JPEG", quality=step, exif=exif)
        if buffer.tell() <= LARGEST_BYTES or step < 45:
            break
    path.write_bytes(buffer.getvalue())
    return step


def _exif(taken_at: dt.datetime | None, focal35_mm: float | None) -> bytes:
    from PIL import Image

    exif = Image.Exif()
    exif[_MAKE], exif[_MODEL], exif[_ORIENTATION] = "Practice", "Drawn camera", 1
    inner: dict[int, object] = {}
    if taken_at is not None:
        exif[_DATE_TIME] = inner[_DATE_TIME_ORIGINAL] = taken_at.strftime("%Y:%m:%d %H:%M:%S")
    if focal35_mm is not None:
        inner[_FOCAL_35MM] = round(focal35_mm)
    exif.get_ifd(_EXIF).update(inner)
    return exif.tobytes()
