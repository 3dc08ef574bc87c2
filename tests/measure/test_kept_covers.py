"""What is kept of a lawn's covers must be what a record without anything kept gives, whatever was changed meanwhile.

Maps, cameras and outlines are drawn at random; no photo is measured.
"""

from __future__ import annotations

import base64
import dataclasses
import datetime as dt
import pickle
import sqlite3
import zlib
from contextlib import closing

import numpy as np
import pytest
from zone_masks import zone_mask

from swardmark.canopy.cover import zone_cover
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import leaf_scale, value_counts
from swardmark.common.crew import ALONE, CrewLost, Threads
from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.lawn.toml import Lawn, MeasureSettings, Zone
from swardmark.lawn.zones import LEAST_PATCH_M2, patch_zones
from swardmark.measure.covers import lawn_covers
from swardmark.measure.points import PastMedian
from swardmark.measure.survey import Survey
from swardmark.measure.zonal import PointNumbers, view_angles
from swardmark.record import by_crew
from swardmark.record.facts import packed_counts, pooled_counts
from swardmark.record.store import Entry, PhotoFacts, Record
from swardmark.words.tables import cover_rows


def a_map(rng):
    rows, cols = rng.integers(60, 140, 2)
    values = rng.choice(np.arange(256, dtype=np.uint8), (rows, cols)) * (rng.random((rows, cols)) < 0.9)
    row0, col0 = (int(value) for value in rng.integers(-40, 30, 2))
    return GroundMap(values.astype(np.uint8), row0, col0, 0.02)


def an_entry(rng, number, ground_map, digest=None):
    facts = PhotoFacts(
        map_counts=packed_counts(value_counts(ground_map)),
        camera_m=(float(rng.uniform(0, 1)), float(rng.uniform(-2, -1)), 1.6),
        sharpness=float(rng.choice([np.nan, 0.0, *rng.uniform(100, 900, 6)])),
        sand_light=float(rng.uniform(0.2, 0.9)),
    )
    when = dt.datetime(2026, 6, 1, 9) + dt.timedelta(days=number)
    return Entry(digest or f"d{number}", "s", "main", f"{number:02}.jpg", when, "camera", facts)


def a_zone(rng, name):
    corner, size = rng.uniform(-1.5, 2.5, 2), rng.uniform(0.15, 1.5, 2)
    x, y = corner
    lean = rng.uniform(-0.1, 0.1)
    outline = ((x, y), (x + size[0], y + lean), (x + size[0] + lean, y + size[1]), (x, y + size[1]))
    return Zone(name=name, outline_m=tuple((float(a), float(b)) for a, b in outline))


def a_lawn(folder, zones, threshold="auto"):
    return Lawn(name="Drawn", zone=zones, measure=MeasureSettings(threshold=threshold), folder=folder)


def rows_of(lawn, record, entries, as_of=None):
    measured = lawn_covers(lawn, record, Survey(tuple(entries), 0, ()), as_of=as_of)
    return repr(cover_rows(measured)), repr([(c.cover, c.threshold) for c in measured.covers])


