"""A damaged JPEG never gives a number in silence: what libjpeg warns of is refused in one line."""

from __future__ import annotations

import io
import time
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

import jpeg_surgery
from swardmark.common.errors import PhotoRefused
from swardmark.photo.decode import decode
from swardmark.photo.header import MOST_SCANS
from swardmark.photo.seam import LEAST_STEP, largest_step
from swardmark.photo.sentences import ODD_COLORS, ODD_TABLE, SEAM, STRAY_BYTES, TWICE
from swardmark.photo.structure import damage_in

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage" / "photos"


@pytest.fixture(scope="module")
def whole() -> bytes:
    return max(SAMPLE.glob("*.jpg")).read_bytes()


def scan_start(data: bytes) -> int:
    return data.rfind(b"\xff\xda") + 20


@pytest.mark.parametrize("reduction", [1, 2, 4, 8])
def test_pixels_are_those_of_the_reference_decoder(whole, reduction):
    """OpenCV decodes with the same libjpeg-turbo: to the byte at every reduction."""
    flag = {1: cv2.IMREAD_COLOR_RGB, 2: cv2.IMREAD_REDUCED_COLOR_2, 4: cv2.IMREAD_REDUCED_COLOR_4}.get(
        reduction, cv2.IMREAD_REDUCED_COLOR_8
    )
    expected = cv2.imdecode(np.frombuffer(whole, np.uint8), flag | cv2.IMREAD_IGNORE_ORIENTATION)
    expected = expected if reduction == 1 else expected[..., ::-1]
    photo = decode(whole, name="photo.jpg", least_side=1600 // reduction)
    assert photo.reduction == reduction
    np.testing.assert_array_equal(photo.rgb, expected)


def test_most_damage_inside_the_picture_is_refused_in_one_line(whole):
    """Of 60 copies with some bytes of the scan overwritten and their end in place, libjpeg sees most: it counts what is
    left over at the end. What it cannot see is a fault that falls back into step."""
    rng, refused, changed = np.random.default_rng(1), 0, 0
    clean = decode(whole, name="photo.jpg").rgb
    for _ in range(60):
        data = bytearray(whole)
        at, count = int(rng.integers(scan_start(whole), len(whole) - 60)), int(rng.integers(1, 40))
        data[at : at + count] = rng.integers(0, 256, count, dtype=np.uint8).tobytes()
        try:
            photo = decode(bytes(data), name="photo.jpg")
        except PhotoRefused as refusal:
            refused += 1
            assert "\n" not in str(refusal)
            assert "damaged" in refusal.what or "cut off" in refusal.what
        else:
            changed += bool((np.abs(photo.rgb.astype(int) - clean).max(axis=2) > 30).mean() > 0.02)
    assert refused >= 35
    assert changed <= 4


@pytest.mark.parametrize("gone", [0.2, 0.5, 0.9])
def test_a_picture_whose_lower_part_is_lost_is_refused(whole, gone):
    """The rest is filled with one gray: measured by the background, that is a lawn without a leaf."""
    cut = whole[: scan_start(whole) + int((1 - gone) * (len(whole) - scan_start(whole)))]
    with pytest.raises(PhotoRefused, match="damaged"):
        decode(cut.rstrip(b"\xff") + b"\xff\xd9", name="photo.jpg")


@pytest.mark.parametrize(("stray", "fine"), [(9, True), (12, True), (20, False), (400, False)])
def test_a_few_stray_bytes_before_the_end_are_noted_and_more_are_damage(whole, stray, fine):
    """The decoder reads some bytes ahead, so that it counts a few less than there are."""
    data = whole[:-2] + b"\x11" * stray + whole[-2:]
    if fine:
        photo = decode(data, name="photo.jpg")
        assert photo.notes == (STRAY_BYTES,)
        np.testing.assert_array_equal(photo.rgb, decode(whole, name="photo.jpg").rgb)
    else:
        with pytest.raises(PhotoRefused, match=r"damaged .*\d+ extraneous bytes"):
            decode(data, name="photo.jpg")


def shifted(rgb: np.ndarray, row: int, col: int, rows: int = 16) -> np.ndarray:
    """Return a picture whose color is another from one block on."""
    rgb = rgb.astype(int)
    for part in (rgb[row : row + rows, col:], rgb[row + rows :]):
        part += [32, 0, -24]
    return np.clip(rgb, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("sampling", ["4:2:0", "4:4:4"])
@pytest.mark.parametrize("col", [0, 640])
def test_a_picture_whose_rest_has_another_color_is_noted(whole, col, sampling):
    rgb = decode(whole, name="photo.jpg").rgb
    for row, expected in ((320, (SEAM,)), (327, ())):
        out = io.BytesIO()
        Image.fromarray(shifted(rgb, row, col, 16 if sampling == "4:2:0" else 8)).save(
            out, "JPEG", quality=92, subsampling=sampling
        )
        for least_side in (None, 800):
            assert decode(out.getvalue(), name="photo.jpg", least_side=least_side).notes == expected


def test_no_photograph_has_a_seam():
    """Photographs of skimage.data, and the sample lawn, cut at several heights."""
    from skimage import data

    pictures = [data.astronaut(), data.coffee(), data.chelsea(), data.rocket()]
    pictures += [np.asarray(Image.open(path).convert("RGB")) for path in sorted(SAMPLE.glob("*.jpg"))[::3]]
    for picture in pictures:
        for start in range(0, 16, 5):
            assert largest_step(picture[start:], 16) < LEAST_STEP


@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("interval_copied", TWICE),
        ("step_changed", ODD_TABLE),
        ("tables_swapped", ODD_TABLE),
        ("colors_renamed", ODD_COLORS),
    ],
)
def test_a_cut_that_the_decoder_does_not_see_is_noted(whole, way, said):
    out, rng = io.BytesIO(), np.random.default_rng(5)
    Image.open(io.BytesIO(whole)).save(out, "JPEG", quality=90, restart_marker_rows=1)
    plain = out.getvalue()
    assert decode(plain, name="photo.jpg").notes == ()
    cut = getattr(jpeg_surgery, way)(plain, rng)
    assert decode(cut, name="photo.jpg").notes[:1] == (said,)


