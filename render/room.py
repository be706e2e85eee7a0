"""Working space that is kept from one block of pixels to the next: fresh memory costs more than the arithmetic done in
it.
"""

from __future__ import annotations

import threading
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray


class Room:
    """Named buffers. What a name returned last is overwritten when the name is asked for again."""

    def __init__(self) -> None:
        self._held: dict[str, NDArray[Any]] = {}

    def __call__(self, name: str, shape: tuple[int, ...], kind: DTypeLike) -> NDArray[Any]:
        """Return an array of a shape whose contents are undefined."""
        size = int(np.prod(shape))
        held = self._held.get(name)
        if held is None or held.size < size or held.dtype != kind:
            held = self._held[name] = np.empty(size, kind)
        return held[:size].reshape(shape)


_own = threading.local()


def room(depth: int = 0) -> Room:
    """Return this thread's room for a depth of recursion."""
    rooms: list[Room] = _own.__dict__.setdefault("rooms", [])
    while len(rooms) <= depth:
        rooms.append(Room())
    return rooms[depth]


@cache
def keep_memory() -> None:
    """Let go of one large block, after which the C library keeps freed memory at hand instead of returning it page by
    page.

    Only a hint: where the library has no such habit nothing changes.
    """
    np.empty(_HINT, np.uint8)


_HINT = 30 << 20  # bytes
