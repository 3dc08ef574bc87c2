"""How often the maps of photos hold each value: kept with a photo's facts, and pooled for the photo point's scale."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.common.packing import packed_text, unpacked_text
from swardmark.record.shelf import damaged
from swardmark.record.store import Entry

COUNTS_BYTES = 256 * 4


def packed_counts(counts: NDArray[np.int64]) -> str:
    """Return a map's value counts as text for the record, some 500 letters."""
    return packed_text(counts.astype("<u4").tobytes())


def pooled_counts(entries: Iterable[Entry], *, record: Path) -> NDArray[np.int64]:
    """Add up the value counts of measured photos, shape (256,), without unpacking a map.

    Raises
    ------
    UsageError
        Those of a photo are damaged.
    """
    total = np.zeros(256, np.int64)
    for entry in entries:
        try:
            raw = unpacked_text(entry.facts.map_counts, most=COUNTS_BYTES)
            total += np.frombuffer(raw, "<u4", len(total))
        except ValueError:
            raise damaged(entry.name, record) from None
    return total
