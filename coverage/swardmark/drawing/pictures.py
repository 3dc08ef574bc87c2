"""The photos once more, reduced, for the report: embedded as bytes that hold pixels and nothing else.

Every picture is encoded anew from decoded pixels, so no EXIF block and no GPS position can come along.
"""

from __future__ import annotations

import base64
import io
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from threading import Lock
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

    Reduced photos are held for whoever asks next, the first ones up to `HELD_BYTES`; of several threads that ask for
    one the first reads it.
    """

    def __init__(self, folder: Path | str, files: Sequence[PhotoFile] | None = None) -> None:
        self._photos, self._room = Path(folder) / "photos", HELD_BYTES
        self._files = {file.name: file for file in files or ()}
        self._held: dict[tuple[str, int, int], RGB | None] = {}
        self._locks: defaultdict[tuple[str, int, int], Lock] = defaultdict(Lock)

    def picture(self, entry: Entry, *, longest_px: int, least_px: int | None = None) -> RGB | None:
        """Read and reduce one photo."""
        least_px = least_px or longest_px
        key = entry.name, longest_px, reduction_of(max(entry.facts.size), least_px)
        with self._locks[key]:
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


class Encoder:
    """Encodes pictures of one kind as WebP of at most so many bytes, by lower quality first and smaller size last.

    Each begins at the quality and the size that fitted the one before, so that most are encoded once.
    """

    def __init__(self, *, most_bytes: int) -> None:
        self._most, self._rate, self._scale = most_bytes, 0.0, 1.0

    def encode(self, rgb: RGB) -> bytes:
        """Return a picture as bytes."""
        longest = max(rgb.shape[:2])
        picture = shrink(rgb, max(1, int(self._scale * longest)))
        while True:
            data, quality = self._fitted(picture)
            if len(data) <= self._most or max(picture.shape[:2]) < 64:
                own = max(picture.shape[:2]) / longest
                self._scale = own if quality == WORST else min(1.0, own / 0.9)
                return data
            scale = min(0.9, max(0.5, (self._most / len(data)) ** 0.5))
            picture = shrink(picture, int(scale * max(picture.shape[:2])))

    def _fitted(self, picture: RGB) -> tuple[bytes, int]:
        """Return a picture at the best quality that fits, or at the worst where none does, and that quality."""
        pixels = picture.shape[0] * picture.shape[1]
        fitting, too_large, data = 0, BEST + 1, b""
        while untried := [q for q in SHARES if fitting < q < too_large]:
            likely = self._likely(self._rate * pixels)
            if fitting >= likely and too_large > BEST:
                break
            quality = min(max(likely, untried[-1]), untried[0])
            made = _webp(picture, quality)
            self._rate = len(made) / SHARES[quality] / pixels
            if len(made) <= self._most:
                fitting, data = quality, made
            else:
                too_large, data = quality, data or (made if quality == WORST else b"")
        return data, fitting or WORST

    def _likely(self, whole: float) -> int:
        """Return the best quality at which a picture of so many bytes at the best one is likely to fit."""
        return next((q for q, share in SHARES.items() if share * whole <= self._most), WORST)


def encode(rgb: RGB, *, most_bytes: int) -> bytes:
    """Encode one picture as `Encoder` does."""
    return Encoder(most_bytes=most_bytes).encode(rgb)


def _webp(rgb: RGB, quality: int) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(rgb)).save(out, "WEBP", quality=quality, method=QUICK)
    return out.getvalue()


def data_address(data: bytes, kind: str) -> str:
    """Return bytes as a data: address, such as `data_address(png, "image/png")`."""
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"
