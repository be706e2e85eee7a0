"""The pictures against a second workshop: material points carried forwards through the recipe must lie, on the ground
face, where the picture draws their steel.

The second workshop (tests/particles) shares no map, flow or tracing with the project. Points are sown in the first
stack; those that come to lie near the ground face of the blade sow closer ones, until enough lie within micrometres of
it. Off the edges of layers, where all nine pixels round a point show one steel, fewer than one point in two hundred may
show another steel than its own. Only where marks land at random is read from the project: their list is an input here.
"""

from __future__ import annotations

import ast
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from PIL import Image
from scipy.ndimage import maximum_filter, minimum_filter

from billet.blade import Blade, Placement
from billet.forming.relief_shapes import Blows, Dimples
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build
from billet.recipe.recipe import Recipe
from billet.steps import step_types
from render.etch import Look, cell_reflectance
from render.panel import Subject, paint_view
from render.views import Window
from tests.examples import picture
from tests.particles.block import Array
from tests.particles.reliefs import Face, blows, dimples, level, pictured
from tests.particles.workshop import Stock, finished, stocks
from tests.truth.registry import How, Pairs, checks

PIXEL = 0.1e-3
SOWN, KEPT, CLOSER = 60_000, 12_000, 5
BANDS = (8e-4, 2.5e-4, 8e-5, 2.5e-5, 8e-6, 2.5e-6)  # distance from the ground face within which points sow on [m]
WRONG = 0.005
WELD = {"do": "weld", "temperature": "1150 C", "soak": "5 min"}
SHOP = {
    "scale_per_heat": "0.05 mm",
    "face_cleanup": "0.3 mm",
    "end_trim": {"free": "3 mm", "handle": "5 mm"},
    "kerf": "2 mm",
}
PLATES = ["1084 1.2 mm", "15N20 0.8 mm", "1084 1 mm", "15N20 1 mm", "1084 1.2 mm", "A203E 0.8 mm", "1084 1 mm",
          "15N20 1.2 mm", "1084 0.8 mm"]  # fmt: skip
BLADE = {
    "length": "70 mm",
    "heel_height": "24 mm",
    "spine": {"heel": "2.4 mm", "middle": "2.0 mm", "tip": "0.9 mm"},
    "edge": {"hardening": "0.6 mm", "finished": "0.3 mm"},
    "offset": "0.1 mm",
    "tang": {"kind": "stick", "length": "15 mm"},
}


def draw(thickness: float, width: float, heats: int = 1) -> dict[str, Any]:
    sizes = {"thickness": f"{thickness} mm", "width": f"{width} mm"}
    return {"do": "draw", **sizes, "temperature": "1100 C", "soak": "3 min", "heats": heats}


def bar(
    *steps: dict[str, Any], name: str = "billet", length: float = 90, width: float = 30, repeat: int = 1
) -> dict[str, Any]:
    sizes = {"name": name, "length": f"{length} mm", "width": f"{width} mm", "repeat": repeat}
    return {**sizes, "stack": PLATES, "step": [WELD, *steps]}


def do(verb: str, **fields: Any) -> dict[str, Any]:
    return {"do": verb, **fields}


def hollow(verb: str, depth: float, after: float, **fields: Any) -> dict[str, Any]:
    return do(verb, depth=f"{depth} mm", thickness_after=f"{after} mm", **fields)


def clad(flip: str, how: str) -> list[dict[str, Any]]:
    """Two bars joined, one of them twice."""
    one = bar(do("split", drag="1 mm", reach="7 mm"), WELD, draw(7.2, 30), name="one", length=100)
    other = bar(draw(7.2, 30), name="other", length=45)
    items = ["one", "other", {"bar": "one", "flip": flip}]
    size = (4, 34) if how == "layers" else (4, 80)
    return [one, other, {"name": "billet", "join": items, "as": how, "step": [WELD, draw(*size)]}]


def twisted(*hands: str) -> list[dict[str, Any]]:
    """Twisted bars side by side, the middle one upside down."""
    bars = [
        bar(draw(12, 12), do("twist", turns=1.5, hand=h), draw(11, 11), name=n)
        for n, h in zip("abc", hands, strict=True)
    ]
    items = ["a", {"bar": "b", "flip": "over"}, {"bar": "c", "flip": "end for end"}]
    return [*bars, {"name": "billet", "join": items, "as": "side by side", "step": [WELD, draw(4, 36)]}]


