"""Cases for the command line: the files that lie in the folder, the words typed, and whether all of it is right."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from tests.fuzz import things
from tests.fuzz.mutations import WEIRD, as_bytes, spoilt
from tests.fuzz.recipes import recipes

Draw = Any
RECIPE = "knife.toml"


@dataclass(frozen=True)
class Case:
    """One call: its kind, files by name, words after `billet`, and whether it must be accepted."""

    kind: str
    words: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    sound: bool = False


QUICK = (
    ("check",), ("check", "--json"), ("ledger",), ("ledger", "--full"), ("ledger", "--json"), ("next",), ("stages",), ("quote",),
)  # fmt: skip
SLOW = (
    ("harden",), ("carbon",), ("where",), ("preview", "--width", "120"), ("preview", "--width", "90", "--view", "section"),
    ("preview", "--width", "90", "--view", "bar-face", "--after", "1"), ("sheet", "--html"), ("stages", "--full", "--json"),
)  # fmt: skip


@lru_cache(maxsize=1)
def demos() -> tuple[str, ...]:
    """The recipes that come with the project."""
    folder = Path(__file__).parents[2] / "demo_billets"
    return tuple(path.read_text() for path in sorted(folder.glob("*.toml")))


STEADY = (
    'title = "smokehouse slicer"\n[[bar]]\nname = "billet"\nwidth = "50 mm"\nlength = "120 mm"\nstack = ["1084 3 mm", "15N20 2 mm"]\n'
    'repeat = 4\n[[bar.step]]\ndo = "weld"\ntemperature = "1150 C"\nsoak = "8 min"\n[[bar.step]]\ndo = "draw"\nthickness = "5 mm"\n'
    'width = "54 mm"\ntemperature = "1100 C"\nsoak = "3 min"\n[blade]\nlength = "210 mm"\nheel_height = "48 mm"\n'
)
"""A recipe for cases whose fault lies elsewhere."""


def _command(draw: Draw, slow: int) -> tuple[str, ...]:
    return draw(st.sampled_from(SLOW if draw(st.integers(0, 99)) < slow else QUICK))


@st.composite
def sound_recipe(draw: Draw) -> Case:
    """A recipe that holds: the ledger must accept it, every other command must at least say why not."""
    text = draw(recipes())
    command = draw(st.sampled_from([("ledger",), ("ledger", "--json")])) if draw(st.booleans()) else _command(draw, 25)
    return Case("sound recipe", (command[0], RECIPE, *command[1:]), {RECIPE: text.encode()}, command[0] == "ledger")


@st.composite
def spoilt_recipe(draw: Draw) -> Case:
    """A recipe after a slip of the hand."""
    text = draw(st.sampled_from(demos())) if draw(st.integers(0, 11)) == 0 else draw(recipes())
    command = _command(draw, 5)
    return Case("spoilt recipe", (command[0], RECIPE, *command[1:]), {RECIPE: as_bytes(draw, spoilt(draw, text))})


def _text(draw: Draw, text: str) -> bytes:
    return as_bytes(draw, spoilt(draw, text) if draw(st.integers(0, 3)) else text)


@st.composite
def station_file(draw: Draw) -> Case:
    """Stations measured on a blade."""
    files = {RECIPE: STEADY.encode(), "stations.csv": _text(draw, draw(things.stations()))}
    more = draw(
        st.sampled_from(
            [(), ("--json",), ("--to", "hardening"), ("--hold", "free"), ("--grit", "120"), ("--no-record",)]
        )
    )
    return Case("stations", ("grind", RECIPE, "stations.csv", *more), files)


@st.composite
def station_words(draw: Draw) -> Case:
    """A station typed on the command line."""
    words = draw(things.station()) if draw(st.booleans()) else spoilt(draw, draw(things.station())).replace("\x00", "")
    return Case("station words", ("grind", RECIPE, "--no-record", f"--at={words}"), {RECIPE: STEADY.encode()})


@st.composite
def outline(draw: Draw) -> Case:
    """A blade after a drawing of its own."""
    ending, text = draw(things.outlines())
    name = f"blade.{ending}"
    recipe = STEADY.replace("[blade]", f'[blade]\npoints = "{name}"')
    command = draw(st.sampled_from([("check",), ("stages",), ("next",)]))
    return Case("outline", (command[0], RECIPE, *command[1:]), {RECIPE: recipe.encode(), name: _text(draw, text)})


@st.composite
def rack(draw: Draw) -> Case:
    """Bars in hand, for a plan that is refused or found at once."""
    layers = draw(st.sampled_from(["15", "40", "40", "0"]))
    files = {RECIPE: STEADY.encode(), "rack.toml": _text(draw, draw(things.racks()))}
    return Case("rack", ("plan", RECIPE, "--rack", "rack.toml", "--layers", layers), files)


@st.composite
def shop_file(draw: Draw) -> Case:
    """A shop's habits beside the recipe."""
    files = {RECIPE: STEADY.encode(), "shop.toml": _text(draw, draw(things.shops()))}
    command = _command(draw, 3)
    return Case("shop file", (command[0], RECIPE, *command[1:]), files)