def test_no_whole_file_is_called_damaged(whole):
    """Every quality of libjpeg, and a white sheet with restart marks, whose rows are all alike."""
    picture = Image.open(io.BytesIO(whole)).resize((64, 48))
    for quality in range(1, 101, 3):
        for kind in ({}, {"progressive": True}, {"subsampling": "4:4:4", "keep_rgb": True}):
            out = io.BytesIO()
            picture.save(out, "JPEG", quality=quality, **kind)
            assert damage_in(out.getvalue()) == ""
    Image.new("RGB", (1600, 1200), "white").save(out := io.BytesIO(), "JPEG", restart_marker_rows=1)
    assert damage_in(out.getvalue()) == ""


def test_a_picture_of_thousands_of_scans_is_refused_at_once():
    """A progressive file may repeat its scans: each takes the decoder over all blocks again."""
    out = io.BytesIO()
    Image.fromarray(np.random.default_rng(0).integers(0, 255, (300, 400, 3), dtype=np.uint8)).save(
        out, "JPEG", progressive=True
    )
    data = out.getvalue()
    assert 5 < data.count(b"\xff\xda") < 20
    decode(data, name="progressive.jpg")
    last = data.rfind(b"\xff\xda")
    scan = data[last : data.rfind(b"\xff\xd9")]
    many = data[:last] + scan * (MOST_SCANS + 1) + b"\xff\xd9"
    start = time.monotonic()
    with pytest.raises(PhotoRefused, match="scans"):
        decode(many, name="many.jpg")
    assert time.monotonic() - start < 1
