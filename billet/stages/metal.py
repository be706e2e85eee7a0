"""The weight of a knife from the last bar to the sharp edge: what every stage of the blade leaves, and what it took."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from billet.blade.geometry import Blade
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from billet.recipe.several import share_of_bar
from billet.stages.stage import Stage

Array = NDArray[np.float64]

_FINISH = 0.05e-3  # ground and rubbed off a face from 120 grit to the finish [m]; common practice, no source
_SHARP = float(np.radians(15.0))  # each side of the sharpened edge from the mid-plane; common practice, no source
_ETCHED = 15e-6  # depth of the relief where the recipe gives none [m]; order of magnitude from memory
_STEPS = 2000


def weighed(stages: Sequence[Stage], ledger: Ledger) -> tuple[Stage, ...]:
    """Return the stages with the weight after each and the metal each took, as far as they are known; a knife of an order is
    cut from its own length of the bar."""
    after = dict(_masses(ledger)) if ledger.recipe.tables.blade is not None else {}
    out: list[Stage] = []
    mass = ledger.last.mass * share_of_bar(ledger.recipe)
    for stage in stages:
        if stage.kind == "bar":
            run = next(r for r in ledger.bars if r.name == stage.bar)
            row = run.rows[stage.number]
            out.append(replace(stage, mass=row.bar.mass, lost=row.lost.total))
            continue
        now = min(mass, after.get(stage.do, mass))
        out.append(replace(stage, mass=now if after else None, lost=mass - now if after else None))
        mass = now
    return tuple(out)


def _masses(ledger: Ledger) -> Iterator[tuple[str, float]]:
    """Weight after each of the stages that take metal [kg].

    The outline is cut through the bar's own thickness; what lies behind the heel keeps its size from there on. Scale of
    the later heats comes off with the grinding allowance and is not counted twice.
    """
    done, hard = (blade_of(ledger.recipe, state) for state in ("finished", "hardening"))
    bar = ledger.last
    density, behind = bar.mean_density, Whole(done).volume_behind()
    yield "profile", density * max(profile_volume(hard, ledger), hard.volume() + behind)
    yield "rough grind", density * (hard.volume() + behind)
    skin = 2 * _FINISH * side_area(done)
    sharpened = sharpening_volume(done)
    finished = density * (done.volume() + behind)
    spare = density * (hard.volume() - done.volume())
    yield "thin", finished + min(density * skin, 0.5 * spare)
    yield "finish", finished
    own = ledger.recipe.tables.etch.depth
    depth = _ETCHED if own is None else own
    etched = finished - density * depth * side_area(
        done
    )  # one of the two steels stands, the other is eaten: half of both faces
    yield "etch", etched
    yield "sharpen", etched - density * sharpened


def profile_volume(blade: Blade, ledger: Ledger) -> float:
    """Return the volume of the knife's outline, bolster and tang included, cut through the bar [m3]."""
    bar, whole, at = ledger.last, Whole(blade), lying(blade, ledger.last)
    x = -whole.behind + (np.arange(_STEPS) + 0.5) * (blade.length + whole.behind) / _STEPS
    high = whole.spine_y(x) - whole.edge_y(x)
    thick = np.full(x.shape, bar.thickness) if bar.profile is None else bar.profile.at(x + at.heel_x)[1]
    return float((high * thick).sum() * (blade.length + whole.behind) / _STEPS)


def side_area(blade: Blade) -> float:
    """Return the area of one face of the blade in side view [m2]."""
    x = (np.arange(_STEPS) + 0.5) * blade.length / _STEPS
    return float(blade.height(x).mean() * blade.length)


def sharpening_volume(blade: Blade) -> float:
    """Return what sharpening takes off an edge e thick [m3]: e^2 / (4 tan 15 degrees) a length."""
    edge = float(blade.edge_thickness(0.0))
    return float(edge**2 / (4 * np.tan(_SHARP)) * blade.length)
