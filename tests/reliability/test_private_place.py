"""Where the lawn is, no output tells: GPS positions of photos stay in the photos, or are taken out of the copies.

The tags are those of JEITA CP-3451 (EXIF), the XMP properties those of Adobe's XMP specification part 2.
"""

from __future__ import annotations

import base64
import contextlib
import io
import re
import shutil
import struct
import zlib

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
    assert scan_of(clean) == scan_of(data)
    exif = Image.open(io.BytesIO(clean)).getexif()
    assert dict(exif.get_ifd(GPS)) == {}
    assert GPS not in exif
    assert (exif[271], exif.get_ifd(0x8769)[DATE]) == ("Maker", "2026:06:03 10:15:00")
    assert exif.get_ifd(0x8769)[41989] == 26
    assert b"GPS" not in clean
    assert has_place(data)
    assert not has_place(clean)
    np.testing.assert_array_equal(decode(clean, name="a").rgb, decode(data, name="a").rgb)
    assert without_place(clean, name="a.jpg") == clean


TOWN = b"Tern-on-Sea"


def packet(prefix: str, *, element: bool = False) -> bytes:
    """An XMP packet that names a town and a latitude under a prefix of its own (XML namespaces bind any prefix)."""
    spaces = (
        f'xmlns:{prefix}="http://ns.adobe.com/exif/1.0/" xmlns:Iptc4xmpCore="http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/"'
        ' xmlns:photoshop="http://ns.adobe.com/photoshop/1.0/"'
    )
    latitude = f"<{prefix}:GPSLatitude>38,53.85N</{prefix}:GPSLatitude>" if element else ""
    return (
        f'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        f'<rdf:Description {spaces} photoshop:City="{TOWN.decode()}" Iptc4xmpCore:Location="{TOWN.decode()}">'
        f"{latitude}</rdf:Description></rdf:RDF></x:xmpmeta>"
    ).encode()


def iptc() -> bytes:
    """A Photoshop block (8BIM 0x0404) with the IPTC record 2:90, City (IIM 4.2), and 2:92, Sublocation."""
    record = b"".join(b"\x1c\x02" + bytes([n]) + struct.pack(">H", len(TOWN)) + TOWN for n in (90, 92))
    return (
        b"Photoshop 3.0\0"
        + b"8BIM\x04\x04\0\0"
        + struct.pack(">I", len(record))
        + record
        + bytes(len(record) % 2)
    )


def segment(marker: int, body: bytes) -> bytes:
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(body) + 2) + body


XMP_ID, MORE_XMP_ID = b"http://ns.adobe.com/xap/1.0/\0", b"http://ns.adobe.com/xmp/extension/\0"
HIDING_PLACES = {
    "XMP, usual prefix": segment(0xE1, XMP_ID + packet("exif", element=True)),
    "XMP, another prefix": segment(0xE1, XMP_ID + packet("e", element=True)),
    "XMP, second part": segment(0xE1, MORE_XMP_ID + b"0" * 32 + struct.pack(">II", 999, 0) + packet("exif")),
    "IPTC": segment(0xED, iptc()),
    "comment": segment(0xFE, b"taken at " + TOWN),
    "a maker's own segment": segment(0xE5, b"SAMPLE\0" + TOWN),
    "another thumbnail": segment(0xE0, b"JFXX\0\x10" + TOWN),
    "FlashPix": segment(0xE2, b"FPXR\0" + TOWN),
}


@pytest.mark.parametrize("place", HIDING_PLACES)
def test_no_segment_of_a_jpeg_keeps_the_town(plain, place):
    data = located(plain)
    hidden = data[:2] + HIDING_PLACES[place] + data[2:]
    assert TOWN in hidden
    clean = without_place(hidden, name="a.jpg")
    assert TOWN not in clean
    assert b"GPS" not in clean
    assert scan_of(clean) == scan_of(data)


def test_a_comment_between_two_scans_goes_too(plain):
    data = located(plain, progressive=True)
    second = data.index(b"\xff\xda", data.index(b"\xff\xda") + 2)
    hidden = data[:second] + HIDING_PLACES["comment"] + data[second:]
    assert TOWN not in without_place(hidden, name="a.jpg")
    np.testing.assert_array_equal(
        decode(without_place(hidden, name="a"), name="a").rgb, decode(data, name="a").rgb
    )


