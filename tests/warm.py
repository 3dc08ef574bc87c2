"""The command line in processes of its own that begin warm: what it imports is imported once, and each run is a fork.

A command begins in about 0.8 s, most of it imports, and the tests run hundreds. Each run still has its own process,
memory, standard streams and exit code. Where there is no fork, and for --help, whose words name the program, a process
is begun afresh. A run can be killed after a while, or just before one of its changes of files, which Python's audit
events announce (docs.python.org/3/library/audit_events.html).
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

TIMEOUT_S = 120
CHANGES = frozenset(
    {"os.rename", "os.link", "os.symlink", "os.remove", "os.rmdir", "os.mkdir", "os.truncate", "os.utime",
     "shutil.copyfile", "shutil.move", "shutil.rmtree", "fcntl.flock", "fcntl.lockf", "sqlite3.connect"}
)  # fmt: skip
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT
IMPORTS = (
    "cv2", "matplotlib.figure", "pandas", "scipy.ndimage", "scipy.optimize", "scipy.stats", "shapely",
    "skimage.morphology", "rich.console", "swardmark.cli.app", "swardmark.lawns.report", "swardmark.report.writing",
    "swardmark.season", "swardmark.words.terminal",
)  # fmt: skip


class Warm:
    """A process that has imported everything and forks for each run."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.changes = 0

    def run(
        self, words: list[str], *, kill_after_s: float | None = None, kill_at: int | None = None
    ) -> tuple[int, str, str]:
        """Run the command line; returns exit code, stdout and stderr.

        It is killed (SIGKILL) after a while, or just before its change of files number `kill_at`, if wanted; with 0
        the changes are counted (`changes`).
        """
        assert self._process.stdin is not None and self._process.stdout is not None
        with tempfile.TemporaryDirectory() as place:
            out, err = Path(place) / "out", Path(place) / "err"
            job = {
                "words": words,
                "cwd": str(Path.cwd()),
                "env": dict(os.environ),
                "out": str(out),
                "err": str(err),
                "kill_after_s": kill_after_s,
                "kill_at": kill_at,
            }
            late = threading.Timer(TIMEOUT_S, self._process.kill)
            late.start()
            self._process.stdin.write(json.dumps(job) + "\n")
            self._process.stdin.flush()
            answer = self._process.stdout.readline()
            late.cancel()
            if not answer:
                raise TimeoutError(f"swardmark {' '.join(words)} took over {TIMEOUT_S} s")
            self.changes = int(_text(Path(place) / "changes") or 0)
            return int(answer), _text(out), _text(err)

    def close(self) -> None:
        """End the process."""
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait(10)


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""  # killed before its first line


def serve() -> None:
    """Import everything, then fork for each line of stdin and answer with the exit code."""
    import importlib

    for name in IMPORTS:
        importlib.import_module(name)
    for line in sys.stdin:
        job = json.loads(line)
        child = os.fork()
        if child == 0:
            _run(job)
        if job["kill_after_s"] is not None:
            _kill(child, job["kill_after_s"])
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)


def _kill(child: int, after_s: float) -> None:
    """Kill a run after a while; one that has ended by then waits to be asked for its exit code."""
    end = time.monotonic() + after_s
    while time.monotonic() < end:
        if os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            return
        time.sleep(min(0.002, max(0.0, end - time.monotonic())))
    os.kill(child, signal.SIGKILL)


def _watch(changes: list[str], kill_at: int) -> None:
    """Take down this process's changes of files, and let it kill itself just before one of them."""

    def hook(event: str, told: tuple) -> None:
        if event in CHANGES or (event == "open" and isinstance(told[2], int) and told[2] & WRITING):
            changes.append(event)
            if len(changes) == kill_at:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(hook)


def _run(job: dict) -> None:
    """Run one command as a fresh process would, and end."""
    import atexit

    for number, path, flags in (
        (0, os.devnull, os.O_RDONLY),
        (1, job["out"], os.O_WRONLY | os.O_CREAT),
        (2, job["err"], os.O_WRONLY | os.O_CREAT),
    ):
        handle = os.open(path, flags, 0o600)
        os.dup2(handle, number)
        os.close(handle)
    os.environ.clear()
    os.environ.update(job["env"])
    os.chdir(job["cwd"])
    sys.stdin, sys.stdout, sys.stderr = (
        os.fdopen(number, mode, encoding="utf-8", closefd=False, **more)
        for number, mode, more in ((0, "r", {}), (1, "w", {}), (2, "w", {"buffering": 1}))
    )
    sys.argv = ["swardmark", *job["words"]]
    changes: list[str] = []
    if job["kill_at"] is not None:
        _watch(changes, job["kill_at"])
    from swardmark.cli.app import main

    code = 1
    try:
        main()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    finally:
        threading._shutdown()
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
        Path(job["out"]).with_name("changes").write_text(str(len(changes)))
        os._exit(code)


if __name__ == "__main__":
    serve()
