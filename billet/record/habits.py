"""What the record teaches beside the losses: time a stage takes, how far the oven is out, how tempers come out, belts.

Each is the middle of this shop's own figures with a 90 % interval, fitted as the losses are (`billet.record.robust`);
too few are refused. Times vary by a factor, so their logarithms are fitted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, log

import numpy as np
from scipy.sparse import csr_array, eye_array

from billet.base.messages import Amount, Note, note
from billet.base.units import Kind
from billet.record.entry import Entry, latest
from billet.record.fit import Learnt, NotYet
from billet.record.lessons import stage_verb
from billet.record.robust import NORMAL_MAD, Problem, solve

LEAST = 6  # figures under which nothing is said
_HOT = ("weld", "heat", "draw", "normalise", "anneal", "harden", "temper")
_UNITS = {"oven": "tempers with the oven's and the dial's heat noted", "hardness": "tempered blades with a hardness noted",
          "belts": "knives with their belts noted"}  # fmt: skip


NO_OVEN, NO_HARDNESS, NO_BELTS = (NotYet(name, 0, LEAST) for name in ("oven", "hardness", "belts"))


@dataclass(frozen=True)
class Habits:
    """This shop's habits: seconds by what is done, kelvin the oven is above its dial, HRC the tempers come out above the
    figures, belts a knife; each learnt, or why not yet.
    """

    times: Mapping[str, Learnt | NotYet] = field(default_factory=dict)
    oven: Learnt | NotYet = NO_OVEN
    hardness: Learnt | NotYet = NO_HARDNESS
    belts: Learnt | NotYet = NO_BELTS

    def minutes(self, do: str) -> Learnt | None:
        """The time [s] that something takes here, None while it cannot be told."""
        found = self.times.get(do)
        return found if isinstance(found, Learnt) else None

    def oven_notes(self) -> tuple[Note, ...]:
        """How far the oven is out, once it is settled that it is."""
        if not isinstance(self.oven, Learnt) or not _clear(self.oven):
            return ()
        word = "hotter" if self.oven.value > 0 else "cooler"
        low, high = sorted((abs(self.oven.low), abs(self.oven.high)))
        return (
            note(
                "your oven is {off} {word} than its dial says ({low} to {high}, from {count} readings): set it so much "
                "{other}", off=_degrees(self.oven.value), word=word, low=_degrees(low), high=_degrees(high),
                count=self.oven.points, other="lower" if self.oven.value > 0 else "higher",
            ),
        )  # fmt: skip

    def hardness_notes(self) -> tuple[Note, ...]:
        """By how much this shop's tempers differ from the figures, once that is settled."""
        if not isinstance(self.hardness, Learnt) or not _clear(self.hardness):
            return ()
        found = self.hardness
        return (
            note(
                "your tempers come out {off} HRC {word} the figures ({low} to {high}, from {count} of your blades)",
                off=f"{abs(found.value):.1f}", word="above" if found.value > 0 else "below",
                low=f"{found.low:+.1f}", high=f"{found.high:+.1f}", count=found.points,
            ),
        )  # fmt: skip


def _degrees(kelvin: float) -> Amount:
    return Amount(abs(kelvin), Kind.DIFFERENCE)


def _clear(one: Learnt) -> bool:
    """Whether the interval keeps clear of zero."""
    return one.low > 0 or one.high < 0


def middle(name: str, values: Sequence[float]) -> Learnt | NotYet:
    """The middle of some figures and its 90 % interval; fewer than six are refused."""
    if len(values) < LEAST:
        return NotYet(name, len(values), LEAST)
    read = np.array(values, dtype=float)
    centre = float(np.median(read))
    spread = max(NORMAL_MAD * float(np.median(np.abs(read - centre))), 1e-6 * max(abs(centre), 1.0))
    problem = Problem(
        lambda theta: read - theta[0],
        lambda theta: csr_array(eye_array(len(read))),
        lambda share: np.full(len(read), spread**2),
    )
    found = solve(problem, np.array([centre]))
    low, high = found.interval()
    return Learnt(name, float(found.values[0]), float(low[0]), float(high[0]), len(read))


def learn_habits(
    entries: Iterable[Entry], asked: Mapping[str, float], forecast: Callable[[str], float | None]
) -> Habits:
    """Learn from the notes that stand. ``asked`` is the temper's heat [K] of each recipe by the hash of its text,
    ``forecast`` the hardness [HRC] the figures give after the tempers of such a recipe.
    """
    standing = latest(entries)
    return Habits(
        {do: _time(do, values) for do, values in _times(standing).items()},
        middle("oven", _oven(standing, asked)),
        middle("hardness", _hardness(standing, forecast)),
        middle("belts", _belts(standing)),
    )


