"""Which photos of a photo point show one place, and when the reference is suspected; who agrees with whom is given."""

import datetime as dt
from pathlib import Path

import pytest

from swardmark.record import frames
from swardmark.record.frames import places_of
from swardmark.record.store import Entry, PhotoFacts


def entry(name, *, unsure, refusal=""):
    facts = PhotoFacts(background="known" if unsure else "", is_unplaced=unsure)
    return Entry(name, "settings", "main", name, dt.datetime(2026, 6, 3), "camera", facts, refusal)


def places(monkeypatch, confirmed, unsure):
    """Photos are named by their yard and a number; those of one yard agree. Capitals were refused."""
    monkeypatch.setattr(
        frames, "_show_one_place", lambda one, other, record: one.name[0].lower() == other.name[0].lower()
    )
    sure = [entry(name, unsure=False) for name in confirmed]
    doubtful = [entry(name, unsure=True, refusal="moved" if name[0].isupper() else "") for name in unsure]
    return places_of([*sure, *doubtful], record=Path("record"))


@pytest.mark.parametrize(
    "confirmed, unsure, elsewhere, instead",
    [
        (["a0", "a1", "a2"], [], [], ""),
        (["a0", "a1", "a2"], ["b0"], ["b0"], ""),
        (["a0"], ["b0"], [], ""),
        (["b0"], ["a1", "a2"], [], "a1"),
        (["b0"], ["A1", "a2", "A3", "c0"], [], "A1"),
        (["b0"], ["c0", "a1", "A2", "A3"], [], "a1"),
        (["b0", "b1", "b2"], ["a1", "a2"], ["a1", "a2"], ""),
        (["a0", "a1"], ["b0", "b1", "b2"], [], "b0"),
        (["a0"], ["b0", "c0", "d0", "e0"], [], ""),
    ],
)
def test_most_photos_say_where_they_were_taken(monkeypatch, confirmed, unsure, elsewhere, instead):
    found = places(monkeypatch, confirmed, unsure)
    assert found.elsewhere == frozenset(elsewhere)
    assert found.instead == instead


def test_nothing_is_compared_where_every_photo_is_confirmed(monkeypatch):
    monkeypatch.setattr(frames, "_show_one_place", lambda *_: pytest.fail("compared"))
    assert places_of([entry(f"a{n}", unsure=False) for n in range(30)], record=Path("record")).agree == 30


def test_a_lawn_without_background_costs_few_comparisons(monkeypatch):
    asked = []
    monkeypatch.setattr(frames, "_show_one_place", lambda *pair: asked.append(pair))
    found = places_of([entry(f"a{n}", unsure=n > 0) for n in range(60)], record=Path("record"))
    assert not found.instead and not found.elsewhere and len(asked) <= 12
