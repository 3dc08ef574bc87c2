"""Taking the place out of a photo file: what is not needed to measure it is left out, its pixels stay byte for byte.

A position, or the name of a town, stands in many places: the GPS directory and the free texts of EXIF (JEITA CP-3451),
makers' private notes, XMP packets under whatever prefix, the IPTC records and Photoshop blocks of APP13, comments, the
text chunks of PNG (W3C 2003, 11.3.4), thumbnails, a second picture or a film behind the first. So nothing is searched:
of a JPEG, PNG or WebP the parts that the picture is decoded from are kept, and a new EXIF block says the turn, the day
and the camera, which is all that swardmark reads of the old one. TIFF and HEIC files are refused where they hold
anything of the kind.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator

from swardmark.common.errors import PhotoRefused
from swardmark.photo.header import (
    DATE_ORIGINAL,
    EXIF_IFD,
    FOCAL_35MM,
    MAKE,
    MODEL,
    ORIENTATION,
    PNG_SIGNATURE,
    Header,
    kind_of,
    read_header,
)

GPS_POINTER = 0x8825
PRIVATE_TAGS = frozenset({GPS_POINTER, 700, 33723, 34377, 37500})
"""TIFF tags: GPS directory, XMP, IPTC, Photoshop blocks, maker's note."""
PRIVATE_TEXT = re.compile(rb"rdf:RDF|xmpmeta|application/rdf|8BIM|Photoshop 3\.0|Iptc4xmp|photoshop:")
EXIF_START = b"Exif\0\0"
MOST_DIRECTORIES = 16
START_OF_SCAN, END, COMMENT = 0xDA, 0xD9, 0xFE
KEPT_APPS = ((0xE0, b"JFIF\0"), (0xE2, b"ICC_PROFILE\0"), (0xEE, b"Adobe"))
"""Application segments of a JPEG that its colors depend on: marker, and what it begins with."""
KEPT_CHUNKS = frozenset(b"IHDR PLTE IDAT IEND tRNS gAMA cHRM sRGB iCCP sBIT bKGD pHYs cICP".split())
KEPT_RIFF = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"})
WEBP_EXIF, WEBP_XMP = 0x08, 0x04
ASCII, SHORT, LONG = 2, 3, 4
_DAMAGED = "its metadata are damaged, and the location cannot be removed safely"
_REMEDY = "Export it as a JPEG without its location"


def without_place(data: bytes, *, name: str) -> bytes:
    """Return a photo file without the position where it was taken, and without free texts that could name it.

    Parameters
    ----------
    data : bytes
        A whole photo file. JPEG, PNG and WebP files are written anew, their pixels as they are; TIFF and HEIC files
        come back as they are if they hold nothing that could tell the place.
    name : str
        How error lines call it.

    Raises
    ------
    PhotoRefused
        The position cannot be taken out: a TIFF or HEIC file, or damaged metadata; or the file is no photo.
    """
    kind = kind_of(data)
    if kind in ("TIFF", "HEIC"):
        if may_hold_place(data):
            what = f"the location cannot be removed from a {kind} file, and this one may contain it"
            raise PhotoRefused(what, where=name, remedy=_REMEDY)
        return data
    header = read_header(data, name=name)
    parts = {"JPEG": _of_jpeg, "PNG": _of_png, "WebP": _of_webp}[header.kind]
    try:
        clean = b"".join(parts(data, _exif_of(header)))
    except (struct.error, ValueError, IndexError):
        raise PhotoRefused(_DAMAGED, where=name, remedy=_REMEDY) from None
    return clean


def has_place(data: bytes) -> bool:
    """Tell whether a file of any kind seems to hold a position, by its EXIF block or an XMP packet."""
    if re.search(rb"GPSL(?:at|ong)itude|GPSPosition", data):
        return True
    blocks = [found.start() for found in re.finditer(rb"II\*\0|MM\0\*", data)]
    return any(_points_to_place(data[start:]) for start in blocks)


def may_hold_place(data: bytes) -> bool:
    """Tell whether a TIFF or HEIC file holds a position, or metadata of the kinds that can."""
    if has_place(data) or PRIVATE_TEXT.search(data):
        return True
    return kind_of(data) == "TIFF" and _points_to_place(data, PRIVATE_TAGS)


def _of_jpeg(data: bytes, exif: bytes) -> Iterator[bytes]:
    """Yield the parts of a JPEG that its picture is decoded from, and the new EXIF block behind APP0."""
    yield data[:2]
    told = not exif
    for marker, start, end in _segments(data):
        body = data[start:end][4:]
        if not told and marker != 0xE0:
            yield b"\xff\xe1" + struct.pack(">H", len(exif) + 8) + EXIF_START + exif
            told = True
        if marker == COMMENT or (
            0xE0 <= marker <= 0xEF
            and not any(marker == own and body.startswith(id_) for own, id_ in KEPT_APPS)
        ):
            continue
        yield data[start:end]


def _of_png(data: bytes, exif: bytes) -> Iterator[bytes]:
    """Yield a PNG's chunks that its picture is decoded from, and the new EXIF block behind its header."""
    yield PNG_SIGNATURE
    at = len(PNG_SIGNATURE)
    while True:
        length = int.from_bytes(data[at : at + 4], "big")
        kind, end = data[at + 4 : at + 8], at + 12 + length
        if len(kind) < 4 or end > len(data):
            raise ValueError("no end chunk")
        if kind in KEPT_CHUNKS:
            yield data[at:end]
        if kind == b"IHDR" and exif:
            body = b"eXIf" + exif
            yield struct.pack(">I", len(exif)) + body + struct.pack(">I", zlib.crc32(body))
        if kind == b"IEND":
            return
        at = end


