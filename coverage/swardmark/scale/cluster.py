"""A crew on other machines: photos are measured by the workers of a Dask scheduler that runs already.

A few photos are one task that holds all it needs, the photos' bytes among them (see parcels.py), so that a worker that
is lost costs nothing but time: the scheduler gives its photos to others. What workers return is what
`survey.measure_source` returns here, sent as plain values and checked (see answers.py); the record stays with the
caller, who alone writes it. Workers must run the very same code, or the maps of one lawn would not be alike: their
versions are compared before the first photo, and again with each task.

A scheduler runs whatever code a client sends it. See docs/scaling.md for what that means for its network.
"""

from __future__ import annotations

import logging
import re
import threading
import time
import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from functools import cache
from queue import Empty, SimpleQueue
from typing import Any

from swardmark._version import __version__
from swardmark.common.crew import ALONE, CrewLost, Job, Result, Threads
from swardmark.common.errors import PhotoRefused, UsageError, missing_extra, reason_of
from swardmark.measure.survey import MAP_VERSION
from swardmark.scale.answers import checked_answers, packed_answers
from swardmark.scale.parcels import Parcels

ADDRESS = re.compile(r"(tcp|tls)://(\[[0-9a-fA-F:.%]+\]|[^\s/:]+):\d{1,5}")
CONNECT_S, WORKERS_S, RESULT_S, POLL_S = 20.0, 60.0, 300.0, 5.0
"""How long a scheduler and its first worker may take to answer, how long it may be without workers, how long the result
of a task that is done may be on its way, and how often the workers are counted."""
RETRIES = 2
"""How often a task is tried again whose work failed on a worker that lives on."""
IN_HAND_PER_THREAD = 2
"""Tasks sent at the same time for each thread of a worker: one at work, one waiting beside it."""
LOUD = ("distributed", "tornado", "asyncio")


@dataclass(frozen=True)
class Code:
    """What must be the same everywhere, so that the same photo gives the same map, and the map the same covers."""

    swardmark: str
    map_version: int
    opencv: str
    numpy: str

    def __str__(self) -> str:
        libraries = f"OpenCV {self.opencv} and NumPy {self.numpy}"
        return f"swardmark {self.swardmark} with maps of version {self.map_version}, {libraries}"


