"""What workers send back comes as plain values of the kinds that the work promises, or not at all."""

from __future__ import annotations

import datetime as dt
import math
import pickle

import msgpack
import pytest

from swardmark.common.errors import PhotoRefused
from swardmark.measure.survey import measure_source
from swardmark.record.inventory import look_at
from swardmark.record.shelf import PackedMap
from swardmark.record.store import Entry, PhotoFacts
from swardmark.scale.answers import checked_answers, packed_answers
from swardmark.scale.cluster import Cluster

FACTS = PhotoFacts(
    size=(4, 3), corners_px=((1.0, 2.5),), findings=(("blur", 0.4),), moved_m=math.inf, notes=("a",)
)
ENTRY = Entry("d", "s", "main", "a.jpg", dt.datetime(2026, 6, 3, 9, 30), "camera", FACTS)
MAP = PackedMap(-3, 4, 2, 2, 0.01, b"\x00\xff")
PAIR = [(ENTRY, MAP)]


def test_results_come_back_as_they_were():
    back = checked_answers(packed_answers([*PAIR, (ENTRY, None)]), measure_source, count=2)
    assert repr(back) == repr([*PAIR, (ENTRY, None)])
    looked = ("d", None)
    assert checked_answers(packed_answers([looked]), look_at, count=1) == [looked]


def changed(path, value):
    answers = msgpack.unpackb(packed_answers(PAIR))
    part = answers
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    return msgpack.packb(answers)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (pickle.dumps(PAIR), "MessagePack"),
        (PAIR, "no bytes"),
        (b"", "MessagePack"),
        (packed_answers(PAIR * 2), "2 results for 1 photos"),
        (changed([0, 0, "facts", "pitch_deg"], "steep"), "0.0.facts.pitch_deg"),
        (changed([0, 0, "taken_at"], "soon"), "taken_at"),
        (changed([0, 1, "rows"], 2.5), "rows"),
        (changed([0, 1], [1, 2]), "0.1"),
    ],
)
def test_anything_else_is_refused_in_one_line(sent, said):
    class Done:
        def result(self, timeout):
            return sent

    refused = Cluster("tcp://127.0.0.1:9")._outcome(Done(), measure_source, count=1)
    assert isinstance(refused, PhotoRefused) and said in refused.what
    assert len(str(refused).splitlines()) == 1


def test_only_plain_values_are_sent():
    with pytest.raises(TypeError, match="a object cannot be sent"):
        packed_answers([object()])
