"""Several writers of one lawn at the same moment: nothing that one of them was told is done gets lost."""

from __future__ import annotations

import os

import pytest
from writers_at_once import photo, run

from swardmark.common import files
from swardmark.common.files import MOST_BACKUPS, back_up, begin_part, move_new, write_new, write_whole
from swardmark.lawn.folder import add_photos, start_lawn
from swardmark.lawn.lock import files_lock, lawn_lock


def test_writers_at_the_same_moment_lose_nothing():
    added, faults = run(3, 4)
    assert faults == []
    assert added == 12


@pytest.mark.parametrize("with_links", [True, False])
def test_a_new_file_is_never_written_over_another(tmp_path, monkeypatch, with_links):
    if not with_links:
        monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(PermissionError(1, "not permitted")))
    assert write_new(tmp_path / "a.jpg", b"first").read_bytes() == b"first"
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "a.jpg", b"second")
    (tmp_path / "b.jpg").symlink_to(tmp_path / "nothing")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "b.jpg", b"second")
    assert (tmp_path / "a.jpg").read_bytes() == b"first"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.jpg", "b.jpg"]


def test_a_photo_that_another_run_adds_meanwhile_is_known(tmp_path, monkeypatch):
    """Found under the lock, not in a list made before: the second of two runs that add the same bytes adds nothing."""
    lawn = start_lawn(tmp_path / "lawn")
    (tmp_path / "2026-06-03.jpg").write_bytes(photo(1))
    from swardmark.lawn import folder as module

    def and_the_other(folder):
        monkeypatch.setattr(module, "files_lock", files_lock)
        add_photos(lawn, [tmp_path / "2026-06-03.jpg"])
        return files_lock(folder)

    monkeypatch.setattr(module, "files_lock", and_the_other)
    done = add_photos(lawn, [tmp_path / "2026-06-03.jpg"])
    assert (done.added, done.known) == ((), ("2026-06-03.jpg",))


def test_the_files_lock_is_taken_again_by_who_holds_it_and_by_no_one_else(tmp_path):
    from concurrent.futures import ThreadPoolExecutor

    def take():
        with files_lock(tmp_path, wait_s=0.05):
            return True

    with files_lock(tmp_path), files_lock(tmp_path), ThreadPoolExecutor(1) as pool:
        assert "in use by process" in str(pool.submit(take).exception())
    assert take()
    assert list(tmp_path.iterdir()) == []


def test_a_note_can_be_kept_while_photos_are_measured(tmp_path):
    with lawn_lock(tmp_path), files_lock(tmp_path, wait_s=0.05):
        pass


def test_what_a_killed_run_left_anywhere_in_the_lawn_is_swept_away_by_the_next(tmp_path, monkeypatch):
    for inside in ("photos/left", "out"):
        (tmp_path / inside).mkdir(parents=True)
    left = [begin_part(tmp_path / inside / "a") for inside in ("", "photos", "photos/left", "out")]
    with lawn_lock(tmp_path):
        assert all(part.exists() for part in left), "this run is still at work"
    monkeypatch.setattr(files, "_writer_is_gone", lambda name: True)
    with lawn_lock(tmp_path):
        assert not any(part.exists() for part in left)


def test_the_newest_five_backups_are_kept(tmp_path):
    path, own = tmp_path / "lawn.toml", tmp_path / "lawn.toml.mine.bak"
    own.write_text("a copy that the keeper made")
    for number in range(9):
        write_whole(path, str(number))
        back_up(path)
    kept = [copy.read_text() for copy in tmp_path.glob("*.bak") if copy != own]
    assert sorted(kept) == ["4", "5", "6", "7", "8"]
    assert len(kept) == MOST_BACKUPS
    assert own.exists()


def test_a_move_that_was_killed_halfway_is_finished_by_the_next(tmp_path):
    source, target = tmp_path / "a.jpg", tmp_path / "bin" / "a.jpg"
    source.write_bytes(b"one")
    target.parent.mkdir()
    target.hardlink_to(source)  # its new name is there, its old one not yet gone
    assert move_new(source, target) == target
    assert [path.name for path in tmp_path.rglob("*.jpg")] == ["a.jpg"]
    source.write_bytes(b"two")
    assert move_new(source, target).name == "a-2.jpg"
