"""The commands remove and restore: photos that should not count go to a bin in the lawn folder, and back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from swardmark.cli import sentences
from swardmark.cli.console import JsonOption, LawnFolder, QuietOption, document, say

Names = Annotated[
    list[str],
    typer.Argument(metavar="PHOTO...", help="Photos of the lawn, named as in cover.csv.", show_default=False),
]
NamesInBin = Annotated[
    list[str] | None,
    typer.Argument(metavar="[PHOTO...]", help="Photos in the bin; without any the bin is listed."),
]


def remove(
    folder: LawnFolder, photos: Names, as_json: JsonOption = False, quiet: QuietOption = False
) -> None:
    """Move photos into the lawn's bin, the folder removed/; what is marked on them goes along."""
    from swardmark.lawn.photos import remove_photo
    from swardmark.lawn.toml import read_lawn

    read_lawn(folder)
    moved = [remove_photo(folder, _name(folder, photo)) for photo in photos]
    for name in moved:
        say(sentences.REMOVED.format(photo=name, folder=folder), silent=quiet or as_json)
    document({"removed": moved}, wanted=as_json)


def restore(
    folder: LawnFolder, photos: NamesInBin = None, as_json: JsonOption = False, quiet: QuietOption = False
) -> None:
    """Move photos from the lawn's bin back among its photos."""
    from swardmark.lawn.photos import removed_photos, restore_photo
    from swardmark.lawn.toml import read_lawn

    read_lawn(folder)
    moved = [restore_photo(folder, photo) for photo in photos or ()]
    for name in moved:
        say(sentences.RESTORED.format(photo=name), silent=quiet or as_json)
    there = removed_photos(folder)
    if not photos:
        for name in there or (sentences.EMPTY_BIN,):
            say(name, silent=quiet or as_json)
    document({"restored": moved, "in_bin": there}, wanted=as_json)


def _name(folder: Path, photo: str) -> str:
    """Return a photo's name in the tables, also where its path was typed."""
    path, photos = Path(photo).absolute(), (folder / "photos").absolute()
    return path.relative_to(photos).as_posix() if path.is_relative_to(photos) else photo
