"""Taking the place out of a photo file, and nothing else: its pixels stay as they are, byte for byte.

EXIF keeps the position in an IFD of its own, which the tag GPSInfo points to (JEITA CP-3451, tag 34853). In a JPEG the
pointer is taken out and what it points to is overwritten with zeros, in place, so that no other offset changes. XMP
packets can hold it again (properties exif:GPS...); those are blanked. What follows the main picture - a second picture,
a film - may hold its own, and is left out together with the index that points to it.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator

from swardmark.common.errors import PhotoRefused
from swardmark.photo.header import kind_of

GPS_POINTER = 0x8825
EXIF_START, XMP_START, INDEX_START = b"Exif\0\0", b"http://ns.adobe.com/x", b"MPF\0"
GPS_IN_XMP = re.compile(
    rb"<(exif:GPS\w+)\b[^>]*?(?:/>|>.*?</\1\s*>)|\bexif:GPS\w+\s*=\s*(?:\"[^\"]*\"|'[^']*')", re.DOTALL
)
TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
MOST_DIRECTORIES = 16
APP1, APP2, START_OF_SCAN, END = 0xE1, 0xE2, 0xDA, 0xD9
_DAMAGED = "its metadata are damaged, and the location cannot be removed safely"
_REMEDY = "Export it as a JPEG without its location"


def without_place(data: bytes, *, name: str) -> bytes:
    """Return a photo file without the position where it was taken; one that holds none comes back as it is.

    Parameters
    ----------
    data : bytes
        A whole photo file. JPEGs are rewritten; of other formats only those that hold no position are accepted.
    name : str
        How error lines call it.

    Raises
    ------
    PhotoRefused
        The position cannot be taken out: another format than JPEG, or damaged metadata.
    """
    if kind_of(data) != "JPEG":
        if has_place(data):
            what = f"the location can be removed from JPEG files only, and this {kind_of(data) or 'file'} contains it"
            raise PhotoRefused(what, where=name, remedy=_REMEDY)
        return data
    try:
        return b"".join(_cleaned_parts(data))
    except (struct.error, ValueError, IndexError):
        raise PhotoRefused(_DAMAGED, where=name, remedy=_REMEDY) from None


def has_place(data: bytes) -> bool:
    """Tell whether a file of any kind seems to hold a position, by its EXIF block or an XMP packet."""
    if re.search(rb"GPSL(?:at|ong)itude|GPSPosition", data):
        return True
    blocks = [found.start() for found in re.finditer(rb"II\*\0|MM\0\*", data)]
    return any(_points_to_place(data[start:]) for start in blocks)


def _cleaned_parts(data: bytes) -> Iterator[bytes]:
    yield data[:2]
    for marker, start, end in _segments(data):
        segment = data[start:end]
        body = segment[4:]
        if marker == APP2 and body.startswith(INDEX_START):
            continue
        if marker == APP1 and body.startswith(EXIF_START):
            yield segment[:10] + _without_gps(bytearray(segment[10:]))
        elif marker == APP1 and body.startswith(XMP_START):
            yield GPS_IN_XMP.sub(lambda found: b" " * len(found[0]), segment)
        else:
            yield segment


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


def _without_gps(block: bytearray) -> bytes:
    """Blank the GPS directories of an EXIF block (a TIFF structure), in place."""
    order = _byte_order(block)
    for directory in list(_directories(block, order)):
        count = struct.unpack_from(f"{order}H", block, directory)[0]
        number = 0
        while number < count:
            entry = directory + 2 + 12 * number
            tag, _, _, place = struct.unpack_from(f"{order}HHII", block, entry)
            if tag != GPS_POINTER:
                number += 1
                continue
            _blank_directory(block, order, place)
            rest_end = directory + 2 + 12 * count + 4
            block[entry:rest_end] = block[entry + 12 : rest_end] + bytes(12)
            count -= 1
            struct.pack_into(f"{order}H", block, directory, count)
    return bytes(block)


def _blank_directory(block: bytearray, order: str, at: int) -> None:
    count = struct.unpack_from(f"{order}H", block, at)[0]
    for number in range(count):
        _, kind, items, value = struct.unpack_from(f"{order}HHII", block, at + 2 + 12 * number)
        size = TYPE_BYTES[kind] * items if kind in TYPE_BYTES else 0
        if size > 4:
            if value + size > len(block):
                raise ValueError("a value outside the block")
            block[value : value + size] = bytes(size)
    end = at + 2 + 12 * count + 4
    if end > len(block) + 4:
        raise ValueError("a directory outside the block")
    block[at : min(end, len(block))] = bytes(min(end, len(block)) - at)


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


def _points_to_place(block: bytes) -> bool:
    try:
        order = _byte_order(block)
        for directory in _directories(block, order):
            count = struct.unpack_from(f"{order}H", block, directory)[0]
            tags = (struct.unpack_from(f"{order}H", block, directory + 2 + 12 * n)[0] for n in range(count))
            if GPS_POINTER in tags:
                return True
    except (struct.error, ValueError):
        return False
    return False
