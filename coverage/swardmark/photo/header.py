"""What a photo file says of itself before its pixels are decoded: kind, size, turn, day, camera.

The kind of file is recognized by its content, never by its name. The day is the camera's (EXIF DateTimeOriginal, then
DateTimeDigitized; JEITA CP-3451), else one that the file name spells, and never the file's own time, which changes with
every copy. A malformed EXIF block is a note, not a failure.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.common.text import clean
from swardmark.photo import sentences
from swardmark.photo.day import FIRST_YEAR, named_day

if TYPE_CHECKING:
    from PIL import Image

LEAST_SIDE_PX = 240
MOST_SIDE_PX = 20_000
MOST_PIXELS = 110_000_000
EXIF_IFD = 0x8769
ORIENTATION, DATE_ORIGINAL, DATE_DIGITIZED, FOCAL_35MM = 274, 36867, 36868, 41989
MAKE, MODEL = 271, 272
PILLOW_FORMATS = {"JPEG": ("JPEG", "MPO"), "PNG": ("PNG",), "TIFF": ("TIFF",), "WebP": ("WEBP",)}
"""A file is opened as what its first bytes say, and as nothing else."""
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
START_OF_SCAN, APP1 = 0xDA, 0xE1
SCAN_MARK = 0xDAFF
"""The two bytes FF DA (ITU-T T.81), read as a little-endian number."""
MOST_SCANS = 100
"""Cameras write one scan, progressive files some ten; a picture of thousands would be decoded for minutes."""
MOST_SCANNED_PX = 2_200_000_000
"""Pixels of all scans together: 20 scans of the largest picture, at most some 13 s of decoding (6 ns a pixel)."""
LABORIOUS_PX = 300_000_000
"""From here on a picture may take seconds to decode; a camera's progressive file of 24 megapixels lies below."""
FULL_FRAME_DIAGONAL_MM = 43.2666
"""Diagonal of the 24 x 36 mm frame that the 35 mm equivalent focal length refers to."""


@dataclass(frozen=True)
class Camera:
    """What the EXIF block says of the camera; empty or None where it is silent."""

    make: str = ""
    model: str = ""
    focal_35mm: float | None = None

    def focal_px(self, width: int, height: int) -> float | None:
        """Return the focal length in pixels of a width x height photo, or None if it is not known."""
        if self.focal_35mm is None:
            return None
        return self.focal_35mm * float(np.hypot(width, height)) / FULL_FRAME_DIAGONAL_MM


@dataclass(frozen=True)
class Header:
    """What a photo file says of itself before its pixels are decoded."""

    kind: str
    size: tuple[int, int]
    mode: str
    orientation: int
    taken_at: dt.datetime | None
    taken_from: str
    camera: Camera
    notes: tuple[str, ...]
    scans: int = 1

    @property
    def is_laborious(self) -> bool:
        """Whether its pixels may take seconds to decode."""
        return self.scans * self.size[0] * self.size[1] > LABORIOUS_PX


def read_header(data: bytes, *, name: str) -> Header:
    """Read size, color mode, orientation, date and camera without decoding the pixels.

    Raises
    ------
    PhotoRefused
        Not a photo, cut off, gray, CMYK, or outside the size limits.
    """
    kind = kind_of(data)
    if kind is None:
        what = "the file is empty" if not data else "not a photo (JPEG, PNG, TIFF, WebP or HEIC)"
        raise PhotoRefused(what, where=name, remedy="Copy the original from the camera again")
    if not _is_whole(data, kind):
        raise PhotoRefused(
            f"the {kind} is cut off", where=name, remedy="Copy the original from the camera again"
        )
    scans = _scans(data) if kind == "JPEG" else 1
    _check_work(0, scans, name)
    notes: list[str] = []
    image = open_heif(data, name) if kind == "HEIC" else _open(data, name, kind, notes)
    width, height = image.size
    _check_size(width, height, name)
    _check_work(scans * width * height, scans, name)
    _check_color(image.mode, name)
    if kind in ("PNG", "WebP") and getattr(image, "is_animated", False):
        raise PhotoRefused("an animated picture", where=name, remedy="Send the photo itself")
    orientation, camera, when, source = _exif(image, name, notes)
    if kind in ("TIFF", "HEIC"):
        orientation = 1  # OpenCV turns TIFFs itself, whatever its flags, and libheif HEIC files
    notes_read = tuple(notes)
    return Header(kind, (width, height), image.mode, orientation, when, source, camera, notes_read, scans)


