"""How long a connection may say nothing: the page's HTTP protocol with a time limit for headers, by address.

A connection that has not said what it wants within ten seconds is closed. Of those that say nothing only so many are
held, each address for itself; where there are more, the oldest goes, so that who floods the page keeps out no one, not
even from the same address.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEADER_WAIT_S = 10.0
MOST_SILENT_OF_ONE, MOST_SILENT = 24, 96


class Silent:
    """The connections that have not said yet what they want, oldest first."""

    def __init__(self) -> None:
        self._held: OrderedDict[PacedProtocol, str] = OrderedDict()

    def add(self, link: PacedProtocol, address: str) -> None:
        """Hold one more, and close the oldest where there are too many."""
        self._held[link] = address
        own = [one for one, known in self._held.items() if known == address]
        if len(own) > MOST_SILENT_OF_ONE:
            own[0].give_up()
        while len(self._held) > MOST_SILENT:
            next(iter(self._held)).give_up()

    def drop(self, link: PacedProtocol) -> None:
        """Hold one no longer."""
        self._held.pop(link, None)


SILENT = Silent()


class PacedProtocol(H11Protocol):
    """uvicorn's HTTP/1.1 protocol, with a limit on the time until a request's headers are whole."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._wait()
        SILENT.add(self, self.client[0] if self.client else "")

    def data_received(self, data: bytes) -> None:
        """Take data in; what is no whole request yet must become one in time."""
        super().data_received(data)
        if self.conn.their_state is not h11.IDLE:
            self._heard()
        elif self._late is None and not self.transport.is_closing():
            self._wait()

    def on_response_complete(self) -> None:
        """Go on to the next request; the half of one that came along already must become whole in time."""
        super().on_response_complete()
        if self._late is None and self.conn.their_state is h11.IDLE and self.conn.trailing_data[0]:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._heard()
        super().connection_lost(exc)

    def give_up(self) -> None:
        """Close the connection at once."""
        self._heard()
        self.transport.abort()

    def _wait(self) -> None:
        self._late = self.loop.call_later(HEADER_WAIT_S, self.give_up)

    def _heard(self) -> None:
        SILENT.drop(self)
        if self._late is not None:
            self._late.cancel()
            self._late = None
