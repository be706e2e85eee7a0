"""A ledger in which every plate keeps its number and every step its frame, so that any point can be asked where it was."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked
from billet.bar.laminate import Laminate
from billet.bar.maps import HELD, Affine, Held
from billet.bar.trace import part_of, steel_at
from billet.ledger.rows import MARKS, Ledger
from billet.ledger.run import run
from billet.recipe.recipe import Recipe

Array = NDArray[np.float64]

_SIGN = "\x1f"  # stands between a steel's name, its bar's and the plate's number; no name in a recipe holds it


@dataclass(frozen=True)
class Plate:
    """A plate of a first stack, counted from the bottom from one, or a plate laid in later (number 0)."""

    steel: str
    bar: str = ""
    number: int = 0
    of: int = 0


@dataclass(frozen=True)
class Stop:
    """A spot on its way back: the number its step is known by, where it lay in the bar after that step [m], and which
    piece of those the step laid up (None where it laid none)."""

    mark: int
    point: tuple[float, float, float]
    piece: int | None = None


def followed(recipe: Recipe) -> Ledger:
    """Run a recipe with its plates numbered: bars and layers are those of the ledger, carbon is left where it is."""
    return run(recipe, diffuse=False, each=_numbered)


def framed(recipe: Recipe) -> Ledger:
    """The same with the frame of every step held, so that a point can be asked where it lay after each; laminar bars
    are followed as worked ones, which differs from `followed` by the rounding of their waves, a micrometre or two."""
    return run(recipe, diffuse=False, each=_held)


def _numbered(bar: Bar, mark: int) -> Bar:
    """The bar with its plates told apart when it is a fresh stack."""
    material = bar.material
    if not isinstance(material, Laminar) or mark % MARKS:
        return bar
    return replace(bar, material=replace(material, laminate=_apart(material.laminate, bar.name)))


def _held(bar: Bar, mark: int) -> Bar:
    """The same, and its frame held."""
    bar = _numbered(bar, mark)
    return replace(bar, material=Worked(bar.material, HELD, mark))


def _apart(laminate: Laminate, bar: str) -> Laminate:
    count = len(laminate.thickness)
    own = [laminate.steels[k] for k in laminate.steel]
    names = (_SIGN.join((s.name, bar, str(k + 1), str(count))) for k, s in enumerate(own))
    steels = tuple(replace(s, name=name) for s, name in zip(own, names, strict=True))
    return replace(laminate, steel=np.arange(count, dtype=np.int32), steels=steels)


def plate_of(name: str) -> Plate:
    """The plate behind the name of a numbered steel."""
    steel, *rest = name.split(_SIGN)
    return Plate(steel, rest[0], int(rest[1]), int(rest[2])) if rest else Plate(steel)


def plates_at(bar: Bar, points: Array) -> list[Plate]:
    """The plates that points (3, n) [m] of a followed bar were cut from."""
    known: dict[str, Plate] = {}
    return [known.setdefault(n, plate_of(n)) for n in steel_at(bar, points)]


def way_back(material: Material, point: Array) -> list[Stop]:
    """Where one point (3,) [m] lay after every step, the last step first."""
    stops: list[Stop] = []
    piece: int | None = None
    while not isinstance(material, Laminar):
        if isinstance(material, Joined):
            axis = "xyz".index(material.axis)
            k = int(part_of(material, point[axis : axis + 1])[0])
            point = point.copy()
            point[axis] -= 0.5 * (material.faces[k] + material.faces[k + 1])
            stops = _with_piece(stops, k)
            material = material.parts[k]
            continue
        if isinstance(material.map, Held):
            stops.append(Stop(material.step, (float(point[0]), float(point[1]), float(point[2]))))
        back = material.map.backward(point[:, None])
        if back.piece is not None and not isinstance(material.map, Affine):
            piece = int(back.piece[0])
            stops = _with_piece(stops, piece)
        point, material = back.points[:, 0], material.parent
    return stops


def _with_piece(stops: list[Stop], piece: int) -> list[Stop]:
    """The last stop is that of the step that laid the pieces up."""
    return [*stops[:-1], replace(stops[-1], piece=piece)] if stops else stops


def step_words(ledger: Ledger, mark: int) -> dict[str, Any]:
    """Bar, number and verb of a step."""
    one = ledger.bars[mark // MARKS]
    row = one.rows[mark % MARKS]
    return {"bar": one.name, "number": row.number, "do": row.do}
