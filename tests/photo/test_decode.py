from __future__ import annotations

import datetime as dt
import io

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageOps

from swardmark.common.errors import PhotoRefused
from swardmark.photo.day import date_in_name
from swardmark.photo.decode import decode, read_photo
from swardmark.photo.header import Camera, read_header


def picture(width=320, height=260, seed=0):
    """A smooth color picture with no symmetry, so that every turn and every channel swap shows."""
    y, x = np.mgrid[0:height, 0:width]
    rng = np.random.default_rng(seed)
    rgb = np.stack([x / width, y / height, (x + 2 * y) / (width + 2 * height)], axis=-1) * 200 + 20
    return np.clip(rgb + rng.normal(0, 1, rgb.shape), 0, 255).astype(np.uint8)


def encoded(rgb, kind="JPEG", *, exif=None, mode="RGB", **options):
    out = io.BytesIO()
    image = Image.fromarray(rgb).convert(mode)
    if exif is not None:
        options["exif"] = exif
    image.save(out, kind, **({"quality": 95} | options if kind in ("JPEG", "HEIF") else options))
    return out.getvalue()


def exif(*, orientation=None, date=None, focal=None, digitized=None):
    block = Image.Exif()
    if orientation is not None:
        block[274] = orientation
    inner = block.get_ifd(0x8769)
    if date is not None:
        inner[36867] = date
    if digitized is not None:
        inner[36868] = digitized
    if focal is not None:
        inner[41989] = focal
    return block


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_comes_out_as_pillow_turns_it(orientation):
    """Orientation values of JEITA CP-3451 tag 274, against ImageOps.exif_transpose of Pillow."""
    data = encoded(picture(), exif=exif(orientation=orientation))
    expected = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB"))
    upright = decode(data, name="a.jpg").rgb
    assert upright.shape == expected.shape
    # Two JPEG decoders may round differently by a few levels, never turn the picture.
    assert np.abs(upright.astype(int) - expected).mean() < 2


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WebP"])
def test_a_red_patch_is_red_in_every_format(kind):
    red = np.full((260, 320, 3), (200, 30, 30), np.uint8)
    photo = decode(encoded(red, kind), name=f"2026-06-03.{kind.lower()}")
    np.testing.assert_allclose(photo.rgb.reshape(-1, 3).mean(axis=0), (200, 30, 30), atol=4)


def test_heic_is_read_whatever_its_name_and_keeps_date_and_red():
    pillow_heif.register_heif_opener()
    red = np.full((260, 320, 3), (200, 30, 30), np.uint8)
    data = encoded(red, "HEIF", exif=exif(date="2026:06:03 10:15:00").tobytes())
    photo = decode(data, name="IMG_1.jpg")
    np.testing.assert_allclose(photo.rgb.reshape(-1, 3).mean(axis=0), (200, 30, 30), atol=6)
    assert photo.taken_at == dt.datetime(2026, 6, 3, 10, 15)


def test_a_jpeg_named_heic_is_read_by_its_content():
    assert decode(encoded(picture()), name="photo.HEIC").size == (320, 260)


def test_sixteen_bit_color_is_read_as_eight():
    import cv2

    rgb = picture()
    _, data = cv2.imencode(".png", rgb[:, :, ::-1].astype(np.uint16) * 257)
    assert np.abs(decode(data.tobytes(), name="2026-06-03.png").rgb.astype(int) - rgb).max() <= 1


def test_the_cameras_date_comes_first_then_the_name_and_never_the_files_time(tmp_path):
    camera = decode(
        encoded(picture(), exif=exif(date="2026:06:03 10:15:00", digitized="2026:06:04 00:00:00")),
        name="x.jpg",
    )
    assert (camera.taken_at, camera.taken_from) == (dt.datetime(2026, 6, 3, 10, 15), "camera")
    named = decode(encoded(picture()), name="IMG_20260609_101500.jpg")
    assert (named.taken_at, named.taken_from) == (dt.datetime(2026, 6, 9, 10, 15), "file name")
    path = tmp_path / "holiday.jpg"
    path.write_bytes(encoded(picture()))
    assert (read_photo(path).taken_at, read_photo(path).taken_from) == (None, "unknown")


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("2026-06-03.jpg", dt.datetime(2026, 6, 3)),
        ("PXL_20260603_181530123.jpg", dt.datetime(2026, 6, 3, 18, 15, 30)),
        ("lawn 2026.06.03 at 18.15.jpg", dt.datetime(2026, 6, 3)),
        ("2026-13-40.jpg", None),
        ("IMG_0412.jpg", None),
        ("1234567890123.jpg", None),
    ],
)
def test_days_in_file_names(name, expected):
    assert date_in_name(name) == expected


