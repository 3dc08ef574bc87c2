"""Bodies on their way in: each at its own pace, none for ever, and too many of them at the cost of the slowest.

A phone at the far end of the garden may be slow, so an upload has no deadline of its own. But one that sends nothing
for 20 seconds, or next to nothing for 60, is given up, and where too many are under way the one that has been silent
longest makes room for the next.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncGenerator, AsyncIterator
from contextlib import aclosing
from dataclasses import dataclass, field

SILENT_S, DRIPPING_S = 20.0, 60.0
LEAST_BYTES = 400_000
"""To be sent in any 60 seconds (our judgment): a phone photo of 4 MB may take ten minutes."""
MOST_AT_ONCE, MOST_BYTES_AT_ONCE = 12, 300_000_000


class TooSlow(Exception):
    """An upload that stalled, dripped, or made room for others."""


class TooLarge(Exception):
    """An upload of more bytes than are taken."""


@dataclass(eq=False)
class _Under:
    """One upload under way."""

    heard: float = field(default_factory=time.monotonic)
    held: int = 0
    given_up: asyncio.Event = field(default_factory=asyncio.Event)


class Uploads:
    """The bodies under way."""

    def __init__(self) -> None:
        self._under: list[_Under] = []

    async def whole(self, stream: AsyncIterator[bytes], *, most_bytes: int) -> bytes:
        """Collect a body in memory.

        Raises
        ------
        TooSlow, TooLarge
            It stalled or made room for others; it has more than `most_bytes`.
        """
        data = bytearray()
        async with aclosing(self.parts(stream, most_bytes=most_bytes, held=True)) as parts:
            async for part in parts:
                data += part
        return bytes(data)

    async def parts(
        self, stream: AsyncIterator[bytes], *, most_bytes: int, held: bool = False
    ) -> AsyncGenerator[bytes, None]:
        """Give a body part by part, as it comes; `held` says that the caller keeps all of them in memory.

        Raises
        ------
        TooSlow, TooLarge
            As for `whole`.
        """
        own, had = _Under(), 0
        self._under.append(own)
        window, before = time.monotonic(), 0
        try:
            while True:
                self._make_room(own)
                part = await self._next(stream, own)
                if part is None:
                    return
                had += len(part)
                own.held, own.heard = had if held else 0, time.monotonic()
                if had > most_bytes:
                    raise TooLarge
                if own.heard - window > DRIPPING_S:
                    if had - before < LEAST_BYTES:
                        raise TooSlow
                    window, before = own.heard, had
                yield part
        finally:
            self._under.remove(own)

    async def _next(self, stream: AsyncIterator[bytes], own: _Under) -> bytes | None:
        """Return the next part, or None at the end."""
        part = asyncio.ensure_future(anext(stream, None))
        room = asyncio.ensure_future(own.given_up.wait())
        try:
            done, _ = await asyncio.wait({part, room}, timeout=SILENT_S, return_when=asyncio.FIRST_COMPLETED)
            if part not in done:
                raise TooSlow
            return part.result()
        finally:
            room.cancel()
            if not part.done():
                part.cancel()

    def _make_room(self, own: _Under) -> None:
        """Give up the upload that was silent longest, where there are too many or they hold too much."""
        others = [one for one in self._under if one is not own and not one.given_up.is_set()]
        is_full = len(others) >= MOST_AT_ONCE or sum(one.held for one in self._under) > MOST_BYTES_AT_ONCE
        if others and is_full:
            min(others, key=lambda one: one.heard).given_up.set()


UPLOADS = Uploads()
