"""Plain clad blades: a core between two single plates (three layers), or with a thin plate between core and jacket (five).

There is no laminate to search: every plate thickness and width is weighed by the arithmetic of a laminate, the core
and what lies against it being its middle plate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np

from billet.base.errors import InputError
from billet.plan.after import After, final_bar, laminate_length, post
from billet.plan.clad import USUAL_CORE
from billet.plan.goal import BARS, Goal, Pair
from billet.plan.score import FAR, NOTICE, minded, tenths
from billet.plan.sequence_search import Found, Searched, allowed
from billet.plan.sequences import Batch, laid
from billet.plan.smiths_habits import Habits, habits_of
from billet.plan.weigh import Tail, Weighed, weigh
from billet.steel.library import Steel, find

PLAIN = (3, 5)
_USUAL = {3: ("15N20", "1095"), 5: ("1084", "15N20", "1095")}  # jacket, (plate against the core,) core; judgement
_THINNEST_SHIM, _THICKEST_SHIM = 0.5e-3, 2.1e-3  # [m] judgement


@dataclass(frozen=True)
class _Stack:
    """Half of a plain clad stack: thickness [m] of jacket, plate against the core (0: none) and core; width [m]."""

    jacket: float
    shim: float
    core: float
    width: float

    @property
    def middle(self) -> float:
        """Height [m] of all that lies between the jackets."""
        return self.core + 2 * self.shim


def is_plain(goal: Goal) -> bool:
    """Whether three or five single plates are asked for."""
    return goal.target.pattern == "clad" and goal.target.layers in PLAIN


def single_plates(goal: Goal) -> Searched:
    """All stacks of single plates that hold the blade, the best first. Raises InputError where none does."""
    steels = _steels(goal)
    habits = habits_of(goal.shop, steels, goal.units)
    final = final_bar(goal, habits)
    heats = tuple(h for h in (habits.normalise, habits.harden) if h[2] > 0)
    after = After(final.width, final.thickness, lambda _: post(goal, habits), heats=heats)
    want = laminate_length(goal, steels[-1], after)
    stacks = _stacks(goal, steels)
    found: list[Found] = []
    for stack in stacks:
        found += _weighed(goal, habits, after, steels, stack, want)
    if not found:
        raise InputError(
            f"target: no jackets and core of {', '.join(s.name for s in steels)} come near a core of "
            f"{_share(goal):g} of the thickness{_and_carbon(goal)} in this shop; other plates, another core share or "
            "a press that opens further is wanted"
        )
    there = [f for f in found if goal.rack is None or _in_rack(goal, f)]
    return Searched(tuple(sorted(there or found, key=lambda f: f.key)), len(stacks), bool(there))


def _share(goal: Goal) -> float:
    return USUAL_CORE if goal.target.core is None else goal.target.core


def _and_carbon(goal: Goal) -> str:
    return "" if goal.target.carbon is None else f" with {goal.target.carbon:g} % carbon"


def _steels(goal: Goal) -> tuple[Steel, ...]:
    """Jacket and core, or jacket, plate against the core, and core; the core is named last."""
    many = (goal.target.layers or 3) // 2 + 1
    names = goal.target.steels or _USUAL[goal.target.layers or 3]
    if len(names) < many:
        such = ", ".join(f'"{n}"' for n in _USUAL[goal.target.layers or 3])
        raise InputError(
            f"target: {goal.target.layers} plates take {'two' if many == 2 else 'three'} steels, the jacket first and "
            f"the core last, and steels names {len(names)}; such as steels = [{such}]"
        )
    picked = (names[0], names[-1]) if many == 2 else (names[0], names[1], names[-1])
    return tuple(find(n, goal.own) for n in picked)


def _plates(goal: Goal, steel: Steel, usual: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Thicknesses and widths [m] this steel can be had in. Raises InputError when the rack has none."""
    if goal.rack is None:
        scale, sizes, widths = BARS[goal.units]
        return tuple(t * scale for t in sizes[usual]), tuple(w * scale for w in widths)
    bars = [b for b in goal.rack if find(b.steel, goal.own).name == steel.name]
    if not bars:
        raise InputError(
            f"rack: there is no bar of {steel.name}, which the clad blade takes; buy one or name another in [target] "
            "steels"
        )
    return tuple(sorted({b.thickness for b in bars})), tuple(sorted({b.width for b in bars}))


