"""Memory that was freed is kept for the next photo.

glibc asks the system for every large array and gives it back when it is freed, and each time the system fills it with
zeros page by page: 3,000 pages a photo of 12 megapixels, a tenth of its time. `mallopt` (mallopt(3)) lets freed memory
of this size stay with the process, up to a limit.
"""

from __future__ import annotations

import ctypes
import sys
from functools import cache

TRIM_THRESHOLD, MMAP_THRESHOLD = -1, -3
"""Numbers of the two settings (malloc.h)."""
LARGEST_KEPT, MOST_KEPT = 32 << 20, 64 << 20
"""Arrays up to this many bytes, the most that glibc allows, and so much that is free at the end of its memory."""


@cache
def keep_freed_memory() -> bool:
    """Let freed memory stay with the process; tells whether it does. Linux with glibc alone, elsewhere nothing."""
    if not sys.platform.startswith("linux"):
        return False
    setting = getattr(ctypes.CDLL(None), "mallopt", None)
    if setting is None:
        return False
    return bool(setting(MMAP_THRESHOLD, LARGEST_KEPT) and setting(TRIM_THRESHOLD, MOST_KEPT))
