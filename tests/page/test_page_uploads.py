"""Photos sent to the page, whole and broken, well and ill meant, and what the page hands out: over real HTTP."""

from __future__ import annotations

import asyncio
import io
import json
import os
import socket
import struct
import time
import zlib

import numpy as np
import pytest
from page_serving import serving
from PIL import Image

from swardmark.common.errors import PhotoRefused
from swardmark.door import uploads
from swardmark.lawn.folder import start_lawn
from swardmark.page import routes

GPS_IFD, MAKE = 34853, 271


@pytest.fixture(scope="module")
def lawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("uploads") / "lawn"
    start_lawn(folder)
    return folder


@pytest.fixture(scope="module")
def served(lawn):
    with serving(lawn) as page:
        yield page


def picture(kind: str = "JPEG", *, seed: int = 1, size=(400, 300), **options) -> bytes:
    pixels = np.random.default_rng(seed).integers(0, 255, (size[1], size[0], 3), np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind, **options)
    return out.getvalue()


def wide_png(width: int, height: int) -> bytes:
    """A whole PNG (W3C 2003, chapter 5) that says it is enormous and holds next to nothing."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(100))), (b"IEND", b""))
    parts = [
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def send(served, data: bytes, name: str, more: str = "") -> tuple[int, dict]:
    status, text = served.ask("PUT", f"/photos?name={name}{more}", data)
    return status, json.loads(text)


def files_below(folder) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_a_photo_is_added_once_whatever_it_is_called(served, lawn):
    data = picture(seed=2)
    assert send(served, data, "2026-06-09.jpg")[1]["state"] == "added"
    assert (lawn / "photos/2026-06-09.jpg").read_bytes() == data
    status, said = send(served, data, "other%20name%202026-06-10.jpg")
    assert (status, said["state"]) == (200, "known")
    assert not (lawn / "photos/other name 2026-06-10.jpg").exists()


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("..%2F..%2Fevil-2026-06-01.jpg", "evil-2026-06-01.jpg"),
        ("C%3A%5Cphotos%5C2026-06-02%20a.jpg", "2026-06-02 a.jpg"),
        ("2026-06-04%3Cscript%3E.jpg", "2026-06-04_script_.jpg"),
        ("2026-06-05%20%E8%8A%9D%F0%9F%8C%B1.png", "2026-06-05 芝🌱.jpg"),
        ("2026-06-06%00.jpg", "2026-06-06_.jpg"),
        ("2026-06-07" + "x" * 400 + ".jpg", "2026-06-07" + "x" * 110 + ".jpg"),
    ],
)
def test_names_cannot_lead_out_of_the_folder(served, lawn, name, kept):
    before = files_below(lawn.parent)
    status, said = send(served, picture(seed=len(name)), name)
    assert (status, said["state"]) == (200, "added"), said
    new = {path for path in files_below(lawn.parent) - before if not path.startswith("lawn/record.sqlite")}
    assert f"lawn/photos/{kept}" in new
    assert {path for path in new if "out/" not in path} == {f"lawn/photos/{kept}"}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "The file is empty"),
        (b"GIF89a" + b"0" * 100, "Not a photo"),
        (b"<html><script>alert(1)</script>", "Not a photo"),
        (picture()[:5000], "The JPEG is cut off"),
        (picture(size=(60, 50)), "only 60 x 50 pixels"),
        (wide_png(65_535, 65_535), "The picture is too large"),
    ],
    ids=["empty", "gif", "html", "cut off", "tiny", "huge"],
)
def test_what_is_no_photo_is_refused_with_its_reason(served, lawn, data, words):
    before = files_below(lawn)
    status, said = send(served, data, "2026-06-20.jpg")
    assert (status, said["state"]) == (422, "refused")
    assert words in said["say"]
    assert {path for path in files_below(lawn) - before if path.startswith("photos")} == set()


def test_a_photo_without_a_day_is_asked_for_one(served, lawn):
    data = picture(seed=40)
    said = send(served, data, "IMG_1.jpg")[1]
    assert (said["state"], said["needs_day"]) == ("refused", True)
    for day in ("soon", "1904-01-01", "2099-01-01"):
        assert send(served, data, "IMG_1.jpg", f"&date={day}")[0] == 422
    assert send(served, data, "IMG_1.jpg", "&date=2026-06-11")[1]["state"] == "added"
    assert "2026-06-11" in (lawn / "marks.toml").read_text()


def test_a_photo_point_cannot_lead_out_of_the_folder(served, lawn):
    before = files_below(lawn.parent)
    for point in ("..", "..%2F..", "a%2Fb", "%2Ftmp"):
        assert send(served, picture(seed=41), "2026-06-21.jpg", f"&point={point}")[0] == 422
    assert files_below(lawn.parent) == before


def test_too_large_is_refused_before_it_is_sent(served):
    own = f"Host: 127.0.0.1:{served.port}\r\nCookie: {served.cookie}\r\nContent-Length: {{}}"
    ask = f"PUT /photos?name=a.jpg HTTP/1.1\r\n{own}\r\n\r\n"
    for length, status in ((70_000_000, b" 422 "), (10**12, b" 413 ")):
        with socket.create_connection(("127.0.0.1", served.port), timeout=10) as link:
            link.sendall(ask.format(length).encode())
            assert status in link.recv(2000).split(b"\r\n")[0]


@pytest.mark.parametrize(
    "path",
    [
        "/take/../lawn.toml.bak", "/take/..%2flawn.toml", "/take/%2e%2e%2f%2e%2e%2fetc%2fpasswd", "/take/record.sqlite",
        "/picture/view/..%2f..%2flawn.toml", "/picture/view//etc/passwd", "/picture/full/2026-06-09.jpg",
        "/ground/main/..%2f..%2fetc%2fpasswd", "/ground/..%2f../2026-06-09.jpg", "/picture/view/marks.toml",
    ],
)  # fmt: skip
def test_nothing_else_can_be_read(served, path):
    assert served.ask("GET", path)[0] == 404


def test_a_link_that_leads_out_of_the_folder_is_not_shown(served, lawn, tmp_path):
    (tmp_path / "private.jpg").write_bytes(picture(seed=50))
    link = lawn / "photos" / "2026-06-25.jpg"
    link.symlink_to(tmp_path / "private.jpg")
    try:
        assert served.ask("GET", "/picture/view/2026-06-25.jpg")[0] == 404
    finally:
        link.unlink()


def test_shown_pictures_carry_no_exif(served):
    exif = Image.Exif()
    exif[MAKE] = "Camera of the keeper"
    exif.get_ifd(GPS_IFD)[2] = (48.0, 12.0, 0.0)
    data = picture(seed=60, exif=exif)
    assert b"Camera of the keeper" in data
    assert send(served, data, "2026-06-26.jpg")[1]["state"] == "added"
    status, _, headers = served.ask_whole("GET", "/picture/view/2026-06-26.jpg")
    assert (status, headers["content-type"]) == (200, "image/webp")
    raw = served.ask("GET", "/picture/view/2026-06-26.jpg")[1]
    assert "EXIF" not in raw
    assert "Camera" not in raw


def test_a_killed_server_leaves_no_half_file_and_goes_on_after(tmp_path):
    folder = tmp_path / "lawn"
    start_lawn(folder)
    data = picture(seed=70, size=(1600, 1200))
    with serving(folder) as page:
        link = socket.create_connection(("127.0.0.1", page.port), timeout=10)
        own = f"Host: 127.0.0.1:{page.port}\r\nCookie: {page.cookie}\r\nContent-Length: {len(data)}"
        ask = f"PUT /photos?name=2026-06-09.jpg HTTP/1.1\r\n{own}"
        link.sendall(f"{ask}\r\n\r\n".encode() + data[: len(data) // 2])
        time.sleep(0.3)
        page.kill()
        link.close()
    assert files_below(folder) == {"lawn.toml"}
    leftover = folder / "photos" / ".writing-x.part"
    leftover.write_bytes(b"half")
    os.utime(leftover, (1, 1))
    with serving(folder) as page:
        assert not leftover.exists()
        assert send(page, data, "2026-06-09.jpg")[1]["state"] == "added"
        assert (folder / "photos/2026-06-09.jpg").read_bytes() == data


def test_a_photo_that_comes_too_slowly_is_refused(monkeypatch):
    class Slow:
        headers: dict[str, str] = {}  # noqa: RUF012

        async def stream(self):
            yield b"\xff\xd8"
            await asyncio.sleep(60)

    monkeypatch.setattr(uploads, "SILENT_S", 0.05)
    with pytest.raises(PhotoRefused, match="too slow"):
        asyncio.run(routes.whole_body(Slow(), "a.jpg"))


def test_a_photo_that_grows_too_large_on_the_way_is_refused(monkeypatch):
    class Endless:
        headers: dict[str, str] = {}  # noqa: RUF012

        async def stream(self):
            while True:
                yield b"x" * 1000

    monkeypatch.setattr(routes, "MOST_PHOTO_BYTES", 10_000)
    with pytest.raises(PhotoRefused, match="larger than"):
        asyncio.run(routes.whole_body(Endless(), "a.jpg"))
