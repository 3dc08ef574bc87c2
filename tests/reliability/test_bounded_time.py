"""No photo holds up measuring, the page's other pictures or its uploads: what takes long is bounded or set aside."""

from __future__ import annotations

import asyncio
import io
import threading
import time

import numpy as np
import pytest
from PIL import Image

from swardmark.common import deadline
from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.lawn.toml import read_lawn
from swardmark.measure import survey as surveying
from swardmark.page import sentences, work
from swardmark.page.desk import Desk
from swardmark.page.pictures import Pictures
from swardmark.photo import header
from swardmark.photo.header import read_header


def progressive(scans: int = 10, *, size: tuple[int, int] = (320, 260)) -> bytes:
    """Return a small progressive JPEG whose last scan is repeated until there are so many."""
    out = io.BytesIO()
    rgb = np.random.default_rng(0).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
    Image.fromarray(rgb).save(out, "JPEG", progressive=True)
    data = out.getvalue()
    last = data.rfind(b"\xff\xda")
    scan = data[last : data.rfind(b"\xff\xd9")]
    return data[:last] + scan * (scans + 1 - data.count(b"\xff\xda")) + b"\xff\xd9"


@pytest.fixture
def held():
    """Something that goes on until the test is over."""
    end = threading.Event()
    yield lambda *_, **__: end.wait(60)
    end.set()


def test_work_that_is_late_is_left_behind_and_its_faults_are_passed_on():
    end = threading.Event()
    assert deadline.within(5, lambda: 7) == 7
    with pytest.raises(KeyError):
        deadline.within(5, lambda: {}["a"])
    assert not deadline.any_left_behind()
    with pytest.raises(deadline.Late):
        deadline.within(0.05, lambda: end.wait(20))
    assert deadline.any_left_behind()
    end.set()
    time.sleep(0.1)
    assert not deadline.any_left_behind()


def test_a_photo_that_takes_too_long_is_refused_and_measured_by_the_next_run(unmeasured, monkeypatch, held):
    """The others are measured, and the record does not keep what this machine could not do in time today."""
    plain, names = surveying.decode, sorted(path.name for path in (unmeasured / "photos").iterdir())
    slow = names[-1]

    def decoding(data, *, name, **options):
        return held() if name == slow else plain(data, name=name, **options)

    lawn = read_lawn(unmeasured)
    monkeypatch.setattr(surveying, "decode", decoding)
    monkeypatch.setattr(surveying, "LONGEST_S", 20.0)
    with surveying.open_record(lawn) as record:
        surveying.survey(lawn, record, files=[f for f in lawn.photos() if f.name != slow])
        monkeypatch.setattr(surveying, "LONGEST_S", 0.3)
        done = surveying.survey(lawn, record)
        assert [(e.name, e.refusal) for e in done.refused] == [(slow, "measuring it took longer than 0 s")]
        assert len(done.measured) == len(names) - 1
        monkeypatch.undo()
        assert surveying.survey(lawn, record).refused == ()


def test_the_largest_work_that_a_decoder_is_given_is_limited(monkeypatch):
    assert read_header(progressive(40), name="a.jpg").scans == 40
    monkeypatch.setattr(header, "MOST_SCANNED_PX", 320 * 260 * 40)
    read_header(progressive(40), name="a.jpg")
    with pytest.raises(PhotoRefused, match="in 41 scans"):
        read_header(progressive(41), name="a.jpg")


def test_slow_photos_hold_up_neither_thumbnails_nor_uploads(tmp_path, monkeypatch, held):
    """Four slow ones asked for before: the plain one, and a thread for an upload, come at once."""
    from swardmark.page import pictures as making

    photos = tmp_path / "photos"
    photos.mkdir()
    (tmp_path / "lawn.toml").write_text('name = "a"')
    for number in range(8):
        (photos / f"slow{number}.jpg").write_bytes(progressive(40 + number))
    (photos / "plain.jpg").write_bytes(progressive())
    monkeypatch.setattr(header, "LABORIOUS_PX", 320 * 260 * 30)
    plain = making._seen
    monkeypatch.setattr(
        making, "_seen", lambda file, *rest: held() if "slow" in file.name else plain(file, *rest)
    )

    async def ask() -> tuple[bytes | None, str]:
        made = Pictures(Desk(tmp_path))
        waiting = [asyncio.ensure_future(made.photo(f"slow{n}.jpg", "thumb")) for n in range(8)]
        await asyncio.sleep(0.05)
        picture = await asyncio.wait_for(made.photo("plain.jpg", "thumb"), 5)
        upload = await asyncio.wait_for(asyncio.to_thread(lambda: "added"), 5)
        assert not any(one.done() for one in waiting)
        for one in waiting:
            one.cancel()
        made.close()
        return picture, upload

    picture, upload = asyncio.run(ask())
    assert picture is not None and picture[8:12] == b"WEBP"
    assert upload == "added"


def _say_nothing(folder, told):
    told(1, 2, "a")
    time.sleep(60)


def _say_so(folder, told):
    return "done"


def test_a_job_of_the_page_that_says_nothing_more_is_ended(tmp_path, monkeypatch):
    worker, told = work.Worker(), []
    try:
        assert worker.do(_say_so, tmp_path, lambda *_: None) == "done"
        monkeypatch.setattr(work, "SILENT_S", 0.5)
        with pytest.raises(UsageError, match="said nothing") as error:
            worker.do(_say_nothing, tmp_path, lambda *what: told.append(what))
        assert error.value.remedy == sentences.SILENT_REMEDY
        assert told == [(1, 2, "a")]
        monkeypatch.undo()
        assert worker.do(_say_so, tmp_path, lambda *_: None) == "done"
    finally:
        worker.stop()


def _leave_behind(folder, told):
    try:
        deadline.within(0.05, lambda: time.sleep(60))
    except deadline.Late:
        return "late"


def test_after_a_photo_that_was_late_the_page_measures_in_another_process(tmp_path):
    worker = work.Worker()
    try:
        assert worker.do(_leave_behind, tmp_path, lambda *_: None) == "late"
        first = worker._process
        first.join(5)
        assert not first.is_alive()
        assert worker.do(_say_so, tmp_path, lambda *_: None) == "done"
        assert worker._process is not first
    finally:
        worker.stop()