@pytest.mark.parametrize("tag", [270, 315, 700, 33432, 33723, 34377, 40092, 40094, 0x8769])
def test_no_text_of_exif_keeps_the_town(plain, tag):
    """Description, artist, XMP, copyright, IPTC, Photoshop, Windows' comment, keywords; comment, maker's note."""
    exif, out = Image.Exif(), io.BytesIO()
    exif[271], exif[274] = "Maker", 6
    if tag == 0x8769:
        notes = {37510: b"ASCII\0\0\0" + TOWN, 37500: TOWN + b" note", DATE: "2026:06:03 10:15:00"}
        exif.get_ifd(tag).update(notes)
    else:
        exif[tag] = TOWN if tag in (700, 33723, 34377, 40092, 40094) else TOWN.decode()
    plain.save(out, "JPEG", exif=exif)
    assert TOWN in out.getvalue()
    clean = without_place(out.getvalue(), name="a.jpg")
    assert TOWN not in clean
    assert Image.open(io.BytesIO(clean)).getexif()[274] == 6


def streams_in(data: bytes) -> list[bytes]:
    """Every stretch of a file that zlib can unpack, and the file itself."""
    found = [data]
    for start in (match.start() for match in re.finditer(rb"\x78[\x01\x5e\x9c\xda]", data)):
        with contextlib.suppress(zlib.error):
            found.append(zlib.decompressobj().decompress(data[start:]))
    return found


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


RAW_PROFILE = b"\niptc\n" + str(len(TOWN)).encode().rjust(8) + b"\n" + TOWN.hex().encode() + b"\n"
PNG_PLACES = {
    "tEXt": chunk(b"tEXt", b"Comment\0" + TOWN),
    "zTXt": chunk(b"zTXt", b"Comment\0\0" + zlib.compress(TOWN)),
    "iTXt": chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + packet("e", element=True)),
    "iTXt, packed": chunk(b"iTXt", b"XML:com.adobe.xmp\0\1\0\0\0" + zlib.compress(packet("e", element=True))),
    "raw profile": chunk(b"zTXt", b"Raw profile type iptc\0\0" + zlib.compress(RAW_PROFILE)),
    "a private chunk": chunk(b"teRn", TOWN),
}


@pytest.mark.parametrize("place", PNG_PLACES)
@pytest.mark.parametrize("behind", [False, True], ids=["before the pixels", "behind them"])
def test_no_chunk_of_a_png_keeps_the_town(plain, place, behind):
    data = located(plain, "PNG")
    at = data.index(b"IEND") - 4 if behind else 33
    hidden = data[:at] + PNG_PLACES[place] + data[at:] + TOWN
    clean = without_place(hidden, name="a.png")
    for stream in streams_in(clean):
        assert TOWN not in stream
        assert TOWN.hex().encode() not in stream
        assert b"GPS" not in stream
    assert not has_place(clean)
    photo = Image.open(io.BytesIO(clean))
    assert photo.getexif().get_ifd(0x8769)[DATE] == "2026:06:03 10:15:00"
    np.testing.assert_array_equal(decode(clean, name="a").rgb, decode(data, name="a").rgb)


def test_a_webp_keeps_its_picture_and_its_day_alone(plain):
    data = located(plain, "WEBP", xmp=packet("e", element=True), lossless=True)
    assert TOWN in data
    clean = without_place(data + TOWN, name="a.webp")
    assert TOWN not in clean
    assert not has_place(clean)
    assert Image.open(io.BytesIO(clean)).getexif().get_ifd(0x8769)[DATE] == "2026:06:03 10:15:00"
    np.testing.assert_array_equal(decode(clean, name="a").rgb, decode(data, name="a").rgb)


@pytest.mark.parametrize("tag", [700, 33723, 34377])
def test_a_tiff_with_a_town_in_it_is_refused(plain, tag):
    from PIL import TiffImagePlugin

    told, out = TiffImagePlugin.ImageFileDirectory_v2(), io.BytesIO()
    told[tag] = TOWN
    told.tagtype[tag] = 7
    plain.save(out, "TIFF", tiffinfo=told)
    with pytest.raises(PhotoRefused, match="cannot be removed from a TIFF file"):
        without_place(out.getvalue(), name="a.tif")


def test_a_heic_with_an_xmp_packet_is_refused(plain):
    out = io.BytesIO()
    plain.save(out, "HEIF", xmp=packet("e"))
    with pytest.raises(PhotoRefused, match="cannot be removed from a HEIC file"):
        without_place(out.getvalue(), name="a.heic")


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


@pytest.mark.parametrize("kind", ["HEIF"])
def test_other_formats_are_refused_where_they_hold_a_place_and_kept_where_not(plain, kind):
    with pytest.raises(PhotoRefused, match="cannot be removed") as refusal:
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
    (tmp_path / "2026-06-04.heic").write_bytes(located(plain, "HEIF"))
    refused = run("add", lawn, tmp_path / "2026-06-04.heic", "--strip-gps")
    assert refused.code == 1
    assert "cannot be removed from a HEIC file" in refused.err
    assert add_photos(read_lawn(lawn), [tmp_path / "2026-06-04.heic"]).added == ("2026-06-04.heic",)


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