def _of_webp(data: bytes, exif: bytes) -> Iterator[bytes]:
    """Yield a WebP's chunks that its picture is decoded from, and the new EXIF block at its end."""
    chunks, at, end = [], 12, 8 + int.from_bytes(data[4:8], "little")
    while at + 8 <= end:
        kind, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        body = data[at + 8 : at + 8 + size]
        if len(body) < size:
            raise ValueError("a chunk that is cut off")
        if kind == b"VP8X":
            flags = body[0] & ~(WEBP_EXIF | WEBP_XMP) | (WEBP_EXIF if exif else 0)
            body = bytes([flags]) + body[1:]
        if kind in KEPT_RIFF:
            chunks.append((kind, body))
        at += 8 + size + size % 2
    if exif and chunks and chunks[0][0] == b"VP8X":
        chunks.append((b"EXIF", exif))
    whole = b"".join(
        kind + struct.pack("<I", len(body)) + body + bytes(len(body) % 2) for kind, body in chunks
    )
    yield b"RIFF" + struct.pack("<I", len(whole) + 4) + b"WEBP" + whole


def _exif_of(header: Header) -> bytes:
    """Write what was read of a photo's EXIF block as a block of its own; empty where nothing was."""
    camera = header.camera
    outer: list[tuple[int, int | bytes]] = [(MAKE, _ascii(camera.make)), (MODEL, _ascii(camera.model))]
    outer += [(ORIENTATION, header.orientation)] if header.orientation != 1 else []
    inner: list[tuple[int, int | bytes]] = []
    if header.taken_at is not None and header.taken_from == "camera":
        inner.append((DATE_ORIGINAL, _ascii(f"{header.taken_at:%Y:%m:%d %H:%M:%S}")))
    if camera.focal_35mm is not None:
        inner.append((FOCAL_35MM, round(camera.focal_35mm)))
    outer = [(tag, value) for tag, value in outer if value != b""]
    if not outer and not inner:
        return b""
    first = 8
    place = first + len(_directory([*outer, (EXIF_IFD, 0)], first))
    return (
        struct.pack(">2sHI", b"MM", 42, first)
        + _directory([*outer, (EXIF_IFD, place)], first)
        + _directory(inner, place)
    )


def _directory(entries: list[tuple[int, int | bytes]], at: int) -> bytes:
    """Write one directory of a TIFF structure that begins at `at`, with the texts behind it."""
    rows, texts = b"", b""
    behind = at + 2 + 12 * len(entries) + 4
    for tag, value in sorted(entries):
        if isinstance(value, bytes):
            kind, count = ASCII, len(value)
            field = value.ljust(4, b"\0") if count <= 4 else struct.pack(">I", behind + len(texts))
            texts += value + bytes(count % 2) if count > 4 else b""
        elif tag == EXIF_IFD:
            kind, count, field = LONG, 1, struct.pack(">I", value)
        else:
            kind, count, field = SHORT, 1, struct.pack(">HH", value, 0)
        rows += struct.pack(">HHI", tag, kind, count) + field
    return struct.pack(">H", len(entries)) + rows + bytes(4) + texts


def _ascii(text: str) -> bytes:
    return text.encode("ascii", "replace") + b"\0" if text else b""


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Walk a JPEG to the end of its main picture; a scan's segment holds its entropy-coded data as well."""
    at = 2
    while True:
        start = at
        if data[at] != 0xFF:
            raise ValueError("no marker where one belongs")
        while data[at] == 0xFF:
            at += 1
        marker = data[at]
        if marker == END:
            yield marker, start, at + 1
            return
        at += 1 + int.from_bytes(data[at + 1 : at + 3], "big")
        if marker == START_OF_SCAN:
            found = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]", re.DOTALL).search(data, at)
            if found is None:
                raise ValueError("the scan has no end")
            at = found.start()
        yield marker, start, at


def _directories(block: bytes | bytearray, order: str) -> Iterator[int]:
    """Yield where the chain's directories begin."""
    seen: set[int] = set()
    at = struct.unpack_from(f"{order}I", block, 4)[0]
    while at and at not in seen:
        if len(seen) == MOST_DIRECTORIES:
            raise ValueError("too many directories")
        seen.add(at)
        yield at
        count = struct.unpack_from(f"{order}H", block, at)[0]
        after = at + 2 + 12 * count
        at = struct.unpack_from(f"{order}I", block, after)[0] if after + 4 <= len(block) else 0


def _byte_order(block: bytes | bytearray) -> str:
    orders = {b"II*\0": "<", b"MM\0*": ">"}
    mark = bytes(block[:4])
    if mark not in orders:
        raise ValueError("no TIFF header")
    return orders[mark]


def _points_to_place(block: bytes, tags: frozenset[int] = frozenset({GPS_POINTER})) -> bool:
    try:
        order = _byte_order(block)
        for directory in _directories(block, order):
            count = struct.unpack_from(f"{order}H", block, directory)[0]
            own = (struct.unpack_from(f"{order}H", block, directory + 2 + 12 * n)[0] for n in range(count))
            if not tags.isdisjoint(own):
                return True
    except (struct.error, ValueError):
        return False
    return False