GROOVES = {"pitch": "12 mm", "groove": "6 mm"}
DROPS = {"across": "8 mm", "spacing": "12 mm", "seed": 3}
SQUARE, ROLL = draw(13, 13), do("roll", quarters=1)
FEATHER = [draw(24, 29), do("split", drag="5 mm", reach="10 mm"), WELD, do("upend"), draw(9, 30)]
CASES: dict[str, list[dict[str, Any]]] = {
    "draw": [bar(draw(4, 34, heats=3))],
    "draw left to spread": [bar({k: v for k, v in draw(4, 1, 2).items() if k != "width"})],
    "ground and trimmed": [bar(do("surface_grind", top="2 mm", bottom="1 mm", edges="1 mm"), do("trim", each_end="6 mm"))],
    "restack": [bar(draw(8, 30), do("restack", pieces=2), WELD, draw(4, 32))],
    "restack turned": [bar(draw(6, 30), do("restack", pieces=3, flip="alternate"), WELD, draw(4, 32))],
    "restack with spacers": [bar(draw(7, 30), do("restack", pieces=2, spacer="A203E 1.5 mm"), WELD, draw(4, 32))],
    "fold of a worked bar": [bar(draw(7, 30), do("split", drag="1 mm", reach="7 mm"), WELD, do("fold"), WELD, draw(4, 34))],
    "ladder": [bar(hollow("ladder", 2.5, 5, **GROOVES), draw(4, 30))],
    "ladder opposed": [bar(hollow("ladder", 2, 4, faces="opposed", **GROOVES))],
    "ladder pressed": [bar(hollow("ladder", 2, 5.5, method="pressed", **GROOVES), draw(4, 30))],
    "ladder pressed on top": [bar(hollow("ladder", 2, 6, method="pressed", faces="top", **GROOVES), draw(4, 30))],
    "raindrop": [bar(hollow("raindrop", 2, 5, **DROPS), draw(4, 30))],
    "raindrop pressed": [bar(hollow("raindrop", 1.8, 5.5, method="pressed", **DROPS), draw(4, 30))],
    "raindrop on top": [bar(hollow("raindrop", 2, 6, faces="top", **DROPS), draw(4, 30))],
    "hammer": [bar(hollow("hammer", 1, 6, mark="18 mm", seed=4), draw(4, 30))],
    "relief": [bar(hollow("relief", 2, 5.5, image=picture(), length="50 mm", width="30 mm"), draw(4, 30))],
    "relief pressed on top": [
        bar(hollow("relief", 1.5, 6, image=picture(), length="40 mm", width="26 mm", faces="top", method="pressed"), draw(4, 30))
    ],
    "twist": [bar(SQUARE, do("twist", turns=2), draw(4, 26), length=150)],
    "twist to the left and round": [bar(SQUARE, do("twist", turns=1.5, hand="left", corners=1.0), draw(4, 26), length=150)],
    "twist and back": [bar(SQUARE, do("twist", turns=[1.5, -1, 0.5]), draw(4, 26), length=150)],
    "bulge": [bar(SQUARE, ROLL, do("bulge", amount=0.8), draw(4, 26), length=150)],
    "bulge hollowed": [bar(SQUARE, ROLL, do("bulge", amount=-1.4), draw(4, 26), length=150)],
    "bulge on the bias": [bar(SQUARE, do("bulge", amount=0.6, section="bias"), draw(4, 26), length=150)],
    "split": [bar(draw(12, 20), ROLL, do("split", drag="3 mm", reach="5 mm"), WELD, draw(4, 28))],
    "split through the thickness": [
        bar(draw(8.5, 28), ROLL, do("split", drag="2.5 mm", reach="9 mm", along="thickness"), WELD, draw(4, 28))
    ],
    "feather": [bar(*FEATHER, draw(4, 30), length=40, repeat=3)],
    "accordion": [bar(do("end_grain", method="accordion", segment="11 mm"), draw(2.8, 30))],
    "accordion with legs": [bar(draw(10, 26), do("end_grain", method="accordion", segment="9 mm", leg="4 mm"), draw(3, 30))],
    "tiles": [bar(do("end_grain", method="tiles", segment="10 mm"), WELD, draw(4, 30), length=110)],
    "slices": [bar(do("end_grain", method="slices", segment="9 mm"), draw(2.8, 28), width=40, repeat=2)],
    "grid pinwheel": [bar(SQUARE, do("grid_restack", grid=2), WELD, draw(4, 26), length=170)],
    "grid of nine pinwheel": [bar(draw(12, 12), do("grid_restack", grid=3), WELD, draw(4, 26), length=400)],
    "grid mirror": [bar(SQUARE, ROLL, do("grid_restack", grid=3, order="mirror"), WELD, draw(4, 26), length=400)],
    "grid of sixteen quarter turned": [
        bar(draw(12, 12), do("grid_restack", grid=4, order="quarter turned"), WELD, draw(4, 26), length=800)
    ],
    "grid same": [bar(SQUARE, ROLL, do("grid_restack", grid=2, order="same"), WELD, draw(4, 26), length=170)],
    "miter": [bar(ROLL, do("miter", angle="30 deg"), WELD, draw(4, 26), length=80, repeat=3)],
    "miter of a steep cut": [bar(do("upend"), draw(20, 30), do("miter", angle="55 deg", kerf="1 mm"), WELD, draw(4, 30))],
    "forged wholly": [bar(draw(4, 28), do("forge_bevels", share=1.0, lengthen=0.8), length=60)],
    "forged half": [bar(hollow("ladder", 2, 5, **GROOVES), draw(4, 26), do("forge_bevels", share=0.5), length=70)],
    "joined as layers, one over": clad("over", "layers"),
    "joined as layers, one end for end": clad("end for end", "layers"),
    "joined side by side, one over": clad("over", "side by side"),
    "twisted bars side by side": twisted("right", "left", "right"),
    "integral": [
        bar(
            hollow("ladder", 1.5, 7, **GROOVES),
            do("draw_out", keep="18 mm", thickness="3.5 mm", width="30 mm", level="spine", temperature="1100 C", soak="3 min"),
            do("draw_out", end="handle", keep="6 mm", thickness="5 mm", width="16 mm", transition="5 mm", temperature="1100 C", soak="3 min"),
        )
    ],
    "restack of a laddered bar with spacers": [
        bar(hollow("ladder", 2, 5, **GROOVES), do("restack", pieces=3, spacer="A203E 1 mm"), WELD, draw(4, 34), length=110)
    ],
    "restack of a laddered bar": [
        bar(hollow("ladder", 2, 5, **GROOVES), do("restack", pieces=2, flip="alternate"), WELD, draw(4, 34), length=80)
    ],
}  # fmt: skip


