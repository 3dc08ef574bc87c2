"""Work on all maps of a photo point, by threads of this process or by a crew's workers on other machines.

Maps travel as the record keeps them, some together, and are checked and unpacked where the work is done. What no worker
could do is done here, so that a lost cluster costs nothing but time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from swardmark.canopy.index import GroundMap
from swardmark.common.crew import Crew, CrewLost, Source
from swardmark.record.shelf import MapShelf, unpacked_together

MOST_MAPS = 48
"""Maps that travel together, about 8 MB: a task costs scheduler and command some milliseconds, whatever it holds."""

MapWork = Callable[..., bytes]
"""Work on some maps: `work(maps, of_each, *parts)`, a function of a module, which workers find by its name."""


@dataclass(frozen=True)
class MapBatch:
    """Some maps of a shelf as the source of a job."""

    maps: MapShelf
    numbers: range

    @property
    def point(self) -> str:
        """The photo point."""
        return self.maps.keys[self.numbers[0]][2]

    @property
    def name(self) -> str:
        """The first map's photo."""
        return self.maps.names[self.numbers[0]]

    def read(self) -> bytes:
        """Return the maps as the record keeps them."""
        return self.maps.together(self.numbers)


def over_maps(
    maps: MapShelf,
    work: MapWork,
    crew: Crew,
    *,
    size: Callable[[int], int],
    parts: tuple[Any, ...] = (),
    of_each: Sequence[Any] = (),
) -> Iterator[bytes]:
    """Do work on all maps and give what came of each batch of them, in order.

    Threads give one answer at a time, so that no more than a few are held, whatever the number of photos.

    Parameters
    ----------
    maps : MapShelf
        The photo point's maps.
    work : callable
        Called as `work(maps, of_each, *parts)` with some maps, oldest first.
    crew : Crew
        Who does it: threads take one map at a time, other crews up to `MOST_MAPS`.
    size : callable
        How many bytes the work gives for so many maps; any other answer of a worker is not used.
    parts : tuple
        What the work needs besides.
    of_each : sequence, optional
        What it needs of each map.
    """
    if crew is crew.here:

        def alone(number: int, ground_map: GroundMap) -> bytes:
            return work([ground_map], of_each[number : number + 1], *parts)

        return maps.each(alone, crew.here)
    starts = range(0, len(maps), MOST_MAPS)
    numbers = [range(start, min(start + MOST_MAPS, len(maps))) for start in starts]
    jobs = [(MapBatch(maps, own), work, of_each[own.start : own.stop], parts) for own in numbers]
    return iter(by_crew(crew, work_on_batch, jobs, sizes=[size(len(own)) for own in numbers]))


def work_on_batch(source: Source, work: MapWork, of_each: Sequence[Any], parts: tuple[Any, ...]) -> bytes:
    """Unpack a batch of maps and work on them, wherever that is done."""
    return work(unpacked_together(source.read()), of_each, *parts)


def by_crew(
    crew: Crew,
    work: MapWork,
    jobs: Sequence[tuple[Any, ...]],
    *,
    sizes: Sequence[int] | None = None,
) -> list[bytes]:
    """Do `work(*job)` for every job by a crew, and here what it could not do; answers in the order of the jobs."""
    answers: dict[int, bytes] = {}
    at = {id(job): number for number, job in enumerate(jobs)}
    with suppress(CrewLost):
        for job, answer in crew.each(work, jobs):
            number = at[id(job)]
            if isinstance(answer, bytes) and (sizes is None or len(answer) == sizes[number]):
                answers[number] = answer
    missing = [job for number, job in enumerate(jobs) if number not in answers]
    answers |= {at[id(job)]: answer for job, answer in crew.here.each(work, missing)}
    return [answers[number] for number in range(len(jobs))]