@pytest.mark.parametrize("date", ["1904:01:01 00:00:00", "1989:12:31 00:00:00"])
def test_an_absurd_camera_date_is_a_note_and_not_a_day(date):
    photo = decode(encoded(picture(), exif=exif(date=date)), name="x.jpg")
    assert photo.taken_at is None
    assert "cannot be right" in photo.notes[0]


def test_an_orientation_that_does_not_exist_is_a_note():
    photo = decode(encoded(picture(), exif=exif(orientation=9)), name="x.jpg")
    assert photo.size == (320, 260)
    assert "orientation" in photo.notes[0]


def test_malformed_exif_never_stops_a_photo():
    whole = encoded(picture(), exif=exif(date="2026:06:03 10:15:00", orientation=6))
    start = whole.index(b"Exif") + 10
    damaged = whole[:start] + bytes(255 - b for b in whole[start : start + 40]) + whole[start + 40 :]
    assert decode(damaged, name="x.jpg").rgb.shape[2] == 3


@pytest.mark.parametrize("share", [0.1, 0.5, 0.98])
def test_a_cut_off_jpeg_is_refused(share):
    data = encoded(picture(), exif=exif(date="2026:06:03 10:15:00"))
    with pytest.raises(PhotoRefused, match=r"cut off|damaged"):
        decode(data[: int(len(data) * share)], name="x.jpg")


def test_a_thumbnails_end_marker_does_not_make_a_cut_off_photo_whole():
    block = exif(date="2026:06:03 10:15:00")
    block.get_ifd(0x8769)[37500] = b"\xff\xd8\xff\xd9"
    data = encoded(picture(), exif=block)
    assert b"\xff\xd9" in data[: len(data) // 2]
    with pytest.raises(PhotoRefused, match="cut off"):
        decode(data[: len(data) // 2], name="x.jpg")


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b"hello, this is a text file", "not a photo"),
        (encoded(picture(), mode="L"), "gray"),
        (encoded(picture(), mode="CMYK"), "CMYK"),
        (encoded(picture(100, 80)), "only 100 x 80"),
        (b"\xff\xd8\xff" + bytes(500), "cut off"),
        (b"\x89PNG\r\n\x1a\n" + bytes(500), "cut off"),
        (b"\0\0\0\x18ftypheic" + bytes(500), "damaged"),
    ],
    ids=["empty", "text", "gray", "cmyk", "thumbnail", "jpeg header", "png header", "heic header"],
)
def test_what_is_no_color_photo_is_refused_in_one_line(data, reason):
    with pytest.raises(PhotoRefused, match=reason) as refusal:
        decode(data, name="x.jpg")
    line = str(refusal.value)
    assert line.startswith("x.jpg: ")
    assert "\n" not in line
    assert refusal.value.remedy


def test_a_decompression_bomb_is_refused_before_it_is_decoded():
    import struct
    import zlib

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    bomb = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )
    with pytest.raises(PhotoRefused, match=r"large|60000"):
        read_header(bomb, name="x.png")


def test_non_ascii_paths_are_read(tmp_path):
    path = tmp_path / "газон草坪 2026-06-03.jpg"
    path.write_bytes(encoded(picture()))
    assert read_photo(path).taken_at == dt.datetime(2026, 6, 3)


def test_focal_length_in_pixels_is_by_the_diagonal():
    """35 mm equivalence by the picture's diagonal (CIPA DCG-001): 43.27 mm equivalent has f = diagonal."""
    assert Camera(focal_35mm=43.2666).focal_px(1600, 1200) == pytest.approx(2000, rel=1e-6)
    photo = decode(encoded(picture(), exif=exif(focal=26)), name="2026-06-03.jpg")
    assert photo.focal_px == pytest.approx(26 / 43.2666 * np.hypot(320, 260), rel=1e-6)
