"""Connections that hold a place without asking anything are let go."""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 15.0
"""Time in which the head of a request has to arrive [s]."""


class Hasty(H11Protocol):
    """Hangs up on whoever does not finish a head in time: two hundred of them would shut all others out."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the clock of a new connection."""
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Start the clock anew with every piece that comes."""
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clock."""
        self._stop()
        super().connection_lost(exc)

    def _watch(self) -> None:
        if self.conn.their_state is not h11.IDLE:
            self._stop()
        elif self._late is None:  # each byte more does not buy more time
            self._late = self.loop.call_later(HEAD_S, self._hang_up)

    def _stop(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _hang_up(self) -> None:
        if self.conn.their_state is h11.IDLE and not self.transport.is_closing():
            self.transport.close()
