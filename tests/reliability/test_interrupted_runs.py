"""Runs that are killed, run twice at once, find the disk full or may not write: nothing that was there is lost."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from kill_runs import SAMPLE, keepers_files, left_wrong, run_kills, small_lawn

from swardmark.common import files
from swardmark.common.errors import UsageError
from swardmark.common.files import back_up, write_whole
from swardmark.lawn.lock import FILES_LOCK_FILE, files_lock, lawn_lock


def names_in(folder):
    return [path.name for path in folder.iterdir()]


def command(folder):
    return [sys.executable, "-m", "swardmark", "measure", str(folder), "--quiet"]


def test_runs_that_are_killed_lose_nothing():
    outcome = run_kills(4, seed=3, only=("measure", "add, stripped"), told=lambda line: None)
    assert outcome.faults == []
    assert outcome.killed == 4


def test_a_lawn_without_photos_is_swept_too(run, tmp_path):
    from swardmark.lawn.folder import start_lawn

    start_lawn(tmp_path / "lawn")
    (tmp_path / "lawn" / FILES_LOCK_FILE).touch()
    assert "no photos" in run("measure", tmp_path / "lawn").err
    assert sorted(names_in(tmp_path / "lawn")) == ["lawn.toml", "photos"]


def test_two_runs_at_once_give_what_one_gives(run, tmp_path):
    single, double = small_lawn(tmp_path / "single"), small_lawn(tmp_path / "double")
    before = keepers_files(double)
    both = [subprocess.Popen(command(double), stderr=subprocess.PIPE, text=True) for _ in range(2)]
    assert run("measure", single, "--quiet").code == 0
    for process in both:
        _, told = process.communicate(timeout=120)
        assert (process.returncode, told) == (0, "")
    assert left_wrong(double, (single / "out/cover.csv").read_bytes(), before) == []


@pytest.fixture
def small_disk(tmp_path):
    """A disk of its own with room for the record of three photos, not of eight; None where none may be mounted."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1750k", "none", place], capture_output=True)
    yield place if mounted.returncode == 0 else None
    if mounted.returncode == 0:
        subprocess.run(["umount", place], check=True)


def test_a_full_disk_loses_no_earlier_result(run, tmp_path, small_disk):
    """The photos lie elsewhere, behind a link, so that the small disk holds what swardmark writes and nothing else."""
    if small_disk is None:
        return  # the faults of the next two tests stand in for a disk that may not be mounted here
    lawn = small_lawn(small_disk.parent / "lawn")
    photos = shutil.move(lawn / "photos", tmp_path / "photos")
    full = shutil.copytree(lawn, small_disk / "lawn")
    (full / "photos").symlink_to(photos)
    assert run("measure", full, "--quiet").code == 0
    table, before = (full / "out/cover.csv").read_bytes(), keepers_files(full)
    with (small_disk / "more").open("wb", buffering=0) as more, contextlib.suppress(OSError):
        while more.write(bytes(4096)):
            pass
    late = [shutil.copy(path, photos) for path in sorted((SAMPLE / "photos").iterdir())[3:]]
    outcome = run("measure", full)
    assert outcome.code == 2
    assert "disk" in outcome.err
    assert len(outcome.err.splitlines()) == 1
    assert (full / "out/cover.csv").read_bytes() == table
    assert not (full / ".swardmark.lock").exists()
    (small_disk / "more").unlink()
    for path in late:
        Path(path).unlink()
    again = run("measure", full)
    assert again.code == 0
    assert "0 measured now, 3 in all" in again.out
    assert left_wrong(full, table, before) == []


