"""The house stands: nothing imports upwards, nothing imports in a circle, and no two rooms hold a file of one name."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# From the ground up; rooms on one line are neighbours that may lean on one another as long as no circle is made.
FLOORS = (
    ("metal",),
    ("base",),
    ("steel",),
    ("bar",),
    ("forming", "heating", "blade"),
    ("steps",),
    ("recipe",),
    ("ledger",),
    ("hardening", "grinding", "plan", "stages", "where", "record", "count", "manual"),
    ("render",),
    ("cli",),
)
FLOOR = {room: height for height, rooms in enumerate(FLOORS) for room in rooms}


def room_of(module: str) -> str:
    """The room a module stands in."""
    parts = module.split(".")
    return "render" if parts[0] == "render" else parts[1] if len(parts) > 1 else "billet"


def sources() -> dict[str, Path]:
    """Every module of the house by its dotted name."""
    files = [*(ROOT / "billet").rglob("*.py"), *(ROOT / "render").rglob("*.py")]
    return {".".join(f.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): f for f in files}


def imports(file: Path) -> set[str]:
    """What a file imports of the house, wherever in the file, for types too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{a.name}" for a in node.names}
    return {m for m in found if m.split(".")[0] in ("billet", "render")} & set(sources())


GRAPH = {name: imports(file) for name, file in sources().items()}


def test_every_room_has_its_floor() -> None:
    assert {room_of(m) for m in GRAPH} - {"billet"} == set(FLOOR) & {room_of(m) for m in GRAPH}


@pytest.mark.parametrize("module", sorted(m for m in GRAPH if room_of(m) != "billet"))
def test_nothing_imports_upwards(module: str) -> None:
    mine = FLOOR[room_of(module)]
    assert [m for m in GRAPH[module] if room_of(m) != "billet" and FLOOR[room_of(m)] > mine] == []


def test_no_file_name_stands_twice() -> None:
    """Commands are named for what they do, packages for their room; every other name is of one file."""
    stems = [m.split(".")[-1] for m in GRAPH if room_of(m) != "cli" and m.split(".")[-1] not in FLOOR]
    assert [name for name, count in Counter(stems).items() if count > 1] == []


def test_nothing_imports_in_a_circle() -> None:
    left = {m: {d for d in wanted if d != m and not m.startswith(f"{d}.")} for m, wanted in GRAPH.items()}
    while leaves := {m for m, wanted in left.items() if not wanted}:
        left = {m: wanted - leaves for m, wanted in left.items() if m not in leaves}
    assert left == {}


def test_rooms_lean_one_way_on_one_another() -> None:
    between = {(room_of(m), room_of(d)) for m, wanted in GRAPH.items() for d in wanted} - {("billet", "billet")}
    assert [(a, b) for a, b in between if a < b and (b, a) in between] == []
