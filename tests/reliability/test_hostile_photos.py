"""Broken, odd and hostile photo files: refused in one line, or measured as if nothing were odd about them."""

from __future__ import annotations

import datetime as dt
import io
import os
import shutil
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.lawn.folder import add_photos
from swardmark.lawn.toml import read_lawn
from swardmark.measure.survey import open_record, survey
from swardmark.photo.decode import decode, read_bytes


def encoded(kind, *, size=(320, 260), **options):
    out = io.BytesIO()
    rgb = np.random.default_rng(0).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
    Image.fromarray(rgb).save(out, kind, **options)
    return out.getvalue()


def with_exif(fill):
    block = Image.Exif()
    fill(block)
    return encoded("JPEG", exif=block)


def png_chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_of(width, height, data=b"\0" * 1000):
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = png_chunk(b"IHDR", header), png_chunk(b"IDAT", zlib.compress(data)), png_chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def another_frame():
    return {"save_all": True, "append_images": [Image.new("RGB", (320, 260), "green")], "duration": 100}


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (encoded("GIF"), "not a photo"),
        (encoded("GIF", **another_frame()), "not a photo"),
        (encoded("WEBP", **another_frame()), "animated"),
        (encoded("PNG", **another_frame()), "animated"),
        (encoded("BMP"), "not a photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a photo"),
        (b"PK\3\4" + bytes(300), "not a photo"),
        (b"%PDF-1.7\n" + bytes(300), "not a photo"),
        (png_of(1, 1), "only 1 x 1"),
        (png_of(30_000, 300), "30000 x 300"),
        (png_of(300, 30_000), "300 x 30000"),
        (png_of(60_000, 60_000), "too large|60000"),
        (encoded("PNG")[:-40], "cut off"),
        (encoded("PNG").replace(b"IDAT", b"IDAT", 1)[:3000], "cut off"),
        (encoded("WEBP")[:-40], "cut off"),
        (encoded("JPEG")[:-200], "cut off"),
        (encoded("TIFF")[:-5000], "damaged"),
    ],
    ids=[
        "empty", "gif", "animated gif", "animated webp", "apng", "bmp", "svg", "zip", "pdf", "one pixel", "wide",
        "high", "bomb", "cut png", "cut png data", "cut webp", "cut jpeg", "cut tiff",
    ],
)  # fmt: skip
def test_what_cannot_be_measured_is_refused_in_one_line(data, reason):
    with pytest.raises(PhotoRefused, match=reason) as refusal:
        decode(data, name="2026-06-03.jpg")
    line = str(refusal.value)
    assert line.startswith("2026-06-03.jpg: ")
    assert "\n" not in line
    assert refusal.value.remedy


def test_a_chunk_that_announces_four_gigabytes_makes_no_memory_for_them():
    """OpenCV makes room for what a chunk announces; a file of 500 bytes once took 4 GiB and 10 s."""
    import resource

    whole = encoded("PNG")
    at = whole.index(b"IDAT") - 4
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(PhotoRefused, match="cut off"):
        decode(whole[:at] + b"\xff\xff\xff\xc0" + whole[at + 4 :], name="a.png")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 200_000


@pytest.mark.parametrize(
    "tail", [b"PK\3\4" + bytes(400), b"<html><script>alert(1)</script></html>", encoded("PNG")]
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_what_follows_the_picture_changes_nothing(kind, tail):
    """A file that is a photo and an archive or a page at once: the pixels are read, the rest never."""
    plain = encoded(kind)
    np.testing.assert_array_equal(decode(plain + tail, name="a").rgb, decode(plain, name="a").rgb)


def test_a_renamed_file_is_what_its_content_says():
    assert decode(encoded("PNG"), name="IMG_1.HEIC").size == (320, 260)
    with pytest.raises(PhotoRefused, match="not a photo"):
        decode(encoded("GIF"), name="a.jpg")


@pytest.mark.parametrize(
    "fill",
    [
        lambda e: e.get_ifd(0x8769).update({36867: "1904:01:01 00:00:00"}),
        lambda e: e.get_ifd(0x8769).update({36867: "0000:00:00 00:00:00"}),
        lambda e: e.get_ifd(0x8769).update({36867: "2026:13:45 99:99:99"}),
        lambda e: e.get_ifd(0x8769).update({36867: b"\xff\xfe\0garbage"}),
        lambda e: e.get_ifd(0x8769).update({41989: 65535}),
        lambda e: e.update({274: 9}),
        lambda e: e.update({274: 0}),
        lambda e: e.update({271: "\x1b[31m\n" * 2000}),
    ],
    ids=["1904", "zero", "13th month", "bytes", "focal", "orientation 9", "orientation 0", "maker"],
)
def test_absurd_exif_stops_no_photo_and_gives_no_day(fill):
    photo = decode(with_exif(fill), name="a.jpg")
    assert photo.size == (320, 260)
    assert photo.taken_at is None
    assert photo.camera.make.isprintable()
    assert photo.camera.focal_35mm is None


def test_the_day_is_the_cameras_local_day_whatever_the_offset():
    """EXIF 2.31 (CIPA DC-008-2016) keeps the offset from UTC in a tag of its own; the date tag is local time."""

    def fill(block):
        block.get_ifd(0x8769).update({36867: "2026:06:03 23:50:00", 36881: "-10:00"})

    assert decode(with_exif(fill), name="a.jpg").taken_at == dt.datetime(2026, 6, 3, 23, 50)


@pytest.fixture
def bare(tmp_path):
    """A lawn with nothing in it."""
    folder = tmp_path / "lawn"
    (folder / "photos").mkdir(parents=True)
    (folder / "lawn.toml").write_text('name = "a"')
    return folder


def refusals_of(folder):
    lawn = read_lawn(folder)
    with open_record(lawn) as record:
        return {entry.name: entry.refusal for entry in survey(lawn, record).refused}


def test_links_out_of_the_folder_are_never_followed(bare, tmp_path):
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "2026-06-03.jpg").write_bytes(encoded("JPEG"))
    (bare / "photos/out.jpg").symlink_to(outside / "2026-06-03.jpg")
    (bare / "photos/nothing.jpg").symlink_to(tmp_path / "gone.jpg")
    (bare / "photos/porch").symlink_to(outside)
    (bare / "photos/self.jpg").symlink_to(bare / "photos/self.jpg")
    refused = refusals_of(bare)
    assert refused == {
        "out.jpg": "is a link to outside the lawn's photos folder",
        "porch": "is a link to outside the lawn's photos folder",
        "nothing.jpg": "is a broken link",
        "self.jpg": "is a broken link",
    }


