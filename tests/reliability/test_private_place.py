"""Where the lawn is, no output tells: GPS positions of photos stay in the photos, or are taken out of the copies.

The tags are those of JEITA CP-3451 (EXIF), the XMP properties those of Adobe's XMP specification part 2.
"""

from __future__ import annotations

import base64
import io
import re
import shutil

import numpy as np
import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from kill_runs import small_lawn
from PIL import Image

from swardmark.common.errors import PhotoRefused
from swardmark.lawn.folder import add_photos
from swardmark.lawn.toml import read_lawn
from swardmark.photo.decode import decode
from swardmark.photo.location import has_place, without_place

GPS, DATE = 0x8825, 36867
LATITUDE, LONGITUDE = (38.0, 53.0, 51.57), (77.0, 2.0, 11.83)
XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF><rdf:Description exif:GPSLatitude="38,53.8595N" dc:title="lawn">'
    b"<exif:GPSLongitude>77,2.1972W</exif:GPSLongitude></rdf:Description></rdf:RDF></x:xmpmeta>"
)


def located(photo: Image.Image, kind="JPEG", *, order="II", **options) -> bytes:
    exif = Image.Exif()
    exif.endian = "<" if order == "II" else ">"
    exif[271], exif[274] = "Maker", 1
    exif.get_ifd(0x8769).update({DATE: "2026:06:03 10:15:00", 41989: 26})
    exif.get_ifd(GPS).update({1: "N", 2: LATITUDE, 3: "W", 4: LONGITUDE, 6: 22.0, 29: "2026:06:03"})
    out = io.BytesIO()
    photo.save(out, kind, exif=exif.tobytes() if kind == "HEIF" else exif, **options)
    return out.getvalue()


@pytest.fixture(scope="module")
def plain():
    pillow_heif.register_heif_opener()
    return Image.fromarray(np.random.default_rng(0).integers(0, 255, (260, 320, 3), dtype=np.uint8))


def scan_of(data: bytes) -> bytes:
    """Everything from the quantization tables to the end of the picture."""
    return data[data.index(b"\xff\xdb") :]


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("order", ["II", "MM"])
def test_the_place_is_gone_and_all_else_is_as_it_was(plain, order, progressive):
    data = located(plain, order=order, progressive=progressive, xmp=XMP)
    clean = without_place(data, name="a.jpg")
    assert len(clean) == len(data)
    assert scan_of(clean) == scan_of(data)
    exif = Image.open(io.BytesIO(clean)).getexif()
    assert dict(exif.get_ifd(GPS)) == {}
    assert GPS not in exif
    assert (exif[271], exif.get_ifd(0x8769)[DATE]) == ("Maker", "2026:06:03 10:15:00")
    assert b"GPS" not in clean
    assert b'dc:title="lawn"' in clean
    assert has_place(data)
    assert not has_place(clean)
    np.testing.assert_array_equal(decode(clean, name="a").rgb, decode(data, name="a").rgb)
    assert without_place(clean, name="a.jpg") == clean


@pytest.mark.parametrize("order", ["II", "MM"])
def test_no_byte_of_the_position_is_left(plain, order):
    """The numbers themselves, as the file holds them: a reader that ignores the missing pointer finds zeros."""
    data = located(plain, order=order)
    sign = "<" if order == "II" else ">"
    for degrees, minutes, seconds in (LATITUDE, LONGITUDE):
        pair = np.array([degrees, 1, minutes, 1], f"{sign}u4").tobytes()
        assert pair in data
        assert pair not in without_place(data, name="photo")
        last = np.array([round(seconds * 100), 100], f"{sign}u4").tobytes()
        assert last in data
        assert last not in without_place(data, name="photo")


def test_a_second_picture_behind_the_first_goes_with_its_place(plain):
    both = located(plain) + located(plain)
    assert without_place(both, name="a.jpg") == without_place(located(plain), name="a.jpg")


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "HEIF"])
def test_other_formats_are_refused_where_they_hold_a_place_and_kept_where_not(plain, kind):
    with pytest.raises(PhotoRefused, match="JPEG files only") as refusal:
        without_place(located(plain, kind), name="a")
    assert "Export it as a JPEG" in refusal.value.remedy
    out = io.BytesIO()
    plain.save(out, kind)
    assert without_place(out.getvalue(), name="a") == out.getvalue()


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_damaged_metadata_are_refused_or_come_out_without_a_place(plain, data):
    whole = bytearray(located(plain))
    head = whole.index(b"\xff\xdb")
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(2, head - 1))] = data.draw(st.integers(0, 255))
    try:
        clean = without_place(bytes(whole), name="a.jpg")
    except PhotoRefused:
        return
    try:
        left = Image.open(io.BytesIO(clean)).getexif().get_ifd(GPS)
    except Exception:
        return
    assert 2 not in left
    assert 4 not in left


def test_adding_takes_the_place_out_of_the_copy_and_knows_it_again(run, tmp_path, plain):
    lawn = tmp_path / "lawn"
    assert run("start", lawn).code == 0
    source = tmp_path / "a.jpg"
    source.write_bytes(located(plain))
    assert run("add", lawn, source, "--strip-gps").out == "1 added, 0 already there.\n"
    assert run("add", lawn, source, "--strip-gps").out == "0 added, 1 already there.\n"
    assert not has_place((lawn / "photos/a.jpg").read_bytes())
    assert has_place(source.read_bytes())
    (tmp_path / "2026-06-04.png").write_bytes(located(plain, "PNG"))
    refused = run("add", lawn, tmp_path / "2026-06-04.png", "--strip-gps")
    assert refused.code == 1
    assert "JPEG files only" in refused.err
    assert add_photos(read_lawn(lawn), [tmp_path / "2026-06-04.png"]).added == ("2026-06-04.png",)


def pictures_in(page: str) -> list[bytes]:
    return [
        base64.b64decode(code) for code in re.findall(r"data:image/[a-z+]+;base64,([A-Za-z0-9+/=]+)", page)
    ]


def test_no_output_of_a_lawn_tells_where_it_is(run, tmp_path):
    lawn = small_lawn(tmp_path / "lawn")
    for path in (lawn / "photos").iterdir():
        path.write_bytes(located(Image.open(path).convert("RGB"), quality=92))
        shutil.copystat(lawn / "lawn.toml", path)
    assert all(has_place(path.read_bytes()) for path in (lawn / "photos").iterdir())
    outcome = run("report", lawn, "--json")
    assert outcome.code in (0, 1)
    told = [outcome.out.encode(), outcome.err.encode(), (lawn / "record.sqlite").read_bytes()]
    files = [path for path in (lawn / "out").rglob("*") if path.is_file()]
    assert len(files) > 5
    told += [path.read_bytes() for path in files]
    embedded = pictures_in((lawn / "out/report.html").read_text("utf-8"))
    assert len(embedded) >= 2
    for picture in (*embedded, *(path.read_bytes() for path in files if path.suffix in (".png", ".webp"))):
        exif = Image.open(io.BytesIO(picture)).getexif() if not picture.lstrip().startswith(b"<") else {}
        assert dict(exif) == {}
    for text in told + embedded:
        assert not has_place(text)
        assert not re.search(rb"51\.57|11\.83|38\.8976|77\.0366|38\D{1,3}53\D{1,3}51", text)
        assert b"Maker" not in text
