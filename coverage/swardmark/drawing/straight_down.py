"""A photo taken straight down with its bare ground outlined, and below it the cover, its interval and the points read.

The photo keeps its own colors. The picture is encoded anew from pixels, so no EXIF block and no position come along.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.straight import StraightDownCover
from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.drawing import sentences
from swardmark.drawing.ground_view import draw_outlines
from swardmark.drawing.pictures import shrink
from swardmark.drawing.timelapse import captioned

LONGEST_PX = 1600
KINDS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}


def write_picture(rgb: NDArray[np.uint8], cover: StraightDownCover, path: Path | str) -> Path:
    """Write the photo with its bare ground outlined, as .png, .jpg or .webp.

    Raises
    ------
    UsageError
        Another ending, or the file cannot be written.
    """
    from PIL import Image

    path = Path(path)
    kind = kind_of(path)
    out = io.BytesIO()
    Image.fromarray(outlined(rgb, cover)).save(out, kind, quality=88)
    return write_whole(path, out.getvalue())


def kind_of(path: Path) -> str:
    """Return the kind of picture that a file's ending asks for."""
    if path.suffix.lower() not in KINDS:
        what = f"'{path.suffix}' is not a kind of picture that can be written"
        raise UsageError(what, where=str(path), remedy="Name it .png, .jpg or .webp")
    return KINDS[path.suffix.lower()]


def outlined(rgb: NDArray[np.uint8], cover: StraightDownCover) -> NDArray[np.uint8]:
    """Return the photo, at most 1600 pixels long, with outlines and caption, shape (rows, cols, 3)."""
    small = shrink(rgb, LONGEST_PX)
    scale = np.array([small.shape[1] / rgb.shape[1], small.shape[0] / rgb.shape[0]])
    rings = [(ring + 0.5) * scale - 0.5 for ring in cover.outlines]
    template = sentences.STRAIGHT_DOWN_CAPTION if cover.points else sentences.STRAIGHT_DOWN_UNREADABLE
    fields = {"cover": cover.cover_pct, "low": cover.low_pct, "high": cover.high_pct, "points": cover.points}
    return captioned(draw_outlines(small, rings), template.format(**fields))
