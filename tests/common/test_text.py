"""Text from outside: nothing of it steers a terminal, breaks a line or runs in a spreadsheet."""

from __future__ import annotations

import pytest

from swardmark.common.text import clean, one_line, own_text, plain_cell, showable


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_what_a_spreadsheet_would_run_is_written_as_text(start):
    """The six starts of common advice on spreadsheet formulas, and the line feed."""
    assert plain_cell(f"{start}1") == f"'{start}1"
    assert plain_cell(f"1{start}") == f"1{start}"
    assert [own_text(plain_cell(text)) for text in (f"{start}1", f"'{start}1", "'early")] == [
        f"{start}1", f"'{start}1", "'early",
    ]  # fmt: skip


def test_a_name_that_steers_the_terminal_is_shown_with_replacement_signs():
    assert showable("a\x1b[31mb\u202e\udcff") == "a\ufffd[31mb\ufffd\ufffd"
    assert one_line("two\n lines\x07") == "two lines\ufffd"
    assert one_line("Räsen 草 plot") == "Räsen 草 plot"


def test_text_for_the_page_is_one_line_of_printable_signs():
    assert clean("a\x00b\r\nc\u202ed  e") == "a b c d e"
    assert clean("z" * 500) == "z" * 199 + "…"
