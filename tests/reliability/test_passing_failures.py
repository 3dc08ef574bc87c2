"""A failure that passes is not kept: the next run measures the photo that this one could not."""

from __future__ import annotations

import datetime as dt
import io
import pickle
from contextlib import closing

import pytest
from kill_runs import small_lawn
from PIL import Image

from swardmark.common.errors import NoDate, PhotoUnread, UsageError
from swardmark.lawn import photos as lawn_photos
from swardmark.lawn.folder import add_photos, start_lawn
from swardmark.measure.covers import measure_covers
from swardmark.photo import day
from swardmark.record.store import Record
from swardmark.scale import remote
from swardmark.scale.remote import RemotePhoto


@pytest.fixture
def lawn(tmp_path):
    return small_lawn(tmp_path / "lawn")


def refused(covers):
    return {entry.name: entry.refusal for entry in covers.refused}


def test_a_file_that_cannot_be_read_once_is_measured_the_next_time(lawn, monkeypatch):
    """Its second read fails, after its content hash is known: a disk or a share that hiccups."""
    from swardmark.record.inventory import Reader

    def take(self, file):
        if file.name == victim:
            raise PhotoUnread("cannot be read (Input/output error)", where=file.name, remedy="Check the file")
        return file.read()

    victim = sorted(path.name for path in (lawn / "photos").iterdir())[1]
    with monkeypatch.context() as patched:
        patched.setattr(Reader, "take", take)
        assert refused(measure_covers(lawn)) == {victim: "cannot be read (Input/output error)"}
    again = measure_covers(lawn)
    assert (again.refused, again.newly_measured) == ((), 1)


def test_read_errors_of_the_system_pass_and_refusals_of_the_content_stay(lawn, monkeypatch):
    photo = next(iter(sorted((lawn / "photos").iterdir())))
    photo.write_bytes(b"not a photo")
    assert "not a photo" in str(refused(measure_covers(lawn)))
    with closing(Record(lawn / "record.sqlite")) as record:
        rows = record._db.execute("SELECT count(*) FROM photo WHERE refusal != ''").fetchone()
    assert rows == (1,)
    with pytest.raises(PhotoUnread):
        lawn_photos.read_bytes(lawn / "photos/gone.jpg")


def test_a_clock_that_is_wrong_once_refuses_nothing_for_ever(lawn, monkeypatch):
    """The day is judged when it is used: a machine that woke up in 2020 says so, and once set right measures on."""

    class Early(dt.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2020, 1, 1)

    with monkeypatch.context() as patched:
        patched.setattr(day.dt, "datetime", Early)
        patched.setattr(day, "date_in_name", lambda name: None)
        with pytest.raises(UsageError, match=r"is dated 2026-\d\d-\d\d, in the future.*clock"):
            measure_covers(lawn)
    assert measure_covers(lawn).refused == ()


def shot(day: str) -> bytes:
    exif, out = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8769)[36867] = f"{day.replace('-', ':')} 10:00:00"
    Image.new("RGB", (300, 260), (90, 120, 60)).save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_a_camera_that_is_years_ahead_is_told_of_its_clock(tmp_path):
    lawn = start_lawn(tmp_path / "lawn")
    (tmp_path / "IMG_1.jpg").write_bytes(shot("2126-06-03"))
    (tmp_path / "2026-06-04.jpg").write_bytes(shot("2126-06-04"))
    done = add_photos(lawn, [tmp_path / "IMG_1.jpg", tmp_path / "2026-06-04.jpg"])
    assert done.added == ("2026-06-04.jpg",), "its name spells the day"
    assert "is dated 2126-06-03, in the future" in str(done.refused[0])
    assert "clock" in done.refused[0].remedy
    moved = pickle.loads(pickle.dumps(done.refused[0]))
    assert isinstance(moved, NoDate)
    assert str(moved) == str(done.refused[0])


def test_a_day_in_the_future_is_no_day_for_a_photo(run, tmp_path):
    start_lawn(tmp_path / "lawn")
    (tmp_path / "IMG_1.jpg").write_bytes(shot("2026-06-03"))
    outcome = run("add", tmp_path / "lawn", tmp_path / "IMG_1.jpg", "--date", "2126-06-03")
    assert outcome.code == 2
    assert "--date: 2126-06-03 lies in the future" in outcome.err
    assert list((tmp_path / "lawn/photos").iterdir()) == []


@pytest.fixture
def asked(monkeypatch):
    """Make reads over the network fail as often as is told; returns the pauses that were made."""
    pauses: list[float] = []
    monkeypatch.setattr(remote.time, "sleep", pauses.append)
    return pauses


def test_a_remote_read_is_tried_again_with_longer_pauses(asked, monkeypatch):
    answers = iter([OSError("503 Service Unavailable"), TimeoutError("timed out"), b"bytes"])

    def whole(url):
        answer = next(answers)
        if isinstance(answer, Exception):
            raise answer
        return answer

    monkeypatch.setattr(remote, "_whole", whole)
    photo = RemotePhoto("main", lawn_photos.Path("a.jpg"), "a.jpg", url="memory://a.jpg")
    assert photo.read() == b"bytes"
    assert asked == sorted(asked)
    assert len(asked) == 2


@pytest.mark.parametrize(
    "error", [FileNotFoundError("gone"), PermissionError("no"), OSError("503"), ValueError("odd")]
)
def test_a_remote_read_that_keeps_failing_is_never_recorded(asked, monkeypatch, error):
    def whole(url):
        raise error

    monkeypatch.setattr(remote, "_whole", whole)
    photo = RemotePhoto("main", lawn_photos.Path("a.jpg"), "a.jpg", url="memory://a.jpg")
    with pytest.raises(PhotoUnread):
        photo.read()
    assert len(asked) == (0 if isinstance(error, (FileNotFoundError, PermissionError)) else 2)


def test_a_remote_photo_that_fails_at_its_second_read_is_measured_the_next_time(lawn, monkeypatch, asked):
    """The smallest input that showed it: one 503 at the second read."""
    fsspec = pytest.importorskip("fsspec")
    from swardmark.measure.covers import measure_covers as measured
    from swardmark.scale.remote import remote_photos

    store = fsspec.filesystem("memory")
    for path in (lawn / "photos").iterdir():
        store.pipe(f"/passing/{path.name}", path.read_bytes())
    victim = sorted(path.name for path in (lawn / "photos").iterdir())[1]
    real, reads = remote._whole, []

    def whole(url):
        reads.append(url)
        if url.endswith(victim) and reads.count(url) > 1:
            raise OSError("503 Service Unavailable")
        return real(url)

    monkeypatch.setattr(remote, "_whole", whole)
    first = measured(lawn, files=remote_photos("memory://passing"))
    assert "503" in refused(first)[victim]
    monkeypatch.setattr(remote, "_whole", real)
    again = measured(lawn, files=remote_photos("memory://passing"))
    assert (again.refused, again.newly_measured) == ((), 1)
