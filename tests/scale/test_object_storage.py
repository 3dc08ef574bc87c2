"""Photos on object storage: read through s3fs from a server that speaks Amazon's S3 interface (moto)."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from dask_cluster import dask_processes

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
PHOTOS, START_S = 3, 60.0


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@pytest.fixture(scope="module")
def storage():
    """Where a storage server answers; what is started meanwhile finds it by the usual variables."""
    port = free_port()
    known = {
        "AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}",
        "AWS_ACCESS_KEY_ID": "nobody",
        "AWS_SECRET_ACCESS_KEY": "nothing",
        "AWS_DEFAULT_REGION": "us-east-1",
    }
    command = [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    until = time.monotonic() + START_S
    with pytest.MonkeyPatch.context() as patch:
        for name, value in known.items():
            patch.setenv(name, value)
        while not answers(port):
            assert server.poll() is None and time.monotonic() < until, "the storage server did not start"
            time.sleep(0.05)
        yield
    server.kill()
    server.wait(20)


def answers(port):
    with closing(socket.socket()) as one:
        return one.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture(scope="module")
def bucket(storage):
    import boto3

    client = boto3.client("s3", endpoint_url=os.environ["AWS_ENDPOINT_URL"])
    client.create_bucket(Bucket="lawns")
    for photo in sorted((SAMPLE / "photos").iterdir())[:PHOTOS]:
        client.upload_file(str(photo), "lawns", f"tern_cottage/{photo.name}")
    yield client
    client.close()


@pytest.fixture
def lawn(tmp_path):
    folder = tmp_path / "lawn"
    folder.mkdir()
    shutil.copy(SAMPLE / "lawn.toml", folder)
    return folder


@pytest.fixture(scope="module")
def wanted(tmp_path_factory, run):
    """The table of the same photos in the folder itself."""
    folder = tmp_path_factory.mktemp("here") / "lawn"
    (folder / "photos").mkdir(parents=True)
    shutil.copy(SAMPLE / "lawn.toml", folder)
    for photo in sorted((SAMPLE / "photos").iterdir())[:PHOTOS]:
        shutil.copy(photo, folder / "photos")
    assert run("measure", folder).code == 0
    return (folder / "out/cover.csv").read_bytes()


def measured(run, lawn, *words):
    outcome = run("measure", lawn, "--photos-url", "s3://lawns/tern_cottage", *words)
    assert (outcome.code, outcome.err) == (0, "")
    return outcome.out, (lawn / "out/cover.csv").read_bytes()


def test_photos_on_object_storage_give_the_same_table(run, bucket, lawn, wanted):
    said, table = measured(run, lawn)
    assert table == wanted and f"{PHOTOS} measured now" in said
    assert "0 measured now" in measured(run, lawn)[0]
    key = f"tern_cottage/{sorted((SAMPLE / 'photos').iterdir())[1].name}"
    photo = bucket.get_object(Bucket="lawns", Key=key)["Body"].read()
    bucket.put_object(Bucket="lawns", Key=key, Body=photo + b"other bytes, the same picture")
    said, table = measured(run, lawn)
    bucket.put_object(Bucket="lawns", Key=key, Body=photo)
    assert table == wanted and "1 measured now" in said


def test_workers_read_object_storage_themselves(run, bucket, lawn, wanted, tmp_path):
    with dask_processes(tmp_path, workers=1) as dask:
        said, table = measured(run, lawn, "--cluster", dask.address)
    assert table == wanted and f"{PHOTOS} measured now" in said


def test_a_bucket_that_is_not_there_is_one_line(run, storage, lawn):
    outcome = run("measure", lawn, "--photos-url", "s3://no-such-bucket/photos")
    assert outcome.code == 2 and len(outcome.err.splitlines()) == 1
    assert "s3://no-such-bucket/photos" in outcome.err
