"""Damage that a JPEG decoder takes for a whole picture, read off the file's own structure (ITU-T T.81, annex B).

A stretch of data that stands twice between restart marks; a quantization table whose first steps do not fit each other,
that nothing uses, or that one of the two color parts shares with the light; colors said to be written plainly, but at
half the size: the decoder does as it is told, and a number comes out.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from swardmark.photo import sentences
from swardmark.photo.header import jpeg_segments

QUANTIZATION, RESTART_EVERY, ADOBE, PLAIN_FRAMES, FRAMES = 0xDB, 0xDD, 0xEE, (0xC0, 0xC1), (0xC0, 0xC1, 0xC2)
MOST_STEP = 4.0
"""Largest of a table's first three steps over the least: 2 at most in the tables of libjpeg at any quality, and of the
Annex K examples, since the eye sees slow changes of light and color about alike."""
LEAST_BITS = 64
"""Bits per unit of data of a stretch that shows something: one of plain white takes some 36."""


def damage_in(data: bytes) -> str:
    """Return what the structure of a whole JPEG says of damage, one of the sentences; empty where nothing does."""
    every, adobe, frame, components, scan, tables = 0, None, 0, b"", len(data), set[int]()
    for marker, start, end in jpeg_segments(data):
        body, scan = data[start + 4 : end], end
        if marker == QUANTIZATION:
            if _has_odd_steps(body):
                return sentences.ODD_TABLE
            tables |= _numbers(body)
        elif marker == RESTART_EVERY:
            every = int.from_bytes(body[:2], "big")
        elif marker == ADOBE and body.startswith(b"Adobe") and len(body) > 11:
            adobe = body[11]
        elif marker in FRAMES:
            frame, components = marker, body[6:]
    sampling, used = components[1::3], components[2::3]
    if len(used) == 3 and (len(tables - {*used}) > 0 or (used[1] != used[2] and used[0] in used[1:])):
        return sentences.ODD_TABLE
    if adobe == 0 and len(sampling) == 3 and len(set(sampling)) > 1:
        return sentences.ODD_COLORS
    if every and frame in PLAIN_FRAMES and _stands_twice(data, scan, every):
        return sentences.TWICE
    return ""


def _has_odd_steps(body: bytes) -> bool:
    """Tell whether the first steps of one of a segment's tables do not fit each other."""
    for at, wide in _tables(body):
        steps = np.frombuffer(body[at + 1 : at + 1 + 3 * (1 + wide)], ">u2" if wide else "u1")
        if len(steps) == 3 and steps.max() > MOST_STEP * steps.min():
            return True
    return False


def _numbers(body: bytes) -> set[int]:
    """Return the numbers of a segment's tables."""
    return {body[at] & 15 for at, _ in _tables(body)}


def _tables(body: bytes) -> Iterator[tuple[int, bool]]:
    """Walk the tables of a segment: where each begins, and whether its steps take two bytes."""
    at = 0
    while at < len(body):
        wide = body[at] >> 4 == 1
        yield at, wide
        at += 1 + 64 * (1 + wide)


def _stands_twice(data: bytes, scan: int, every: int) -> bool:
    """Tell whether two stretches between restart marks are the same and show something."""
    raw = np.frombuffer(data, np.uint8, offset=scan)
    escapes = np.flatnonzero(raw[:-1] == 0xFF)
    marks = escapes[(raw[escapes + 1] >= 0xD0) & (raw[escapes + 1] <= 0xD7)] + scan
    seen: set[bytes] = set()
    for start, end in zip((scan - 2, *marks), (*marks, len(data) - 2), strict=True):
        stretch = data[start + 2 : end]
        if len(stretch) * 8 <= LEAST_BITS * every:
            continue
        if stretch in seen:
            return True
        seen.add(stretch)
    return False