def hollows(step: Any, size: tuple[float, float, float]) -> tuple[Face, Face]:
    """Where the marks of a seeded step land, as the project drew them."""
    if step.do == "hammer":
        made = Blows(step.mark, step.depth, step.seed)
        top, bottom = (blows([tuple(m) for m in made.of_face(k, *size[:2])], step.depth) for k in (0, 1))
        return top, bottom
    if step.do == "relief":
        grey = np.asarray(Image.open(step.image), float) / 255
        shift = 0.5 * step.length if step.faces == "staggered" else 0.0
        top, bottom = (pictured(grey, step.length, step.width, step.depth, s) for s in (0.0, shift))
        return top, bottom if step.faces != "top" else level
    drilled = Dimples(step.across, step.depth, step.spacing, step.faces, step.seed)
    top, bottom = (dimples([tuple(m) for m in drilled.of_face(k, *size[:2])]) for k in (0, 1))
    return top, bottom if step.faces != "top" else level


class Face3(NamedTuple):
    """The ground right face of a blade in the frame of its bar."""

    blade: Blade
    at: Placement

    def above(self, points: Array) -> Array:
        """How far points (3, n) lie over the face [m]; not a number off the blade."""
        x, y, z = points
        return z - self.at.offset - self.blade.half(x - self.at.heel_x, y - self.at.edge_y, "right")


class Near(NamedTuple):
    """Points near the face (3, n) [m], and the steel each is of."""

    points: Array
    steel: Array


def sown(piles: Sequence[Stock], count: int, rng: np.random.Generator) -> list[Array]:
    """Points all over the first stacks, as many in each as its share of the metal [m]."""
    volume = np.array([np.prod(p.size) for p in piles])
    shares = np.maximum(count * volume / volume.sum(), 1000).astype(int)
    return [rng.uniform(-0.5, 0.5, (3, n)) * np.array(p.size)[:, None] for p, n in zip(piles, shares, strict=True)]


