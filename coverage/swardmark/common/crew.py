"""Who works on the photos: threads of this process here, workers on other machines in cluster.py.

A crew is given work and jobs, takes a bounded number of them in hand at a time, and gives back each job with what came
of it. The first part of a job is its source, from which the photo's bytes are read where the work is done.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pickle import PickleBuffer
from typing import Any, Protocol, TypeVar

from swardmark.common.errors import PhotoRefused, UsageError

Result = TypeVar("Result")
Job = tuple[Any, ...]


class CrewLost(UsageError):
    """There is no one left who could measure; what was measured before is kept."""


class Source(Protocol):
    """Where a photo's bytes come from."""

    @property
    def point(self) -> str:
        """The photo point."""
        ...

    @property
    def name(self) -> str:
        """The photo's name in all tables."""
        ...

    def read(self) -> bytes:
        """Return the photo file's bytes; raises PhotoRefused where they cannot be had."""
        ...


@dataclass(frozen=True)
class AtHand:
    """Bytes at hand as the source of a job, and what they are called."""

    point: str
    name: str
    data: bytes

    def read(self) -> bytes:
        """Return them."""
        return bytes(self.data)

    def __reduce_ex__(self, protocol: Any) -> tuple[Any, ...]:
        """Let the bytes travel beside the pickle, uncopied (PEP 574), where its protocol can."""
        return AtHand, (self.point, self.name, PickleBuffer(self.data) if protocol >= 5 else self.data)


class Crew(Protocol):
    """Workers that measure photos."""

    @property
    def here(self) -> Threads:
        """Threads of this process, for what is done where the record and the lawn's folder lie."""
        ...

    def each(
        self, work: Callable[..., Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[Job, Result | PhotoRefused]]:
        """Do `work(*job)` for every job; a job that no worker could finish comes back with the reason."""
        ...


class Threads:
    """A crew of threads in this process; results come in the order of the jobs.

    Parameters
    ----------
    workers : int
        Photos worked on at the same time.
    """

    def __init__(self, workers: int = 1) -> None:
        self._workers = workers
        self._pool = ThreadPoolExecutor(workers) if workers > 1 else None

    def __enter__(self) -> Threads:
        return self

    def __exit__(self, *_: object) -> None:
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    @property
    def here(self) -> Threads:
        """These threads."""
        return self

    def each(self, work: Callable[..., Result], jobs: Iterable[Job]) -> Iterator[tuple[Job, Result]]:
        """Do `work(*job)` for every job: one for each worker at a time, and one more waiting."""
        if self._pool is None:
            yield from ((job, work(*job)) for job in jobs)
            return
        waiting: deque[tuple[Job, Future[Result]]] = deque()
        for job in jobs:
            waiting.append((job, self._pool.submit(work, *job)))
            if len(waiting) > self._workers:
                done, future = waiting.popleft()
                yield done, future.result()
        while waiting:
            done, future = waiting.popleft()
            yield done, future.result()


ALONE = Threads()
"""The calling thread alone."""
