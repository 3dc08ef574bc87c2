"""Measuring on a Dask cluster: a real scheduler and real workers, and the same table as without them."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from dask_cluster import dask_processes

from swardmark.common.crew import ALONE, CrewLost, Threads
from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.measure import zonal
from swardmark.measure.covers import measure_covers
from swardmark.record import by_crew, shelf
from swardmark.record.inventory import look_at
from swardmark.scale import cluster
from swardmark.scale.cluster import Cluster, _compare, code_here
from swardmark.words.tables import write_cover

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
PHOTOS = 6
OTHER_CODE = "from swardmark import _version\n_version.__version__ = '0.0.9'\n"
BLOCKED = (
    "import sys; sys.modules['{}'] = None; sys.argv = ['swardmark', *{}]; "
    "from swardmark.cli.app import main; main()"
)


@pytest.fixture(scope="module")
def dask(tmp_path_factory):
    with dask_processes(tmp_path_factory.mktemp("dask"), workers=2) as processes:
        yield processes


def some_photos(folder):
    """Copy the sample lawn with its first photos and a file that is none, not measured yet."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    for photo in sorted((folder / "photos").iterdir())[PHOTOS:]:
        photo.unlink()
    (folder / "photos" / "2026-07-02.jpg").write_text("no photo")
    return folder


@pytest.fixture
def lawn(tmp_path):
    return some_photos(tmp_path / "lawn")


@pytest.fixture(scope="module")
def alone(tmp_path_factory, run):
    """What is said and written where no cluster takes part."""
    folder = some_photos(tmp_path_factory.mktemp("alone") / "lawn")
    outcome = run("measure", folder)
    return said_and_written(outcome.code, outcome.out, outcome.err, folder)


def said_and_written(code, out, err, folder):
    return code, out.replace(str(folder), "LAWN"), err, table_of(folder)


def table_of(folder):
    return (folder / "out/cover.csv").read_bytes()


def photos_in(folder):
    """Count the measured photos in the record of a lawn."""
    try:
        with closing(sqlite3.connect(f"{(folder / 'record.sqlite').as_uri()}?mode=ro", uri=True)) as db:
            return db.execute("SELECT count(*) FROM ground_map").fetchone()[0]
    except sqlite3.Error:
        return 0


def workers_of(dask):
    from distributed import Client

    with Client(dask.address, set_as_default=False) as client:
        return client.nthreads()


def measuring(lawn, dask):
    command = [sys.executable, "-m", "swardmark", "measure", str(lawn), "--cluster", dask.address]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def await_photos(folder, count, process):
    while photos_in(folder) < count and process.poll() is None:
        time.sleep(0.01)


def test_a_worker_killed_half_way_costs_nothing_but_time(run, dask, lawn, alone):
    process = measuring(lawn, dask)
    await_photos(lawn, 2, process)
    at_kill = photos_in(lawn)
    dask.processes[1].kill()
    out, err = process.communicate(timeout=100)
    assert 2 <= at_kill < PHOTOS
    assert said_and_written(process.returncode, out, err, lawn) == alone
    assert f"0 measured now, {PHOTOS} in all" in run("measure", lawn, "--cluster", dask.address).out
    assert table_of(lawn) == alone[-1]


def test_a_worker_with_other_code_is_told_before_anything_is_measured(run, dask, lawn, tmp_path):
    other = tmp_path / "other.py"
    other.write_text(OTHER_CODE)
    before = len(workers_of(dask))
    process = dask.add_worker("--preload", str(other))
    while len(workers_of(dask)) == before:
        time.sleep(0.05)
    outcome = run("measure", lawn, "--cluster", dask.address)
    process.kill()
    process.wait(20)
    assert (outcome.code, outcome.out) == (2, "")
    assert len(outcome.err.splitlines()) == 1
    assert "a worker has swardmark 0.0.9" in outcome.err and "Install the same versions" in outcome.err
    assert photos_in(lawn) == 0


def test_photos_behind_a_url_are_read_by_the_workers(run, dask, lawn, tmp_path, alone):
    """The folder holds no photo at all; the table is that of a lawn that holds them."""
    there = tmp_path / "bucket"
    shutil.move(lawn / "photos", there)
    words = ("measure", lawn, "--photos-url", there.as_uri())
    outcome = run(*words, "--cluster", dask.address)
    assert said_and_written(outcome.code, outcome.out, outcome.err, lawn) == alone
    changed = there / "2026-06-09.jpg"
    changed.write_bytes(changed.read_bytes() + b"changed behind its end")
    assert "1 measured now" in run(*words).out
    assert "0 measured now" in run(*words).out


def test_covers_are_measured_by_the_workers(dask, lawn, alone, monkeypatch):
    """No map is unpacked where the command runs: neither for the ground nor for zones, cells and odd ground."""

    def fail(*_, **__):
        raise AssertionError("done here")

    monkeypatch.setattr(by_crew, "unpacked_together", fail)
    monkeypatch.setattr(shelf, "unpacked", fail)
    monkeypatch.setattr(zonal, "odd_ground", fail)
    with Cluster(dask.address) as crew:
        write_cover(measure_covers(lawn, crew=crew), folder=lawn / "out")
    assert table_of(lawn) == alone[-1]


