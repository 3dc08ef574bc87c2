"""Memory that tabs took goes back to the machine, and those that never spoke take little of it.

NiceGUI keeps what it built for a tab that was loaded and never heard of for a minute, some 300 kB each. A browser opens
its socket within seconds, so only the newest few are kept; a tab that comes later than that loads the page anew by
itself. What a closed tab held is free then, but glibc keeps it for the process until `malloc_trim` (malloc_trim(3))
returns it.
"""

from __future__ import annotations

import ctypes
import gc
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

EVERY_S = 60.0
MOST_SILENT = 24
"""Tabs that were loaded and have not been heard of; more than a home opens at once."""


class SilentTabs:
    """The tabs that were loaded and have not been heard of, the newest ones; a tab is a NiceGUI client."""

    def __init__(self, *, most: int = MOST_SILENT) -> None:
        self._most = most
        self._silent: OrderedDict[str, Any] = OrderedDict()

    def add(self, tab: Any) -> None:
        """Keep a tab that is being loaded; the oldest that was never heard of is forgotten where there are too many."""
        name = tab.id
        self._silent[name] = tab
        tab.on_connect(lambda: self._silent.pop(name, None))
        tab.on_delete(lambda: self._silent.pop(name, None))
        while len(self._silent) > self._most:
            _, oldest = self._silent.popitem(last=False)
            oldest.delete()


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
