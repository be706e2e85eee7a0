"""Things kept: made once however many ask at once, the oldest given up, and what failed is tried again."""

from __future__ import annotations

import threading
from collections.abc import Hashable
from concurrent.futures import ThreadPoolExecutor

import pytest

from render.kept import Kept, Shelf


def test_one_thing_is_made_once_for_all_who_ask_together() -> None:
    shelf, made, gate = Shelf(), list[int](), threading.Event()

    def make() -> int:
        gate.wait(10)
        made.append(1)
        return len(made)

    with ThreadPoolExecutor(6) as pool:
        asked = [pool.submit(shelf.get, "bar", make) for _ in range(6)]
        gate.set()
        assert [one.result(10) for one in asked] == [1] * 6
    assert made == [1]


def test_what_failed_is_tried_again_and_leaves_nothing_behind() -> None:
    shelf = Shelf()

    def fail() -> int:
        raise ValueError

    for _ in range(50):
        with pytest.raises(ValueError):
            shelf.get("bar", fail)
    assert not shelf._making
    assert shelf.get("bar", lambda: 7) == 7


def test_there_is_no_moment_in_which_a_made_thing_is_neither_held_nor_being_made() -> None:
    shelf, held = Shelf(), list[bool]()

    class Watched(dict[Hashable, threading.Lock]):
        def __delitem__(self, key: Hashable) -> None:
            held.append(key in shelf._held)
            super().__delitem__(key)

    shelf._making = Watched()
    shelf.get("bar", lambda: 7)
    assert held == [True]


def test_the_one_asked_for_longest_ago_is_given_up() -> None:
    shelf = Shelf(2)
    for name in ("one", "two"):
        shelf.get(name, lambda: "first")
    shelf.get("one", lambda: "again")
    shelf.get("three", lambda: "first")
    assert shelf.get("one", lambda: "again") == "first"
    assert shelf.get("two", lambda: "again") == "again"


def test_kinds_do_not_crowd_one_another_out() -> None:
    kept = Kept(1)
    kept.get("table", 1, lambda: "a table")
    kept.get("outline", 1, lambda: "an outline")
    assert kept.get("table", 1, lambda: "another") == "a table"
