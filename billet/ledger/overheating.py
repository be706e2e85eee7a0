"""What the fire may do to a stack: red lines of its plates, a core still cold, a pattern washed out.

A red line is where damage starts, never a temperature to weld at.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.laminate import Laminate
from billet.base.messages import Amount, Note, hot, long, note
from billet.base.units import Kind
from billet.metal.heat_through import heat_through
from billet.metal.solidus import (
    ALLOY_SHIFT,
    AMBER_BELOW_SOLIDUS,
    CARBON_HIGH,
    CHROMIUM_MAX,
    RED_BELOW_SOLIDUS,
    red_line,
)
from billet.steel.library import ELEMENTS
from billet.steps.step import Step

Array = NDArray[np.float64]

_C, _CR, _NI, _P, _CU = (ELEMENTS.index(e) for e in ("C", "Cr", "Ni", "P", "Cu"))
COPPER_MELTS = 1357.77  # [K] freezing point of copper, International Temperature Scale of 1990
NICKEL_AND_CARBON = 1600.0  # [K] eutectic of nickel with carbon, about 1327 C, from memory
IRON_AND_CARBON = 1420.0  # [K] eutectic of iron with carbon, about 1147 C, from memory
_AMBER = AMBER_BELOW_SOLIDUS - RED_BELOW_SOLIDUS  # [K]
_RICH = 50.0  # [wt%] from here on a plate is copper or nickel rather than steel
_COPPER_FILM = (
    0.4  # [wt%] from here on copper gathers under the scale and, once liquid, gets between the grains; from memory
)
PHOSPHORUS = 0.1  # [wt%] from here on a plate melts noticeably lower, as wrought iron may
_SHIFT_PER_PHOSPHORUS = -600.0  # [K/wt%] of the solidus: 0.02 % made -12 K in Fe-0.8C, computed with an open database
_PHOSPHORUS_COUNTED = 0.02  # [wt%] already in the usual shift
USUAL_WELD = (1422.0, 1533.0)  # [K] 2100 to 2300 F, published makers' pages on flux and dry welding
COOLEST_WELD = 1323.15  # [K] 1050 C: some 100 K under them a weld is doubted; judgement
_LOOSE = 1.5  # an unwelded stack takes so many times as long to heat through (air gaps, flux); judgement
_LEAST_SOAK = 0.25  # soak over the stack's heating-up under which it is worth a word; judgement


class RedLine(NamedTuple):
    """Where damage starts in a plate [K], and why there; the words may name what `melts` [K]."""

    heat: float
    why: str
    melts: float = 0.0


def red_line_of(composition: Array, carbon: float) -> RedLine | None:
    """The red line of a plate of a composition (elements,) [wt%] whose richest cell holds `carbon` [wt%]; None where no
    solidus is known.

    Copper alloys, nickel and cast iron have their own; copper in steel and more than 0.1 % phosphorus come short of the
    solidus. Above 3 % chromium only the maker's sheet tells.
    """
    if composition[_CU] > _RICH:
        return RedLine(
            COPPER_MELTS - RED_BELOW_SOLIDUS, "copper melts at {melts}, many of its alloys lower", COPPER_MELTS
        )
    if composition[_NI] > _RICH:
        return RedLine(
            NICKEL_AND_CARBON - RED_BELOW_SOLIDUS,
            "nickel begins to melt with carbon at about {melts}",
            NICKEL_AND_CARBON,
        )
    if carbon > CARBON_HIGH:
        return RedLine(IRON_AND_CARBON - RED_BELOW_SOLIDUS, "it begins to melt at about {melts}", IRON_AND_CARBON)
    if composition[_CR] > CHROMIUM_MAX:
        return None
    if composition[_CU] > max(_COPPER_FILM, composition[_NI]):
        return RedLine(COPPER_MELTS, "its copper gathers under the scale and melts at {melts}", COPPER_MELTS)
    if composition[_P] > PHOSPHORUS:
        shift = ALLOY_SHIFT + _SHIFT_PER_PHOSPHORUS * (composition[_P] - _PHOSPHORUS_COUNTED)
        return RedLine(red_line(carbon, composition[_CR], shift), "its phosphorus lowers the solidus")
    return RedLine(red_line(carbon, composition[_CR]), "within 15 C or 27 F; sulphur and phosphorus lower it")


def too_hot(bar: Bar, heat: float) -> tuple[Note, ...]:
    """Red above the lowest line of the plates, amber above the lowest forging maximum of the sheets or 150 K under a
    solidus.

    heat [K]. It is where damage starts, never a temperature to weld at.
    """
    steels = {
        s.name: (s, max(c, s.carbon)) for leaf in bar.leaves for s, c in zip(leaf.steels, _richest(leaf), strict=True)
    }
    found = {name: red_line_of(np.array(s.composition, float), c) for name, (s, c) in steels.items()}
    lines = {name: line for name, line in found.items() if line is not None}
    if lines:
        name = min(lines, key=lambda n: lines[n].heat)
        if heat > lines[name].heat:
            words = "{heat} is above the red line of {steel}, {line}: damage starts there (" + lines[name].why + ")"
            amounts = {"melts": hot(lines[name].melts)} if lines[name].melts else {}
            return (note(words, heat=hot(heat), steel=name, line=hot(lines[name].heat), **amounts),)
    limits = {
        name: min(s.forging_max, lines[name].heat - _AMBER) if name in lines else s.forging_max
        for name, (s, _) in steels.items()
    }
    lowest = min(limits, key=lambda n: limits[n])
    if heat > limits[lowest]:
        return (
            note(
                "{heat} is above {line}, the forging limit of {steel}: keep it short and even",
                heat=hot(heat),
                line=hot(limits[lowest]),
                steel=lowest,
            ),
        )
    return ()


def _richest(leaf: Laminate) -> list[float]:
    """Highest carbon met in each steel of a laminate [wt%]."""
    return [float(leaf.composition[leaf.steel == k, _C].max(initial=0.0)) for k in range(len(leaf.steels))]


def too_cool(step: Step, heat: float) -> tuple[Note, ...]:
    """Doubt a weld below the heats at which makers weld [K]."""
    if not step.welds or heat >= COOLEST_WELD:
        return ()
    text = "{heat} is cool for a forge weld: makers weld plain steel at {low} to {high}, and joints made cooler open later; doubt every one until a cut end, ground and etched, shows it closed"
    return (note(text, heat=hot(heat), low=hot(USUAL_WELD[0]), high=hot(USUAL_WELD[1])),)


def not_through(bar: Bar, step: Step) -> tuple[Note, ...]:
    """Say how long a loose stack takes to heat through when its soak is short beside that."""
    time = getattr(step, "soak", None)
    if bar.welded or not step.welds or time is None:
        return ()
    rise = heat_through(min(bar.thickness, bar.width))
    if time >= _LEAST_SOAK * _LOOSE * rise.likely:
        return ()
    return (
        note(
            "a loose stack {high} high takes {low} to {high_time} in the fire before its core is up; the {soak} of soak count from then",
            high=long(bar.thickness), low=Amount(rise.likely, Kind.TIME), high_time=Amount(_LOOSE * rise.high, Kind.TIME), soak=Amount(time, Kind.TIME),
        ),
    )  # fmt: skip
