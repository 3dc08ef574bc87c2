"""Every benchmark can be started: what it imports is there, and it says what it does."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "benchmarks"
STARTED = {path.stem: path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.py"))}


@pytest.mark.parametrize("name", STARTED)
def test_it_starts(name, monkeypatch, capsys):
    monkeypatch.syspath_prepend(str(FOLDER))
    module = importlib.import_module(name)
    if "ArgumentParser" in STARTED[name]:
        monkeypatch.setattr(sys, "argv", [name, "--help"])
        with pytest.raises(SystemExit) as ended:
            module.main()
        assert ended.value.code == 0
        assert "usage:" in capsys.readouterr().out