@st.composite
def note(draw: Draw) -> Case:
    """Words for the bench record."""
    words = draw(things.notes())
    command = draw(
        st.sampled_from(
            [
                ("record", "add", RECIPE, "--"),
                ("record", "search", "--"),
                ("record", "add", RECIPE),
                ("next", RECIPE, "--"),
            ]
        )
    )
    return Case("note", (*command, *words), {RECIPE: STEADY.encode(), "front.jpg": b"\xff\xd8\xff\xd9"})


@st.composite
def backup(draw: Draw) -> Case:
    """A backup read back into a new record."""
    return Case(
        "backup",
        ("record", "restore", "old.jsonl", "--bench", "new.sqlite"),
        {"old.jsonl": _text(draw, draw(things.backups()))},
    )


@st.composite
def picture(draw: Draw) -> Case:
    """A photograph to count in, a relief to mill, a picture to look a spot up in."""
    ending, data = draw(things.pictures())
    name = f"photo.{ending}"
    files = {RECIPE: STEADY.encode(), name: data}
    use = draw(st.sampled_from(["count", "count line", "relief", "where"]))
    if use == "relief":
        step = f'do = "relief"\nimage = "{name}"\nlength = "40 mm"\nwidth = "40 mm"\ndepth = "2 mm"\n[[bar.step]]\ndo = "draw"'
        return Case("picture", ("check", RECIPE), {**files, RECIPE: STEADY.replace('do = "draw"', step).encode()})
    words = {
        "count": ("count", name),
        "count line": (
            "count",
            name,
            "--along",
            draw(st.sampled_from(["1,1,30,25", "0,0,0,0", "-5,2,1e9,3", "a,b", "5,5,5,150"])),
        ),
        "where": ("where", RECIPE, "--picture", name, "--pixel", "8, 9"),
    }[use]
    return Case("picture", words, files)


@st.composite
def spoilt_record(draw: Draw) -> Case:
    """A file that should be a bench record."""
    data = draw(
        st.sampled_from([b"", b"SQLite format 3\x00", b"SQLite format 3\x00" + b"\x10\x00\x01\x01\x00@  " * 9])
    ) + draw(st.binary(max_size=300))
    command = draw(
        st.sampled_from(
            [
                ("list",),
                ("learn",),
                ("export",),
                ("add", RECIPE, "edges", "cold"),
                ("compare", RECIPE),
                ("backup", "copy.sqlite"),
            ]
        )
    )
    return Case("record file", ("record", *command), {RECIPE: STEADY.encode(), "bench.sqlite": data})


@st.composite
def options(draw: Draw) -> Case:
    """Options with odd values."""
    odd = draw(st.sampled_from(WEIRD) | st.text(max_size=15)).replace("\x00", "")
    command = draw(st.sampled_from([
        ("preview", RECIPE, "--width", "90", "--crop"), ("preview", RECIPE, "--width", "90", "--zoom"), ("preview", RECIPE, "--width", "90", "--after"),
        ("preview", RECIPE, "--width"), ("preview", RECIPE, "--width", "90", "--view"), ("preview", RECIPE, "--width", "90", "--view", "section", "--at"),
        ("preview", RECIPE, "--width", "90", "--vary"), ("carbon", RECIPE, "--after"), ("carbon", RECIPE, "--bar"), ("harden", RECIPE, "--hardness"),
        ("where", RECIPE), ("where", RECIPE, "--pixel"), ("plan", RECIPE, "--line"), ("plan", RECIPE, "--layers"), ("plan", RECIPE, "--have"),
        ("plan", RECIPE, "--pattern"), ("plan", RECIPE, "--layers", "40", "--from"), ("plan", RECIPE, "--from", "1", "--measured"),
        ("grind", RECIPE, "--least"), ("grind", RECIPE, "--scale"), ("grind", RECIPE, "--grit"), ("sheet", RECIPE, "--card"), ("check", RECIPE, "--blade"),
        ("steels",), ("manual",), ("sheet", RECIPE, "--html", "-o"), ("preview", RECIPE, "--width", "90", "-o"), ("new",), ("again", RECIPE),
        ("record", "correct"), ("count",), ("check",),
    ]))  # fmt: skip
    joined = (*command[:-1], f"{command[-1]}={odd}") if command[-1].startswith("--") else (*command, odd)
    return Case("options", joined, {RECIPE: STEADY.encode()})


KINDS = {
    "sound recipe": (sound_recipe, 3),
    "spoilt recipe": (spoilt_recipe, 34),
    "stations": (station_file, 12),
    "station words": (station_words, 12),
    "outline": (outline, 8),
    "rack": (rack, 2),
    "shop file": (shop_file, 4),
    "note": (note, 12),
    "backup": (backup, 6),
    "picture": (picture, 4),
    "record file": (spoilt_record, 1),
    "options": (options, 2),
}
"""Every kind of case, and how many of a hundred are of it."""
