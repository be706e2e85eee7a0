"""A bar measured on the bench half way: what still reaches the blade, and what to change when it does not."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from billet.bar.bar import Bar
from billet.bar.outcome import Bench
from billet.bar.resize import reshape
from billet.base.errors import InputError
from billet.base.messages import RefusedError
from billet.base.units import Kind, read
from billet.blade.need import Fits, Need, fits, need
from billet.ledger.run import run
from billet.plan.after import PESSIMISTIC, final_bar
from billet.plan.goal import goal_of
from billet.plan.habits import habits_of
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.recipe.tables import Target
from billet.steps.draw import Draw
from billet.steps.step import Step

_KEYS = ("length", "width", "thickness")


@dataclass(frozen=True)
class Redraw:
    """The last draw made smaller: width and thickness [m] to draw to, and what that gives at twice the scale loss."""

    width: float
    thickness: float
    answer: Fits


@dataclass(frozen=True)
class Reach:
    """What the rest of the recipe makes of the measured bar.

    expected: length, width and thickness [m] the ledger had after that step; measured: as taken; nominal and
    pessimistic: the three answers at the law's scale loss and at twice it; redraw: a smaller last bar, None when the
    recipe's own is the smallest or there is no draw to come; blade: the longest blade [m] of this shape's height still
    in it, pessimistically; heel: the highest heel [m] at the length wanted; help: the next restack, where plates can
    still be added, or None.
    """

    step: int
    expected: tuple[float, float, float]
    measured: tuple[float, float, float]
    nominal: Fits
    pessimistic: Fits
    redraw: Redraw | None
    blade: float
    heel: float
    help: int | None

    @property
    def enough(self) -> bool:
        """Whether the blade is reached at the pessimistic end, as the recipe stands or with a smaller last bar."""
        return self.pessimistic.enough or (self.redraw is not None and self.redraw.answer.enough)


def read_measured(text: str) -> dict[str, float]:
    """Sizes [m] out of "length=120 mm, width=41 mm, thickness=12 mm"; any of the three. Raises InputError."""
    out: dict[str, float] = {}
    for part in filter(None, (p.strip() for p in re.split(r"[,;]", text))):
        key, _, value = (s.strip() for s in part.partition("="))
        if key not in _KEYS or not value:
            raise InputError(
                f'--measured: found "{part}", wanted length, width or thickness with a size, such as '
                '"length=120 mm,width=41 mm,thickness=12 mm"'
            )
        out[key] = read(value, Kind.LENGTH, f"--measured, {key}")
        if out[key] <= 0:
            raise InputError(f"--measured: {key} is {value}, wanted more than nothing")
    if not out:
        raise InputError('--measured: nothing was measured; give at least one size, such as "length=120 mm"')
    return out


def reach(recipe: Recipe, step: int, measured: Mapping[str, float]) -> Reach:
    """What still reaches the blade from the last bar after `step`, measured [m]. Raises InputError for a step that is
    not there or a rest that cannot be done.
    """
    last = len(recipe.tables.bar) - 1
    book = run(recipe, diffuse=False)
    bar = book.bars[last].after(step)
    expected = (bar.length, bar.width, bar.thickness)
    sizes = [float(measured.get(k, v)) for k, v in zip(_KEYS, expected, strict=True)]
    found = reshape(bar, sizes[0], sizes[1], sizes[2])
    rest = [s for _, s in recipe.steps(last)][step:]
    wants = need(blade_of(recipe))
    answers = {f: _answer(recipe, wants, _rest(recipe, found, rest, step, f)) for f in (1.0, PESSIMISTIC)}
    redraw = None if answers[PESSIMISTIC].enough else _redraw(recipe, wants, found, rest, step)
    best = redraw.answer if redraw else answers[PESSIMISTIC]
    spare = min(best.length.available, best.length.available * best.heel_height.available / wants.width)
    blade = max(0.0, spare - wants.behind)
    heel = max(0.0, best.heel_height.available * min(1.0, best.length.available / wants.length))
    helps = next((step + k + 1 for k, s in enumerate(rest) if s.verb in ("restack", "fold")), None)
    return Reach(
        step, expected, (sizes[0], sizes[1], sizes[2]), answers[1.0], answers[PESSIMISTIC], redraw, blade, heel, helps
    )


def _rest(recipe: Recipe, bar: Bar, steps: Sequence[Step], done: int, factor: float) -> Bar:
    """The bar after the rest of the steps."""
    for number, step in enumerate(steps, done + 1):
        try:
            bar = step.apply(bar, Bench(recipe.tables.shop, number, factor, recipe.own_steels, False)).bar
        except RefusedError as refusal:
            raise InputError(
                f"step {number} ({step.verb}) cannot be done to the measured bar: "
                f"{refusal.why.say(recipe.tables.units)}"
            ) from None
    return bar


def _answer(recipe: Recipe, wants: Need, bar: Bar) -> Fits:
    design = blade_of(recipe).design
    return fits(wants, bar.length, bar.width, bar.thickness, design.offset, design.heel_at, design.edge_at)


def _redraw(recipe: Recipe, wants: Need, bar: Bar, rest: Sequence[Step], done: int) -> Redraw | None:
    """The last draw to come, made to the least section the blade asks for."""
    at = max((k for k, s in enumerate(rest) if isinstance(s, Draw)), default=None)
    if at is None:
        return None
    goal = goal_of(recipe, Target(), None)
    steels = tuple(dict.fromkeys(s for leaf in bar.leaves for s in leaf.steels))
    least = final_bar(goal, replace(habits_of(goal.shop, steels), sides=0.0, warp=0.0))
    old = rest[at]
    assert isinstance(old, Draw)
    width = min(least.width, old.width or least.width)
    thick = min(least.thickness, old.thickness or least.thickness)
    steps = [*rest[:at], old.model_copy(update={"width": width, "thickness": thick, "length": None}), *rest[at + 1 :]]
    try:
        answer = _answer(recipe, wants, _rest(recipe, bar, steps, done, PESSIMISTIC))
    except InputError:
        return None
    return Redraw(width, thick, answer)
