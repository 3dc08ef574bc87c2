"""Whether a row of the record is as it was written, and can be one: where not, the photo is measured anew.

The checksum finds damage. What a row may hold is looked at all the same: a stranger's record has checksums of its own,
and the rows of an older record got theirs when they were carried over.
"""

from __future__ import annotations

import datetime as dt
import math
import zlib
from collections.abc import Mapping, Sequence
from typing import Any

MOST_VALUE = 1e6
"""No number found in a photo comes near it: sharpness, in squared 8-bit levels, has less than 65,025."""
MOST_LETTERS = 2_000_000
"""No photo's facts come near it: with a packed background they are some 50,000 letters."""
DATED = ("camera", "file name")
"""Where a day comes from that a row must then have."""


def crc_of(*cells: Any) -> int:
    """Return a checksum of a row's cells and their types: CRC-32, which sees any single burst of up to 32 bits."""
    told = [zlib.crc32(cell) if isinstance(cell, bytes) else cell for cell in cells]
    return zlib.crc32(repr(told).encode())


def is_whole(row: Sequence[Any]) -> bool:
    """Tell whether a row is as it was written: its last cell is the checksum of all others."""
    return bool(row[-1] == crc_of(*row[:-1]))


def has_sound_cells(taken_at: Any, taken_from: Any, refusal: Any, remedy: Any) -> bool:
    """Tell whether a row's cells are texts, and its day one where it must have one."""
    if not all(isinstance(word, str) for word in (taken_from, refusal or "", remedy or "", taken_at or "")):
        return False
    return taken_from not in DATED if taken_at is None else moment_of(taken_at) is not None


def has_sound_facts(facts: Mapping[str, Any]) -> bool:
    """Tell whether facts can be a photo's: numbers that it can have, and a whole homography."""
    numbers = [value for value in facts.values() if isinstance(value, float)]
    within = all(math.isnan(value) or abs(value) <= MOST_VALUE for value in numbers)
    is_share = math.isnan(facts["closed"]) or 0 <= facts["closed"] <= 1
    return within and is_share and len(facts["to_photo"]) in (0, 9)


def moment_of(text: Any) -> dt.datetime | None:
    """Return the moment that a cell holds, without an offset as all of ours; None if it holds none."""
    try:
        moment = dt.datetime.fromisoformat(text) if text else None
    except (ValueError, TypeError):
        return None
    return moment if moment is None or moment.tzinfo is None else None