def _time(do: str, seconds: Sequence[float]) -> Learnt | NotYet:
    found = middle(do, [log(value) for value in seconds])
    if isinstance(found, NotYet):
        return found
    return Learnt(do, exp(found.value), exp(found.low), exp(found.high), found.points)


def _times(standing: Sequence[Entry]) -> dict[str, list[float]]:
    """Seconds of work by what was done: all that was noted at one stage of one knife is one figure."""
    whole: dict[tuple[str, object, str], float] = defaultdict(float)
    for entry in standing:
        do = stage_verb(entry)
        spent = entry.measured("took")
        if spent is None and do not in _HOT:
            spent = entry.measured("time")
        if do is not None and spent:
            whole[entry.knife, entry.place, do] += spent
    found: dict[str, list[float]] = defaultdict(list)
    for (_, _, do), spent in whole.items():
        found[do].append(spent)
    return dict(found)


def _oven(standing: Sequence[Entry], asked: Mapping[str, float]) -> list[float]:
    """How far the thermometer stood above what was asked of the oven [K]."""
    found = []
    for entry in standing:
        shown, wanted = entry.measured("oven"), entry.measured("dial")
        if stage_verb(entry) == "temper":
            wanted = wanted or entry.measured("temperature") or asked.get(entry.recipe_sha256)
        if shown is not None and wanted is not None:
            found.append(shown - wanted)
    return found


def _hardness(standing: Sequence[Entry], forecast: Callable[[str], float | None]) -> list[float]:
    """Measured less foreseen after the last temper of each knife [HRC]; several places are one mean."""
    last: dict[tuple[str, str], list[float]] = {}
    for entry in standing:
        read = [m.value for m in entry.measures if m.name.partition(".")[0] == "hardness" and m.value is not None]
        if read and entry.recipe_sha256 and stage_verb(entry) == "temper":
            last[entry.knife, entry.recipe_sha256] = read
    pairs = [(sum(read) / len(read), forecast(sha256)) for (_, sha256), read in last.items()]
    return [measured - foreseen for measured, foreseen in pairs if foreseen is not None]


def _belts(standing: Sequence[Entry]) -> list[float]:
    whole: dict[str, float] = defaultdict(float)
    for entry in standing:
        whole[entry.knife] += entry.measured("belts") or 0.0
    return [count for count in whole.values() if count > 0]


def reasons(habits: Habits) -> tuple[str, ...]:
    """A sentence for each figure that cannot be told yet."""
    return tuple(
        f"{one.name}: {one.have} {_UNITS[one.name]}, {one.need} are needed, so {one.need - one.have} more."
        for one in (habits.oven, habits.hardness, habits.belts)
        if isinstance(one, NotYet)
    ) + tuple(
        f"{do}: its time was noted on {one.have} knives, {one.need} are needed, so {one.need - one.have} more."
        for do, one in habits.times.items()
        if isinstance(one, NotYet)
    )


def told(habits: Habits, units: str) -> tuple[str, ...]:
    """A line for each figure that was learnt."""
    found = []
    for do, one in habits.times.items():
        if isinstance(one, Learnt):
            likely, low, high = (f"{value / 60:.0f} min" for value in (one.value, one.low, one.high))
            found.append(f"{do} takes {likely} here ({low} to {high}, from {one.points} knives)")
    if isinstance(habits.belts, Learnt):
        one = habits.belts
        found.append(f"a knife takes {one.value:.1f} belts ({one.low:.1f} to {one.high:.1f}, from {one.points} knives)")
    found += [one.say(units) for one in (*habits.oven_notes(), *habits.hardness_notes())]
    return tuple(found)


def as_dict(habits: Habits) -> dict[str, object]:
    """What was learnt as plain JSON values: seconds, kelvin, HRC, belts; a figure that cannot be told says why."""
    found: dict[str, object] = {}
    rows = [("oven", "_K", habits.oven), ("hardness", "_hrc", habits.hardness), ("belts", "", habits.belts)]
    rows += [(f"{do}_time", "_s", one) for do, one in habits.times.items()]
    for name, unit, one in rows:
        if isinstance(one, Learnt):
            found[name] = {
                f"value{unit}": one.value,
                f"low{unit}": one.low,
                f"high{unit}": one.high,
                "points": one.points,
            }
        else:
            found[name] = {"have": one.have, "need": one.need}
    return found
