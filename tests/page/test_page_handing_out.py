"""What the page gives away and takes back: a backup is the lawn again, and no file can lead out of its folder."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from page_serving import serving

from swardmark.common.errors import UsageError
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import LAWN_FILE, read_lawn
from swardmark.page.places.plain import plain
from swardmark.page.sharing.coming_back import bring_back, check_room
from swardmark.page.sharing.handing_out import backup_parts, target_pdf


@pytest.fixture
def lawn(tmp_path):
    folder = tmp_path / "lawn"
    start_lawn(folder, name="Tern Cottage")
    (folder / "photos" / "gate").mkdir(parents=True)
    (folder / "photos" / "gate" / "2026-06-09.jpg").write_bytes(b"one")
    (folder / "left_out").mkdir()
    (folder / "left_out" / "2026-06-10.jpg").write_bytes(b"two")
    (folder / "diary.csv").write_text("date,what\n2026-06-05,watered\n")
    (folder / "out").mkdir()
    (folder / "out" / "cover.csv").write_text("x")
    (folder / "record.sqlite").write_bytes(b"x")
    (folder / ".swardmark.lock").write_bytes(b"x")
    return folder


def backup_of(lawn):
    return io.BytesIO(b"".join(backup_parts(lawn)))


def files_of(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_backup_brought_back_is_the_same_lawn(lawn, tmp_path):
    data, other = backup_of(lawn), tmp_path / "other"
    count = bring_back(data, other)
    kept = files_of(lawn)
    for name in ("out/cover.csv", "record.sqlite", ".swardmark.lock"):
        del kept[name]
    assert {name: data for name, data in files_of(other).items() if not name.startswith(".")} == kept
    assert count == len(kept)
    assert read_lawn(other).name == "Tern Cottage"
    with pytest.raises(UsageError, match="a lawn here already"):
        bring_back(data, other)


@pytest.mark.parametrize("name", ["../out.csv", "/tmp/out.csv", "photos/../../out.jpg", ".bashrc", "C:\\out.csv",
                                  "photos/.hidden.jpg"])  # fmt: skip
def test_a_name_that_leads_elsewhere_brings_nothing_back(lawn, tmp_path, name):
    out = backup_of(lawn)
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr(name, b"x")
    with pytest.raises(UsageError, match="no backup"):
        bring_back(out, tmp_path / "other")
    assert not (tmp_path / "other").exists()


def test_what_else_lies_in_the_folder_does_not_keep_the_lawn_from_coming_back(lawn, tmp_path):
    """Such a backup was called none."""
    (lawn / "photos" / "2026-06-09 10:15:00.jpg").write_bytes(b"three")
    kept = files_of(lawn)
    for name in ("photos/clip.mp4", "photos/Thumbs.db", "plan.pdf", "photos/run.sh"):
        (lawn / name).write_bytes(b"x")
    (lawn / "other").mkdir()
    (lawn / "other" / "2026.jpg").write_bytes(b"x")
    bring_back(backup_of(lawn), tmp_path / "other")
    for name in ("out/cover.csv", "record.sqlite", ".swardmark.lock"):
        del kept[name]
    back = files_of(tmp_path / "other")
    assert {name: data for name, data in back.items() if not name.startswith(".")} == kept


@pytest.mark.parametrize("data", [b"", b"no zip", b"PK\x05\x06" + b"\x00" * 18])
def test_what_is_no_zip_is_refused(tmp_path, data):
    with pytest.raises(UsageError, match="no backup"):
        bring_back(io.BytesIO(data), tmp_path / "other")


def test_a_file_that_is_there_is_never_written_over(lawn, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (other / "diary.csv").write_text("mine")
    with pytest.raises(UsageError):
        bring_back(backup_of(lawn), other)
    assert (other / "diary.csv").read_text() == "mine"
    assert not (other / LAWN_FILE).exists()


def test_a_damaged_backup_leaves_nothing_behind(lawn, tmp_path):
    out, other = backup_of(lawn), tmp_path / "other"
    data = bytearray(out.getvalue())
    data[data.index(b"two")] ^= 1  # its checksum no longer fits
    with pytest.raises(UsageError, match="no backup"):
        bring_back(io.BytesIO(bytes(data)), other)
    assert not [name for name in files_of(other) if not name.startswith(".")]


def test_what_a_killed_restore_left_is_taken_as_it_is(lawn, tmp_path):
    other = tmp_path / "other"
    (other / "left_out").mkdir(parents=True)
    (other / "left_out" / "2026-06-10.jpg").write_bytes(b"two")
    bring_back(backup_of(lawn), other)
    assert read_lawn(other).name == "Tern Cottage"


def test_a_backup_that_the_disk_cannot_hold_is_refused_at_once(tmp_path):
    with pytest.raises(UsageError, match="of the disk, which has"):
        check_room(tmp_path / "other" / "lawn", 10**15)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is read from /proc")
def test_a_large_backup_goes_out_and_comes_back_without_filling_the_memory(lawn, tmp_path):
    """Two files of 45 MB, more than any body but a backup may have; the page holds neither in memory."""
    sizes = {f"photos/2026-06-1{number}.jpg": 45_000_000 for number in (1, 2)}
    for name, size in sizes.items():
        (lawn / name).write_bytes(bytes(size))
    backup, other = tmp_path / "lawn.zip", tmp_path / "other"
    with backup.open("wb") as file:
        file.writelines(backup_parts(lawn))
    with serving(other) as served, backup.open("rb") as file:
        before = peak_mb(served)
        length = str(backup.stat().st_size)
        assert served.ask("PUT", "/restore", file, Content_Length=length) == (200, '{"state":"done"}')
        assert {name: (other / name).stat().st_size for name in sizes} == sizes
        assert not [name for name in files_of(other) if "writing" in name]
        status, _, headers = served.ask_whole("GET", "/backup.zip")
        assert (status, headers["content-type"]) == (200, "application/zip")
        assert peak_mb(served) - before < 40


def peak_mb(served) -> float:
    """Return the most memory that the page has had so far, MB (VmHWM in proc_pid_status(5))."""
    text = Path(f"/proc/{served.process.pid}/status").read_text()
    return int(text.partition("VmHWM:")[2].split()[0]) / 1000


def test_the_target_is_a_pdf():
    assert target_pdf("a4", 1.0).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("Measure the leaf at five places and note it in readings.csv.", "Measure the leaf at five places."),
        ("not confirmed; note the day as dry under [confirmed] in lawn.toml", "not confirmed"),
        ("Plan the next leveling: put its date into lawn.toml.", "Plan the next leveling: put its date."),
        ("Lay a straightedge over spot 1 and note the depths in readings.csv.",
         "Lay a straightedge over spot 1."),
        ("If it is lawn, draw the lawn's outline or a zone around it in lawn.toml.",
         "If it is lawn, draw the lawn's outline or a zone around it."),
        ("/home/me/lawn/lawn.toml, line 7: 'side': too long", "'side': too long"),
    ],
)  # fmt: skip
def test_sentences_of_other_rooms_lose_the_names_of_files(said, shown):
    assert plain(said) == shown
