"""What is said of an unforeseen fault, and of a page whose libraries are not installed."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from swardmark.cli import app, doctor


@pytest.mark.parametrize("asked", [False, True])
def test_the_traceback_of_a_fault_is_shown_only_when_asked_for(monkeypatch, capsys, asked):
    def break_down():
        raise ZeroDivisionError("planted")

    monkeypatch.setattr(doctor, "examine", break_down)
    monkeypatch.setattr(app, "quiet_libraries", lambda: None)
    monkeypatch.setattr(sys, "argv", ["swardmark", *(["--traceback"] if asked else []), "doctor"])
    with pytest.raises(SystemExit) as end:
        app.main()
    told = capsys.readouterr().err
    assert end.value.code == 2
    assert "planted" in told.splitlines()[-1]
    assert ("in break_down" in told) is asked
    assert "swardmark --traceback COMMAND" in told
    assert len(told.splitlines()) == 1 or asked


@pytest.mark.parametrize("library", ["nicegui", "segno", "tomlkit"])
def test_a_page_without_its_libraries_says_what_to_install(monkeypatch, capsys, tmp_path, library):
    for name in [name for name in sys.modules if name.startswith("swardmark.page")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.setattr(app, "quiet_libraries", lambda: None)
    monkeypatch.setattr(sys, "argv", ["swardmark", "page", str(tmp_path), "--no-open", "--port", "0"])
    with pytest.raises(SystemExit) as end:
        app.main()
    told = capsys.readouterr().err
    assert end.value.code == 2
    assert "pip install 'swardmark[page]'" in told
    assert len(told.splitlines()) == 1


def ran(words, *, close=(), **options):
    """Run the command line in a fresh process, some of its streams closed; returns exit code, stdout and stderr."""
    command = [sys.executable, "-m", "swardmark", *map(str, words)]
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | options
    done = subprocess.run(
        command, text=True, timeout=120, preexec_fn=lambda: [os.close(number) for number in close], **pipes
    )
    return done.returncode, done.stdout, done.stderr


@pytest.mark.skipif(os.name != "posix", reason="closes file descriptors before the program starts")
@pytest.mark.parametrize("close", [(1,), (2,), (0, 1, 2)])
def test_closed_streams_change_no_file_and_no_exit_code(tmp_path, close):
    """A file that was opened in the place of stdout would be written into."""
    folder = tmp_path / "lawn"
    code, _, err = ran(["start", folder], close=close)
    assert (code, err) == (0, "")
    assert (folder / "lawn.toml").read_text().startswith("#")
    assert ran(["measure", tmp_path / "none"], close=close)[0] == 2


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs /dev/full")  # noqa: PTH110
def test_full_streams_are_one_line(tmp_path):
    folder = tmp_path / "lawn"
    with open("/dev/full", "w") as full:  # noqa: PTH123
        code, _, err = ran(["start", folder], stdout=full)
        assert code == 2
        assert err.startswith("swardmark: the system refused (No space left on device). ")
        assert len(err.splitlines()) == 1
        assert ran(["measure", tmp_path / "none"], stderr=full)[0] == 2


def test_another_drawing_library_in_the_environment_changes_nothing(run, measured_sample, monkeypatch):
    monkeypatch.setenv("MPLBACKEND", "no such thing")
    outcome = run("report", measured_sample, "--quiet")
    assert (outcome.code, outcome.err) == (0, "")


@pytest.mark.parametrize(
    "side", ["9" * 5000 + "/7 in", "1/" + "9" * 5000 + " in", "1/0 in", "1e400 m", "9" * 50 + " m"]
)
def test_numbers_without_end_are_one_short_line(run, tmp_path, side):
    outcome = run("start", tmp_path / "lawn", "--square-side", side)
    assert outcome.code == 2
    assert len(outcome.err.splitlines()) == 1 and len(outcome.err) < 300
    assert "unforeseen" not in outcome.err


@pytest.mark.parametrize(
    "words", [["start", "q" * 300], ["measure", "q" * 5000], ["add", "LAWN", "q" * 300 + ".jpg"]]
)
def test_names_that_no_disk_takes_are_one_line(run, sample, words):
    outcome = run(*[sample if word == "LAWN" else word for word in words])
    assert outcome.code in (1, 2)
    assert len(outcome.err.splitlines()) == 1
    assert "unforeseen" not in outcome.err


def test_a_point_with_a_name_that_no_disk_takes_is_one_line(run, sample):
    photo = sorted((sample / "photos").iterdir())[0]
    outcome = run("add", sample, photo, "--point", "p" * 300)
    assert outcome.code in (1, 2)
    assert len(outcome.err.splitlines()) == 1
    assert "unforeseen" not in outcome.err


def test_a_name_that_is_not_text_stops_no_other_photo(run, sample, tmp_path):
    source = sorted((sample / "photos").iterdir())
    inside = tmp_path / "in"
    inside.mkdir()
    (inside / os.fsdecode(b"a\xff.jpg")).write_bytes(source[0].read_bytes() + b"another")
    (inside / "2026-06-20.jpg").write_bytes(source[1].read_bytes() + b"another")
    outcome = run("add", sample, inside)
    assert "unforeseen" not in outcome.err
    assert (sample / "photos/2026-06-20.jpg").exists()


def test_more_zones_and_lines_than_a_lawn_has_are_refused_in_one_line(run, sample):
    lawn = sample / "lawn.toml"
    text = lawn.read_text()
    zone = '\n[[zone]]\nname = "z{}"\noutline_m = [[0, 0], [1, 0], [1, 1]]\n'
    lawn.write_text(text + "".join(zone.format(number) for number in range(2001)))
    outcome = run("measure", sample)
    assert (outcome.code, len(outcome.err.splitlines())) == (2, 1)
    assert "2000" in outcome.err
    lawn.write_text(text)
    (sample / "readings.csv").write_text("date,height_mm\n" + "2026-06-10,22\n" * 200_000)
    outcome = run("outlook", sample)
    assert (outcome.code, len(outcome.err.splitlines())) == (2, 1)
    assert "more than 200,000 lines" in outcome.err


@pytest.mark.skipif(sys.platform != "linux", reason="sets a limit on memory")
@pytest.mark.parametrize(("limit_mb", "code"), [(300, 2), (600, 2), (800, 0)])
def test_a_limit_on_memory_is_met_or_refused_in_one_line(sample, limit_mb, code):
    """OpenBLAS would end the process with exit code 1 and no line, crash, or wait for ever."""
    import resource

    for photo in sorted((sample / "photos").iterdir())[1:]:
        photo.unlink()
    (sample / "record.sqlite").unlink()
    command = [sys.executable, "-m", "swardmark", "measure", str(sample), "--quiet"]
    limit = limit_mb * 2**20
    environment = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=60, env=environment,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (limit, limit)),
    )  # fmt: skip
    assert done.returncode == code, done.stderr
    assert len(done.stderr.splitlines()) == (0 if code == 0 else 1)
    assert code == 0 or "of memory" in done.stderr
