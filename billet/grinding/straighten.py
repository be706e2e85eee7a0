"""Straightening as a list of steps, with its cautions: before hardening and after it. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable

from billet.grinding.grinding_plan import READS_TO, Plan, StationPlan

_TELLS = 0.01e-3  # a bend nobody can measure is not asked for [m]
_SOFT = (
    "Leave the blade soft: annealed or normalised, and cold or at a dull red, never at a blue heat in between.",
    "Lay it over two blocks, the hollow side down, and press or tap the hump with wood, brass or copper; a little past "
    "straight, for it springs back.",
    "Look along edge and spine from both ends, then measure the stations again and ask for a new plan.",
    "Give it one more thermal cycle before hardening: what was bent cold moves back in the quench.",
)
_HARD = (
    "Do not strike or bend it cold: hardened steel snaps, and pieces fly. Shield, gloves, nobody in line with it.",
    "Clamp it to a straight, stiff bar, with a shim under either end of the hollow side, so that the clamp bends it a "
    "little past straight; gently, by two or three times the bow at most.",
    "Temper it in the clamp at the heat of the last temper, no higher, for the full time; cool it in the clamp.",
    "Take it off, look along edge and spine, measure the stations again; repeat with a little more shim if need be.",
    "Where it will not come: a shallow row of peening with a hard ball on the hollow face moves it little by little; "
    "else soften, straighten and harden again. File-test and look for cracks after either.",
)


def is_first(plan: Plan) -> bool:
    """Tell whether straightening helps: the warp, and not steel that is too thin, costs what a caliper can read."""
    return plan.cost >= READS_TO and plan.straightened < plan.shortfall - 1e-6


def before_grinding(plan: Plan, units: str, figure: Callable[[float, str], str]) -> list[str]:
    """Return the steps of straightening, empty where the warp costs nothing; ``figure`` prints a length."""
    if not is_first(plan):
        return []
    places = sorted((s for s in plan.stations if abs(s.straighten) >= _TELLS), key=lambda s: -abs(s.straighten))
    marks = "; ".join(_mark(s, units, figure) for s in places)
    lead = f"Mark with chalk where it must go, and by how much at least: {marks}."
    return [lead, *(_SOFT if plan.state == "hardening" else _HARD)]


def _mark(row: StationPlan, units: str, figure: Callable[[float, str], str]) -> str:
    side = "right" if row.straighten > 0 else "left"
    return f"{row.station.name(units)} {figure(abs(row.straighten), units)} to the {side}"
