from __future__ import annotations

import subprocess
import sys
import time

import pytest

from swardmark.common.errors import UsageError
from swardmark.lawn.lock import LOCK_FILE, lawn_lock

HOLD = """
import sys, time
from pathlib import Path
from swardmark.lawn.lock import lawn_lock
with lawn_lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(float(sys.argv[2]))
"""


@pytest.fixture
def holder(tmp_path):
    """Another process that holds the lock for as long as it is told, or until it is killed."""
    running = []

    def hold(seconds):
        command = [sys.executable, "-c", HOLD, tmp_path, str(seconds)]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        running.append(process)
        assert process.stdout.readline() == "held\n"
        return process

    yield hold
    for process in running:
        process.kill()
        process.wait()
        process.stdout.close()


def test_no_lock_is_left_behind(tmp_path):
    with lawn_lock(tmp_path):
        assert (tmp_path / LOCK_FILE).exists()
    assert not (tmp_path / LOCK_FILE).exists()


def test_a_second_run_waits_and_is_told_for_whom(tmp_path, holder):
    process, told = holder(0.5), []
    with lawn_lock(tmp_path, on_wait=told.append):
        assert process.poll() is not None or process.wait(2) == 0
    assert f"process {process.pid} on" in told[0]
    assert not (tmp_path / LOCK_FILE).exists()


def test_who_waited_long_enough_is_told_who_holds_it(tmp_path, holder):
    process = holder(60)
    with pytest.raises(UsageError, match=f"in use by process {process.pid}"), lawn_lock(tmp_path, wait_s=0.2):
        pass


def test_the_lock_of_a_killed_run_is_no_lock(tmp_path, holder):
    process = holder(60)
    process.kill()
    process.wait()
    assert (tmp_path / LOCK_FILE).exists()
    start = time.monotonic()
    with lawn_lock(tmp_path, wait_s=1):
        assert time.monotonic() - start < 0.9
    assert not (tmp_path / LOCK_FILE).exists()


def test_a_folder_that_is_not_there_is_one_line(tmp_path):
    with pytest.raises(UsageError, match="cannot be written"), lawn_lock(tmp_path / "nowhere"):
        pass