def test_a_full_disk_while_writing_leaves_the_old_file_and_no_part(tmp_path, monkeypatch):
    path = write_whole(tmp_path / "cover.csv", "old")
    _fill(monkeypatch)
    with pytest.raises(UsageError, match="No space left"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert names_in(tmp_path) == ["cover.csv"]


def test_no_backup_no_change(tmp_path, monkeypatch):
    """Where the keeper's file cannot be copied first, it is not written."""
    from swardmark.lawn.marks import PhotoMarks, write_marks

    write_marks(tmp_path, {"a.jpg": PhotoMarks(taken_at="2026-06-03T10:00:00")})
    before = (tmp_path / "marks.toml").read_bytes()
    _fill(monkeypatch)
    with pytest.raises(UsageError):
        write_marks(tmp_path, {"b.jpg": PhotoMarks(taken_at="2026-06-04T10:00:00")})
    assert (tmp_path / "marks.toml").read_bytes() == before
    assert names_in(tmp_path) == ["marks.toml"]


def test_every_writer_of_the_keepers_files_keeps_what_was_there(tmp_path):
    import datetime as dt

    from swardmark.lawn import editing
    from swardmark.lawn.folder import start_lawn
    from swardmark.lawn.marks import PhotoMarks, write_marks

    start_lawn(tmp_path / "lawn")
    lawn = tmp_path / "lawn"
    for name in ("marks.toml", "readings.csv", "diary.csv"):
        text = {
            "marks.toml": "",
            "readings.csv": "date,note\n2026-06-03,a\n",
            "diary.csv": "date,what\n2026-06-03,fed\n",
        }
        (lawn / name).write_text(text[name])
    old = {
        name: (lawn / name).read_bytes() for name in ("lawn.toml", "marks.toml", "readings.csv", "diary.csv")
    }
    zone = editing.ZoneDraft("a", ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)))
    revision = editing.revision_of(lawn / "lawn.toml")
    editing.save_ground(lawn, [zone], revision=revision)
    editing.add_reading(lawn, {"date": "2026-06-04", "note": "b"})
    editing.add_diary_entry(lawn, {"date": "2026-06-04", "what": "mowed"})
    write_marks(lawn, {"b.jpg": PhotoMarks(taken_at=dt.datetime(2026, 6, 4))})
    for name, raw in old.items():
        (kept,) = lawn.glob(f"{name}.*.bak")
        assert kept.read_bytes() == raw
        assert (lawn / name).read_bytes() != raw


def test_backups_of_one_second_are_all_kept(tmp_path):
    path = tmp_path / "marks.toml"
    for number in range(4):
        path.write_text(str(number))
        back_up(path)
    assert sorted(copy.read_text() for copy in tmp_path.glob("*.bak")) == ["0", "1", "2", "3"]


def test_parts_of_killed_runs_are_swept_and_those_of_living_ones_stay(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    dead = tmp_path / f"{files.PART_PREFIX}{gone.pid}-x{files.PART_SUFFIX}"
    alive = tmp_path / f"{files.PART_PREFIX}{os.getpid()}-x{files.PART_SUFFIX}"
    old = tmp_path / f"{files.PART_PREFIX}x{files.PART_SUFFIX}"
    for path in (dead, alive, old):
        path.write_text("half")
    os.utime(old, (0, 0))
    write_whole(tmp_path / "a", "whole")
    assert sorted(names_in(tmp_path)) == sorted([alive.name, "a"])


def test_a_run_that_measures_clears_the_whole_folder_of_what_killed_runs_left(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    dead = tmp_path / "photos" / "gate" / "relief" / f"{files.PART_PREFIX}{gone.pid}-x{files.PART_SUFFIX}"
    dead.parent.mkdir(parents=True)
    dead.write_text("half")
    (tmp_path / FILES_LOCK_FILE).write_text("{}")
    with lawn_lock(tmp_path):
        assert names_in(tmp_path / "photos" / "gate" / "relief") == []
        assert not (tmp_path / FILES_LOCK_FILE).exists()
    with files_lock(tmp_path), lawn_lock(tmp_path):
        assert (tmp_path / FILES_LOCK_FILE).exists(), "a lock that is held stays"


@pytest.fixture
def read_only(tmp_path):
    """A folder on a mount that may only be read; None where none can be made."""
    place = small_lawn(tmp_path / "lawn")
    done = subprocess.run(["mount", "--bind", place, place], capture_output=True).returncode == 0
    done = (
        done
        and subprocess.run(["mount", "-o", "remount,ro,bind", place], capture_output=True).returncode == 0
    )
    yield place if done else None
    subprocess.run(["umount", place], capture_output=True)


def test_a_folder_that_may_only_be_read_is_one_line(run, read_only, tmp_path, monkeypatch):
    if read_only is None:

        def refuse(*_, **__):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))

        monkeypatch.setattr(files.tempfile, "mkstemp", refuse)
        with pytest.raises(UsageError, match="Read-only"):
            write_whole(tmp_path / "a", "b")
        return
    for words in (("measure",), ("report",), ("doctor", "--repair")):
        outcome = run(*words, read_only)
        assert outcome.code == 2
        assert "cannot be written (Read-only file system)" in outcome.err
        assert len(outcome.err.splitlines()) == 1


def _fill(patch):
    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    patch.setattr(files.os, "fsync", full)
