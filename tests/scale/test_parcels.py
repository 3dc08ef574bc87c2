"""What travels together to the workers of a cluster, and what happens to it when a task fails."""

from __future__ import annotations

import pickle
import threading
import weakref
from dataclasses import dataclass

import pytest

from swardmark.common.crew import CrewLost
from swardmark.common.errors import PhotoRefused
from swardmark.scale.answers import packed_answers
from swardmark.scale.cluster import Cluster
from swardmark.scale.parcels import LEAST_TASKS, MOST_BYTES, MOST_PHOTOS, Parcels


@dataclass(frozen=True)
class Photo:
    """A photo of so many bytes; none where it cannot be read."""

    name: str
    size: int = 1000
    point: str = "main"

    def read(self):
        if not self.size:
            raise PhotoRefused("cannot be read", where=self.name)
        return bytes(self.size)


def jobs_of(*sizes):
    return [(Photo(f"{n:03}.jpg", size), n) for n, size in enumerate(sizes)]


def all_of(parcels):
    found = []
    while parcels.are_left:
        found.append(parcels.next())
    return [parcel for parcel in found if parcel.jobs or parcel.unread]


def numbers(parcels):
    return [[n for _, n in parcel.jobs] for parcel in parcels]


def test_every_job_travels_once_in_its_order():
    jobs = jobs_of(*[1000] * 403)
    found = all_of(Parcels(jobs, threads=2))
    assert [n for parcel in numbers(found) for n in parcel] == list(range(403))
    assert {len(parcel.jobs) for parcel in found[:-1]} == {MOST_PHOTOS}
    assert all(
        sent[0].read() == job[0].read() for p in found for job, sent in zip(p.jobs, p.sent, strict=True)
    )


def test_few_photos_are_spread_over_all_workers():
    jobs = jobs_of(*[1000] * 40)
    assert {len(p.jobs) for p in all_of(Parcels(jobs, threads=40))} == {1}
    assert len(all_of(Parcels(jobs, threads=2))) >= 2 * LEAST_TASKS


def test_large_photos_travel_alone():
    half, found = MOST_BYTES // 2, all_of(Parcels(jobs_of(*[MOST_BYTES + 1] * 40), threads=1))
    assert {len(parcel.jobs) for parcel in found} == {1}
    found = all_of(Parcels(jobs_of(*[half] * 40), threads=1))
    assert {len(parcel.jobs) for parcel in found} == {2}


def test_bytes_travel_beside_the_pickle():
    beside = []
    parcel = Parcels(jobs_of(5000), threads=1).next()
    text = pickle.dumps(parcel.sent, protocol=5, buffer_callback=beside.append)
    assert len(text) < 1000 and len(beside) == 1
    assert pickle.loads(text, buffers=beside)[0][0].read() == bytes(5000)


class OneTask:
    """What `submit` returns: it is done at once."""

    def __init__(self, jobs, work):
        self.failed = any(job[0].name == "007.jpg" for job in jobs)
        self.status = "error" if self.failed else "finished"
        self.results = b"" if self.failed else packed_answers([work(*job) for job in jobs])

    def add_done_callback(self, then):
        then(self)

    def result(self, timeout):
        if self.failed:
            raise RuntimeError("the picture is cursed")
        return self.results


class Client:
    """A client whose workers fail on whatever holds the photo 007.jpg."""

    def __init__(self):
        self.tasks = []

    def submit(self, do, code, work, jobs, **_):
        self.tasks.append([job[0].name for job in jobs])
        return OneTask(jobs, work)


def crew_of(client, room):
    crew = Cluster("tcp://127.0.0.1:9")
    crew._client, crew._room, crew._looked_at = client, room, float("inf")
    crew._free.release(room)
    return crew


def test_one_photo_that_fails_takes_no_other_with_it():
    crew = crew_of(Client(), 2)
    jobs = jobs_of(*([1000] * 21 + [0] + [1000] * 20))

    def work(source, number) -> tuple[int | str, int]:
        try:
            return len(source.read()), number
        except PhotoRefused:
            return "unread", number

    found = {job[1]: result for job, result in crew.each(work, jobs)}
    assert sorted(found) == list(range(42))
    assert isinstance(found[7], PhotoRefused) and "cursed" in found[7].what
    assert found[21] == ("unread", 21)
    assert all(found[n] == (1000, n) for n in range(42) if n not in (7, 21))
    together = next(task for task in crew._client.tasks if "007.jpg" in task)
    assert len(together) == 42 // LEAST_TASKS
    assert all([name] in crew._client.tasks for name in together)
    assert crew._free._value == 2


class GoneScheduler:
    """A client whose scheduler takes nothing any more."""

    def submit(self, *_, **__):
        raise OSError("closed")


class Unreadable(Photo):
    """A photo whose reading fails in a way that nobody foresaw."""

    def read(self):
        raise MemoryError


@pytest.mark.parametrize(
    ("client", "photo", "fault"),
    [(GoneScheduler(), Photo("a.jpg"), CrewLost), (Client(), Unreadable("a.jpg"), MemoryError)],
)
def test_a_lawn_that_ends_by_a_fault_leaves_the_others_their_room(client, photo, fault):
    """Lawns share what may be in hand; one that kept its part would have the others wait for ever."""
    crew = crew_of(client, 2)
    for _ in range(3):
        with pytest.raises(fault):
            list(crew.each(lambda source, number: number, [(photo, 0)]))
        assert crew._free._value == 2


def test_nothing_to_do_waits_for_no_room():
    crew = Cluster("tcp://127.0.0.1:9")
    crew._room, crew._free = 2, None
    assert list(crew.each(lambda source, number: number, [])) == []


class Waiting(OneTask):
    """A task that is done when all are sent."""

    def add_done_callback(self, then):
        self.then = then


class Slow(Client):
    """A client that remembers which photos' bytes are still held where they were sent from."""

    def __init__(self, wanted):
        super().__init__()
        self.wanted, self.sent, self.waiting, self.held = wanted, [], [], []

    def submit(self, do, code, work, jobs, **_):
        self.sent += [weakref.ref(job[0]) for job in jobs]
        self.waiting.append(Waiting([], work))
        self.waiting[-1].results = packed_answers([work(*job) for job in jobs])
        self.held.append(sum(one() is not None for one in self.sent))
        if len(self.waiting) == self.wanted:
            threading.Timer(0.1, lambda: [task.then(task) for task in self.waiting]).start()
        return self.waiting[-1]


def test_what_was_sent_is_not_held_here_as_well():
    client = Slow(wanted=12)
    found = list(crew_of(client, 12).each(lambda source, number: number, jobs_of(*[1000] * 12)))
    assert sorted(number for _, number in found) == list(range(12))
    assert max(client.held) <= 2, "the parcel that is sent, and the one before it"
