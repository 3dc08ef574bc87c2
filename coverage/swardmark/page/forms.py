"""Plain HTML forms for the page: native inputs, so that a phone shows its own date picker and number keys."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from nicegui import ui
from nicegui.element import Element
from nicegui.elements.mixins.text_element import TextElement

from swardmark.page import sentences
from swardmark.page.elements import NoticeList

FIRST = "^value"
"""What an input begins with, as an attribute (Vue's ^): as a property it would replace what is typed meanwhile."""
Handler = Callable[[], Awaitable[None] | None]


def words(tag: str, text: str, look: str = "") -> TextElement:
    """Put text on the page in its own tag; it is text, whatever signs it holds."""
    return TextElement(tag=tag, text=text).classes(look)


@contextmanager
def section(anchor: str, title: str) -> Iterator[Element]:
    """Open one section of the page."""
    with Element("section").classes("sm-section").props(f'id="{anchor}"') as outer:
        words("h2", title)
        yield outer


def button(text: str, act: Callable[..., Any], look: str = "") -> TextElement:
    """Put a button on the page."""
    return TextElement(tag="button", text=text).classes(f"sm-button {look}").on("click", act)


def link(text: str, address: str, look: str = "sm-button sm-plain") -> TextElement:
    """Put a link on the page that takes a file away."""
    shown = TextElement(tag="a", text=text).classes(look)
    shown._props.update(href=address, download="")
    return shown


class Field:
    """One labeled input and what is in it.

    Parameters
    ----------
    label, hint : str
        What is asked, and in which form.
    kind : str
        The HTML input's type: text, number, date or checkbox.
    value : str or bool
        What it begins with.
    on_change : callable, optional
        Called after each change, at most every 0.4 s.
    """

    def __init__(
        self,
        label: str,
        *,
        kind: str = "text",
        value: Any = "",
        hint: str = "",
        on_change: Handler | None = None,
    ) -> None:
        self.value = value
        with Element("label").classes(f"sm-field sm-field-{kind}"):
            words("span", label, "sm-label")
            self.input = Element("input")
            self.input._props.update(type=kind, **_first(kind, value), **_more(kind))
            if hint:
                words("span", hint, "sm-hint-text")
        reads = "(e) => emit(e.target.checked)" if kind == "checkbox" else "(e) => emit(e.target.value)"
        self.input.on("input", self._set, js_handler=reads)
        if on_change is not None:
            self.input.on("input", on_change, throttle=0.4, leading_events=False)

    def put(self, value: str) -> None:
        """Put another value into the input."""
        self.value = value
        self.input.client.run_javascript(
            f"const box = document.getElementById('c{self.input.id}'); if (box) box.value = {json.dumps(value)};"
        )

    def _set(self, event: Any) -> None:
        self.value = event.args


class TickLine:
    """One line with a tick before it; `act` is called with whether it is ticked."""

    def __init__(self, text: str, on: bool, act: Callable[[bool], Any]) -> None:
        with Element("label").classes("sm-tick sm-look"):
            box = Element("input")
            box._props.update(type="checkbox", checked=on)
            words("span", text)
        box.on("change", lambda event: act(bool(event.args)), js_handler="(e) => emit(e.target.checked)")


class Choice:
    """One labeled choice among a few."""

    def __init__(self, label: str, options: Iterable[tuple[str, str]], *, value: str = "") -> None:
        self.value = value
        self._offered: list[tuple[str, str]] = []
        with Element("label").classes("sm-field"):
            words("span", label, "sm-label")
            self.select = Element("select")
        self.offer(options)
        self.select.on("change", self._set, js_handler="(e) => emit(e.target.value)")

    def offer(self, options: Iterable[tuple[str, str]]) -> None:
        """Offer these (key, text) pairs; what is chosen stays chosen if it is among them."""
        offered = list(options)
        if offered == self._offered:
            return
        self._offered = offered
        self.select.clear()
        with self.select:
            for key, text in offered:
                option = words("option", text)
                option._props.update(value=key, **({"selected": True} if key == self.value else {}))
        if self.value not in dict(offered):
            self.value = offered[0][0]

    def _set(self, event: Any) -> None:
        self.value = event.args


class Notices:
    """The lines at the foot of one tab, and what Undo does for each."""

    def __init__(self) -> None:
        self._undo: dict[int, Handler] = {}
        self._next = 0
        self.list = NoticeList(words=sentences.NOTICE_WORDS)
        self.list.on("undo", self._take_back)
        _of_client[ui.context.client.id] = self
        ui.context.client.on_delete(lambda client=ui.context.client: _of_client.pop(client.id, None))

    def push(self, text: str, *, bad: bool, undo: Handler | None) -> None:
        """Show a line."""
        self._next += 1
        if undo is not None:
            self._undo[self._next] = undo
        self.list.run_method("push", {"id": self._next, "text": text, "bad": bad, "undo": undo is not None})

    def _take_back(self, event: Any) -> Any:
        undo = self._undo.pop(int(event.args), None)
        return undo() if undo is not None else None


_of_client: dict[str, Notices] = {}


def tell(line: str, *, bad: bool = False, undo: Handler | None = None) -> None:
    """Show one line at the page's foot for a while, with Undo where there is something to take back.

    Faults stay until they are closed.
    """
    notices = _of_client.get(ui.context.client.id)
    if notices is not None:
        notices.push(line, bad=bad, undo=undo)


def _first(kind: str, value: Any) -> dict[str, Any]:
    if kind == "checkbox":
        return {"checked": True} if value else {}
    return {FIRST: value} if value != "" else {}


def _more(kind: str) -> dict[str, Any]:
    if kind == "number":
        return {"step": "any", "inputmode": "decimal"}
    return {"maxlength": 400, "autocomplete": "off"} if kind == "text" else {}
