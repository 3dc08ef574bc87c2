"""Photos of every format, depth, turn and size that a keeper's camera, phone or scanner writes."""

from __future__ import annotations

import datetime as dt
import io
import subprocess
import sys

import cv2
import numpy as np
import pillow_heif
import pytest
import tifffile
from PIL import Image, ImageCms, ImageOps, TiffImagePlugin

from swardmark.common.errors import PhotoRefused
from swardmark.photo.decode import decode, read_header

WIDTH, HEIGHT = 360, 270
DAY = dt.datetime(2026, 6, 9, 10, 30)


def patches():
    """Sand above and grass below, red at the top left and blue at the top right: every turn and swap shows."""
    rgb = np.empty((HEIGHT, WIDTH, 3), np.uint8)
    rgb[: HEIGHT // 2], rgb[HEIGHT // 2 :] = (205, 186, 152), (87, 108, 67)
    rgb[:60, :90], rgb[:60, -90:] = (190, 40, 40), (40, 60, 180)
    return rgb


def stamped(orientation=1):
    block = Image.Exif()
    block[274] = orientation
    block.get_ifd(0x8769)[36867] = DAY.strftime("%Y:%m:%d %H:%M:%S")
    return block


def tiff_tags():
    """The same day for a TIFF, whose EXIF block is a directory of its own."""
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[34665] = {36867: DAY.strftime("%Y:%m:%d %H:%M:%S")}
    return tags


def turned(orientation):
    """What ImageOps.exif_transpose of Pillow makes of the patches under an EXIF orientation."""
    image = Image.fromarray(patches())
    image.getexif()[274] = orientation
    return np.asarray(ImageOps.exif_transpose(image))


def saved(kind, image=None, **options):
    out = io.BytesIO()
    (image or Image.fromarray(patches())).save(out, kind, **options)
    return out.getvalue()


@pytest.fixture(autouse=True, scope="module")
def _heif_can_be_written():
    pillow_heif.register_heif_opener()


FILES = {
    "JPEG 4:4:4": lambda: saved("JPEG", quality=95, subsampling=0, exif=stamped()),
    "JPEG 4:2:0": lambda: saved("JPEG", quality=90, subsampling=2, exif=stamped()),
    "progressive JPEG": lambda: saved("JPEG", quality=90, progressive=True, exif=stamped()),
    "PNG": lambda: saved("PNG", exif=stamped()),
    "PNG with alpha": lambda: saved("PNG", Image.fromarray(patches()).convert("RGBA"), exif=stamped()),
    "TIFF": lambda: saved("TIFF", tiffinfo=tiff_tags()),
    "TIFF LZW": lambda: saved("TIFF", compression="tiff_lzw"),
    "TIFF deflate": lambda: saved("TIFF", compression="tiff_adobe_deflate"),
    "WebP": lambda: saved("WEBP", quality=95, exif=stamped()),
    "WebP lossless": lambda: saved("WEBP", lossless=True, exif=stamped()),
    "HEIC": lambda: saved("HEIF", quality=95, exif=stamped()),
}


@pytest.mark.parametrize("kind", FILES)
def test_every_format_gives_the_same_colors_and_day(kind):
    photo = decode(FILES[kind](), name="IMG_20260609_103000.bin")
    assert photo.size == (WIDTH, HEIGHT)
    assert photo.rgb.dtype == np.uint8
    assert photo.rgb.flags.c_contiguous
    source = "file name" if kind in ("TIFF LZW", "TIFF deflate") else "camera"
    assert (photo.taken_at, photo.taken_from) == (DAY, source)
    # Lossy coding moves a flat patch by a few levels; a swapped channel by a hundred.
    for rows, cols in (
        (slice(10, 50), slice(10, 80)),
        (slice(10, 50), slice(-80, -10)),
        (slice(150, 260), slice(20, 340)),
    ):
        expected = patches()[rows, cols].reshape(-1, 3).mean(axis=0)
        np.testing.assert_allclose(photo.rgb[rows, cols].reshape(-1, 3).mean(axis=0), expected, atol=5)


@pytest.mark.parametrize("suffix", [".png", ".tiff"])
def test_sixteen_bits_become_eight_by_scaling(suffix):
    deep = patches().astype(np.uint16) * 257
    _, data = cv2.imencode(suffix, np.ascontiguousarray(deep[:, :, ::-1]))
    np.testing.assert_allclose(
        decode(data.tobytes(), name=f"2026-06-09{suffix}").rgb.astype(int), patches(), atol=1
    )


def test_ten_bit_heic_becomes_eight():
    deep = np.round(patches().astype(float) / 255 * 1023).astype(np.uint16) << 6
    file = pillow_heif.from_bytes("RGB;16", (WIDTH, HEIGHT), deep.tobytes())
    out = io.BytesIO()
    file.save(out, quality=95)
    rgb = decode(out.getvalue(), name="2026-06-09.heic").rgb
    expected = patches()[180:260, 20:340].reshape(-1, 3).mean(axis=0)
    np.testing.assert_allclose(rgb[180:260, 20:340].reshape(-1, 3).mean(axis=0), expected, atol=5)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_a_turned_phone_gives_an_upright_photo_in_every_format(kind, orientation):
    """EXIF tag 274 of JEITA CP-3451, against Pillow's ImageOps.exif_transpose."""
    options = (
        {"lossless": True} if kind == "WEBP" else {"quality": 97, "subsampling": 0} if kind == "JPEG" else {}
    )
    data = saved(kind, exif=stamped(orientation), **options)
    rgb = decode(data, name="2026-06-09.bin").rgb
    assert rgb.shape == turned(orientation).shape
    # JPEG moves flat patches by a level or two, more at their edges.
    assert np.abs(rgb.astype(int) - turned(orientation)).mean() < 2


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_turned_phones_heic_is_turned_once(orientation):
    """HEIF turns by its own irot box; the EXIF tag beside it must not turn it again (ISO/IEC 23008-12)."""
    data = saved("HEIF", exif=stamped(orientation), quality=95)
    expected = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB"))
    rgb = decode(data, name="2026-06-09.heic").rgb
    assert rgb.shape == expected.shape
    assert np.abs(rgb.astype(int) - expected).mean() < 2


GRAYS = {
    "gray JPEG": lambda: saved("JPEG", Image.fromarray(patches()).convert("L")),
    "gray PNG": lambda: saved("PNG", Image.fromarray(patches()).convert("L")),
    "gray PNG with alpha": lambda: saved("PNG", Image.fromarray(patches()).convert("LA")),
    "gray TIFF": lambda: saved("TIFF", Image.fromarray(patches()).convert("L")),
    "gray 16-bit TIFF": lambda: saved("TIFF", Image.fromarray(patches()[..., 1].astype(np.uint16) * 257)),
    "black and white": lambda: saved("TIFF", Image.fromarray(patches()).convert("1")),
    "CMYK JPEG": lambda: saved("JPEG", Image.fromarray(patches()).convert("CMYK")),
    "CMYK TIFF": lambda: saved("TIFF", Image.fromarray(patches()).convert("CMYK")),
}


@pytest.mark.parametrize("kind", GRAYS)
def test_gray_and_print_pictures_are_refused_with_the_remedy(kind):
    with pytest.raises(PhotoRefused, match="CMYK" if "CMYK" in kind else "gray") as refusal:
        decode(GRAYS[kind](), name="scan.bin")
    assert refusal.value.remedy
    assert "\n" not in str(refusal.value)


def test_a_picture_in_lab_is_refused_and_never_read_as_if_it_were_rgb():
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    lab = ImageCms.applyTransform(Image.fromarray(patches()), to_lab)
    with pytest.raises(PhotoRefused, match="LAB"):
        decode(saved("TIFF", lab), name="2026-06-09.tif")


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_turned_sixteen_bit_tiff_is_upright(orientation):
    """Written by tifffile; the turn against Pillow's, of the same patches in 8 bits."""
    out = io.BytesIO()
    deep = patches().astype(np.uint16) * 257
    tifffile.imwrite(out, deep, photometric="rgb", extratags=[(274, "H", 1, orientation, True)])
    rgb = decode(out.getvalue(), name="2026-06-09.tif").rgb
    assert rgb.shape == turned(orientation).shape
    assert np.abs(rgb.astype(int) - turned(orientation)).max() <= 1


def test_a_color_photo_without_any_color_is_still_three_channels():
    gray = np.dstack([patches()[..., 1]] * 3)
    assert decode(saved("PNG", Image.fromarray(gray)), name="2026-06-09.png").rgb.shape == (HEIGHT, WIDTH, 3)


@pytest.mark.parametrize("kind", ["PNG", "TIFF LZW", "WebP lossless", "HEIC"])
@pytest.mark.parametrize("share", [0.3, 0.9])
def test_a_cut_off_file_is_refused(kind, share):
    data = FILES[kind]()
    with pytest.raises(PhotoRefused):
        decode(data[: int(len(data) * share)], name="2026-06-09.bin")


def test_the_day_that_the_keeper_gives_wins_over_the_cameras():
    given = decode(FILES["HEIC"](), name="2026-06-10.heic").taken(dt.datetime(2026, 6, 8))
    assert (given.taken_at, given.taken_from) == (dt.datetime(2026, 6, 8), "keeper")


def test_the_header_is_read_without_the_pixels(monkeypatch):
    data = saved("JPEG", Image.new("RGB", (1200, 800), (87, 108, 67)), exif=stamped(6))

    def never(*_, **__):
        raise AssertionError("the pixels were decoded")

    monkeypatch.setattr(cv2, "imdecode", never)
    monkeypatch.setattr(Image.Image, "load", never)
    header = read_header(data, name="x.jpg")
    assert (header.size, header.orientation, header.taken_at) == ((1200, 800), 6, DAY)


def test_a_48_megapixel_photo_is_decoded_in_its_own_size_of_memory():
    """Peak memory over the picture's own 145 MB, in a process of its own; a turned copy is the one thing allowed."""
    rng = np.random.default_rng(0)
    small = cv2.resize(
        rng.integers(0, 255, (94, 126, 3), np.uint8), (8064, 6048), interpolation=cv2.INTER_LINEAR
    )
    for orientation, copies in ((1, 1.35), (6, 2.35)):
        out = io.BytesIO()
        Image.fromarray(small).save(out, "JPEG", quality=85, exif=stamped(orientation))
        script = (
            "import resource, sys, cv2, PIL.Image, PIL.JpegImagePlugin\n"
            "from swardmark.photo.decode import decode\n"
            "data = sys.stdin.buffer.read()\n"
            "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
            "photo = decode(data, name='2026-06-09.jpg')\n"
            "after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
            "print(photo.size[0], photo.size[1], (after - before) * 1024 / photo.rgb.nbytes)\n"
        )
        told = subprocess.run(
            [sys.executable, "-c", script], input=out.getvalue(), capture_output=True, check=True
        )
        width, height, share = told.stdout.split()
        assert (int(width), int(height)) == ((8064, 6048) if orientation == 1 else (6048, 8064))
        assert float(share) < copies
