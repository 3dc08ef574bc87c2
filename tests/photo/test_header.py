"""The header: which of a camera's dates are believed, and which sizes are refused before a pixel is decoded."""

from __future__ import annotations

import datetime as dt
import io

import numpy as np
import pytest
from PIL import Image

from swardmark.common.errors import PhotoRefused
from swardmark.photo import header
from swardmark.photo.day import usable_moment
from swardmark.photo.header import read_header

DATE_ORIGINAL = 36867


def jpeg(when: str | None = None, size=(320, 260)) -> bytes:
    exif = Image.Exif()
    if when is not None:
        exif.get_ifd(0x8769).update({DATE_ORIGINAL: when})
    out = io.BytesIO()
    Image.fromarray(np.full((size[1], size[0], 3), 90, np.uint8)).save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(
    ("days", "believed"), [(-400, True), (0, True), (1, True), (30, False), (400, False)]
)
def test_a_camera_s_date_in_the_future_is_not_believed(days, believed):
    """A day ahead may be another time zone; a month ahead is a camera whose clock was never set right."""
    when = dt.datetime.now() + dt.timedelta(days=days)
    found = read_header(jpeg(f"{when:%Y:%m:%d %H:%M:%S}"), name="IMG_1.jpg")
    assert found.taken_at is not None, (
        "what the file says is what is recorded: the wrong clock may be this machine's"
    )
    usable = usable_moment(found.taken_at, found.taken_from, "IMG_1.jpg")
    assert (usable is not None) is believed
    named = usable_moment(found.taken_at, found.taken_from, "2026-06-03.jpg")
    assert named == ((found.taken_at, "camera") if believed else (dt.datetime(2026, 6, 3), "file name"))


def test_more_pixels_than_can_be_measured_are_refused_by_the_header_alone(monkeypatch):
    monkeypatch.setattr(header, "MOST_PIXELS", 300 * 300)
    read_header(jpeg(size=(300, 300)), name="small.jpg")
    with pytest.raises(PhotoRefused, match="340 x 300 pixels"):
        read_header(jpeg(size=(340, 300)), name="large.jpg")
