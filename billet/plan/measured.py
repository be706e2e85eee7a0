"""A bar measured on the bench half way: what still reaches the blade, and how to go on from what is really there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from billet.bar.bar import Bar
from billet.bar.resize import reshape
from billet.base.errors import InputError
from billet.base.units import Kind, read
from billet.blade.need import Fits, Need, fits, need
from billet.ledger.rows import MARKS, Ledger
from billet.ledger.run import run
from billet.plan.after import PESSIMISTIC, final_bar
from billet.plan.goal import goal_of
from billet.plan.smiths_habits import habits_of
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.recipe.tables import Target
from billet.steps.draw import Draw
from billet.steps.restack import Restack
from billet.steps.step import Step

_KEYS = ("length", "width", "thickness")


@dataclass(frozen=True)
class Redraw:
    """The last draw made smaller: width and thickness [m] to draw to, and what that gives at twice the scale loss."""

    width: float
    thickness: float
    answer: Fits


@dataclass(frozen=True, eq=False)
class GoOn:
    """A way to go on that still gives the blade: what changes in words, the ledger of it, its layers as counted."""

    change: str
    book: Ledger

    @property
    def layers(self) -> int:
        """Layers in the end, as the trade counts."""
        return self.book.last.layers_counted


@dataclass(frozen=True, eq=False)
class Reach:
    """What the rest of the recipe makes of the measured bar.

    bar: its name; step: the one done last; expected: length, width and thickness [m] the ledger had then; measured: as
    taken; nominal and pessimistic: the three answers at the law's scale loss and at twice it; redraw: a smaller last
    bar, None when the recipe's own is the smallest or there is no draw to come; blade: the longest blade [m] of this
    shape's height still in it, pessimistically; heel: the highest heel [m] at the length wanted; help: the next
    restack, where plates can still be added, or None; on: how to go on, the least change first, None where no way gives
    the blade; doubt: why the rest cannot be done at twice the scale loss, the nominal answer then standing for it.
    """

    bar: str
    step: int
    expected: tuple[float, float, float]
    measured: tuple[float, float, float]
    nominal: Fits
    pessimistic: Fits
    redraw: Redraw | None
    blade: float
    heel: float
    help: int | None
    on: GoOn | None
    planned_layers: int
    doubt: str = ""

    @property
    def enough(self) -> bool:
        """Whether the blade is reached at the pessimistic end, as the recipe stands or with what is left changed."""
        return self.pessimistic.enough or self.on is not None


@dataclass(frozen=True)
class _Found:
    """A bar as found on the bench: its place among the bars, the step done last, length, width and thickness [m]."""

    bar: int
    step: int
    sizes: tuple[float, float, float]

    def each(self, bar: Bar, mark: int) -> Bar:
        """The bar that goes on from a step."""
        return reshape(bar, *self.sizes, mark) if mark == self.bar * MARKS + self.step else bar


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


def read_place(recipe: Recipe, text: str) -> tuple[int, int]:
    """Bar and step out of "4" (of the last bar) or "name:4". Raises InputError."""
    name, _, number = text.strip().rpartition(":")
    names = [b.name for b in recipe.tables.bar]
    if name and name not in names:
        raise InputError(f'--from: found the bar "{name}", wanted one of {", ".join(names)}')
    if not re.fullmatch(r"\s*[0-9]{1,9}\s*", number) or not names:
        raise InputError(f'--from: found "{text}", wanted the number of a step, such as --from 3 or --from "billet:3"')
    return (names.index(name) if name else len(names) - 1), int(number)


def reach(recipe: Recipe, step: int, measured: Mapping[str, float], bar: int | None = None) -> Reach:
    """What still reaches the blade from a bar (the last unless told) after `step`, measured [m]. Raises InputError for a
    step that is not there or a rest that cannot be done.
    """
    k = len(recipe.tables.bar) - 1 if bar is None else bar
    book = run(recipe, diffuse=False)
    there = book.bars[k].after(step)
    expected = (there.length, there.width, there.thickness)
    sizes = [float(measured.get(key, v)) for key, v in zip(_KEYS, expected, strict=True)]
    at = _Found(k, step, (sizes[0], sizes[1], sizes[2]))
    wants = need(blade_of(recipe))
    answers, doubt = {1.0: _answer(recipe, wants, _run(recipe, at, 1.0))}, ""
    try:
        answers[PESSIMISTIC] = _answer(recipe, wants, _run(recipe, at, PESSIMISTIC))
    except InputError as error:
        answers[PESSIMISTIC], doubt = answers[1.0], str(error)
    redraw = None if answers[PESSIMISTIC].enough else _redraw(recipe, wants, at)
    on = next(_ways(recipe, wants, at, redraw, doubt), None)
    best = redraw.answer if redraw else answers[PESSIMISTIC]
    spare = min(best.length.available, best.length.available * best.heel_height.available / wants.width)
    blade = max(0.0, spare - wants.behind)
    heel = max(0.0, best.heel_height.available * min(1.0, best.length.available / wants.length))
    rest = [s for _, s in recipe.steps(k)][step:]
    helps = next((step + j + 1 for j, s in enumerate(rest) if s.verb in ("restack", "fold")), None)
    found = (sizes[0], sizes[1], sizes[2])
    name, layers = recipe.tables.bar[k].name, book.last.layers_counted
    return Reach(
        name, step, expected, found, answers[1.0], answers[PESSIMISTIC], redraw, blade, heel, helps, on, layers, doubt
    )


def _run(recipe: Recipe, at: _Found, factor: float) -> Ledger:
    """The ledger from the measured bar on."""
    try:
        return run(recipe, scale_factor=factor, diffuse=False, each=at.each)
    except InputError as error:
        raise InputError(f"the measured bar does not go through the rest of the recipe: {error}") from None


def _answer(recipe: Recipe, wants: Need, book: Ledger) -> Fits:
    design, bar = blade_of(recipe).design, book.last
    return fits(wants, bar.length, bar.width, bar.thickness, design.offset, design.heel_at, design.edge_at)


def _with_steps(recipe: Recipe, k: int, steps: Sequence[Step]) -> Recipe:
    """The recipe with other steps of one bar."""
    bars = list(recipe.tables.bar)
    bars[k] = bars[k].model_copy(update={"step": tuple(steps)})
    return replace(recipe, tables=recipe.tables.model_copy(update={"bar": tuple(bars)}))


def _smaller(recipe: Recipe, at: _Found) -> tuple[Recipe, float, float] | None:
    """The recipe with its last draw still to come made to the least section the blade asks for, and that section [m]."""
    last = len(recipe.tables.bar) - 1
    steps = [s for _, s in recipe.steps(last)]
    done = at.step if at.bar == last else 0
    j = max((j for j, s in enumerate(steps) if j >= done and isinstance(s, Draw)), default=None)
    if j is None:
        return None
    goal = goal_of(recipe, Target(), None)
    book = run(recipe, diffuse=False)
    steels = tuple(dict.fromkeys(s for leaf in book.last.leaves for s in leaf.steels))
    least = final_bar(goal, replace(habits_of(goal.shop, steels, goal.units), sides=0.0, warp=0.0))
    old = steps[j]
    assert isinstance(old, Draw)
    width = min(least.width, old.width or least.width)
    thick = min(least.thickness, old.thickness or least.thickness)
    steps[j] = old.model_copy(update={"width": width, "thickness": thick, "length": None})
    return _with_steps(recipe, last, steps), width, thick


def _redraw(recipe: Recipe, wants: Need, at: _Found) -> Redraw | None:
    """The last draw to come, made to the least section the blade asks for."""
    try:
        made = _smaller(recipe, at)
        if made is None:
            return None
        smaller, width, thick = made
        return Redraw(width, thick, _answer(recipe, wants, _run(smaller, at, PESSIMISTIC)))
    except InputError:
        return None


def _ways(recipe: Recipe, wants: Need, at: _Found, redraw: Redraw | None, doubt: str) -> Iterator[GoOn]:
    """Ways to go on that hold the blade at twice the scale loss, the least change first: as planned, a smaller last
    bar, fewer pieces at one of the restacks to come, one restack less.
    """
    for change, other in _changed(recipe, at, redraw):
        try:
            factor = 1.0 if doubt else PESSIMISTIC
            if _answer(recipe, wants, _run(other, at, factor)).enough:
                yield GoOn(change, _run(other, at, 1.0))
        except InputError:
            continue


def _changed(recipe: Recipe, at: _Found, redraw: Redraw | None) -> Iterator[tuple[str, Recipe]]:
    yield "", recipe
    for change, other in [("", recipe), *_fewer(recipe, at)]:
        made = _smaller(other, at) if redraw is not None else None
        if change:
            yield change, other
        if made is not None:
            yield ", ".join(w for w in (change, "the last bar drawn smaller") if w), made[0]


def _fewer(recipe: Recipe, at: _Found) -> list[tuple[str, Recipe]]:
    """Every restack still to come with fewer pieces, or left out with its weld and the draw before the cut."""
    steps = [s for _, s in recipe.steps(at.bar)]
    fewer: list[tuple[str, Recipe]] = []
    for j, s in enumerate(steps):
        if j < at.step or not isinstance(s, Restack):
            continue
        for pieces in range(s.pieces - 1, 1, -1):
            cut = s.model_copy(update={"pieces": pieces})
            fewer.append(
                (
                    f"step {j + 1} cut in {pieces} instead of {s.pieces}",
                    _with_steps(recipe, at.bar, [*steps[:j], cut, *steps[j + 1 :]]),
                )
            )
    for j, s in enumerate(steps):
        if j < at.step or not isinstance(s, Restack):
            continue
        weld = 1 if j + 1 < len(steps) and steps[j + 1].verb == "weld" else 0
        draw = 1 if j > at.step and isinstance(steps[j - 1], Draw) else 0
        left = [*steps[: j - draw], *steps[j + 1 + weld :]]
        fewer.append((f"the restack of step {j + 1} left out", _with_steps(recipe, at.bar, left)))
    return fewer
