"""Work that may take only so long: it is done in a thread of its own, which is left behind where it takes longer.

A thread cannot be ended from outside. One that is left behind goes on until it is done or its process ends: a process
that lives long asks `any_left_behind` and lets another take its place.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TypeVar

Result = TypeVar("Result")
_left_behind: list[threading.Thread] = []


class Late(Exception):
    """The work took longer than it may."""


def within(seconds: float, work: Callable[[], Result]) -> Result:
    """Do work and return what it returns.

    Parameters
    ----------
    seconds : float
        How long it may take.
    work : callable
        What is to be done; whatever it raises is raised here.

    Raises
    ------
    Late
        It is not done yet; what it returns later is dropped.
    """
    came: list[Result] = []
    failed: list[BaseException] = []

    def do() -> None:
        try:
            came.append(work())
        except BaseException as error:
            failed.append(error)

    thread = threading.Thread(target=do, name="swardmark-deadline", daemon=True)
    thread.start()
    thread.join(seconds)
    if failed:
        raise failed[0]
    if not came:
        _left_behind.append(thread)
        raise Late
    return came[0]


def any_left_behind() -> bool:
    """Tell whether work that was late is still being done in this process."""
    _left_behind[:] = [thread for thread in _left_behind if thread.is_alive()]
    return bool(_left_behind)