@pytest.mark.parametrize("seed", range(12))
def test_after_any_change_the_rows_are_those_of_a_record_that_kept_nothing(tmp_path, seed):
    rng = np.random.default_rng(seed)
    maps = {
        an_entry(rng, n, ground_map): ground_map for n, ground_map in enumerate(a_map(rng) for _ in range(4))
    }
    zones, threshold, as_of = [a_zone(rng, "a"), a_zone(rng, "b")], "auto", None
    with Record(tmp_path / "record.sqlite") as record:
        for entry, ground_map in maps.items():
            record.put(entry, ground_map)
        for step in range(10):
            match rng.choice(["zone", "name", "none", "threshold", "new", "again", "less", "day", "nothing"]):
                case "zone":
                    zones = [a_zone(rng, "a"), *zones[1:]]
                case "name":
                    zones = [*zones[:-1], zones[-1].model_copy(update={"name": f"z{step}"})] if zones else []
                case "none":
                    zones = [] if rng.random() < 0.5 else [a_zone(rng, "a"), a_zone(rng, "b")]
                case "threshold":
                    threshold = "auto" if rng.random() < 0.3 else round(float(rng.uniform(0.05, 0.2)), 3)
                case "new":
                    ground_map = a_map(rng)
                    entry = an_entry(rng, 4 + step, ground_map)
                    maps[entry] = ground_map
                    record.put(entry, ground_map)
                case (
                    "again"
                ):  # the same photo gives another map and camera: a damaged row that was measured anew
                    old = next(iter(maps))
                    del maps[old]
                    ground_map = a_map(rng)
                    entry = an_entry(rng, 0, ground_map, old.digest)
                    entry = dataclasses.replace(entry, taken_at=old.taken_at)
                    maps[entry] = ground_map
                    record.put(entry, ground_map)
                case "less":
                    del maps[list(maps)[-1]]
                    if not maps:
                        ground_map = a_map(rng)
                        maps = {an_entry(rng, 0, ground_map): ground_map}
                        record.put(*next(iter(maps.items())))
                case "day":
                    as_of = None if as_of else dt.date(2026, 6, 3)
            entries = sorted(maps, key=lambda e: (str(e.taken_at), e.name))
            if as_of and entries[0].taken_at.date() > as_of:
                as_of = None
            lawn = a_lawn(tmp_path, tuple(zones), threshold)
            got = [rows_of(lawn, record, entries, as_of) for _ in range(2)]
            with Record(tmp_path / f"fresh{step}.sqlite") as fresh:
                for entry in entries:
                    fresh.put(entry, maps[entry])
                wanted = rows_of(lawn, fresh, entries, as_of)
            assert got == [wanted, wanted], step


@pytest.mark.parametrize("seed", range(4))
def test_a_zone_is_measured_as_on_the_whole_map(tmp_path, seed):
    """Only the part of a map that a zone covers is looked at; its numbers are those of the mask over the whole map."""
    rng = np.random.default_rng(100 + seed)
    maps, zones = [a_map(rng) for _ in range(3)], [a_zone(rng, str(n)) for n in range(12)]
    entries = [an_entry(rng, n, ground_map) for n, ground_map in enumerate(maps)]
    with Record(tmp_path / "record.sqlite") as record:
        for entry, ground_map in zip(entries, maps, strict=True):
            record.put(entry, ground_map)
        numbers = PointNumbers(record, entries)
        scale = leaf_scale(sum(map(value_counts, maps)))
        ground = numbers.ground(zones, scale, outline_m=None, drawn=True)
        found = numbers.covers(zones, scale, ground, drawn=True)[: len(zones)]
    for zone, covers in zip(zones, found, strict=True):
        for entry, ground_map, cover in zip(entries, maps, covers, strict=True):
            view = view_angles(ground_map, entry)
            whole = zone_cover(ground_map, zone_mask(zone, ground_map), scale=scale, view_deg=view)
            assert repr(cover) == repr(whole)


def test_named_patches_are_those_of_which_enough_is_seen(tmp_path):
    rng = np.random.default_rng(7)
    maps = [a_map(rng) for _ in range(3)]
    entries = [an_entry(rng, n, ground_map) for n, ground_map in enumerate(maps)]
    with Record(tmp_path / "record.sqlite") as record:
        for entry, ground_map in zip(entries, maps, strict=True):
            record.put(entry, ground_map)
        found = PointNumbers(record, entries).patches(1.0)
    seen = {
        zone.name: np.mean([(zone_mask(zone, m) & (m.values > 0)).sum() * m.spacing_m**2 for m in maps])
        for zone in patch_zones("main", 1.0)
    }
    assert [zone.name for zone in found] == [name for name, area in seen.items() if area >= LEAST_PATCH_M2]
    assert 0 < len(found) < 6


