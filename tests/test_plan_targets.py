"""Forty targets over all patterns and three racks: the first plan is one a smith would follow.

The bounds are the habits a plan promises (no line over three times a usual one, the balance of dark and bright, pieces no
thinner than 3/8 in, nothing a check warns of): common practice, no source.
"""

from __future__ import annotations

import itertools
import tomllib

import pytest

from billet.base.units import Kind, read
from billet.cli.check import _lines
from billet.ledger.recipe_warnings import uncertain_faces
from billet.ledger.run import band, run
from billet.plan.infeasible import UnreachableError
from billet.plan.planner import plan
from billet.recipe.read import build
from billet.recipe.tables import Target
from tests.planning import bar, knife

PLAIN = (bar("1084", 3.175, 38.1, 1219, 6), bar("15N20", 1.5875, 38.1, 1219, 6), bar("1095", 4.7625, 50.8, 1219, 2))
ODD = (
    bar("1084", 2.67, 44, 900, 8), bar("1084", 3.9, 40, 900, 8), bar("15N20", 1.83, 42, 900, 8), bar("15N20", 2.2, 40, 900, 8),
    bar("1095", 5.3, 50, 900, 2),
)  # fmt: skip
THICK = (bar("1084", 6.35, 38.1, 1219, 6), bar("15N20", 4.7625, 38.1, 1219, 6), bar("1095", 6.35, 50.8, 1219, 2))
RACKS = {"plain": PLAIN, "odd": ODD, "thick": THICK}
LAYERS = {
    "laminate": (60, 150, 300),
    "ladder": (150, 300),
    "raindrop": (120,),
    "twist": (30, 60),
    "multi-bar": (45,),
    "w": (400,),
    "feather": (180,),
    "accordion": (80,),
    "clad": (67,),
}
CASES = [(p, n, r) for p, many in LAYERS.items() for n, r in itertools.product(many, RACKS)] + [
    ("laminate", 200, "plain")
]


def test_there_are_forty() -> None:
    assert len(CASES) == 40


@pytest.mark.slow
@pytest.mark.parametrize(("pattern", "layers", "rack"), CASES, ids=str)
def test_the_first_plan_is_one_a_smith_would_follow(pattern: str, layers: int, rack: str) -> None:
    try:
        made = plan(
            knife(shop='press_opening = "90 mm"'), Target(pattern=pattern, layers=layers), RACKS[rack], handful=1
        )
    except UnreachableError as error:
        pytest.fail(str(error))
    first = made.candidates[0]
    assert first.faults == ()
    assert first.face.widest <= 3
    assert abs(first.face.dark - made.goal.wanted_dark) <= 0.15
    recipe = build(tomllib.loads(first.text), first.text)
    assert _lines(run(recipe), uncertain_faces(run(recipe, diffuse=False), *band(recipe))) == []
    steps = tomllib.loads(first.text)["bar"][0]["step"]
    before = [a for a, b in itertools.pairwise(steps) if b["do"] == "restack" and "width" in a]
    assert min((read(s["thickness"], Kind.LENGTH) for s in before), default=1.0) >= 9.5e-3
