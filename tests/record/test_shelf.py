"""Maps that are read from the record when they are used."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from swardmark.canopy.index import GroundMap
from swardmark.common.crew import ALONE
from swardmark.common.errors import UsageError
from swardmark.record import shelf
from swardmark.record.by_crew import over_maps
from swardmark.record.store import Entry, PhotoFacts, Record


def entry(number):
    return Entry(f"d{number}", "s", "main", f"{number}.jpg", None, "unknown", PhotoFacts())


@pytest.fixture
def kept(tmp_path):
    rng = np.random.default_rng(0)
    maps = [GroundMap(rng.integers(0, 256, (20, 30 + n), dtype=np.uint8), n, -n, 0.01) for n in range(5)]
    folder = tmp_path / "a place? 50 % #1"
    folder.mkdir()
    with Record(folder / "record.sqlite") as record:
        for number, ground_map in enumerate(maps):
            record.put(entry(number), ground_map)
        return record.maps([entry(n) for n in range(5)]), maps


def same(one, other):
    place = (one.row0, one.col0, one.spacing_m) == (other.row0, other.col0, other.spacing_m)
    return place and np.array_equal(one.values, other.values)


def test_it_is_a_sequence_after_the_record_was_closed_and_in_another_process(kept):
    for maps, wanted in (kept, (pickle.loads(pickle.dumps(kept[0])), kept[1])):
        assert len(maps) == 5
        assert all(map(same, maps, wanted))
        assert same(maps[-1], wanted[-1])
        assert all(map(same, maps[1:3], wanted[1:3]))
        assert maps.windows() == [(m.row0, m.col0, *m.values.shape) for m in wanted]
        with pytest.raises(IndexError):
            maps[5]


def test_maps_travel_together_and_are_checked_where_they_arrive(kept):
    maps, wanted = kept
    data = maps.together(range(1, 4))
    assert all(map(same, shelf.unpacked_together(data), wanted[1:4]))
    with pytest.raises(UsageError, match=r"the map of 3.jpg is damaged"):
        list(shelf.unpacked_together(data[:-1]))


def test_threads_give_one_answer_at_a_time(kept):
    """What a thousand maps give was held together once: 400 MB for the ground of a lawn."""
    maps, done = kept[0], []

    def work(some, _):
        done.extend(some)
        return b"x"

    assert next(over_maps(maps, work, ALONE, size=lambda some: some)) == b"x"
    assert len(done) == 1


def test_it_remembers_no_more_maps_than_it_may(kept, monkeypatch):
    maps, wanted = kept
    monkeypatch.setattr(shelf, "HELD_BYTES", 1400)
    assert all(map(same, maps, wanted))
    assert 1 <= len(maps._held) <= 2
    assert maps[4] is maps[4]
    assert maps[0] is not wanted[0] and same(maps[0], wanted[0])


def test_a_record_that_is_gone_is_told_in_one_line_and_not_made_anew(kept, tmp_path):
    path = next(tmp_path.rglob("record.sqlite"))
    path.unlink()
    with pytest.raises(UsageError, match="the record is gone"):
        kept[0][0]
    assert not path.exists()
