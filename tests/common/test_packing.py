"""Packed text is that of the standard library's base 85, and damage is told."""

from __future__ import annotations

import base64
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.packing import packed_text, unpacked_text


@given(st.binary(max_size=400))
def test_text_is_that_of_the_standard_library_and_comes_back(raw):
    text = packed_text(raw)
    assert text == base64.b85encode(zlib.compress(raw)).decode("ascii")
    assert unpacked_text(text, most=len(raw)) == raw


@pytest.mark.parametrize("text", ['abc"d', "~~~~~", "é", "", "0", None, 5])
def test_damaged_text_is_a_value_error(text):
    with pytest.raises(ValueError):
        unpacked_text(text, most=100)


def test_more_than_allowed_is_refused():
    with pytest.raises(ValueError, match="too long"):
        unpacked_text(packed_text(bytes(101)), most=100)
