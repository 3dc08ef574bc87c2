"""A real Dask scheduler and workers, each a process of its own, for the tests that need them."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

START_S = 60.0


class DaskProcesses:
    """A scheduler and its workers; `stop` ends all that still run."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            self._port = one.getsockname()[1]
        self.address = f"tcp://127.0.0.1:{self._port}"
        self.processes: list[subprocess.Popen[bytes]] = []
        options = ("--host", "127.0.0.1", "--port", str(self._port), "--no-dashboard", "--no-show")
        self.scheduler = self._started("distributed.cli.dask_scheduler", *options)
        self._await_port()

    def add_worker(self, *options: str) -> subprocess.Popen[bytes]:
        """Start a worker of one thread, without a nanny that would start it again."""
        here = ("--nthreads", "1", "--no-dashboard", "--no-nanny", "--local-directory", str(self._folder))
        return self._started("distributed.cli.dask_worker", self.address, *here, *options)

    def stop(self) -> None:
        for process in reversed(self.processes):
            process.kill()
            process.wait(20)

    def _started(self, module: str, *options: str) -> subprocess.Popen[bytes]:
        log = (self._folder / f"{module}-{len(self.processes)}.log").open("wb")
        environment = {key: value for key, value in os.environ.items() if not key.startswith("COV")}
        with log:
            process = subprocess.Popen(
                [sys.executable, "-m", module, *options], stdout=log, stderr=log, env=environment
            )
        self.processes.append(process)
        return process

    def _await_port(self) -> None:
        until = time.monotonic() + START_S
        while time.monotonic() < until and self.scheduler.poll() is None:
            with socket.socket() as one:
                if one.connect_ex(("127.0.0.1", self._port)) == 0:
                    return
            time.sleep(0.05)
        raise RuntimeError("the scheduler did not start: " + self._folder.as_posix())


@contextmanager
def dask_processes(folder: Path, *, workers: int) -> Iterator[DaskProcesses]:
    """Run a scheduler and workers for the length of a block."""
    cluster = DaskProcesses(folder)
    try:
        for _ in range(workers):
            cluster.add_worker()
        yield cluster
    finally:
        cluster.stop()