def test_what_was_kept_and_got_damaged_is_computed_again(tmp_path):
    rng = np.random.default_rng(3)
    maps, lawn = [a_map(rng) for _ in range(3)], a_lawn(tmp_path, (a_zone(rng, "a"),))
    entries = [an_entry(rng, n, ground_map) for n, ground_map in enumerate(maps)]
    path = tmp_path / "record.sqlite"
    with Record(path) as record:
        for entry, ground_map in zip(entries, maps, strict=True):
            record.put(entry, ground_map)
        wanted = rows_of(lawn, record, entries)
    with closing(sqlite3.connect(path)) as db:
        kinds = db.execute("SELECT substr(basis, 1, instr(basis, ' ') - 1) FROM derived").fetchall()
        assert sorted(kind for (kind,) in kinds) == ["cells", "cover", "ground", "odd", "rest"]
        kept = db.execute("SELECT rowid, bytes FROM derived").fetchall()
        for row, value in kept:
            raw = bytearray(value)
            raw[len(raw) // 2] ^= 0x10
            db.execute("UPDATE derived SET bytes=? WHERE rowid=?", (bytes(raw), row))
        db.commit()
    with Record(path) as record:
        assert rows_of(lawn, record, entries) == wanted


def test_the_counts_of_photos_are_those_of_their_maps_and_damage_is_told(tmp_path):
    rng = np.random.default_rng(4)
    maps = [a_map(rng) for _ in range(3)]
    entries = [an_entry(rng, n, ground_map) for n, ground_map in enumerate(maps)]
    pooled = np.concatenate([ground_map.values.ravel() for ground_map in maps])
    wanted = [np.count_nonzero(pooled == value) for value in range(256)]
    assert pooled_counts(entries, record=tmp_path).tolist() == wanted
    text = entries[1].facts.map_counts
    cut = ("", text[:-5], text[:40] + chr(ord(text[40]) ^ 1) + text[41:], "\u00e9" + text[1:])
    long = base64.b85encode(zlib.compress(bytes(300 * 4))).decode()
    for damaged in (*cut, long, None, 5, ("a",), {}):
        facts = dataclasses.replace(entries[1].facts, map_counts=damaged)
        with pytest.raises(UsageError, match=r"map of 01.jpg is damaged"):
            pooled_counts([entries[0], dataclasses.replace(entries[1], facts=facts)], record=tmp_path)


class Elsewhere:
    """A crew whose workers are sent what a job pickles to, and are done in any order; some of them fail."""

    here = ALONE

    def __init__(self, fails):
        self.fails, self.done = fails, 0

    def each(self, work, jobs):
        for number, job in reversed(list(enumerate(jobs))):
            if number == 1 and self.fails == "lost":
                raise CrewLost("the cluster was lost", where="tcp://there:1", remedy="")
            answer = pickle.loads(pickle.dumps(work))(*pickle.loads(pickle.dumps(job)))
            self.done += 1
            refused = PhotoRefused("every worker that took it was lost", remedy="")
            bad = {"refused": refused, "cut": answer[:-8]}.get(self.fails) if number == 1 else None
            yield job, bad or answer


@pytest.mark.parametrize("drawn", [True, False])
def test_whoever_works_on_the_maps_gives_the_same_rows(tmp_path, monkeypatch, drawn):
    """Threads, workers elsewhere, and workers of whom some give nothing, or less than they should."""
    monkeypatch.setattr(by_crew, "MOST_MAPS", 4)
    rng = np.random.default_rng(6)
    maps, lawn = [a_map(rng) for _ in range(9)], a_lawn(tmp_path, (a_zone(rng, "a"), a_zone(rng, "b")))
    lawn = lawn if drawn else a_lawn(tmp_path, ())
    entries = [an_entry(rng, n, ground_map) for n, ground_map in enumerate(maps)]
    crews = [ALONE, Threads(3), *map(Elsewhere, ("", "refused", "cut", "lost"))]
    rows = []
    for number, crew in enumerate(crews):
        with Record(tmp_path / f"{number}.sqlite") as record:
            for entry, ground_map in zip(entries, maps, strict=True):
                record.put(entry, ground_map)
            measured = lawn_covers(lawn, record, Survey(tuple(entries), 0, ()), crew=crew)
            assert isinstance(crew, Threads) or crew.done
            rows.append(repr(cover_rows(measured)))
    assert len(set(rows)) == 1


def test_the_middle_of_a_history_has_its_median():
    rng = np.random.default_rng(5)
    history, past = [], PastMedian()
    for value in [np.nan, 0.0, -1.0, *rng.uniform(0, 9, 40).round(1), np.inf]:
        known = [one for one in history if np.isfinite(one) and one > 0]
        middle = past.middle()
        assert len(middle) == (len(known) if len(known) < 2 else 2 + len(known) % 2)
        if known:
            assert np.median(middle) == np.median(known)
        history.append(value)
        past.add(value)