def _scans(data: bytes) -> int:
    """Count the marks that begin a scan, at even and at odd places; bytes.count takes eight times as long."""
    pairs = (np.frombuffer(data, "<u2", (len(data) - start) // 2, start) for start in (0, 1))
    return sum(int(np.count_nonzero(pair == SCAN_MARK)) for pair in pairs)


def kind_of(data: bytes) -> str | None:
    """Tell the kind of picture file by its first bytes, or None."""
    if data[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if data[:8] == PNG_SIGNATURE:
        return "PNG"
    if data[:4] in (b"II*\0", b"MM\0*"):
        return "TIFF"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1"):
        return "HEIC"
    return None


def _open(data: bytes, name: str, kind: str, notes: list[str]) -> Image.Image:
    from PIL import Image

    try:
        return Image.open(io.BytesIO(data), formats=PILLOW_FORMATS[kind])
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise PhotoRefused(
            "the picture is too large", where=name, remedy="Export it at 50 megapixels or less"
        ) from None
    except Exception:
        plain = _without_exif(data)
        if plain != data:
            notes.append(sentences.EXIF_DAMAGED)
            return _open(plain, name, kind, notes)
        raise PhotoRefused(
            "the picture data are damaged", where=name, remedy="Copy the original again"
        ) from None


def open_heif(data: bytes, name: str) -> Any:
    """Open a HEIC or HEIF file from memory, its pixels not decoded yet; raises PhotoRefused where it is damaged.

    Returns
    -------
    pillow_heif.HeifImage
        The primary picture, upright and in 8 bits.
    """
    import pillow_heif

    try:
        file = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        return file[file.primary_index]
    except Exception:
        raise PhotoRefused("the HEIC data are damaged", where=name, remedy="Export it as a JPEG") from None


def _check_size(width: int, height: int, name: str) -> None:
    if min(width, height) < LEAST_SIDE_PX:
        remedy = "Send the original, not a thumbnail"
        raise PhotoRefused(f"the picture is only {width} x {height} pixels", where=name, remedy=remedy)
    if max(width, height) > MOST_SIDE_PX or width * height > MOST_PIXELS:
        remedy = "Export it at 50 megapixels or less"
        raise PhotoRefused(f"the picture has {width} x {height} pixels", where=name, remedy=remedy)


def _check_work(pixels: int, scans: int, name: str) -> None:
    """Refuse a picture whose scans would hold a decoder up."""
    if scans > MOST_SCANS or pixels > MOST_SCANNED_PX:
        what = f"a progressive JPEG in {scans} scans, far too many to read"
        raise PhotoRefused(what, where=name, remedy="Export it again as a plain JPEG")


def _check_color(mode: str, name: str) -> None:
    if mode in ("CMYK", "YCCK", "LAB", "HSV"):
        raise PhotoRefused(
            f"a {mode} picture, made for print", where=name, remedy="Export it as an RGB (sRGB) JPEG"
        )
    if mode in ("1", "L", "LA") or mode.startswith(("I", "F")):
        raise PhotoRefused(
            "a gray picture: leaf and sand cannot be told apart", where=name, remedy="Take it in color"
        )


def jpeg_segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Walk a JPEG's marker segments up to the start of scan: marker, first byte, first byte after it."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == 0xFF:
            at += 1
            continue
        yield marker, at, at + 2 + length
        if marker == START_OF_SCAN:
            return
        at += 2 + length


def _is_whole(data: bytes, kind: str) -> bool:
    """Whether the file reaches the end that it announces; a decoder would make memory for all that is announced."""
    if kind == "JPEG":
        return _jpeg_is_whole(data)
    if kind == "PNG":
        return _png_is_whole(data)
    return kind != "WebP" or int.from_bytes(data[4:8], "little") + 8 <= len(data)


def _png_is_whole(data: bytes) -> bool:
    """Whether every chunk up to the image's end lies within the file (PNG specification, W3C 2003, 5.3)."""
    at = len(PNG_SIGNATURE)
    while at + 12 <= len(data):
        length = int.from_bytes(data[at : at + 4], "big")
        if data[at + 4 : at + 8] == b"IEND":
            return True
        at += 12 + length
    return False


def _jpeg_is_whole(data: bytes) -> bool:
    """Whether the main picture reaches its end-of-image marker; a thumbnail's marker inside APP1 does not count."""
    return any(
        marker == START_OF_SCAN and data.rfind(b"\xff\xd9", end) > 0 for marker, _, end in jpeg_segments(data)
    )


def _without_exif(data: bytes) -> bytes:
    """Return a JPEG without its APP1 segments; anything else as it is."""
    if kind_of(data) != "JPEG":
        return data
    for marker, start, end in reversed(list(jpeg_segments(data))):
        if marker == APP1:
            data = data[:start] + data[end:]
    return data


def _exif(image: Any, name: str, notes: list[str]) -> tuple[int, Camera, dt.datetime | None, str]:
    try:
        exif = _exif_block(image)
        inner = exif.get_ifd(EXIF_IFD)
        tags = {**dict(exif), **dict(inner)}
    except Exception:
        notes.append(sentences.EXIF_DAMAGED)
        tags = {}
    orientation = tags.get(ORIENTATION, 1)
    if orientation not in range(1, 9):
        notes.append(sentences.ODD_ORIENTATION.format(orientation=f"{orientation!r:.20}"))
        orientation = 1
    camera = Camera(_text(tags.get(MAKE)), _text(tags.get(MODEL)), _focal(tags.get(FOCAL_35MM)))
    when = _exif_date(tags.get(DATE_ORIGINAL)) or _exif_date(tags.get(DATE_DIGITIZED))
    if when is not None and when.year < FIRST_YEAR:
        notes.append(sentences.ODD_DATE.format(date=f"{when:%Y-%m-%d}"))
        when = None
    if when is not None:
        return orientation, camera, when, "camera"
    return orientation, camera, *named_day(name)


def _exif_block(image: Any) -> Image.Exif:
    from PIL import Image

    if isinstance(image, Image.Image):
        return image.getexif()
    exif = Image.Exif()
    exif.load(image.info.get("exif") or b"")
    return exif


def _exif_date(value: Any) -> dt.datetime | None:
    found = re.match(r"(\d{4})\D(\d\d)\D(\d\d)(?:\D(\d\d)\D(\d\d)\D(\d\d))?", _text(value))
    if not found:
        return None
    try:
        return dt.datetime(*(int(part or 0) for part in found.groups()))  # type: ignore[arg-type]
    except ValueError:
        return None


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    return clean(str(value or ""), most=64)


def _focal(value: Any) -> float | None:
    try:
        focal = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return focal if 8 <= focal <= 400 else None
