"""What is wanted: the blade and the bar it needs, the target, the shop, and the plates that may be stacked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from billet.base.errors import InputError
from billet.base.shop import Shop
from billet.blade.exposure import full_flat_half_angle
from billet.blade.geometry import STEEL_DENSITY, Blade
from billet.blade.need import Need, need
from billet.plan.recipe_text import length
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.recipe.tables import RackBar, Target
from billet.steel.library import Steel, find

# Layers to aim at when the recipe names none: middle of the counts met for each pattern (trade threads, no standard).
USUAL_LAYERS = {
    "laminate": 200,
    "ladder": 300,
    "raindrop": 200,
    "twist": 60,
    "multi-bar": 60,
    "clad": 67,
    "w": 400,
    "feather": 200,
    "accordion": 80,
}
_METRIC: dict[str, tuple[float, ...]] = {
    "dark": (2.0, 2.5, 3.2, 4.0, 5.0, 6.0),
    "bright": (1.0, 1.5, 1.6, 2.0, 2.5, 3.0),
}  # common bar sizes [mm], from memory
_IMPERIAL: dict[str, tuple[float, ...]] = {
    "dark": (0.095, 0.125, 0.156, 0.1875, 0.25),
    "bright": (0.049, 0.0625, 0.072, 0.095, 0.125),
}  # [in], from memory
_WIDTHS: dict[str, tuple[float, ...]] = {"metric": (30.0, 40.0, 50.0, 60.0), "imperial": (1.25, 1.5, 2.0, 2.5)}
BARS = {
    "metric": (1e-3, _METRIC, _WIDTHS["metric"]),
    "imperial": (0.0254, _IMPERIAL, _WIDTHS["imperial"]),
}
_USUAL_PAIRS = (("1084", "15N20"), ("1095", "15N20"), ("1075", "15N20"), ("O2", "75Ni8"))
_BALANCED = (1.4, 2.6)  # dark over bright thickness that looks balanced: about two to one (a thread, no standard)
BALANCED_DARK = 0.62  # of the face is wanted dark when nothing is said: about two to one looks balanced (a thread)
_LEAST_RANKS = 3  # etch ranks two steels must lie apart to be told from one another; judgement


@dataclass(frozen=True)
class Pair:
    """Two steels and the plates they come in: thicknesses [m] of each, and widths [m] both can be had in."""

    dark: Steel
    bright: Steel
    dark_plates: tuple[float, ...]
    bright_plates: tuple[float, ...]
    widths: tuple[float, ...]


@dataclass(frozen=True)
class Goal:
    """Everything the search is told. `rack` is None when any common size may be bought."""

    recipe: Recipe
    target: Target
    shop: Shop
    blade: Blade
    need: Need
    rack: tuple[RackBar, ...] | None
    own: Mapping[str, Steel]
    aimed: bool = True  # False: no layers were asked for, and the usual count stands in
    asked: frozenset[str] = frozenset()

    @property
    def units(self) -> str:
        """Units of the recipe."""
        return self.recipe.tables.units

    @property
    def reserve(self) -> float:
        """Share of the length kept in hand."""
        return self.blade.design.reserve

    @property
    def forged_length(self) -> float | None:
        """With an integral bolster, length [m] of a bar of the bolster's section that holds the mass of blade, tang and
        bolster and the reserve, for whoever forges the blade out beside the bolster; None without one.
        """
        if self.blade.design.bolster is None:
            return None
        return self.need.mass * (1 + self.reserve) / (STEEL_DENSITY * self.need.width * self.need.thickness)

    @property
    def bold(self) -> bool:
        """Whether double layers at the seams are wanted: fewer distinct layers than counted were asked for."""
        t = self.target
        return t.layers is not None and t.distinct is not None and t.distinct < t.layers

    @property
    def wanted_dark(self) -> float:
        """Share of the dark steel wanted on the face."""
        return BALANCED_DARK if self.target.dark is None else self.target.dark

    def plate(self, steel: str, thickness: float) -> str:
        """A plate of a stack, its thickness [m] spelled as in the rack."""
        for bar in self.rack or ():
            if abs(bar.thickness - thickness) < 1e-9 and find(bar.steel, self.own).name == steel:
                return f"{bar.steel} {bar.spelled('thickness') or length(thickness, self.units)}"
        return f"{steel} {length(thickness, self.units)}"

    def said(self, thickness: float) -> str:
        """A thickness of plate [m] as the rack spells it."""
        for bar in self.rack or ():
            if abs(bar.thickness - thickness) < 1e-9:
                return bar.spelled("thickness") or length(thickness, self.units)
        return length(thickness, self.units)

    @property
    def sine(self) -> float:
        """Sine of the mean slope of the finished face at mid-length: a layer shows 1/sine times its thickness."""
        x = 0.5 * self.blade.length
        s, e, h = (
            float(v) for v in (self.blade.spine_thickness(x), self.blade.edge_thickness(x), self.blade.height(x))
        )
        return float(np.sin(full_flat_half_angle(s, e, h)))


def goal_of(recipe: Recipe, target: Target, rack: tuple[RackBar, ...] | None) -> Goal:
    """Read a goal out of a recipe. Raises InputError, one sentence, where it contradicts itself or cannot be met by any
    plan.
    """
    blade = blade_of(recipe)
    asked = frozenset(
        k for k in ("layers", "distinct", "line", "carbon", "dark", "core") if getattr(target, k) is not None
    )
    aimed = bool(asked & {"layers", "distinct", "line"})
    if not aimed:
        target = target.model_copy(update={"layers": USUAL_LAYERS[target.pattern]})
    goal = Goal(recipe, target, recipe.tables.shop, blade, need(blade), rack, recipe.own_steels, aimed, asked)
    _check(goal)
    return goal


def _check(goal: Goal) -> None:
    t, shop = goal.target, goal.shop
    if shop.press_opening <= 0 and shop.forge_tool == "press":
        raise InputError(
            'press_opening: the press opens 0 mm, so no stack fits it; give its real opening, or by = "hand"'
        )
    if goal.blade.length > shop.fire_length:
        raise InputError(
            f"fire_length: the blade is {length(goal.blade.length, goal.units)} long and the fire heats "
            f"{length(shop.fire_length, goal.units)}, so it cannot be hardened in one heat; a longer fire (or the length of "
            "the oven you harden in) or a shorter blade is wanted"
        )
    if t.layers is not None and t.distinct is not None and t.distinct > t.layers:
        raise InputError(
            f"target: {t.distinct} distinct layers are wanted of {t.layers} counted; there are never "
            "more distinct than counted, so raise layers or lower distinct"
        )
    if t.core is not None and t.pattern != "clad":
        raise InputError(
            f'target: a core share is wanted, but the pattern is "{t.pattern}"; only pattern = "clad" has a core'
        )
    if t.core is not None and not 0.1 <= t.core <= 0.8:
        raise InputError(f"target: core = {t.core:g} of the thickness; a core of 0.1 to 0.8 can be planned")
    if goal.rack is not None and not goal.rack:
        raise InputError(
            "rack: there is no bar in the rack, so nothing can be cut; add [[bar]] tables with steel, "
            "thickness, width, length and count, or leave the rack out"
        )


def pairs(goal: Goal) -> tuple[Pair, ...]:
    """The pairs of steels that may be stacked. Raises InputError when the rack holds no two that show."""
    named = goal.target.steels
    if named is not None and len(named) < 2:
        raise InputError(
            f'target: steels names only "{", ".join(named)}"; a pattern takes two, the dark one first, '
            'such as steels = ["1084", "15N20"]'
        )
    if goal.rack is not None:
        return _from_rack(goal, named)
    wanted = ((named[0], named[1]),) if named else _USUAL_PAIRS if goal.target.carbon is not None else _USUAL_PAIRS[:1]
    scale, sizes, usual = BARS[goal.units]
    widths = tuple(w * scale for w in usual)
    dark, bright = (tuple(t * scale for t in sizes[k]) for k in ("dark", "bright"))
    return tuple(Pair(find(d, goal.own), find(b, goal.own), dark, bright, widths) for d, b in wanted)


def _from_rack(goal: Goal, named: tuple[str, ...] | None) -> tuple[Pair, ...]:
    rack = goal.rack or ()
    found = {b.steel: find(b.steel, goal.own) for b in rack}
    by_name: dict[str, list[RackBar]] = {}
    for b in rack:
        if min(b.thickness, b.width, b.length) <= 0:
            raise InputError(
                f"rack: a bar of {b.steel} has a size of nothing; thickness, width and length are all wanted"
            )
        by_name.setdefault(found[b.steel].name, []).append(b)
    steels = {s.name: s for s in found.values()}
    out = []
    for dark, bright in permutations(sorted(steels), 2):
        if steels[bright].etch_rank - steels[dark].etch_rank < _LEAST_RANKS:
            continue
        if named and (find(named[0], goal.own).name, find(named[1], goal.own).name) != (dark, bright):
            continue
        lower, upper = by_name[dark], by_name[bright]
        widest = min(max(x.width for x in lower), max(x.width for x in upper))
        widths = tuple(sorted({x.width for x in (*lower, *upper) if x.width <= widest}))
        thin, thick = (tuple(sorted({x.thickness for x in bars})) for bars in (lower, upper))
        out.append(Pair(steels[dark], steels[bright], thin, thick, widths))
    if not out:
        have = ", ".join(sorted(steels))
        wish = f"{named[0]} and {named[1]}" if named else "two steels that etch apart (a dark and a bright one)"
        raise InputError(
            f"rack: wanted {wish}, and the rack holds only {have}; buy the missing steel or name others "
            "in [target] steels"
        )
    return tuple(out)


def widest(goal: Goal) -> float:
    """Width [m] of the widest plates a stack can be laid from."""
    return max(w for p in pairs(goal) for w in p.widths)


def plate_choices(goal: Goal, pair: Pair) -> list[tuple[float, float]]:
    """Dark and bright thicknesses [m] to try together: all in the rack; of common sizes about two to one unless a share
    or carbon is asked for.
    """
    every = [(d, b) for d in pair.dark_plates for b in pair.bright_plates]
    if goal.rack is not None or goal.asked & {"dark", "carbon"}:
        return every
    return [(d, b) for d, b in every if _BALANCED[0] <= d / b <= _BALANCED[1]]


def check_carbon(goal: Goal) -> None:
    """Raise InputError when no mixture of the steels can come near the carbon asked for."""
    wanted = goal.target.carbon
    if wanted is None:
        return
    steels = {s.name: s.carbon for p in pairs(goal) for s in (p.dark, p.bright)}
    if goal.target.pattern == "multi-bar":
        steels |= {n: find(n, goal.own).carbon for n in (goal.target.steels or ())[2:]}
    if goal.target.pattern == "clad":
        steels |= {
            n: find(n, goal.own).carbon
            for n in (goal.target.steels or ())[2:]
            or (("1095",) if goal.rack is None else tuple(b.steel for b in goal.rack))
        }
    low, high = min(steels.values()), max(steels.values())
    if not low - 0.01 <= wanted <= high + 0.01:
        each = ", ".join(f"{n} {c:g} %" for n, c in sorted(steels.items(), key=lambda i: i[1]))
        raise InputError(
            f"target: carbon = {wanted:g} % cannot be mixed from steels of {low:g} to {high:g} % "
            f"({each}); name other steels or ask for carbon between these"
        )
