"""Bytes to Photo: upright RGB pixels, when and with what they were taken. The only place that decodes a picture.

JPEG is decoded by simplejpeg (libjpeg-turbo, as in OpenCV, to the same bytes, in two thirds of the time, and with every
warning of damaged data raised), PNG, TIFF and WebP by OpenCV, HEIC and HEIF by pillow-heif, all from memory, so that
paths of any alphabet work. The EXIF orientation (JEITA CP-3451, tag 274) is applied here and nowhere else, so every
pixel coordinate in swardmark is upright: x to the right, y down, an integer is a pixel's center.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
import stat
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache, cached_property
from importlib import metadata
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.color import gray_of
from swardmark.common.errors import PhotoRefused, PhotoUnread, check_path, reason_of
from swardmark.photo import sentences
from swardmark.photo.header import Camera, Header, open_heif, read_header
from swardmark.photo.seam import has_seam
from swardmark.photo.structure import damage_in

MOST_BYTES = 200_000_000
WORKING_SIDE_PX = 1900
"""Photos are measured at the largest reduction that keeps this many pixels along their longer side: 12 megapixels at a
half, 48 at a quarter. What that costs in accuracy and saves in time stands in docs/performance.md."""
REDUCTIONS = (8, 4, 2)
HARMLESS_BYTES = 8
"""Some phones leave a few stray bytes before the end of a JPEG: up to this many are noted, more count as damage."""
AGAIN = "Copy the original from the camera again"


@dataclass(frozen=True, eq=False)
class Photo:
    """One decoded photo.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        Upright pixels, red first.
    taken_at : datetime or None
        Local time at the camera, without a zone; None if unknown.
    taken_from : str
        Where `taken_at` came from: "camera", "file name", "keeper" or "unknown".
    digest : str
        SHA-256 of the file's bytes, in hexadecimal.
    notes : tuple of str
        What was odd about the file but did not stop it.
    reduction : int
        Pixels of the file along each side of a pixel here: 1 as in the file, 2, 4 or 8.
    """

    rgb: NDArray[np.uint8]
    taken_at: dt.datetime | None
    taken_from: str
    camera: Camera
    digest: str
    name: str
    notes: tuple[str, ...] = ()
    reduction: int = 1

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.rgb.shape[1], self.rgb.shape[0]

    @cached_property
    def gray(self) -> NDArray[np.uint8]:
        """The picture in gray, shape (rows, cols), made at its first use."""
        return gray_of(self.rgb)

    @property
    def focal_px(self) -> float | None:
        """Focal length in pixels from the EXIF 35 mm equivalent, or None."""
        return self.camera.focal_px(*self.size)

    def here(self, file_px: ArrayLike) -> NDArray[np.float64]:
        """Turn pixels of the file, upright, shape (..., 2), into those of this picture, which may be reduced."""
        return (np.asarray(file_px, float) + 0.5) / self.reduction - 0.5

    def in_file(self, px: ArrayLike) -> NDArray[np.float64]:
        """Turn pixels of this picture, shape (..., 2), into those of the file, upright."""
        return (np.asarray(px, float) + 0.5) * self.reduction - 0.5

    def taken(self, when: dt.datetime) -> Photo:
        """Return the photo with the day that the keeper gave."""
        return replace(self, taken_at=when, taken_from="keeper")


@cache
def opencv_version() -> str:
    """Return OpenCV's version as its package states it, such as 5.0.0, without loading the library."""
    for name in ("opencv-python", "opencv-python-headless", "opencv-contrib-python"):
        with suppress(metadata.PackageNotFoundError):
            return ".".join(metadata.version(name).split(".")[:3])
    return "unknown"


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
        raise PhotoUnread(f"cannot be read ({reason})", where=path.name, remedy="Check the file") from None


def read_photo(path: Path | str, *, least_side: int | None = None) -> Photo:
    """Read and decode one photo file; raises PhotoRefused with the reason and the remedy."""
    check_path(path, name="path", where="read_photo")
    path = Path(path)
    return decode(read_bytes(path), name=path.name, least_side=least_side)


