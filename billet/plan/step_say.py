"""One step of a bar in a sentence: what is done, to which sizes, on which faces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from billet.base.furnace import given
from billet.base.units import Kind, show
from billet.ledger.rows import Row
from billet.plan.recipe_text import INCH, fraction, length

_FACES = {
    "staggered": "both faces, {apart}", "opposed": "both faces, over one another", "top": "the top face alone",
}  # fmt: skip
_ORDERS = {
    "pinwheel": "turned like a pinwheel", "mirror": "as in a mirror", "same": "all the same way",
    "quarter turned": "every second one a quarter turned",
}  # fmt: skip
_WAYS = {"none": "all the same way up", "alternate": "every second piece turned over"}
_OTHER = {"right": "left", "left": "right"}
_Size = Callable[[float], str]


def size(metres: float, units: str) -> str:
    """A size to work to, as a rule or a caliper shows it."""
    if units == "metric":
        return length(round(metres, 5), units)
    sixty_fourths = round(metres / INCH * 64)
    near = abs(sixty_fourths * INCH / 64 - metres) < 1e-6
    return length(sixty_fourths * INCH / 64 if near else round(metres / INCH, 4) * INCH, units)


def about(metres: float, units: str) -> str:
    """A size that comes out, no finer than a tape shows: to a sixteenth of an inch, from four inches up to an eighth."""
    if units == "metric":
        return f"{metres * 1e3:.0f} mm"
    part = 4 if metres < 4 * INCH else 8  # sixty-fourths
    near = part * round(metres / INCH * 64 / part)
    return fraction(near) if near else show(metres, Kind.LENGTH, units)


def say(row: Row, units: str, brief: bool = False, heats: bool = True) -> str:
    """One step in a sentence; short where it is ``brief``, without its heats where they are told elsewhere."""
    step: Any = row.step
    hot = _hot(step, units) if heats and not brief else ""
    s = lambda v: size(v, units)  # noqa: E731
    made = getattr(step, "method", "cut")
    words = {
        "weld": lambda: f"Weld{hot}",
        "heat": lambda: f"Heat it without forging{hot}",
        "draw": lambda: _drawn(row, step, units, hot),
        "restack": lambda: _restacked(row, step, units, brief),
        "draw_out": lambda: (
            f"Draw out the {step.end} end to {s(step.thickness)} x {s(step.width)}, {s(step.keep)} stays{hot}"
        ),
        "twist": lambda: f"Grind the corners off and twist {_turns(step)}{hot}",
        "ladder": lambda: (
            f"{'Cut' if made == 'cut' else 'Press'} grooves {s(step.groove)} wide and {s(step.depth)} deep every "
            f"{s(step.pitch)}, {_faces(step, 'half a pitch apart')}; {_flat(made)} to {s(row.bar.thickness)}{hot}"
        ),
        "raindrop": lambda: (
            f"{'Drill' if made == 'cut' else 'Press'} dimples up to {s(step.across)} across and {s(step.depth)} deep about "
            f"every {s(step.spacing)}, {_faces(step, 'none opposite another')}; {_flat(made)} to "
            f"{s(row.bar.thickness)}{hot}"
        ),
        "hammer": lambda: (
            f"Hammer marks at random, {s(step.mark)} across and up to {s(step.depth)} deep{hot}; grind flat"
        ),
        "relief": lambda: (
            f"{'Cut' if made == 'cut' else 'Press'} the picture {step.image}{_large(step, s)} {s(step.depth)} deep into "
            f"{_faces(step, 'half a picture apart')}; {_flat(made)} to {s(row.bar.thickness)}{hot}"
        ),
        "forge_bevels": lambda: (
            f"Forge bevels, taper and point, {100 * step.share:.0f} % of the way; the rest is ground{hot}"
        ),
        "grid_restack": lambda: (
            f"Crop the ends, cut in {step.grid**2}, grind the faces, lay the pieces {step.grid} by {step.grid}, "
            f"{_ORDERS[step.order]}: {about(row.bar.width, units)} square, {row.bar.layers_counted:,} layers"
        ),
        "miter": lambda: (
            f"Saw on the slant at {show(step.angle, Kind.ANGLE, units)}, turn one half over, lay the slant faces together"
        ),
        "fold": lambda: (
            f"Score across the middle, grind the faces and fold over: {about(row.bar.thickness, units)} high, "
            f"{row.bar.layers_counted:,} layers"
        ),
        "trim": lambda: f"Crop {s(step.each_end)} off both ends",
        "roll": lambda: _rolled(step.quarters),
        "surface_grind": lambda: _ground(step, s),
        "bulge": lambda: _barrelled(step, hot),
        "split": lambda: (
            f"Split hot down the middle of the {step.along}, the wedge dragging the layers about {s(step.drag)}{hot}"
        ),
        "upend": lambda: "Stand the block on end",
        "end_grain": lambda: _opened(step, s, hot),
    }
    return words.get(row.do, lambda: f"{row.do.replace('_', ' ').capitalize()}{hot}")()


def _hot(step: Any, units: str) -> str:
    """Heats and temperature of a step done hot."""
    kelvin = getattr(step, "temperature", None)
    heats = int(getattr(step, "heats", 1) or 1)
    return "" if kelvin is None else f" ({heats} heat{'s' * (heats > 1)} at {given(kelvin, units)})"


def _drawn(row: Row, step: Any, units: str, hot: str) -> str:
    """The sizes that are asked for, then those that come of it."""
    s = lambda v: size(v, units)  # noqa: E731
    measured = ", measured hot" if step.hot else ""
    if step.length is None:
        asked = (
            f"{s(row.bar.thickness if step.thickness is None else step.thickness)} x "
            f"{s(row.bar.width if step.width is None else step.width)}"
        )
        return f"Draw to {asked}{measured}{hot}: {about(row.bar.length, units)} long"
    sides = ((step.thickness, "thick"), (step.width, "wide"), (step.length, "long"))
    asked = " and ".join(f"{s(value)} {word}" for value, word in sides if value is not None)
    return f"Draw to {asked}{measured}{hot}: {s(row.bar.thickness)} x {s(row.bar.width)}"


def _restacked(row: Row, step: Any, units: str, brief: bool) -> str:
    between = f" with {step.spacer} between" if step.spacer else ""
    layers = f", {row.bar.layers_counted:,} layers"
    if brief:
        return f"Cut in {step.pieces} and restack{between}{layers}"
    return (
        f"Crop the ends, cut in {step.pieces}, grind the faces, stack {_WAYS[step.flip]}{between}: "
        f"{about(row.bar.thickness, units)} high{layers}"
    )


def _large(step: Any, s: _Size) -> str:
    """How large a picture lies on the bar, where it is told."""
    sides = [f"{s(value)} {word}" for value, word in ((step.length, "long"), (step.width, "wide")) if value is not None]
    return f", {' and '.join(sides)}," if sides else ""


def _faces(step: Any, apart: str) -> str:
    return _FACES[step.faces].format(apart=apart)


def _flat(made: str) -> str:
    return "forge flat" if made == "cut" else "grind flat"


def _turns(step: Any) -> str:
    """How often and which way the bar is wound; one number, or one for each of some equal parts of it."""
    turns: Sequence[float] = [step.turns] if isinstance(step.turns, int | float) else step.turns
    said = [
        f"{abs(one):g} turn{'s' * (abs(one) != 1)} {_OTHER[step.hand] if one < 0 else step.hand}-handed"
        for one in turns
    ]
    return said[0] if len(said) == 1 else f"{', then '.join(said)}, over {len(said)} equal parts"


def _rolled(quarters: int) -> str:
    if quarters % 4 == 0:
        return "Leave the bar as it lies"
    return "Turn the bar over" if quarters % 4 == 2 else "Turn the bar a quarter about its length"


def _barrelled(step: Any, hot: str) -> str:
    how = "Barrel" if step.amount >= 0 else "Hollow"
    bias = ", on the bias" if step.section == "bias" else ""
    return f"{how} the layers, strength {abs(step.amount):g}{bias}, the outside kept square{hot}"


def _ground(step: Any, s: _Size) -> str:
    """What is ground off, like faces told together."""
    if step.top and step.top == step.bottom:
        off = [f"{s(step.top)} off either face"]
    else:
        off = [f"{s(v)} off the {side}" for v, side in ((step.top, "top"), (step.bottom, "bottom")) if v]
    off += [f"{s(step.edges)} off either edge"] if step.edges else []
    return f"Grind {', '.join(off) or 'nothing off'}"


def _opened(step: Any, s: _Size, hot: str) -> str:
    if step.method == "accordion":
        legs = f"{s(step.leg)}" if step.leg is not None else "a third of the bar"
        return f"Cut from either side in turn every {s(step.segment)}, leaving legs of {legs} and drilled roots; unfold hot{hot}"
    if step.method == "slices":
        return f"Saw one slice {s(step.segment)} long off the bar and lay its end grain up"
    return f"Cut into tiles {s(step.segment)} long, stand them on end in a row"
