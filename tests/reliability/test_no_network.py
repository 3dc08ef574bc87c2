"""Nothing leaves the machine: no command, and not the page while it measures, looks a name up or opens a connection.

Every process hears its own calls by an audit hook (PEP 578), which sees each socket that Python code opens, whatever
library it is in. What a library opened in C alone it would not see.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from kill_runs import small_lawn

sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from page_serving import serving

HOOK = """
import os, sys

def hear(event, given):
    asks = ("connect", "bind", "sendto", "sendmsg", "getaddrinfo", "gethostbyname", "gethostbyaddr", "getnameinfo")
    if event.removeprefix("socket.") in asks and getattr(given[0], "family", 0) != 1:
        with open(os.environ["HEARD"], "a") as heard:
            print(event, *(repr(one) for one in given if not hasattr(one, "family")), file=heard)

sys.addaudithook(hear)
"""
RUN_ALL = """
import json, os, socket, sys
from swardmark.cli.app import main
codes = []
for words in json.load(sys.stdin):
    sys.argv = ["swardmark", *words]
    try:
        main()
        codes.append(0)
    except SystemExit as end:
        codes.append(end.code or 0)
try:
    socket.create_connection(("127.0.0.1", 9), 1).close()
except OSError:
    pass
with open(os.environ["CODES"], "w") as file:
    json.dump(codes, file)
"""


@pytest.fixture
def heard(tmp_path, monkeypatch):
    """Let every new process of Python hear itself; what it opens stands in the file that is returned."""
    import os

    hooks = tmp_path / "hooks"
    hooks.mkdir()
    (hooks / "sitecustomize.py").write_text(HOOK)
    path = tmp_path / "heard.txt"
    path.write_text("")
    monkeypatch.setenv("HEARD", str(path))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(hooks), *sys.path]))
    return path


def test_no_command_opens_a_connection(heard, tmp_path, monkeypatch):
    lawn, codes = small_lawn(tmp_path / "lawn"), tmp_path / "codes.json"
    monkeypatch.setenv("CODES", str(codes))
    photo = sorted((lawn / "photos").iterdir())[0]
    other = shutil.copy(photo, tmp_path / "2026-06-30.jpg")
    commands = [
        ["start", tmp_path / "new", "--quiet"], ["measure", lawn], ["outlook", lawn], ["relevel", lawn],
        ["report", lawn], ["today", lawn], ["level", lawn], ["trial", lawn], ["check", photo], ["count", lawn],
        ["sand", "--area", "60m2", "--depth", "5mm"], ["target", tmp_path / "target.pdf"],
        ["mark", photo, "--clear"], ["remove", lawn, photo.name], ["restore", lawn, photo.name],
        ["add", lawn, other], ["practice", tmp_path / "drawn", "--days", "0"], ["doctor"], ["--version"],
    ]  # fmt: skip
    words = json.dumps([[str(word) for word in one] for one in commands])
    done = subprocess.run(
        [sys.executable, "-c", RUN_ALL], input=words, capture_output=True, text=True, timeout=200
    )
    assert done.returncode == 0, done.stderr[-2000:]
    ended = dict(zip([str(one[0]) for one in commands], json.loads(codes.read_text()), strict=True))
    assert {name for name, code in ended.items() if code} <= {"level", "trial", "check", "count"}, ended
    planted = heard.read_text().splitlines()
    assert all("'127.0.0.1', 9" in line or "'127.0.0.1' 9" in line for line in planted), planted
    assert any(line.startswith("socket.connect") for line in planted), "the hook hears"


def test_the_page_listens_here_and_asks_nobody(heard, tmp_path):
    lawn = small_lawn(tmp_path / "lawn")
    photos = sorted((lawn / "photos").iterdir())
    sent = photos[-1].read_bytes()
    photos[-1].unlink()
    with serving(lawn) as page:
        assert page.ask("GET", "/")[0] == 200
        assert page.ask("PUT", f"/photos?name={photos[-1].name}", sent)[0] == 200
        until_measured(lawn)
    opened = heard.read_text().splitlines()
    assert {line.split()[0] for line in opened} == {"socket.bind"}, opened
    assert all("'127.0.0.1'" in line or "'::1'" in line for line in opened), opened


def until_measured(lawn: Path) -> None:
    """Wait until the page's worker has written its table."""
    import time

    end = time.monotonic() + 60
    while not (lawn / "out" / "cover.csv").exists():
        assert time.monotonic() < end
        time.sleep(0.2)