def decode(data: bytes, *, name: str, digest: str = "", least_side: int | None = None) -> Photo:
    """Decode a photo from memory.

    Parameters
    ----------
    data : bytes
        A whole JPEG, PNG, TIFF, WebP, HEIC or HEIF file.
    name : str
        How error lines and tables call it; a date in it serves when the EXIF block has none.
    digest : str
        The content hash, where it is known already.
    least_side : int, optional
        A photo may be reduced as long as its longer side keeps this many pixels; None reads it as it is.

    Raises
    ------
    PhotoRefused
        The bytes are not a photo that can be measured.
    """
    header = read_header(data, name=name)
    notes = list(header.notes)
    reduction = reduction_of(max(header.size), least_side)
    if header.kind == "HEIC":
        rgb = _smaller(_heif_pixels(data, name), reduction)
    elif header.kind == "JPEG":
        rgb = _upright(_jpeg_pixels(data, header, name, reduction, notes), header.orientation)
    else:
        rgb = _smaller(_upright(_pixels(data, header, name), header.orientation), reduction)
    return Photo(
        rgb=np.ascontiguousarray(rgb),
        taken_at=header.taken_at,
        taken_from=header.taken_from,
        camera=header.camera,
        digest=digest or digest_of(data),
        name=name,
        notes=tuple(notes),
        reduction=reduction,
    )


def reduction_of(longer_px: int, least_side: int | None) -> int:
    """Return by how much a photo is reduced whose longer side is to keep `least_side` pixels."""
    if least_side is None:
        return 1
    return next((times for times in REDUCTIONS if longer_px >= times * least_side), 1)


def _smaller(rgb: NDArray[np.uint8], reduction: int) -> NDArray[np.uint8]:
    """Return the means of blocks of `reduction` by `reduction` pixels; a rim that fills no block is left out."""
    import cv2

    if reduction == 1:
        return rgb
    rows, cols = rgb.shape[0] // reduction, rgb.shape[1] // reduction
    whole = np.ascontiguousarray(rgb[: rows * reduction, : cols * reduction])
    return np.asarray(cv2.resize(whole, (cols, rows), interpolation=cv2.INTER_AREA), np.uint8)


def _heif_pixels(data: bytes, name: str) -> NDArray[np.uint8]:
    image = open_heif(data, name)
    try:
        return np.asarray(image.to_pillow().convert("RGB"), np.uint8)
    except Exception:
        raise PhotoRefused("the HEIC data are damaged", where=name, remedy="Export it as a JPEG") from None


def _jpeg_pixels(
    data: bytes, header: Header, name: str, reduction: int, notes: list[str]
) -> NDArray[np.uint8]:
    """Decode a JPEG; one that libjpeg warns of is refused: what it shows in place of lost data gives a number."""
    from simplejpeg import decode_jpeg, decode_jpeg_header

    width, height = (-(-length // reduction) for length in header.size)
    size = {"min_width": width, "min_height": height} if reduction > 1 else {}
    try:
        try:
            pixels = decode_jpeg(data, colorspace="RGB", **size)
        except ValueError as fault:
            if not _is_harmless(str(fault)):
                raise
            notes.append(sentences.STRAY_BYTES)
            pixels = decode_jpeg(data, colorspace="RGB", strict=False, **size)
    except ValueError as fault:
        what = f"the picture data are damaged ({reason_of(fault).partition(': ')[2]})"
        raise PhotoRefused(what, where=name, remedy=AGAIN) from None
    if pixels.shape[:2] != (height, width):
        raise PhotoRefused("the picture data are damaged", where=name, remedy=AGAIN)
    if damage := damage_in(data):
        notes.append(damage)
    block_rows = 16 if decode_jpeg_header(data, strict=False)[3] in ("420", "440") else 8
    if has_seam(pixels, block_rows // reduction):
        notes.append(sentences.SEAM)
    return np.asarray(pixels, np.uint8)


def _is_harmless(fault: str) -> bool:
    found = re.search(r"(\d+) extraneous bytes before marker 0xd9", fault)
    return found is not None and int(found[1]) <= HARMLESS_BYTES


def _pixels(data: bytes, header: Header, name: str) -> NDArray[np.uint8]:
    import cv2

    flags = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    except cv2.error:
        pixels = None
    if pixels is None or sorted(pixels.shape[:2]) != sorted(header.size):
        raise PhotoRefused("the picture data are damaged", where=name, remedy=AGAIN)
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