def test_a_link_within_the_folder_is_a_copy_and_the_folder_itself_may_be_a_link(bare, tmp_path):
    disk = tmp_path / "disk"
    shutil.move(bare / "photos", disk)
    (bare / "photos").symlink_to(disk)
    (disk / "2026-06-03.jpg").write_bytes(encoded("JPEG"))
    (disk / "again.jpg").symlink_to(disk / "2026-06-03.jpg")
    lawn = read_lawn(bare)
    with open_record(lawn) as record:
        done = survey(lawn, record)
    assert done.duplicates == (("again.jpg", "2026-06-03.jpg"),)


def test_folders_pipes_and_odd_names_like_photos_hold_nothing_up(bare):
    (bare / "photos/2026-06-03.jpg").mkdir()
    os.mkfifo(bare / "photos/2026-06-04.jpg")
    (bare / "photos/line\nbreak.jpg").write_bytes(encoded("JPEG"))
    (bare / os.fsdecode(b"photos/\xff\xfe.jpg")).write_bytes(encoded("JPEG"))
    refused = refusals_of(bare)
    assert set(refused) == {"line\ufffdbreak.jpg", "\ufffd\ufffd.jpg"}
    assert set(refused.values()) == {"its name contains characters that cannot be shown"}
    with pytest.raises(PhotoRefused, match="is not a file"):
        read_bytes(bare / "photos/2026-06-04.jpg")


@pytest.mark.parametrize(
    "name", ["草" * 83 + ".jpg", "a" * 251 + ".jpg", "café 'n' (1) [x] {y} %20.jpg", "-rf.jpg"]
)
def test_long_and_foreign_names_are_read_and_added(bare, tmp_path, name):
    source = tmp_path / name
    source.write_bytes(encoded("JPEG"))
    shutil.copy(source, bare / "photos" / name)
    assert set(refusals_of(bare)) == {name}
    assert len(add_photos(read_lawn(bare), [source], point="porch", date=dt.datetime(2026, 6, 3)).added) == 1


def test_a_photo_that_may_not_be_read_stops_neither_measuring_nor_adding(bare, tmp_path, monkeypatch):
    (bare / "photos/2026-06-03.jpg").write_bytes(encoded("JPEG"))
    (bare / "photos/2026-06-04.jpg").write_bytes(encoded("JPEG", quality=60))
    from swardmark.photo import decode as decoding

    plain = decoding.Path.read_bytes

    def read(path):
        if path.name == "2026-06-03.jpg":
            raise PermissionError(13, "Permission denied")
        return plain(path)

    monkeypatch.setattr(decoding.Path, "read_bytes", read)
    assert refusals_of(bare)["2026-06-03.jpg"] == "cannot be read (Permission denied)"
    (tmp_path / "2026-06-05.jpg").write_bytes(encoded("JPEG", quality=50))
    assert add_photos(read_lawn(bare), [tmp_path / "2026-06-05.jpg"]).added == ("2026-06-05.jpg",)


def test_a_photos_folder_that_may_not_be_listed_is_one_line(bare, monkeypatch):
    from swardmark.lawn import photos

    def refuse(_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(photos.Path, "iterdir", refuse)
    with pytest.raises(UsageError, match="cannot be listed"):
        read_lawn(bare).photos()


def test_a_file_of_the_far_future_fits_the_record(bare):
    path = bare / "photos/2026-06-03.jpg"
    path.write_bytes(encoded("JPEG"))
    os.utime(path, ns=(10**19, 10**19))
    assert set(refusals_of(bare)) == {"2026-06-03.jpg"}
