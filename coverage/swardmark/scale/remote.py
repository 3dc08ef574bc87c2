"""Photos behind a URL: on object storage, a web server or another disk, listed and read through fsspec.

They lie there as they would in photos/: right below the URL, or one folder further, which is then the photo point's
name. Only the listing is read where the command runs; the photos are read by whoever measures them.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any, TypeVar

from swardmark.common.errors import PhotoRefused, PhotoUnread, UsageError, missing_extra, reason_of
from swardmark.common.text import showable
from swardmark.lawn.photos import MAIN_POINT, PHOTO_SUFFIXES, PhotoFile
from swardmark.photo.decode import MOST_BYTES, digest_of

STAMPS = ("ETag", "etag", "md5Hash", "content_settings", "mtime", "LastModified", "last_modified", "updated")
"""What the file systems of fsspec call what changes with a file's content."""
PAUSES_S = (0.5, 2.0)
"""Before a read that failed is tried again."""
T = TypeVar("T")


@dataclass(frozen=True)
class RemotePhoto(PhotoFile):
    """A photo behind a URL.

    Attributes
    ----------
    url : str
        Where it is read from.
    size, stamp : int
        Its size in bytes, and a number that is another one once the file was changed.
    digest : str
        The content hash that it must have when it is read, where it is known.
    """

    url: str = ""
    size: int = -1
    stamp: int = 0
    digest: str = ""

    def read(self) -> bytes:
        """Return the file's bytes; raises PhotoRefused where they cannot be had or are others than were looked at."""
        if self.fault:
            raise PhotoRefused(self.fault, where=self.name, remedy=self.remedy)
        try:
            data = _tried_again(lambda: _whole(self.url))
        except Exception as error:
            remedy = "Check that every worker is allowed to read it"
            raise PhotoUnread(
                f"cannot be read ({reason_of(error)})", where=self.name, remedy=remedy
            ) from None
        if self.digest and digest_of(data) != self.digest:
            raise PhotoUnread("changed while it was being measured", where=self.name, remedy="Measure again")
        return data

    @property
    def is_elsewhere(self) -> bool:
        """Behind a URL, always."""
        return True

    def size_and_time(self) -> tuple[int, int]:
        """Return size and stamp, which identify an unchanged file."""
        return self.size, self.stamp

    def pinned(self, digest: str) -> RemotePhoto:
        """Return the photo as one that must have this content."""
        return replace(self, digest=digest)


def remote_photos(url: str) -> list[RemotePhoto]:
    """List the photos below a URL, ordered by photo point, then by name.

    Raises
    ------
    UsageError
        The URL cannot be listed, or what reads its kind is not installed.
    """
    try:
        from fsspec.core import url_to_fs
    except ImportError:
        raise missing_extra("reading URLs needs fsspec", "cluster", where="--photos-url") from None
    if "://" not in url:
        raise UsageError(
            f"{url!r} is not a URL", where="--photos-url", remedy="Write it as s3://bucket/folder"
        )
    try:
        system, root = url_to_fs(url)
        system.invalidate_cache()
        found: Mapping[str, Mapping[str, Any]] = _tried_again(
            lambda: system.find(root, maxdepth=2, detail=True)
        )
    except Exception as error:
        remedy = (
            "Check the address, its permissions, and that the library for this kind of address is installed"
        )
        raise UsageError(f"cannot be listed ({reason_of(error)})", where=url, remedy=remedy) from None
    photos = [
        _photo(PurePosixPath(path).relative_to(PurePosixPath(root)), system.unstrip_protocol(path), info)
        for path, info in found.items()
        if _is_named_photo(path)
    ]
    if not photos:
        raise UsageError(f"no photos in {url}", where="--photos-url", remedy="Check the address")
    return sorted(photos, key=lambda photo: (photo.point, photo.name))


def _tried_again(read: Callable[[], T]) -> T:
    """Read, and once more after each pause where it fails for a reason that may pass."""
    for pause_s in PAUSES_S:
        try:
            return read()
        except (FileNotFoundError, PermissionError):
            raise
        except Exception:
            time.sleep(pause_s)
    return read()


def _whole(url: str) -> bytes:
    import fsspec

    with fsspec.open(url, "rb") as file:
        data: bytes = file.read()
    return data


def _photo(inside: PurePosixPath, url: str, info: Mapping[str, Any]) -> RemotePhoto:
    folders, size = inside.parts[:-1], int(info.get("size") or 0)
    name = showable(inside.as_posix())
    too_large = f"the file is {size / 1e6:.0f} MB" if size > MOST_BYTES else ""
    return RemotePhoto(
        point=showable(folders[0]) if folders else MAIN_POINT,
        path=Path(inside),
        name=name,
        fault=too_large,
        remedy="Export it as a JPEG" if too_large else "",
        url=url,
        size=size,
        stamp=_stamp(info),
    )


def _stamp(info: Mapping[str, Any]) -> int:
    """Hash what identifies a changed file; where nothing does, each listing has a new stamp and forces a read."""
    telling = [f"{key}={info[key]}" for key in STAMPS if info.get(key) is not None]
    text = "|".join(telling) or str(time.time_ns())
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:7], "big")


def _is_named_photo(path: str) -> bool:
    name = PurePosixPath(path)
    return name.suffix.lower() in PHOTO_SUFFIXES and not name.name.startswith(".")
