"""What will go wrong with the recipe as a whole: does the bar hold the blade, what stays soft, what nobody will see."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from billet.bar.bar import Bar
from billet.base.errors import InputError
from billet.base.messages import Note, long, note, thin
from billet.blade.edge_steel import edge_steel
from billet.blade.lying import held
from billet.blade.need import Fit, Fits
from billet.ledger.rows import Ledger, Row
from billet.ledger.run import band
from billet.ledger.step_warnings import FACE_COUNTS
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.recipe.several import for_blade
from billet.steel.library import ELEMENTS

_CR = ELEMENTS.index("Cr")
LEAST_CARBON = 0.60  # wt%, below it a kitchen edge stays soft; common practice, no source
_WELDS_BADLY = 2.0  # wt% chromium from which faces want air kept out; from memory
WASHED_OUT = 0.50  # share of the plates' contrast under which a pattern is half gone
_COUNTS = 3e-6  # layers thinner than this are mixed by the welding heats [m]


def ready_bar(ledger: Ledger) -> Bar:
    """The bar the blade is ground from. Raises InputError while it is still an open stack or thinner than the finished blade."""
    bar, recipe = ledger.last, ledger.recipe
    place = recipe.place(("bar", len(ledger.bars) - 1))
    if not bar.welded:
        raise InputError(
            f'{place}bar "{bar.name}" ends as a stack that is not welded; add a weld step before a blade can be ground from it'
        )
    if bar.is_round:
        raise InputError(
            f'{place}bar "{bar.name}" is still round from the twist; draw it to a thickness and a width before a blade can be ground from it'
        )
    if recipe.tables.blade is not None:
        thick = recipe.tables.blade.spine.finished.heel
        if thick > bar.thickness * (1 + 1e-9):
            amount = note(
                "{place}the blade is {blade} thick at the heel and the bar only {bar}; draw the bar less thin or start with more steel",
                place=recipe.place(("blade", "spine")),
                blade=thin(thick),
                bar=thin(bar.thickness),
            )
            raise InputError(amount.say(recipe.tables.units))
    return bar


def holding(ledger: Ledger) -> Fits:
    """Whether the last bar gives the blade its length, its heel height and its thickness, each answered by itself."""
    found = each_holding(ledger)
    if not found:
        return held(blade_of(ledger.recipe), ledger.last)
    return Fits(
        next(iter(found.values())).length,
        *(_tightest({name: getattr(f, what) for name, f in found.items()}) for what in ("heel_height", "thickness")),
    )


def each_holding(ledger: Ledger) -> dict[str, Fits]:
    """The same for every blade of an order by its name; empty where one alone is cut from the bar. The length is that of
    all of them together."""
    recipe = ledger.recipe
    return {d.name: held(blade_of(for_blade(recipe, d.name)), ledger.last) for d in recipe.blades}


def _tightest(answers: dict[str, Fit]) -> Fit:
    """Of several blades' answers the tightest, with the blade's name."""
    name = min(answers, key=lambda one: answers[one].surplus)
    return replace(answers[name], part=f"{name} {answers[name].part}".strip())


def of_recipe(ledger: Ledger) -> tuple[Note, ...]:
    """Warnings that concern the whole recipe: what falls short, what stays soft, what nobody will see."""
    last = ledger.bars[-1].rows[-1]
    found: list[Note] = []
    if not last.bar.welded:
        found.append(note('bar "{name}" ends as a stack that is not welded', name=last.bar.name))
    if ledger.recipe.tables.blade is not None:
        found += [*_short(holding(ledger)), *_thin_bolsters(ledger.recipe)]
    found += _soft_edge(ledger)
    if last.bar.layers_counted > 1 and len(last.measures.shares) == 1:
        found.append(note("every layer is {steel}: no pattern will show", steel=next(iter(last.measures.shares))))
    found += [*_chromium(last.bar), *washed_out(ledger.bars[-1].rows)]
    thinnest = last.measures.mean_layer
    if thinnest is not None and thinnest < _COUNTS:
        found.append(
            note("layers of {thin} are mixed by the welding heats and will show as even grey", thin=thin(thinnest))
        )
    return tuple(found)


def _soft_edge(ledger: Ledger) -> list[Note]:
    """Whether the steel that reaches the cutting edge is too lean to harden, wherever the bar's own mean lies."""
    bar, design = ledger.last, ledger.recipe.tables.blade
    edge = edge_steel(bar, None if design is None else blade_of(ledger.recipe))
    if not edge.carbon < LEAST_CARBON:
        return []
    return [
        note(
            "what reaches the edge, {steels}, holds {carbon} % carbon, under {least}: the edge will stay soft",
            steels=" and ".join(edge.steels[:3]),
            carbon=f"{edge.carbon:.2f}",
            least="0.60 %",
        )
    ]


