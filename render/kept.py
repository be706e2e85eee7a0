"""Things made once and kept for a while, however many ask for them at the same time."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

Made = TypeVar("Made")


class Shelf:
    """The last few things made, each by what it was made from; made once even when two ask at a time."""

    def __init__(self, most: int = 16) -> None:
        self._most, self._held = most, OrderedDict[Hashable, Any]()
        self._lock, self._making = threading.Lock(), dict[Hashable, threading.Lock]()

    def get(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """The thing of a key. What `make` raises is raised, nothing is kept, and whoever asks next makes it again."""
        with self._lock:
            if key in self._held:
                return self._taken(key)
            own = self._making.setdefault(key, threading.Lock())
        with own:
            with self._lock:
                if key in self._held:
                    return self._taken(key)
            try:
                made = make()
                with self._lock:
                    self._held[key] = made
                    while len(self._held) > self._most:
                        self._held.popitem(last=False)
                return made
            finally:  # only when it is held: who comes in between would make it again
                with self._lock:
                    if self._making.get(key) is own:
                        del self._making[key]

    def _taken(self, key: Hashable) -> Any:
        self._held.move_to_end(key)
        return self._held[key]


class Kept:
    """A shelf for each kind of thing that sessions share."""

    def __init__(self, most: int = 12) -> None:
        self._most, self._shelves = most, dict[str, Shelf]()

    def get(self, kind: str, key: Hashable, make: Callable[[], Made]) -> Made:
        """A thing of a kind by its key, made if it is not there."""
        shelf = self._shelves.get(kind) or self._shelves.setdefault(kind, Shelf(self._most))
        return shelf.get(key, make)
