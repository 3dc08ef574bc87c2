"""A folder of lawn folders, measured one after the other or several at a time.

Each lawn keeps its own record, lock and cover.csv, as if it had been measured alone; a lawn that cannot be measured
stops no other.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from swardmark.common.crew import Crew, CrewLost
from swardmark.common.errors import SwardmarkError
from swardmark.common.files import own_folder
from swardmark.common.text import showable
from swardmark.forecast.past import PastSeason
from swardmark.lawns import sentences
from swardmark.measure.covers import LawnCovers, measure_covers
from swardmark.scale.remote import remote_photos
from swardmark.season import seasons_seen
from swardmark.words.tables import write_cover


@dataclass(frozen=True, eq=False)
class LawnDone:
    """One lawn of many: its covers, or why there are none.

    Attributes
    ----------
    folder : Path
        The lawn folder.
    covers : LawnCovers or None
        What was measured; None where `fault` says why not.
    table : Path or None
        The lawn's own cover.csv.
    past : tuple of PastSeason
        Its seasons that were seen to their end.
    """

    folder: Path
    covers: LawnCovers | None = None
    table: Path | None = None
    fault: str = ""
    past: tuple[PastSeason, ...] = ()

    @property
    def name(self) -> str:
        """The folder's name: what the combined table calls the lawn."""
        return showable(self.folder.resolve().name)


def measure_lawns(
    folders: Sequence[Path],
    *,
    crew: Crew,
    at_once: int = 1,
    photos_url: str | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> Iterator[LawnDone]:
    """Measure lawns and write each one's cover.csv; yields them in the order given, as they are done.

    Parameters
    ----------
    folders : sequence of Path
        Lawn folders.
    crew : Crew
        Who measures, for all lawns.
    at_once : int
        Lawns in hand at the same time.
    photos_url : str, optional
        Each lawn's photos lie below this, in a folder of the lawn's name, and not in its photos/.
    on_wait : callable, optional
        Called with a sentence if another run holds a lawn and is waited for.

    Raises
    ------
    CrewLost
        There is no one left who could measure.
    """
    waiting: deque[Future[LawnDone]] = deque()
    stop = threading.Event()
    with ThreadPoolExecutor(at_once) as pool:
        try:
            for folder in folders:
                waiting.append(pool.submit(_measure_one, folder, crew, photos_url, on_wait, stop))
                if len(waiting) > at_once:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            stop.set()
            pool.shutdown(wait=False, cancel_futures=True)


def url_of(folder: Path, photos_url: str | None) -> str | None:
    """Return where a lawn's photos lie below the URL of all; None where they lie in its photos/."""
    return f"{photos_url.rstrip('/')}/{folder.resolve().name}" if photos_url else None


class _StopError(Exception):
    """Ends a lawn's run between two photos, where nobody waits for it any more."""


def _measure_one(
    folder: Path,
    crew: Crew,
    photos_url: str | None,
    on_wait: Callable[[str], None] | None,
    stop: threading.Event,
) -> LawnDone:
    def go_on(*_: object) -> None:
        if stop.is_set():
            raise _StopError

    own = url_of(folder, photos_url)
    try:
        files = remote_photos(own) if own else None
        covers = measure_covers(folder, crew=crew, files=files, progress=go_on, on_wait=on_wait)
        table = write_cover(covers, folder=own_folder(folder, "out"))
        return LawnDone(folder, covers, table, past=seasons_seen(covers))
    except (CrewLost, _StopError):
        raise
    except SwardmarkError as error:
        return LawnDone(folder, fault=str(error))
    except Exception as error:
        return LawnDone(
            folder,
            fault=sentences.FAULT_OF_LAWN.format(folder=folder, kind=type(error).__name__, error=error),
        )
