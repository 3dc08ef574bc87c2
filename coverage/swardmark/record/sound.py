"""Whether a row of the record can be one: a damaged cell is found out, and the photo is measured anew."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

MOST_VALUE = 1e6
"""No number found in a photo comes near it: sharpness, in squared 8-bit levels, has less than 65,025."""
DATED = ("camera", "file name")
"""Where a day comes from that a row must then have."""


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
    """Return the moment that a cell holds; None if it holds none."""
    try:
        return dt.datetime.fromisoformat(text) if text else None
    except (ValueError, TypeError):
        return None
