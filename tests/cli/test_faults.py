"""What is said of an unforeseen fault, and of a page whose libraries are not installed."""

from __future__ import annotations

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