def test_a_scheduler_that_dies_is_one_line_and_the_next_run_goes_on(run, dask, lawn, alone):
    """Last of those with a cluster: it ends the scheduler."""
    process = measuring(lawn, dask)
    await_photos(lawn, 2, process)
    dask.scheduler.kill()
    out, err = process.communicate(timeout=100)
    assert (process.returncode, out) == (2, "")
    assert len(err.splitlines()) == 1 and "the cluster was lost" in err and "is kept" in err
    kept = photos_in(lawn)
    assert 2 <= kept <= PHOTOS
    assert not (lawn / "out").exists()
    assert f"{PHOTOS - kept} measured now" in run("measure", lawn).out
    assert table_of(lawn) == alone[-1]


@pytest.mark.parametrize(
    "address", ["localhost", "http://localhost:8786", "tcp://localhost", "tcp://a b:1", ""]
)
def test_what_is_no_address_is_told(address):
    with pytest.raises(UsageError, match="is not a scheduler's address"):
        Cluster(address)


def test_no_scheduler_is_one_line(monkeypatch):
    monkeypatch.setattr(cluster, "CONNECT_S", 0.5)
    with pytest.raises(UsageError, match="no scheduler answers") as told, Cluster("tcp://127.0.0.1:9"):
        pass
    assert "dask scheduler" in told.value.remedy


def test_encryption_without_certificates_is_one_line():
    with (
        pytest.raises(UsageError, match="no certificates are configured") as told,
        Cluster("tls://127.0.0.1:9"),
    ):
        pass
    assert "distributed.comm.tls" in told.value.remedy


@pytest.mark.parametrize(
    ("library", "words", "remedy"),
    [
        ("distributed", ["--cluster", "tcp://127.0.0.1:9"], "pip install 'swardmark[cluster]'"),
        ("pyarrow", ["--table", "all.parquet"], "pip install 'swardmark[parquet]'"),
    ],
)
def test_an_extra_that_is_not_installed_is_one_line(lawn, library, words, remedy):
    code = BLOCKED.format(library, ["measure", str(lawn), *words])
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1 and remedy in done.stderr
    assert not (lawn / "record.sqlite").exists()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"fault": "ModuleNotFoundError: No module named 'swardmark'"}, "cannot load swardmark"),
        ({**vars(code_here()), "map_version": -1}, "maps of version -1"),
        ({**vars(code_here()), "opencv": "0.1"}, "OpenCV 0.1"),
        ({**vars(code_here()), "numpy": "0.1"}, "NumPy 0.1"),
    ],
)
def test_workers_with_other_code_are_refused(said, words):
    _compare(vars(code_here()), "tcp://worker:1")
    with pytest.raises(UsageError, match=words) as told:
        _compare(said, "tcp://worker:1")
    assert told.value.where == "tcp://worker:1"


class Failed:
    """A future that ended without a result."""

    def __init__(self, error, status):
        self.error, self.status = error, status

    def result(self, timeout):
        raise self.error


def test_what_workers_could_not_finish_is_refused_in_one_line():
    from distributed.scheduler import KilledWorker

    crew = Cluster("tcp://127.0.0.1:9")
    lost = crew._outcome(Failed(KilledWorker("a task", None, 4), "error"), look_at, count=1)
    failed = crew._outcome(Failed(RuntimeError("odd\nthing"), "error"), look_at, count=1)
    assert isinstance(lost, PhotoRefused) and "every worker that took it was lost" in str(lost)
    assert isinstance(failed, PhotoRefused) and "RuntimeError: odd thing" in str(failed)
    with pytest.raises(CrewLost):
        crew._outcome(Failed(RuntimeError("cancelled"), "cancelled"), look_at, count=1)
    with pytest.raises(UsageError, match="other"):
        crew._outcome(Failed(UsageError("other code"), "error"), look_at, count=1)


class LosesSome(Threads):
    """A crew none of whose workers ever finishes certain photos."""

    def __init__(self, *names):
        super().__init__()
        self.names = names

    @property
    def here(self):
        return ALONE

    def each(self, work, jobs):
        for job, result in super().each(work, jobs):
            lost = PhotoRefused("every worker that took it was lost", remedy="Measure it here")
            yield job, lost if job[0].name in self.names else result


def test_a_photo_that_no_worker_finished_is_refused_and_measured_by_the_next_run(lawn):
    season = measure_covers(lawn, crew=LosesSome("2026-06-12.jpg"))
    assert [entry.name for entry in season.refused] == ["2026-06-12.jpg", "2026-07-02.jpg"]
    again = measure_covers(lawn)
    assert again.newly_measured == 1
    assert [entry.name for entry in again.refused] == ["2026-07-02.jpg"]


def test_without_the_reference_photo_nothing_is_measured_in_another_frame(lawn):
    with pytest.raises(UsageError, match=r"2026-06-03.jpg: every worker"):
        measure_covers(lawn, crew=LosesSome("2026-06-03.jpg"))
    assert photos_in(lawn) == 0
