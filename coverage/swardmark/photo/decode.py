"""Bytes to Photo: upright RGB pixels, when and with what they were taken. The only place that decodes a picture.

JPEG, PNG, TIFF and WebP are decoded by OpenCV from
memory (paths of any alphabet work), HEIC and HEIF by pillow-heif. The EXIF orientation (JEITA CP-3451, tag 274) is
applied here and nowhere else, so every pixel coordinate in swardmark is upright: x to the right, y down, an integer
is a pixel's centre.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import stat
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.errors import PhotoRefused
from swardmark.photo.header import Camera, Header, open_heif, read_header

MOST_BYTES = 200_000_000


@dataclass(frozen=True, eq=False)
class Photo:
    """One decoded photo.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        Upright pixels, red first.
    taken_at : datetime or None
        Local time at the camera, without a zone; None if nothing tells.
    taken_from : str
        Where `taken_at` came from: "camera", "file name", "keeper" or "unknown".
    digest : str
        SHA-256 of the file's bytes, in hexadecimal.
    notes : tuple of str
        What was odd about the file but did not stop it.
    """

    rgb: NDArray[np.uint8]
    taken_at: dt.datetime | None
    taken_from: str
    camera: Camera
    digest: str
    name: str
    notes: tuple[str, ...] = ()

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.rgb.shape[1], self.rgb.shape[0]

    @property
    def focal_px(self) -> float | None:
        """Focal length in pixels from the EXIF 35 mm equivalent, or None."""
        return self.camera.focal_px(*self.size)

    def taken(self, when: dt.datetime) -> Photo:
        """Return the photo with the day that the keeper gave."""
        return replace(self, taken_at=when, taken_from="keeper")


def digest_of(data: bytes) -> str:
    """Return the content hash by which a photo is known whatever its name."""
    return hashlib.sha256(data).hexdigest()


def read_bytes(path: Path) -> bytes:
    """Read a photo file.

    Raises
    ------
    PhotoRefused
        The file is missing, cannot be read, is empty, or is too large.
    """
    try:
        status = path.stat()
        size = status.st_size
        if not stat.S_ISREG(status.st_mode):
            raise PhotoRefused("is not a file", where=path.name, remedy="Give a photo file")
        if size > MOST_BYTES:
            raise PhotoRefused(
                f"the file is {size / 1e6:.0f} MB", where=path.name, remedy="Export it as a JPEG"
            )
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise PhotoRefused(f"cannot be read ({reason})", where=path.name, remedy="Check the file") from None


def read_photo(path: Path | str) -> Photo:
    """Read and decode one photo file; raises PhotoRefused with the reason and the remedy."""
    path = Path(path)
    return decode(read_bytes(path), name=path.name)


def decode(data: bytes, *, name: str, digest: str = "") -> Photo:
    """Decode a photo from memory.

    Parameters
    ----------
    data : bytes
        A whole JPEG, PNG, TIFF, WebP, HEIC or HEIF file.
    name : str
        How error lines and tables call it; a date in it serves when the EXIF block has none.
    digest : str
        The content hash, where it is known already.

    Raises
    ------
    PhotoRefused
        The bytes are not a photo that can be measured.
    """
    header = read_header(data, name=name)
    if header.kind == "HEIC":
        rgb = _heif_pixels(data, name)
    else:
        rgb = _upright(_pixels(data, header, name), header.orientation)
    return Photo(
        rgb=np.ascontiguousarray(rgb),
        taken_at=header.taken_at,
        taken_from=header.taken_from,
        camera=header.camera,
        digest=digest or digest_of(data),
        name=name,
        notes=header.notes,
    )


def _heif_pixels(data: bytes, name: str) -> NDArray[np.uint8]:
    image = open_heif(data, name)
    try:
        return np.asarray(image.to_pillow().convert("RGB"), np.uint8)
    except Exception:
        raise PhotoRefused("the HEIC data are damaged", where=name, remedy="Export it as a JPEG") from None


def _pixels(data: bytes, header: Header, name: str) -> NDArray[np.uint8]:
    import cv2

    in_rgb = getattr(cv2, "IMREAD_COLOR_RGB", None)
    flags = cv2.IMREAD_COLOR if in_rgb is None else in_rgb
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags | cv2.IMREAD_IGNORE_ORIENTATION)
    except cv2.error:
        pixels = None
    if pixels is None or sorted(pixels.shape[:2]) != sorted(header.size):
        raise PhotoRefused(
            "the picture data are damaged", where=name, remedy="Copy the original from the camera again"
        )
    if in_rgb is None:  # OpenCV before 4.11
        pixels = cv2.cvtColor(pixels, cv2.COLOR_BGR2RGB, dst=pixels)
    return np.asarray(pixels, np.uint8)


def _upright(rgb: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Undo the eight EXIF orientations: 1 as is, 2 mirrored, 3 half turn, 4 flipped, 5 transposed, 6, 7, 8."""
    if orientation >= 5:
        rgb = rgb.transpose(1, 0, 2)
    if orientation in (2, 3, 6, 7):
        rgb = rgb[:, ::-1]
    if orientation in (3, 4, 7, 8):
        rgb = rgb[::-1]
    return rgb
