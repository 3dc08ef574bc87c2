"""Keeping what was entered: the change is written, said at the page's foot, and can be taken back there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.edits.undo import take_back, with_undo
from swardmark.page.desk import Desk
from swardmark.page.forms import tell
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain


def keep(desk: Desk, names: Iterable[str], act: Callable[[], Any], said: str = "") -> bool:
    """Write a change to files of the lawn, say so, and offer to take it back; a fault is said instead.

    Parameters
    ----------
    desk : Desk
        The lawn.
    names : iterable of str
        The files that the change may touch.
    act : callable
        Writes it.
    said : str
        What is said then.

    Returns
    -------
    bool
        Whether it was written.
    """
    try:
        _, changes = with_undo(desk.folder, names, act)
    except SwardmarkError as error:
        tell(plain(str(error)), bad=True)
        desk.changed()
        return False
    done(desk, said, undo=(lambda: take_back(desk.folder, changes)) if changes else None)
    return True


def done(desk: Desk, said: str, *, undo: Callable[[], Any] | None = None) -> None:
    """Say that a change was made, show it in every tab, and measure anew; `undo` takes it back."""

    def back() -> None:
        try:
            assert undo is not None
            undo()
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
        else:
            tell(sentences.UNDONE)
        desk.changed()
        desk.measure_soon()

    tell(said or sentences.SAVED, undo=back if undo is not None else None)
    desk.changed()
    desk.measure_soon()