def _stacks(goal: Goal, steels: tuple[Steel, ...]) -> list[_Stack]:
    kinds = [_plates(goal, s, "dark") for s in steels[:1] + steels[-1:]]
    between = _plates(goal, steels[1], "bright") if len(steels) == 3 else ((0.0,), kinds[0][1])
    shims = [t for t in between[0] if t == 0 or _THINNEST_SHIM <= t <= _THICKEST_SHIM]
    widest = min(max(w) for _, w in (*kinds, between))
    widths = sorted({w for _, some in kinds for w in some if w <= widest})
    return [_Stack(*sizes) for sizes in product(kinds[0][0], shims, kinds[1][0], widths)]


def _weighed(
    goal: Goal, habits: Habits, after: After, steels: tuple[Steel, ...], stack: _Stack, want: float
) -> list[Found]:
    """The stack as a plan, if it can be made and comes near the target."""
    batch = _as_laminate(steels, stack)
    if not laid(goal, habits, after, batch)[0]:
        return []
    w = weigh(goal, habits, after, batch, want, Tail())
    if not allowed(goal, habits, after, batch, w)[0]:
        return []
    missed = _missed(goal, steels, stack, w)
    miss = int(tenths(np.array(max(missed.values()))))
    if miss > FAR:
        return []
    put_in, left = float(w.laid[0]), float(w.share_left[0])
    score = (
        float(minded(miss)), float(w.welds[0]), 0.0, float(miss), float(batch.height[0] > stack.width), float(round(100 * (1 - left))), float(round(100 * put_in)), 0.0,
    )  # fmt: skip
    plates = [(steels[0], stack.jacket), *[(s, stack.shim) for s in steels[1:-1]], (steels[-1], stack.core)]
    whole = After(
        after.width,
        after.thickness,
        after.steps,
        heats=after.heats,
        plus=2 * (len(steels) - 2),
        stack=(*plates, *plates[-2::-1]),
        why=f"single plates: {steels[-1].name} is the core, {core_share(stack, w):.2f} of the thickness in the end",
    )
    key = (*score, stack.width, stack.core, stack.jacket, stack.shim)
    start, contrast = float(w.start[0]), float(w.contrast[0])
    return [Found(batch, whole, habits, want, start, score, missed, contrast, left, key)]


def _as_laminate(steels: tuple[Steel, ...], stack: _Stack) -> Batch:
    """Jacket, middle, jacket: two steels in turn."""
    one = np.ones(1)
    none = np.empty((0, 1))
    pair = Pair(steels[-1], steels[0], (stack.middle,), (stack.jacket,), (stack.width,))
    return Batch(
        pair, one, one, np.zeros(1, bool), stack.jacket * one, stack.middle * one, stack.width * one, none, none,
        0.0 * one, np.zeros(1, bool),
    )  # fmt: skip


def core_share(stack: _Stack, w: Weighed) -> float:
    """Share of the last bar's thickness that is core: what lies between the jackets, by its part in it."""
    return float(w.dark[0]) * stack.core / stack.middle


def _missed(goal: Goal, steels: tuple[Steel, ...], stack: _Stack, w: Weighed) -> dict[str, float]:
    """How far core share and carbon are missed, in noticeable misses."""
    core = core_share(stack, w)
    out = {"core": abs(core - _share(goal)) / NOTICE["dark"]}
    if goal.target.carbon is not None:
        parts = (1 - float(w.dark[0]), *[2 * float(w.dark[0]) * stack.shim / stack.middle for _ in steels[1:-1]], core)
        mass = [p * s.density for p, s in zip(parts, steels, strict=True)]
        carbon = sum(m * s.carbon for m, s in zip(mass, steels, strict=True)) / sum(mass)
        out["carbon"] = abs(carbon - goal.target.carbon) / NOTICE["carbon"]
    return out


def _in_rack(goal: Goal, f: Found) -> bool:
    """Whether the rack gives every plate, each steel and thickness by itself."""
    width, kerf = float(f.batch.width[0]), goal.shop.kerf
    for steel, thick in set(f.after.stack):
        many = f.after.stack.count((steel, thick))
        there = sum(
            b.count * math.floor((b.length + kerf) / (f.start + kerf) + 1e-9)
            for b in goal.rack or ()
            if find(b.steel, goal.own).name == steel.name
            and abs(b.thickness - thick) < 1e-9
            and b.width >= width - 1e-9
        )
        if there < many:
            return False
    return True
