"""What was odd in photos, as bytes for the record: a rerun compares no cells."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np

from swardmark.canopy.odd import Odd
from swardmark.common.packing import packed_text, unpacked_text


def packed_odd(found: Sequence[tuple[Odd, ...]]) -> bytes:
    """Return what `odd_ground` found as bytes for the record."""
    photos = [
        [
            (
                odd.kind,
                odd.change,
                odd.is_sure,
                packed_text(np.packbits(odd.where).tobytes()),
                packed_text(np.asarray(odd.expected, float).tobytes()),
            )
            for odd in odds
        ]
        for odds in found
    ]
    return json.dumps(photos).encode()


def unpacked_odd(kept: bytes, shape: tuple[int, int]) -> list[tuple[Odd, ...]]:
    """Return what `packed_odd` packed; `shape` is that of the cells, rows and columns."""
    size, found = shape[0] * shape[1], []
    for photo in json.loads(kept):
        odds = []
        for kind, change, is_sure, where, hidden in photo:
            bits = np.frombuffer(unpacked_text(where, most=size), np.uint8)
            inside = np.unpackbits(bits, count=size).astype(bool).reshape(shape)
            expected = np.frombuffer(unpacked_text(hidden, most=8 * size)).reshape(shape)
            odds.append(Odd(kind, change, inside, is_sure, expected))
        found.append(tuple(odds))
    return found