def on_the_face(recipe: Recipe, face: Face3) -> Near:
    """Points of the first stacks that come to lie on the ground face, sown closer and closer."""
    rng, piles = np.random.default_rng(11), stocks(recipe)
    seeds = sown(piles, SOWN, rng)
    reach = (sum(np.prod(p.size) for p in piles) / SOWN) ** (1 / 3)
    for band in BANDS:
        ends = finished(recipe, seeds, hollows)
        with np.errstate(invalid="ignore"):
            near = np.flatnonzero(np.abs(face.above(ends.points)) < band)
        near = rng.choice(near, min(KEPT, len(near)), replace=False)
        whose = np.concatenate([np.full(s.shape[1], k) for k, s in enumerate(seeds)])[ends.seed[near]]
        all_seeds = np.concatenate(seeds, axis=1)
        kept = [all_seeds[:, ends.seed[near[whose == k]]] for k in range(len(piles))]
        if band == BANDS[-1]:
            steels = np.concatenate([p.steel(s[2]) for p, s in zip(piles, kept, strict=True)])
            order = np.concatenate([near[whose == k] for k in range(len(piles))])
            return Near(ends.points[:, order], steels)
        seeds = [_closer(s, p, reach, rng) for s, p in zip(kept, piles, strict=True)]
        reach *= 0.35
    raise AssertionError


def _closer(seeds: Array, pile: Stock, reach: float, rng: np.random.Generator) -> Array:
    many = np.repeat(seeds, CLOSER, axis=1)
    half = 0.5 * np.array(pile.size)[:, None]
    return np.clip(many + rng.uniform(-0.5, 0.5, many.shape) * reach, -half, half)


def drawn(ledger: Ledger, face: Face3, points: Array) -> tuple[Array, Array]:
    """Least and greatest brightness of the nine pixels round each point in the picture of the right face."""
    subject = Subject(ledger.last, face.blade, face.at)
    window = Window((0.035, 0.012), PIXEL, 760, 320)
    brightness = paint_view(subject, "right", window, Look()).brightness
    col = ((points[0] - face.at.heel_x - window.left) / PIXEL).astype(int)
    row = ((window.top - points[1] + face.at.edge_y) / PIXEL).astype(int)
    return minimum_filter(brightness, 3)[row, col], maximum_filter(brightness, 3)[row, col]


def told_apart(ledger: Ledger, face: Face3, near: Near) -> tuple[float, float, list[str]]:
    """Share of the points off the edges of layers, share of those whose steel is not the one the picture shows, and the
    steels seen.
    """
    tones = {}
    for leaf in ledger.last.leaves:
        tones |= {leaf.steels[k].name: t for k, t in zip(leaf.steel, cell_reflectance(leaf, Look()), strict=True)}
    names, levels = np.array(list(tones), object), np.array(list(tones.values()))
    low, high = drawn(ledger, face, near.points)
    off = (high - low) < 0.2 * np.diff(np.sort(levels)).min()
    shown = names[np.abs(0.5 * (low + high)[:, None] - levels).argmin(1)]
    return off.mean(), float((shown != near.steel)[off].mean()), sorted(set(shown[off]))


def made(name: str) -> tuple[Recipe, Ledger, Face3]:
    recipe = build({"shop": SHOP, "bar": CASES[name], "blade": BLADE})
    ledger = run(recipe, diffuse=False)
    blade = Blade(recipe.tables.blade)
    return recipe, ledger, Face3(blade, blade.placement(ledger.last.length, ledger.last.width))


@checks(
    "where each steel shows on the knife", f"a second workshop that carries points forwards, {len(CASES)} recipes with every step",
    How.METHOD, unit="% of points off the edges of layers", within=100 * WRONG, over=tuple(CASES), slow=True,
)  # fmt: skip
def test_the_picture_shows_what_was_carried_there(name: str) -> Pairs:
    recipe, ledger, face = made(name)
    near = on_the_face(recipe, face)
    off, wrong, seen = told_apart(ledger, face, near)
    assert off * len(near.steel) > 2000
    assert len(seen) > 1
    return [(100 * wrong, 0.0)]


def test_a_picture_of_another_depth_is_found_out() -> None:
    """The check can fail: the same points against the picture of a face a tenth of a millimetre deeper."""
    recipe, ledger, face = made("ladder")
    near = on_the_face(recipe, face)
    deeper = Face3(face.blade, replace(face.at, offset=face.at.offset - 0.1e-3))
    assert told_apart(ledger, deeper, near)[1] > 10 * WRONG


def test_every_step_that_moves_metal_is_carried() -> None:
    carried = {step["do"] for bars in CASES.values() for one in bars for step in one["step"]}
    assert carried >= set(step_types()) - {"heat", "normalise", "anneal"}  # heats move nothing


def test_the_second_workshop_shares_nothing_that_moves_points() -> None:
    rooms = set()
    for file in Path(__file__).with_name("particles").glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.ImportFrom | ast.Import):
                rooms |= {getattr(node, "module", None) or node.names[0].name}
    own = {name for name in rooms if name.split(".")[0] in ("billet", "render")}
    assert own == {"billet.recipe.recipe", "billet.recipe.blade", "billet.steel.plate"}
