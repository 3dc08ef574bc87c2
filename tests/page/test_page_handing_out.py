"""What the page gives away and takes back: a backup is the lawn again, and no file can lead out of its folder."""

from __future__ import annotations

import io
import zipfile

import pytest

from swardmark.common.errors import UsageError
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import LAWN_FILE, read_lawn
from swardmark.page.places.plain import plain
from swardmark.page.sharing.coming_back import bring_back
from swardmark.page.sharing.handing_out import backup_zip, target_pdf


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


def files_of(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_backup_brought_back_is_the_same_lawn(lawn, tmp_path):
    data, other = backup_zip(lawn), tmp_path / "other"
    count = bring_back(data, other)
    kept = files_of(lawn)
    for name in ("out/cover.csv", "record.sqlite", ".swardmark.lock"):
        del kept[name]
    assert {name: data for name, data in files_of(other).items() if not name.startswith(".")} == kept
    assert count == len(kept)
    assert read_lawn(other).name == "Tern Cottage"
    with pytest.raises(UsageError, match="a lawn here already"):
        bring_back(data, other)


@pytest.mark.parametrize("name", ["../out.csv", "/tmp/out.csv", "photos/../../out.jpg", ".bashrc", "photos/run.sh",
                                  "C:\\out.csv", "photos/.hidden.jpg", "other/2026.jpg"])  # fmt: skip
def test_a_name_that_leads_elsewhere_brings_nothing_back(lawn, tmp_path, name):
    out = io.BytesIO(backup_zip(lawn))
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr(name, b"x")
    with pytest.raises(UsageError, match="no backup"):
        bring_back(out.getvalue(), tmp_path / "other")
    assert not (tmp_path / "other").exists()


@pytest.mark.parametrize("data", [b"", b"no zip", b"PK\x05\x06" + b"\x00" * 18])
def test_what_is_no_zip_is_refused(tmp_path, data):
    with pytest.raises(UsageError, match="no backup"):
        bring_back(data, tmp_path / "other")


def test_a_file_that_is_there_is_never_written_over(lawn, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (other / "diary.csv").write_text("mine")
    with pytest.raises(UsageError):
        bring_back(backup_zip(lawn), other)
    assert (other / "diary.csv").read_text() == "mine"
    assert not (other / LAWN_FILE).exists()


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
        ("If it is lawn, photograph it from nearer or draw a zone over it in lawn.toml.",
         "If it is lawn, photograph it from nearer or draw a zone over it."),
        ("/home/me/lawn/lawn.toml, line 7: 'side': too long", "'side': too long"),
        ("0.85 m2 of 18 m2, 3 cm3", "0.85 m² of 18 m², 3 cm³"),
    ],
)  # fmt: skip
def test_sentences_of_other_rooms_lose_the_names_of_files(said, shown):
    assert plain(said) == shown
