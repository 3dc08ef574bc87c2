"""The measure command: one lawn, or a folder of lawns, by this machine or by the workers of a Dask cluster."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.console import (
    JsonOption,
    PhotosUrl,
    QuietOption,
    Workers,
    console,
    covers_of,
    document,
    end_with,
    out_folder,
    photos_behind,
    refusal_lines,
    refusals,
    say,
    with_progress,
)
from swardmark.common.errors import UsageError
from swardmark.common.phrases import plural

if TYPE_CHECKING:
    from swardmark.common.crew import Crew
    from swardmark.forecast.past import PastSeason
    from swardmark.lawns.cover_table import CombinedTable
    from swardmark.lawns.measuring import LawnDone
    from swardmark.measure.covers import LawnCovers

LAWNS_AT_ONCE = 8
"""Lawns in hand at the same time on a cluster: each begins with one photo alone, its reference."""
LEAST_THREADS_HERE = 4
"""Threads that read photos and maps where the command runs while a cluster measures, if there are as many cores."""

LawnOrLawns = Annotated[
    Path, typer.Argument(metavar="DIR", help="The lawn folder, or a folder of lawns.", show_default=False)
]
Table = Annotated[
    Path | None,
    typer.Option(
        "--table",
        metavar="FILE",
        help="One table of all lawns, .csv or .parquet; by default DIR/out/cover.csv.",
    ),
]
Cluster = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Measure on a Dask cluster: its scheduler, such as tcp://host:8786.",
    ),
]


def measure(
    folder: LawnOrLawns,
    workers: Workers = 1,
    table: Table = None,
    cluster: Cluster = None,
    photos_url: PhotosUrl = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Measure what is new; print and write cover.csv."""
    from swardmark.lawns.folders import lawn_folders

    folders = lawn_folders(folder)
    with _crew(cluster, workers) as crew:
        if folders:
            at_once = LAWNS_AT_ONCE if cluster else workers
            source = {"crew": crew, "at_once": at_once, "photos_url": photos_url}
            _measure_many(folder, folders, table, source, as_json=as_json, quiet=quiet)
        else:
            _measure_one(folder, table, crew, photos_url, as_json=as_json, quiet=quiet)


def _measure_one(
    folder: Path, table: Path | None, crew: Crew, photos_url: str | None, *, as_json: bool, quiet: bool
) -> None:
    from swardmark.lawns.cover_table import CombinedTable
    from swardmark.season import seasons_seen
    from swardmark.words.tables import cover_rows, for_json, write_cover, write_past
    from swardmark.words.terminal import show_covers

    combined = CombinedTable(table) if table else None
    files = photos_behind(photos_url)
    covers = covers_of(folder, crew=crew, files=files, silent=quiet or as_json)
    path = write_cover(covers, folder=out_folder(folder))
    now = covers.lawn.leveled_before(covers.as_of)
    if now is not None and now != covers.lawn.leveling_dates[0]:
        write_past((row for row in seasons_seen(covers) if row.leveled_on < now), folder=out_folder(folder))
    if combined is not None:
        with combined:
            combined.add(folder.resolve().name, covers)
    if not (quiet or as_json):
        show_covers(covers, console())
        photos = {"now": covers.newly_measured, "all": _photos(covers)}
        say(sentences.MEASURED.format(path=path, **photos))
    content = {"lawn": covers.lawn.name, "cover": for_json(cover_rows(covers))}
    document({**content, **_kept(covers), **refusals(covers)}, wanted=as_json)
    end_with(refusal_lines(covers))


def _measure_many(
    folder: Path,
    folders: tuple[Path, ...],
    table: Path | None,
    how: Mapping[str, Any],
    *,
    as_json: bool,
    quiet: bool,
) -> None:
    from swardmark.lawns.cover_table import CombinedTable
    from swardmark.lawns.measuring import measure_lawns
    from swardmark.words.tables import write_past

    silent = quiet or as_json
    told: list[dict[str, Any]] = []
    refused: list[str] = []
    past: list[PastSeason] = []

    def work(progress: Any) -> None:
        lawns = measure_lawns(folders, **how, on_wait=lambda line: say(line, silent=silent, err=True))
        for number, done in enumerate(lawns, start=1):
            _tell(done, combined, told, refused, silent=silent)
            past.extend(done.past)
            if progress is not None:
                progress(number, len(folders), done.name)

    with CombinedTable(table or out_folder(folder) / "cover.csv") as combined:
        with_progress(work, silent=silent)
        if not any("photos" in row for row in told):
            template = plural(len(folders), sentences.ONLY_LAWN_FAILED, sentences.ALL_LAWNS_FAILED)
            raise UsageError(template.format(all=len(folders), reason=refused[0].rstrip(".")))
    done = sum("photos" in row for row in told)
    template = plural(done, sentences.ONE_LAWN, sentences.LAWNS)
    template = sentences.SOME_LAWNS if done < len(folders) else template
    say(template.format(done=done, all=len(folders), path=combined.path), silent=silent)
    seasons = write_past(past, folder=out_folder(folder))
    if seasons is not None:
        say(sentences.PAST_SEASONS.format(count=len(past), path=seasons), silent=silent)
    kept = {"past": str(seasons) if seasons is not None else None}
    document({"lawns": told, "table": str(combined.path), **kept}, wanted=as_json)
    end_with(refused)


def _tell(
    done: LawnDone, table: CombinedTable, told: list[dict[str, Any]], refused: list[str], *, silent: bool
) -> None:
    """Add one lawn to the table, the document, the lines on the terminal and the refusals."""
    if done.covers is None:
        told.append({"lawn": done.name, "fault": done.fault})
        refused.append(done.fault)
        return
    covers = done.covers
    table.add(done.name, covers)
    row = {"lawn": done.name, "name": covers.lawn.name, "measured_now": covers.newly_measured}
    told.append({**row, **_kept(covers), "written": str(done.table), **refusals(covers)})
    refused.extend(f"{done.name}/{line}" for line in refusal_lines(covers))
    say(_line(done.name, covers), silent=silent)


def _line(lawn: str, covers: LawnCovers) -> str:
    template = sentences.MEASURED_LAWN_REFUSED if covers.refused else sentences.MEASURED_LAWN
    newest = max(row.taken_at for row in covers.covers).date().isoformat()
    counts = {"photos": _photos(covers), "now": covers.newly_measured, "refused": len(covers.refused)}
    return template.format(lawn=lawn, newest=newest, **counts)


def _photos(covers: LawnCovers) -> int:
    return sum(len(point.entries) for point in covers.points)


def _kept(covers: LawnCovers) -> dict[str, Any]:
    """Return how many photos were measured in all, and what the record takes for them."""
    photos = _photos(covers)
    each = round(covers.record_bytes / photos)
    return {"photos": photos, "record_bytes": covers.record_bytes, "record_bytes_per_photo": each}


@contextmanager
def _crew(cluster: str | None, workers: int) -> Iterator[Crew]:
    from swardmark.common.crew import Threads

    if cluster is None:
        with Threads(workers) as threads:
            yield threads
        return
    from swardmark.scale.cluster import Cluster

    least = min(LEAST_THREADS_HERE, os.cpu_count() or 1)
    with Threads(max(workers, least)) as here, Cluster(cluster, here=here) as workers_elsewhere:
        yield workers_elsewhere
