"""The ledger: run a recipe forwards, one row a step."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.errors import InputError
from billet.base.messages import Note, RefusedError, note
from billet.blade.geometry import Blade
from billet.ledger.rows import MARKS, BarRun, Ledger, Row
from billet.ledger.step_warnings import after_step
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.recipe.stack import MOST_LAYERS, plates_of, stack
from billet.steel.library import Steel
from billet.steps import step_types
from billet.steps.forge_bevels import ForgedBar
from billet.steps.join import join
from billet.steps.step import Step

Each = Callable[[Bar, int], Bar]


def run(recipe: Recipe, *, scale_factor: float = 1.0, diffuse: bool = True, each: Each | None = None) -> Ledger:
    """Run a recipe forwards. `scale_factor` multiplies the oxidation law (half and twice bracket it); without `diffuse` carbon stays where it is.
    `each` is given every row's bar and the number its welds are known by, and says what goes on from there.

    Raises InputError naming the line, the bar and the step at fault.
    """
    if not recipe.tables.bar:
        raise InputError(
            f"{recipe.place(())}there is no bar in this recipe; add a [[bar]] with a stack, or let `billet plan` find one"
        )
    runs: list[BarRun] = []
    for k in range(len(recipe.tables.bar)):
        bench = Bench(
            recipe.tables.shop,
            k * MARKS,
            scale_factor,
            recipe.own_steels,
            diffuse,
            recipe.path.parent if recipe.path else Path(),
            _shaped_to(recipe, k),
        )
        runs.append(BarRun(recipe.tables.bar[k].name, tuple(_rows(recipe, k, runs, bench, each))))
    return Ledger(recipe, tuple(runs))


def _shaped_to(recipe: Recipe, k: int) -> Blade | None:
    """The knife at hardening, for the last bar when it is forged to shape."""
    wanted = any(step.forges_to_blade for _, step in recipe.steps(k))
    return blade_of(recipe, "hardening") if wanted and k == len(recipe.tables.bar) - 1 else None


def band(recipe: Recipe) -> tuple[Ledger | None, Ledger | None]:
    """The same recipe at half and at twice the scale loss, carbon left where it is; None where the bar would not survive it."""
    out: list[Ledger | None] = []
    for factor in (0.5, 2.0):
        try:
            out.append(run(recipe, scale_factor=factor, diffuse=False))
        except InputError:
            out.append(None)
    return out[0], out[1]


def _rows(recipe: Recipe, k: int, runs: Sequence[BarRun], bench: Bench, each: Each | None) -> Iterator[Row]:
    """The rows of bar k."""
    table = recipe.tables.bar[k]

    def kept(row: Row) -> Row:
        return row if each is None else replace(row, bar=each(row.bar, bench.number + row.number))

    try:
        row = kept(_start(recipe, k, runs, bench))
    except RefusedError as refusal:
        key = "join" if table.join else "stack"
        raise InputError(
            f'{recipe.place(("bar", k, key))}bar "{table.name}": {refusal.why.say(recipe.tables.units)}'
        ) from None
    yield row
    for number, (place, step) in enumerate(recipe.steps(k), 1):
        where = f'{recipe.place(("bar", k, "step", place))}bar "{table.name}" step {number} ({step.verb}): '
        row = kept(_next(row, step, number, replace(bench, number=bench.number + number), where, recipe.tables.units))
        yield row


def _start(recipe: Recipe, k: int, runs: Sequence[BarRun], bench: Bench) -> Row:
    """The stack or the join a bar begins with."""
    table = recipe.tables.bar[k]
    if table.join is not None:
        bars = {r.name: r.last for r in runs}
        outcome = join(table.name, [(bars[i.bar], i.flip) for i in table.items], table.as_ or "layers", bench)
        return Row(0, "join", outcome.bar, outcome.lost, notes=after_step(None, outcome, bench))
    count = len(table.stack) * table.repeat + (table.base is not None) + (table.cap is not None)
    if count > MOST_LAYERS:
        raise InputError(
            f"{recipe.place(('bar', k, 'repeat'))}repeat: a stack of {count:,} plates is past what can be laid; restack a smaller one"
        )
    try:
        plates = plates_of(table.stack, table.repeat, table.cap, recipe.own_steels, table.base)
    except InputError as error:
        key = re.split("[:,]", str(error), maxsplit=1)[0]
        raise InputError(
            f'{recipe.place(("bar", k, key if key in ("base", "stack", "cap") else "stack"))}bar "{table.name}": {error}'
        ) from None
    bar = stack(table.name, plates, table.length, table.width, table.uneven, table.seed)
    texts = [*table.stack, *(text for text in (table.base, table.cap) if text)]
    outcome = Outcome(bar, notes=_taken_as(texts, [steel for steel, _ in plates]))
    return Row(0, "stack", bar, notes=after_step(None, outcome, bench))


def _taken_as(texts: Sequence[str], steels: Sequence[Steel]) -> tuple[Note, ...]:
    """Say which steel was taken where a plate is named by a word for several."""
    named = {
        steel.name: word
        for steel in steels
        for word in sorted(steel.nicknames, key=len)
        if any(text.casefold().startswith(word) for text in texts)
    }
    return tuple(
        note(
            '{word} is taken as {steel}; [steels.x] like = "{steel}" with its own figures tells another',
            word=word,
            steel=steel,
        )
        for steel, word in named.items()
    )


def _next(row: Row, step: Step, number: int, bench: Bench, where: str, units: str) -> Row:
    """The row after one more step."""
    bar = row.bar
    if not bar.welded and not step.takes_unwelded:
        raise InputError(f"{where}the bar is stacked but not welded; put a weld step before this one")
    if isinstance(bar, ForgedBar) and not step.follows_forging:
        raise InputError(
            f"{where}the bar is already forged to the shape of the blade; put {_forging(forges_to_blade=True)} after this step, and only {_forging(follows_forging=True)} after it"
        )
    if bar.profile is not None and not step.follows_draw_out:
        raise InputError(
            f"{where}a part of the bar is drawn out already; put draw_out after this step, and only {_forging(follows_draw_out=True)} after it"
        )
    if bar.is_round and not step.takes_round:
        raise InputError(
            f"{where}the bar is still round from the twist; draw it to a thickness and a width before this step"
        )
    try:
        outcome = step.apply(bar, bench)
    except RefusedError as refusal:
        raise InputError(f"{where}{refusal.why.say(units)}") from None
    _check_layers(outcome.bar, where)
    return Row(number, step.verb, outcome.bar, outcome.lost, outcome.added, after_step(bar, outcome, bench, step), step)


def _forging(**flag: bool) -> str:
    """The steps with a flag, for a sentence."""
    [(name, wanted)] = flag.items()
    return ", ".join(verb for verb, kind in step_types().items() if getattr(kind, name) is wanted)


def _check_layers(bar: Bar, where: str) -> None:
    """Refuse more layers than iron has room for: they would be thinner than its own grain."""
    if bar.layers_counted > MOST_LAYERS:
        each = bar.thickness / bar.layers_counted
        raise InputError(
            f"{where}{bar.layers_counted:,} layers in {bar.thickness * 1e3:.3g} mm would be {each * 1e9:.2g} nm each, {each / 2.87e-10:.0f} atoms of iron: "
            f"thinner than its grain, and no longer layers; stop at {MOST_LAYERS:,}"
        )
