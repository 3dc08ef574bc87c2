"""Memory that closed tabs took goes back to the machine.

A tab is forgotten a minute after it was last heard of. What it held is free then, but glibc keeps it for the process
until `malloc_trim` (malloc_trim(3)) returns it.
"""

from __future__ import annotations

import ctypes
import gc
import sys
import threading
from collections.abc import Callable

EVERY_S = 60.0


def give_back_memory() -> Callable[[], None]:
    """Return free memory to the machine every minute, in a thread of its own; what comes back ends it."""
    stopped = threading.Event()

    def work() -> None:
        while not stopped.wait(EVERY_S):
            gc.collect()
            trim()

    threading.Thread(target=work, name="swardmark-memory", daemon=True).start()
    return stopped.set


def trim() -> bool:
    """Return free memory to the machine; tells whether there was any. Linux with glibc alone, elsewhere nothing."""
    if not sys.platform.startswith("linux"):
        return False
    trimming = getattr(ctypes.CDLL(None), "malloc_trim", None)
    return bool(trimming(0)) if trimming is not None else False
