"""One card for the next stage of a knife: what to do, what to expect, the heats, the gates, and earlier mistakes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from billet.base.errors import InputError
from billet.base.furnace import window as dials
from billet.base.messages import Amount, Note, at_most, note
from billet.base.units import Kind
from billet.hardening import advise
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.overheating import red_line_of
from billet.ledger.rows import Ledger
from billet.record.entry import Entry, latest
from billet.record.grind_days import SOURCE as STATIONS
from billet.record.habits import Habits
from billet.record.lessons import Lesson, lessons
from billet.stages import Stage, stages

SAFETY = {
    "stack": ("fire",), "weld": ("fire", "press"), "draw": ("fire", "press"), "rough grind": ("grinder",),
    "normalise": ("fire",), "anneal": ("fire",), "harden": ("quench", "fire"), "straighten": ("straightening",),
    "temper": ("fire",), "thin": ("grinder",), "finish": ("grinder",), "etch": ("acid",), "sharpen": ("kitchen",),
}  # fmt: skip


@dataclass(frozen=True)
class Card:
    """The card of a stage; ``place`` is which of how many it is, ``time`` what it takes and where that is known from."""

    knife: str
    stage: Stage
    place: tuple[int, int]
    heats: tuple[Note, ...] = ()
    mind: tuple[Note, ...] = ()
    time: Note | None = None
    lessons: tuple[Lesson, ...] = ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """The topics of the cautions that belong to this stage."""
        return SAFETY.get(self.stage.do, ("fire", "press") if self.stage.kind == "bar" else ())


def next_stage(every: Sequence[Stage], entries: Iterable[Entry], knife: str) -> Stage | None:
    """The stage after the farthest one noted; the first when nothing was noted, None when all is done.

    A note of a stage that the recipe no longer has, or has under another number, counts by its name. Stations measured at
    the grinder say what is to be ground, not that it was: they end no stage.
    """
    reached = -1
    for entry in latest(entries):
        place = entry.place
        if entry.knife != knife or place is None or entry.source == STATIONS:
            continue
        by_key = [
            at
            for at, one in enumerate(every)
            if one.key == (place.bar, place.number) and place.do in (one.do, one.name)
        ]
        by_name = [at for at, one in enumerate(every) if one.bar == place.bar and place.do in (one.name, one.do)]
        reached = max([reached, *(by_key or by_name[:1])])
    return every[reached + 1] if reached + 1 < len(every) else None


def card_of(book: Ledger, stage: Stage, entries: Sequence[Entry], recipes: Mapping[str, str], habits: Habits) -> Card:
    """The card for a stage of the knife whose recipe was run to ``book``."""
    recipe = book.recipe
    every = stages(recipe, book)
    at = next(k for k, one in enumerate(every) if one.key == stage.key)
    heats, mind = _of_bar(book, every[at]) if stage.kind == "bar" else _of_blade(book, every[at], habits)
    return Card(
        recipe.tables.title, every[at], (at + 1, len(every)), heats, mind, _time(every[at], habits),
        lessons(entries, recipes, recipe.tables.title, every[at], recipe.text),
    )  # fmt: skip


def _time(stage: Stage, habits: Habits) -> Note | None:
    learnt = habits.minutes(stage.do)
    if learnt is not None:
        return note(
            "about {likely} here ({low} to {high}, from {count} of yours)", likely=_minutes(learnt.value),
            low=_minutes(learnt.low), high=_minutes(learnt.high), count=learnt.points,
        )  # fmt: skip
    return (
        None if stage.minutes is None else note("about {likely} (a usual figure)", likely=_minutes(60 * stage.minutes))
    )


def _minutes(seconds: float) -> Amount:
    return Amount(60.0 * round(seconds / 60) if seconds >= 90 else seconds, Kind.TIME)


def _of_bar(book: Ledger, stage: Stage) -> tuple[tuple[Note, ...], tuple[Note, ...]]:
    """Heats and warnings of a bar's step: its red line is where damage starts, never a temperature to weld at."""
    run = next(one for one in book.bars if one.name == stage.bar)
    row = run.rows[stage.number]
    if getattr(row.step, "temperature", None) is None:
        return (), row.notes
    steels = {steel.name: steel for leaf in row.bar.leaves for steel in leaf.steels}.values()
    lines = [line.heat for steel in steels if (line := red_line_of(np.array(steel.composition, float), steel.carbon))]
    heats = [
        note("forge no hotter than {most} (data sheets)", most=at_most(min(steel.forging_max for steel in steels)))
    ]
    if lines:
        heats.append(note("red line {line}: damage starts there, it is no heat to weld at", line=at_most(min(lines))))
    return tuple(heats), row.notes


def _of_blade(book: Ledger, stage: Stage, habits: Habits) -> tuple[tuple[Note, ...], tuple[Note, ...]]:
    """What the heat treatment advises for a stage of the blade; nothing where it cannot be told."""
    if stage.do not in ("normalise", "anneal", "harden", "straighten", "temper"):
        return (), ()
    try:
        advice = advise(layers_of(book), question_of(book))
    except InputError as error:
        return (), (note("{why}", why=str(error)),)
    window, temper = advice.window, advice.temper
    if stage.do == "harden":
        empty = "no heat suits every layer: " if window.empty else ""
        low, high = dials(window.low.temperature_K, window.high.temperature_K, book.recipe.tables.units)
        found = [note("{empty}{low} to {high}; trial pieces decide", empty=empty, low=low, high=high)]
        if window.soak_s is not None:
            soak = [Amount(value, Kind.TIME) for value in window.soak_s]
            found.append(note("soak {low} to {high} once the blade is at heat", low=soak[0], high=soak[-1]))
        return tuple(found), habits.oven_notes()
    if stage.do == "temper":
        told = [] if temper.asked is None else [
            note("{low} to {high} HRC by the figures", low=f"{temper.asked.low:.0f}", high=f"{temper.asked.high:.0f}")
        ]  # fmt: skip
        return tuple(told), (*habits.oven_notes(), *habits.hardness_notes())
    if stage.do == "anneal" and advice.anneal_max is not None:
        return (note("at most {most}", most=at_most(advice.anneal_max.temperature_K)),), ()
    if stage.do == "straighten":
        return advice.straightening[:2], ()
    return ((advice.normalising.text,) if stage.do == "normalise" else ()), ()