def washed_out(rows: tuple[Row, ...]) -> tuple[Note, ...]:
    """Warn when less than half of the etching contrast of the plates as laid is left in the last row, and name the step
    that took it.
    """
    left = rows[-1].measures.alloy_contrast
    if left is None or left >= WASHED_OUT:
        return ()
    contrast = [row.measures.alloy_contrast for row in rows]
    first = next(row for row, c in zip(rows, contrast, strict=True) if c is not None and c < WASHED_OUT)
    return (
        note(
            "{left} % of the etching contrast is left (under half from step {step}, {do}): the heats have mixed layers this thin; fewer layers, or fewer and shorter heats once they are thin",
            left=round(100 * left), step=first.number, do=first.do,
        ),
    )  # fmt: skip


def _thin_bolsters(recipe: Recipe) -> list[Note]:
    """Bolsters no thicker than the blade they stand before."""
    designs = recipe.blades or ([recipe.tables.blade] if recipe.tables.blade else [])
    return [
        note(
            "{name}the bolster is {bolster} thick and the spine at the heel {heel}: a bolster no thicker than its blade is none; make it thicker or leave it out",
            name=f"{design.name}: " if recipe.blades else "",
            bolster=thin(design.bolster.thickness),
            heel=thin(design.spine.finished.heel),
        )
        for design in designs
        if design.bolster is not None and design.bolster.thickness <= design.spine.finished.heel
    ]


def _short(three: Fits) -> list[Note]:
    """What the bar does not give."""
    out = []
    for name, fit in three.named.items():
        what = name.replace("_", " ")
        if not fit.enough:
            say = thin if what == "thickness" else long
            if "bolster" in fit.part and what != "length":
                out.append(
                    note(
                        "the {part} asks for {needed} of {what} with allowances and the bar gives {have} there, {short} short; keep a larger block and draw the blade out beside it (draw_out)",
                        part=fit.part,
                        what="width" if what == "heel height" else what,
                        needed=say(fit.needed),
                        have=say(max(fit.available, 0.0)),
                        short=say(-fit.surplus),
                    )
                )
                continue
            out.append(
                note(
                    "the bar does not give the {what}: {needed} are needed with allowances and {have} are there, {short} short",
                    what=what,
                    needed=say(fit.needed),
                    have=say(max(fit.available, 0.0)),
                    short=say(-fit.surplus),
                )
            )
    return out


def _chromium(bar: Bar) -> list[Note]:
    rich = [s.name for leaf in bar.leaves for s in leaf.steels if s.composition[_CR] > _WELDS_BADLY]
    return (
        [
            note(
                "{steel} carries chromium: its faces want air kept out (a sealed pack), borax hardly takes its oxide",
                steel=rich[0],
            )
        ]
        if rich
        else []
    )


def uncertain_faces(ledger: Ledger, half: Ledger | None, twice: Ledger | None) -> tuple[Note, ...]:
    """Warn when the outer steel changes within half to twice the scale loss, and name the plate that settles it."""
    ends = [b.last.laminate for b in (ledger, half, twice) if b is not None]
    laminates = [e for e in ends if e is not None]
    out = []
    if not any(_face_counts(b) for b in (ledger, half, twice) if b is not None):
        return ()
    for side, cell in (("lowest", 0), ("uppermost", -1)):
        names = list(dict.fromkeys(e.steels[e.steel[cell]].name for e in laminates))
        if len(names) > 1:
            out.append(
                note(
                    "whether the {side} layer ends as {names} depends on the scale lost (half to twice the figure); a thicker outer plate of {steel} settles it",
                    side=side,
                    names=" or ".join(names),
                    steel=names[0],
                )
            )
    return tuple(out)


def lost_share(ledger: Ledger) -> float:
    """Share of all steel put in that is still there in the last bar."""
    put_in = sum(r.rows[0].bar.mass for r in ledger.bars if r.rows[0].do == "stack") + sum(
        row.added for r in ledger.bars for row in r.rows
    )
    return float(np.clip(ledger.last.mass / put_in, 0.0, 1.0))


def every_warning(book: Ledger, twice: Ledger) -> tuple[Note, ...]:
    """All that `check` warns of: of each step, of the whole recipe, and what depends on the scale lost; `twice` is the
    ledger at twice the scale loss.
    """
    of_steps = [n for b in book.bars for row in b.rows for n in row.notes]
    doubts: tuple[Note, ...] = ()
    if _face_counts(twice) or _face_counts(book):
        doubts = uncertain_faces(book, band(book.recipe)[0], twice)
    return (*of_steps, *of_recipe(book), *doubts)


def _face_counts(book: Ledger) -> bool:
    """Whether an outer layer of the last bar is thick enough to be missed."""
    end = book.last.laminate
    return end is not None and float(end.layer_thickness[[0, -1]].max()) >= FACE_COUNTS * end.total
