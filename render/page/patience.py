"""How long the page waits for a request that comes in pieces: one that is never finished must not keep others out."""

from __future__ import annotations

import asyncio
import time

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

PATIENCE_S = 12.0  # from the first letter to the last, however steadily they drip; a recipe is sent in one second
MOST_LINES, ACCEPTED = 120, 20  # open at once, and taken in one go; some systems let a program hold 256 files


class Patient(H11Protocol):
    """One line to a browser. It is closed where a request is not whole in time, or, once there are too many lines, where it
    has been waited for longest; of those on which nothing is begun, the one that has said nothing for longest. The newest
    and those being answered stay.
    """

    _late: asyncio.TimerHandle | None = None
    _since = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait; the line waited for longest makes room."""
        super().connection_made(transport)
        self._wait()
        lines = [one for one in self.connections if isinstance(one, Patient) and not one.transport.is_closing()]
        if len(lines) > MOST_LINES:
            longest = min((one for one in lines if one is not self), key=lambda one: (one._busy(), one._since))
            longest.transport.abort()

    def data_received(self, data: bytes) -> None:
        """Take what has come; what is whole is waited for no longer, what has begun is waited for from now."""
        super().data_received(data)
        half_head = self.conn.their_state is h11.IDLE and bool(self.conn.trailing_data[0])
        if not half_head and self.conn.their_state is not h11.SEND_BODY:
            self._since = time.monotonic()
            self._rest()
        elif self._late is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._rest()
        super().connection_lost(exc)

    def _busy(self) -> bool:
        """Whether a question that is whole is being answered."""
        return self._late is None and self.cycle is not None and not self.cycle.response_complete

    def _wait(self) -> None:
        self._since = time.monotonic()
        self._late = self.loop.call_later(PATIENCE_S, self._give_up)

    def _give_up(self) -> None:
        if self._late is not None:
            self.transport.abort()

    def _rest(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None
