"""Photos for the report: each is decoded once, however many pictures are made of it."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

from swardmark.drawing import pictures
from swardmark.measure.covers import measure_covers
from swardmark.report.writing import write_all
from swardmark.season import season_of

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


def test_the_report_of_an_unchanged_lawn_decodes_each_photo_once(tmp_path, monkeypatch):
    shutil.copytree(SAMPLE, tmp_path / "lawn")
    measure_covers(tmp_path / "lawn")
    decoded, read = Counter(), pictures.decode

    def counted(data, *, name, **options):
        decoded[name] += 1
        return read(data, name=name, **options)

    monkeypatch.setattr(pictures, "decode", counted)
    monkeypatch.setattr("swardmark.measure.survey.decode", lambda *_, **__: 1 / 0)
    write_all(season_of(measure_covers(tmp_path / "lawn")), folder=tmp_path / "lawn" / "out")
    names = sorted(path.name for path in (tmp_path / "lawn" / "photos").glob("*.jpg"))
    assert dict(decoded) == dict.fromkeys(names, 1)


def test_photos_beyond_the_room_are_read_again_and_not_held(tmp_path, monkeypatch):
    shutil.copytree(SAMPLE, tmp_path / "lawn")
    point = measure_covers(tmp_path / "lawn").points[0]
    monkeypatch.setattr(pictures, "HELD_BYTES", 400 * 300 * 3)
    source = pictures.FolderPhotos(tmp_path / "lawn")
    first, second = (source.picture(entry, longest_px=400) for entry in point.entries[:2])
    assert source.picture(point.entries[0], longest_px=400) is first
    assert source.picture(point.entries[1], longest_px=400) is not second
