"""One kind of error: what is wrong, where, and how to put it right, in one line.

SwardmarkError
├── UsageError       bad usage or input: nothing is written, exit code 2
│   ├── NothingMeasured   no photo can be measured (up to a day)
│   └── FileError    a keeper's file that cannot be read, with its line where one is known
└── PhotoRefused     one photo is not fit to measure: the others go on, exit code 1
    ├── PhotoUnread  its file cannot be read this time: never recorded
    └── NoDate       the photo has no date, or one in the future
"""

from __future__ import annotations

from pathlib import Path
from typing import Any


class SwardmarkError(Exception):
    """The parent of every error that swardmark raises on purpose.

    Parameters
    ----------
    what : str
        What is wrong, as a sentence without its full stop.
    where : str, optional
        The file, line, photo or option it is about.
    remedy : str, optional
        How the keeper puts it right, as a sentence without its full stop.
    """

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        self.what, self.where, self.remedy = what, where, remedy
        super().__init__(str(self))

    def __str__(self) -> str:
        line = f"{self.where}: {self.what}" if self.where else self.what
        line = f"{line}. {self.remedy}" if self.remedy else line
        line = line if line.endswith(("...", "?")) else f"{line}."
        return " ".join(line.split())

    def __reduce__(self) -> tuple[Any, ...]:
        """Keyword-only parts survive pickling, so that an error can cross to another process."""
        return _rebuild, (type(self), self.what, self.where, self.remedy)


class UsageError(SwardmarkError):
    """Bad usage or input; nothing was written."""


class NothingMeasured(UsageError):
    """There is no photo that can be measured (up to a day); what needs none still works."""


class FileError(UsageError):
    """A keeper's file that cannot be read or understood; `where` holds file and line."""


class PhotoRefused(SwardmarkError):
    """One photo cannot be measured; `where` is the photo, `remedy` how to retake it."""


class PhotoUnread(PhotoRefused):
    """A photo whose file cannot be read this time, for a reason that may pass: tried anew at the next run."""


class NoDate(PhotoRefused):
    """A photo without a date in the file, in its name or from the keeper, or with one in the future.

    Parameters
    ----------
    name : str
        The photo.
    day : str, optional
        The day in the future that it says.
    """

    def __init__(self, name: str, day: str = "") -> None:
        self._parts = name, day
        remedy = f"dd it with its date: swardmark add LAWN {name} --date 2026-06-09"
        if day:
            remedy = f"Check this machine's clock, or a{remedy}"
            super().__init__(f"is dated {day}, in the future", where=name, remedy=remedy)
        else:
            super().__init__("has no date", where=name, remedy=f"A{remedy}")

    def __reduce__(self) -> tuple[Any, ...]:
        return NoDate, self._parts


def check_argument(value: object, *kinds: type, name: str, where: str, remedy: str) -> None:
    """Raise UsageError where a public function was given an argument of none of some kinds; a bool is no number."""
    if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
        words = " or ".join(kind.__name__ for kind in kinds if kind is not type(None))
        raise UsageError(f"{name}: {value!r:.60} is no {words}", where=where, remedy=remedy)


def check_path(value: object, *, name: str, where: str) -> None:
    """Raise UsageError where a public function was given something else than a path."""
    check_argument(value, Path, str, name=name, where=where, remedy="Give the path as text or as a Path")


def missing_extra(what: str, extra: str, *, where: str, instead: str = "") -> UsageError:
    """Return the error for a library that only an extra of swardmark brings; `instead` is what else would do."""
    return UsageError(what, where=where, remedy=f"Install it with: pip install 'swardmark[{extra}]'{instead}")


def reason_of(error: BaseException) -> str:
    """Return what a library's error says, on one line, for the middle of a sentence."""
    return " ".join(f"{type(error).__name__}: {error}".split())[:200].rstrip(" .:")


def _rebuild(kind: type[SwardmarkError], what: str, where: str, remedy: str) -> SwardmarkError:
    return kind(what, where=where, remedy=remedy)