class Cluster:
    """The workers of a Dask scheduler as a crew; use as a context manager.

    Parameters
    ----------
    address : str
        The scheduler's, such as tcp://host:8786, or tls://host:8786 with the certificates of Dask's configuration.
    here : Threads
        Threads of this process, for what is done beside the record.

    Raises
    ------
    UsageError
        On entering: no address, no dask, no scheduler there, no workers, or workers with other code.
    """

    def __init__(self, address: str, *, here: Threads = ALONE) -> None:
        if not ADDRESS.fullmatch(address):
            remedy = "Write it as tcp://host:8786 or tls://host:8786"
            raise UsageError(f"{address!r} is not a scheduler's address", where="--cluster", remedy=remedy)
        self.address, self.here = address, here
        self._client: Any = None
        self._rest = ExitStack()
        self._free, self._room = threading.Semaphore(0), 0
        self._looked_at, self._turn = float("-inf"), threading.Lock()

    def __enter__(self) -> Cluster:
        try:
            import dask
            from distributed import Client, Security
        except ImportError as error:
            what = f"a cluster needs more than is installed ({error})"
            raise missing_extra(what, "cluster", where="--cluster") from None
        with ExitStack() as stack:
            stack.enter_context(_quiet())
            settings = {"distributed.admin.large-graph-warning-threshold": "1GB"}
            stack.enter_context(dask.config.set(settings))
            _require_certificates(self.address, Security())
            try:
                self._client = Client(self.address, timeout=CONNECT_S, set_as_default=False)
            except Exception as error:
                remedy = "Start one there with: dask scheduler"
                what = f"no scheduler answers ({reason_of(error)})"
                raise UsageError(what, where=self.address, remedy=remedy) from None
            stack.callback(self._client.close, timeout=5)
            self._check_workers()
            self._make_room()
            self._rest = stack.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        self._rest.close()

    def each(
        self, work: Callable[..., Result], jobs: Iterable[Job]
    ) -> Iterator[tuple[Job, Result | PhotoRefused]]:
        """Do `work(*job)` for every job on the workers; results come as they are done.

        A photo that no worker could finish comes back as a PhotoRefused.

        Raises
        ------
        CrewLost
            The scheduler is gone.
        UsageError
            A worker that came later has other code.
        """
        in_hand: dict[Any, list[Job]] = {}
        done: SimpleQueue[Any] = SimpleQueue()
        parcels, taken = Parcels(jobs, threads=self._room // IN_HAND_PER_THREAD), 0
        try:
            while parcels.are_left or in_hand:
                while parcels.are_left and self._free.acquire(blocking=not in_hand):
                    taken += 1
                    parcel = parcels.next()
                    if parcel.sent:
                        future = self._submitted(work, parcel.sent)
                        in_hand[future] = parcel.jobs
                        future.add_done_callback(done.put)
                    else:
                        self._free.release()
                        taken -= 1
                    yield from ((job, work(*job)) for job in parcel.unread)
                if in_hand:
                    future = self._next(done)
                    own = in_hand.pop(future)
                    self._free.release()
                    taken -= 1
                    self._make_room()
                    outcome = self._outcome(future, work, count=len(own))
                    if not isinstance(outcome, PhotoRefused):
                        yield from zip(own, outcome, strict=True)
                    elif len(own) > 1:
                        parcels.send_alone(own)
                    else:
                        yield own[0], outcome
        finally:
            if taken:
                self._free.release(taken)
            if in_hand:
                with suppress(Exception):
                    self._client.cancel(list(in_hand), force=True)

    def _submitted(self, work: Callable[..., Result], jobs: list[Job]) -> Any:
        key = f"swardmark-{uuid.uuid4().hex}"
        try:
            return self._client.submit(_do, code_here(), work, jobs, key=key, pure=False, retries=RETRIES)
        except Exception as error:
            raise self._lost(reason_of(error)) from None

    def _next(self, done: SimpleQueue[Any]) -> Any:
        """Wait for a task that is done, as long as there are workers, or new ones may come."""
        last_seen = time.monotonic()
        while True:
            try:
                return done.get(timeout=POLL_S)
            except Empty:
                last_seen = time.monotonic() if self._threads() else last_seen
                if time.monotonic() - last_seen > WORKERS_S:
                    raise self._lost(f"no workers for {WORKERS_S:.0f} s") from None

    def _outcome(self, future: Any, work: Callable[..., Any], *, count: int) -> Any:
        """Return what a worker returned of so many jobs, or why none did."""
        from distributed.scheduler import KilledWorker

        try:
            answer = future.result(timeout=RESULT_S)
        except UsageError:
            raise
        except KilledWorker:
            remedy = "Give the workers more memory, or measure without --cluster"
            what = "every worker that took it was lost"
        except Exception as error:
            if future.status != "error":
                raise self._lost("the scheduler stopped answering") from None
            what, remedy = f"a worker failed on it ({reason_of(error)})", "Measure without --cluster"
        else:
            try:
                return checked_answers(answer, work, count=count)
            except ValueError as error:
                what, remedy = f"a worker sent something else ({error})", "Measure without --cluster"
        return PhotoRefused(what, remedy=remedy)

    def _threads(self) -> int:
        """Count the threads of all workers."""
        try:
            return sum(self._client.nthreads().values())
        except Exception as error:
            raise self._lost(reason_of(error)) from None

    def _make_room(self) -> None:
        """Let more photos be in hand where workers have come; looked at every few seconds."""
        with self._turn:
            if time.monotonic() - self._looked_at < POLL_S:
                return
            self._looked_at = time.monotonic()
            more = IN_HAND_PER_THREAD * max(1, self._threads()) - self._room
            if more > 0:
                self._room += more
                self._free.release(more)

    def _check_workers(self) -> None:
        """Compare the workers' code with this one's."""
        try:
            self._client.wait_for_workers(1, timeout=CONNECT_S)
            there = self._client.run(_asking(), on_error="return")
        except Exception as error:
            remedy = f"Start one with: dask worker {self.address}"
            what = f"no worker of this scheduler answers ({reason_of(error)})"
            raise UsageError(what, where=self.address, remedy=remedy) from None
        for worker, said in there.items():
            if isinstance(said, dict):
                _compare(said, worker)

    def _lost(self, reason: str) -> CrewLost:
        remedy = "What was measured is kept; run the same command to continue"
        return CrewLost(f"the cluster was lost ({reason})", where=self.address, remedy=remedy)


def _require_certificates(address: str, security: Any) -> None:
    """Refuse a tls:// address without certificates, which Dask itself finds out late.

    Raises
    ------
    UsageError
        Dask's configuration names none, or they cannot be read.
    """
    if not address.startswith("tls://"):
        return
    remedy = "Set ca-file, and cert and key of the client, below distributed.comm.tls in Dask's configuration"
    try:
        if security.get_connection_args("client").get("ssl_context") is not None:
            return
        what = "no certificates are configured"
    except Exception as error:
        what = f"the certificates cannot be used ({reason_of(error)})"
    raise UsageError(what, where=address, remedy=remedy)


@cache
def code_here() -> Code:
    """Return what this process measures with."""
    import cv2
    import numpy

    return Code(__version__, MAP_VERSION, cv2.__version__, numpy.__version__)


def _do(code: Code, work: Callable[..., Result], jobs: list[Job]) -> bytes:
    """Do the jobs of a parcel, on a worker."""
    from distributed import get_worker

    _one_thread_a_photo()
    _compare(vars(code_here()), get_worker().address, wanted=code)
    return packed_answers([work(*job) for job in jobs])


def _compare(said: dict[str, Any], worker: str, *, wanted: Code | None = None) -> None:
    """Refuse a worker with other code.

    Raises
    ------
    UsageError
        It cannot load swardmark, or has another version of it.
    """
    wanted, remedy = wanted or code_here(), "Install the same versions on all workers and start them again"
    if "fault" in said:
        raise UsageError(f"a worker cannot load swardmark ({said['fault']})", where=worker, remedy=remedy)
    there = Code(**said)
    if there != wanted:
        raise UsageError(f"a worker has {there}; here is {wanted}", where=worker, remedy=remedy)


def _asking() -> Callable[[], dict[str, Any]]:
    """Return a function that reports a worker's versions; made here, it is sent whole and needs no swardmark there."""

    def ask() -> dict[str, Any]:
        try:
            import cv2
            import numpy

            from swardmark._version import __version__
            from swardmark.measure.survey import MAP_VERSION
        except Exception as error:
            return {"fault": f"{type(error).__name__}: {error}"}
        versions = {"opencv": cv2.__version__, "numpy": numpy.__version__}
        return {"swardmark": __version__, "map_version": MAP_VERSION, **versions}

    return ask


@cache
def _one_thread_a_photo() -> None:
    import cv2

    cv2.setNumThreads(1)


class _quiet:
    """Keep the libraries' own log lines off the terminal; one line reports what matters."""

    def __enter__(self) -> None:
        known = [name for name in logging.root.manager.loggerDict if name.partition(".")[0] in LOUD]
        self._levels = {name: logging.getLogger(name).level for name in known}
        for name in known:
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)

    def __exit__(self, *_: object) -> None:
        for name, level in self._levels.items():
            logging.getLogger(name).setLevel(level)
