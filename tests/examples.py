"""The table of example operations: every law in test_laws.py runs over every row.

To add a step, add a row: a name, the step as it stands in a recipe, the bar it is done to, and `within`, how near to
one the determinant of its map must be: EXACT unless the map is found by numbers. Every bar holds one plate of a third
steel away from its middle, so that no flip, mirror or swapped face can hide.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image, ImageDraw, ImageOps

from billet.bar.bar import Bar, Worked
from billet.bar.maps import Array, PointMap, Pulled
from billet.bar.outcome import Bench
from billet.base.shop import Shop
from billet.blade import Blade, BladeDesign
from billet.recipe.old_spellings import respelt
from billet.recipe.stack import plates_of, stack
from billet.steps import Step, step_types

MARK = "52100"
EXACT = 1e-9
SMOOTH = 1e-7  # exact too, but the difference that measures it is only good to this where the map is curved
NUMERIC = 1e-3
HOT = 'temperature = "1100 C"\nsoak = "5 min"\n'


class Unmoved(PointMap):
    """A map that moves nothing: makes a laminar bar a worked one, so that steps must show their maps."""

    keeps_order = True

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        return Pulled(x, y, z)

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        return x, y, z


def marked(length: float = 0.12, width: float = 0.04, thickness: float = 9e-3) -> Bar:
    """Fifteen plates; the twelfth from below is of the third steel."""
    each = f"{thickness / 15 * 1e3} mm"
    names = ["1084", "15N20"] * 5 + ["1084", MARK, "1084", "15N20", "1084"]
    plates = plates_of([f"{n} {each}" for n in names], 1, None, {})
    return replace(stack("marked", plates, length, width), welded=True)


def unwelded() -> Bar:
    """The same, its joints still open."""
    return replace(marked(), welded=False)


def square() -> Bar:
    """A square bar."""
    return marked(0.15, 0.014, 0.014)


def long_square() -> Bar:
    """A square bar long enough to be cut into sixteen."""
    return marked(0.3, 0.014, 0.014)


def on_edge() -> Bar:
    """A square bar whose layers stand."""
    return step('do = "roll"').apply(square(), bench()).bar


def wound() -> Bar:
    """A twisted bar with broken corners."""
    return step('do = "twist"\nturns = 1').apply(square(), bench()).bar


def drawn_out() -> Bar:
    """A bar whose one end is drawn out to a blade beside a block."""
    text = f'do = "draw_out"\n{HOT}keep = "45 mm"\nthickness = "4 mm"\nwidth = "45 mm"\nlevel = "spine"'
    return step(text).apply(marked(), bench()).bar


def as_worked(bar: Bar) -> Bar:
    """The same bar, no longer known as a laminate."""
    return replace(bar, material=Worked(bar.material, Unmoved()))


def step(text: str) -> Step:
    """A step from its lines in a recipe."""
    table = respelt({"bar": [{"step": [tomllib.loads(text)]}]})[0]["bar"][0]["step"][0]
    return step_types()[table["do"]].model_validate(table, context={"door": True})


def bench() -> Bench:
    """The shop in which the examples are done."""
    return Bench(Shop(), blade=Blade(BladeDesign(length=0.09, heel_height=0.03), "hardening"))


def picture(mirrored: bool = False) -> str:
    """A small picture of a relief that is the same neither mirrored nor turned round, drawn when first asked for."""
    path = Path(__file__).with_name("__pycache__") / ("relief_mirrored.png" if mirrored else "relief.png")
    if not path.exists():
        path.parent.mkdir(exist_ok=True)
        image = Image.new("L", (96, 64), 255)
        ImageDraw.Draw(image).polygon([(20, 10), (70, 10), (30, 50)], fill=0)
        (ImageOps.mirror(image) if mirrored else image).save(path)
    return path.as_posix()


@dataclass(frozen=True)
class Example:
    """One row: the step as lines of a recipe, the bar it is done to, and how far the determinant may be from one."""

    text: str
    start: Callable[[], Bar] = marked
    within: float = EXACT

    @property
    def step(self) -> Step:
        """The step itself."""
        return step(self.text)


EXAMPLES: dict[str, Example] = {
    "weld": Example('do = "weld"\ntemperature = "1150 C"\nsoak = "10 min"\nheats = 2', unwelded),
    "heat": Example(f'do = "heat"\n{HOT}'),
    "normalise": Example('do = "normalise"\ntemperature = "870 C"\nsoak = "5 min"\nheats = 3'),
    "anneal": Example('do = "anneal"\ntemperature = "650 C"\nsoak = "60 min"'),
    "draw": Example(f'do = "draw"\n{HOT}thickness = "6 mm"\nwidth = "40 mm"\nheats = 2'),
    "draw a twisted bar": Example(f'do = "draw"\n{HOT}thickness = "8 mm"\nwidth = "15 mm"', wound, within=NUMERIC),
    "draw_out": Example(
        f'do = "draw_out"\n{HOT}keep = "50 mm"\nthickness = "4 mm"\nwidth = "45 mm"\nlevel = "spine"', within=SMOOTH
    ),
    "draw_out the tang": Example(
        f'do = "draw_out"\n{HOT}end = "handle"\nkeep = "20 mm"\nthickness = "5 mm"\nwidth = "14 mm"\ntransition = "8 mm"',
        drawn_out,
        within=SMOOTH,
    ),
    "surface_grind": Example('do = "surface_grind"\ntop = "1 mm"\nbottom = "0.2 mm"\nedges = "1.5 mm"'),
    "trim": Example('do = "trim"\neach_end = "7 mm"'),
    "restack": Example('do = "restack"\npieces = 3'),
    "restack turned": Example('do = "restack"\npieces = 4\nflip = "alternate"'),
    "restack with spacers": Example('do = "restack"\npieces = 2\nspacer = "15N20 0.8 mm"'),
    "fold": Example('do = "fold"'),
    "roll": Example('do = "roll"\nquarters = 1'),
    "roll back": Example('do = "roll"\nquarters = -1'),
    "roll over": Example('do = "roll"\nquarters = 2'),
    "upend": Example('do = "upend"'),
    "ladder": Example(
        'do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "3 mm"\nthickness_after = "5 mm"', within=SMOOTH
    ),
    "ladder hot": Example(
        f'do = "ladder"\n{HOT}pitch = "9 mm"\ngroove = "9 mm"\ndepth = "2 mm"\nfaces = "opposed"', within=SMOOTH
    ),
    "ladder on top": Example(
        'do = "ladder"\npitch = "13 mm"\ngroove = "6 mm"\ndepth = "2 mm"\nfaces = "top"', within=SMOOTH
    ),
    "ladder pressed": Example(
        'do = "ladder"\nmethod = "pressed"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "2 mm"', within=SMOOTH
    ),
    "ladder pressed on top": Example(
        'do = "ladder"\nmethod = "pressed"\nfaces = "top"\npitch = "11 mm"\ngroove = "7 mm"\ndepth = "2 mm"\nthickness_after = '
        '"6 mm"',
        within=SMOOTH,
    ),
    "raindrop": Example('do = "raindrop"\nacross = "8 mm"\ndepth = "2.5 mm"\nspacing = "12 mm"', within=NUMERIC),
    "raindrop pressed": Example(
        'do = "raindrop"\nmethod = "pressed"\nacross = "8 mm"\ndepth = "2 mm"\nspacing = "12 mm"\nfaces = "top"',
        within=NUMERIC,
    ),
    "hammer": Example('do = "hammer"\nmark = "18 mm"\ndepth = "1 mm"\nseed = 4', within=NUMERIC),
    "relief": Example(
        f'do = "relief"\nimage = "{picture()}"\nlength = "60 mm"\nwidth = "40 mm"\ndepth = "2 mm"\nfaces = "top"',
        within=NUMERIC,
    ),
    "relief pressed": Example(
        f'do = "relief"\nimage = "{picture()}"\nlength = "40 mm"\nwidth = "30 mm"\ndepth = "1.5 mm"\nmethod = "pressed"',
        within=NUMERIC,
    ),
    "twist": Example('do = "twist"\nturns = 2.5', square, within=NUMERIC),
    "twist hot": Example(f'do = "twist"\n{HOT}turns = 1\nhand = "left"\ncorners = 0.8', square, within=NUMERIC),
    "twist and back": Example('do = "twist"\nturns = [2, -2, 1.5]', square, within=NUMERIC),
    "twist round": Example('do = "twist"\nturns = 2\ncorners = 1', square, within=NUMERIC),
    "bulge": Example('do = "bulge"\namount = 0.8', on_edge, within=NUMERIC),
    "bulge strong": Example('do = "bulge"\namount = -1.6', on_edge, within=NUMERIC),
    "bulge on the bias": Example('do = "bulge"\namount = 0.6\nsection = "bias"', square, within=NUMERIC),
    "split": Example('do = "split"\ndrag = "2 mm"\nreach = "12 mm"'),
    "split hot": Example(f'do = "split"\n{HOT}drag = "5 mm"\nreach = "4 mm"\nalong = "thickness"', on_edge),
    "grid_restack pinwheel": Example('do = "grid_restack"\ngrid = 2', long_square),
    "grid_restack pinwheel of nine": Example('do = "grid_restack"\ngrid = 3\norder = "pinwheel"', long_square),
    "grid_restack mirror": Example('do = "grid_restack"\ngrid = 4\norder = "mirror"', long_square),
    "grid_restack same": Example('do = "grid_restack"\ngrid = 3\norder = "same"', long_square),
    "grid_restack quarter turned": Example('do = "grid_restack"\ngrid = 2\norder = "quarter turned"', long_square),
    "end_grain tiles": Example('do = "end_grain"\nmethod = "tiles"\nsegment = "11 mm"'),
    "end_grain accordion": Example('do = "end_grain"\nmethod = "accordion"\nsegment = "8 mm"\nleg = "4.5 mm"'),
    "end_grain accordion hot": Example(f'do = "end_grain"\n{HOT}method = "accordion"\nsegment = "6 mm"'),
    "end_grain slices": Example('do = "end_grain"\nmethod = "slices"\nsegment = "4 mm"'),
    "miter": Example('do = "miter"\nangle = "30 deg"', on_edge),
    "miter hot": Example(f'do = "miter"\n{HOT}angle = "62 deg"\nkerf = "1 mm"', marked),
    "forge_bevels": Example('do = "forge_bevels"\nshare = 0.5', within=NUMERIC),
    "forge_bevels hot": Example(f'do = "forge_bevels"\n{HOT}share = 1\nlengthen = 0.8', within=NUMERIC),
}
