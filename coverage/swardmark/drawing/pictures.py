"""The photos once more, reduced, for the report: embedded as bytes that hold pixels and nothing else.

Every picture is encoded anew from decoded pixels, so no EXIF block and no GPS position can come along.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from swardmark.common.errors import PhotoRefused
from swardmark.lawn.photos import PhotoFile
from swardmark.photo.decode import decode, read_bytes, reduction_of
from swardmark.record.store import Entry

RGB = NDArray[np.uint8]
BEST, WORST = 80, 40
SHARES = {80: 1.0, 70: 0.83, 60: 0.71, 50: 0.62, 40: 0.53}
"""About how many bytes a photo of a lawn takes at a quality, over those at the best."""
QUICK = 1
"""How hard the encoder tries: as good as its usual 4, in two fifths of the time, with 3 % more bytes."""
HELD_BYTES = 200_000_000
"""Reduced photos held between the moving picture and the report: some 35 of 1600 x 1200 pixels."""


class PhotoSource(Protocol):
    """Where the report gets a photo's pixels from."""

    def picture(self, entry: Entry, *, longest_px: int, least_px: int | None = None) -> RGB | None:
        """Return the upright photo, its longer side at most `longest_px`; None if it cannot be read.

        A photo may be read at a size that its decoder gives for less, down to a longer side of `least_px`.
        """
        ...


class FolderPhotos:
    """Photos read again, from a lawn folder or from `files`; one that is missing or damaged is None and fails nothing.

    Reduced photos are held for whoever asks next, the first ones up to `HELD_BYTES`.
    """

    def __init__(self, folder: Path | str, files: Sequence[PhotoFile] | None = None) -> None:
        self._photos, self._room = Path(folder) / "photos", HELD_BYTES
        self._files = {file.name: file for file in files or ()}
        self._held: dict[tuple[str, int, int], RGB | None] = {}

    def picture(self, entry: Entry, *, longest_px: int, least_px: int | None = None) -> RGB | None:
        """Read and reduce one photo."""
        least_px = least_px or longest_px
        key = entry.name, longest_px, reduction_of(max(entry.facts.size), least_px)
        if key in self._held:
            return self._held[key]
        try:
            data = self._read(entry.name)
            whole = decode(data, name=entry.name, digest=entry.digest, least_side=least_px).rgb
            rgb = shrink(whole, longest_px)
        except PhotoRefused:
            rgb = None
        taken = 0 if rgb is None else rgb.nbytes
        if taken <= self._room:
            self._held[key], self._room = rgb, self._room - taken
        return rgb

    def _read(self, name: str) -> bytes:
        file = self._files.get(name)
        return read_bytes(self._photos / name) if file is None else file.read()


def shrink(rgb: RGB, longest_px: int) -> RGB:
    """Return a picture whose longer side is at most `longest_px`."""
    import cv2

    rows, cols = rgb.shape[:2]
    scale = longest_px / max(rows, cols)
    if scale >= 1:
        return rgb
    if scale <= 0.25:  # by a whole number first, which takes half the time
        step = int(0.5 / scale)
        rgb = np.asarray(
            cv2.resize(rgb, (cols // step, rows // step), interpolation=cv2.INTER_AREA), np.uint8
        )
    size = (max(1, round(cols * scale)), max(1, round(rows * scale)))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)


def encode(rgb: RGB, *, most_bytes: int) -> bytes:
    """Encode as WebP of at most `most_bytes`, by lower quality first and smaller size last."""
    picture = rgb
    while True:
        data, quality = _webp(picture, BEST), BEST
        whole = len(data)
        while len(data) > most_bytes and quality > WORST:
            likely = (q for q, share in SHARES.items() if q < quality and share * whole <= most_bytes)
            quality = next(likely, WORST)
            data = _webp(picture, quality)
        if len(data) <= most_bytes or max(picture.shape[:2]) < 64:
            return data
        scale = min(0.9, max(0.5, (most_bytes / len(data)) ** 0.5))
        picture = shrink(picture, int(scale * max(picture.shape[:2])))


def _webp(rgb: RGB, quality: int) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(rgb)).save(out, "WEBP", quality=quality, method=QUICK)
    return out.getvalue()


def data_address(data: bytes, kind: str) -> str:
    """Return bytes as a data: address, such as `data_address(png, "image/png")`."""
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"
