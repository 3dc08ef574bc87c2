"""Files of the keeper and of the tool: rights, and no half-written file left."""

from __future__ import annotations

import os
import stat
import sys

import pytest

from swardmark.common.errors import UsageError
from swardmark.common.files import PART_PREFIX, write_whole


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such rights")
@pytest.mark.parametrize("mask", [0o022, 0o077, 0o002])
def test_a_file_has_the_rights_that_the_user_s_mask_leaves_and_is_no_program(tmp_path, mask):
    before = os.umask(mask)
    try:
        plain = tmp_path / "plain.txt"
        plain.write_text("as any program writes it")
        path = write_whole(tmp_path / "new.txt", "text")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)


def test_a_write_that_fails_leaves_the_old_file_and_nothing_beside_it(tmp_path, monkeypatch):
    path = write_whole(tmp_path / "table.csv", "old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UsageError, match="No space left"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert not list(tmp_path.glob(f"{PART_PREFIX}*"))


def test_what_was_written_was_brought_to_the_disk_before_it_was_renamed(tmp_path, monkeypatch):
    """A rename that reaches the disk before the bytes leaves an empty file after a power cut."""
    order, sync, swap = [], os.fsync, os.replace

    def synced(handle):
        order.append("file" if stat.S_ISREG(os.fstat(handle).st_mode) else "folder")
        sync(handle)

    def renamed(*names):
        order.append("renamed")
        swap(*names)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", renamed)
    write_whole(tmp_path / "a.txt", "text")
    assert order[:2] == ["file", "renamed"]
