"""Photos on their way to a cluster's workers: small ones travel together, as one task.

A task costs scheduler and client some milliseconds whatever it holds, about a tenth of what a photo of 12 megapixels
takes to measure. Photos whose task failed are sent again one by one, so that none is blamed for another.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from swardmark.common.crew import AtHand, Job, Source
from swardmark.common.errors import PhotoRefused
from swardmark.scale.remote import RemotePhoto

MOST_PHOTOS, MOST_BYTES = 16, 8_000_000
"""The most photos that travel together; none is added once they hold this many bytes. A scheduler keeps all
tasks in memory."""
LEAST_TASKS = 8
"""Tasks for each thread of a worker at the least, so that all are busy to the end."""


@dataclass(frozen=True)
class Parcel:
    """Jobs that travel together: as they were given, as they are sent, and those that cannot be read to be sent."""

    jobs: list[Job]
    sent: list[Job]
    unread: list[Job]


class Parcels:
    """The jobs of a run, a parcel at a time.

    Parameters
    ----------
    jobs : iterable of Job
        The photos are read when their parcel is.
    threads : int
        Those of all workers.
    """

    def __init__(self, jobs: Iterable[Job], *, threads: int) -> None:
        self._together, self._alone = deque(jobs), deque[Job]()
        self._most = max(1, min(MOST_PHOTOS, len(self._together) // (LEAST_TASKS * threads)))

    @property
    def are_left(self) -> bool:
        """Whether there is another parcel."""
        return bool(self._together or self._alone)

    def send_alone(self, jobs: Iterable[Job]) -> None:
        """Let every job of a parcel travel again, by itself."""
        self._alone.extend(jobs)

    def next(self) -> Parcel:
        """Return the next parcel, of which there must be one."""
        parcel = Parcel([], [], [])
        if self._alone:
            _put(self._alone.popleft(), parcel)
            return parcel
        size = 0
        while self._together and len(parcel.jobs) < self._most and size < MOST_BYTES:
            size += _put(self._together.popleft(), parcel)
        return parcel


def _put(job: Job, parcel: Parcel) -> int:
    """Put a job into a parcel with the photo's bytes in the place of its file; returns how many.

    A photo behind a URL goes as it is: the worker reads it.
    """
    source: Source = job[0]
    if isinstance(source, RemotePhoto):
        parcel.jobs.append(job)
        parcel.sent.append(job)
        return 0
    try:
        data = source.read()
    except PhotoRefused:
        parcel.unread.append(job)
        return 0
    parcel.jobs.append(job)
    parcel.sent.append((AtHand(source.point, source.name, data), *job[1:]))
    return len(data)
