"""What cannot be planned gets one sentence that names the constraint that binds."""

from __future__ import annotations

import tomllib

import pytest

from billet.base.errors import InputError
from billet.plan.planner import plan
from billet.plan.rackfile import read_rack
from billet.recipe.tables import Target
from tests.planning import RACK, bar, knife

CASES = {
    "empty rack": ({}, {}, (), ["rack", "no bar"]),
    "impossible carbon": ({"carbon": 1.5}, {}, None, ["carbon", "1.5", "0.95"]),
    "too little carbon": ({"carbon": 0.2}, {}, RACK, ["carbon", "0.2", "15N20"]),
    "blade longer than the fire": ({}, {"shop": ""}, None, ["fire_length", "450 mm", "400 mm"]),
    "press does not open": ({}, {"shop": 'press_opening = "0 mm"'}, None, ["press_opening", "0 mm"]),
    "more distinct than counted": ({"layers": 100, "distinct": 200}, {}, None, ["distinct", "200", "100"]),
    "line and layers pull apart": (
        {"layers": 300, "line": 5e-3},
        {},
        RACK,
        ["not all of it can be had at once", "line"],
    ),
    "core without cladding": ({"core": 0.3}, {}, None, ["core", "clad"]),
    "one steel": ({"steels": ("1084",)}, {}, None, ["steels", "two"]),
    "a rack of one steel": ({}, {}, (bar("1084", 3.2),), ["rack", "1084"]),
    "steel not in the rack": ({"steels": ("O1", "L6")}, {}, RACK, ["O1", "L6"]),
    "feather from a low stack": (
        {"pattern": "feather"},
        {"shop": 'press_opening = "30 mm"'},
        None,
        ["feather", "25 mm"],
    ),
    "W's from two pieces": ({"pattern": "w"}, {"shop": "most_pieces = 2"}, None, ["most_pieces", "2"]),
    "lines of twisted bars": ({"pattern": "multi-bar", "line": 1e-3}, {}, None, ["twisted", "layers"]),
    "no edge bar in the rack": (
        {"pattern": "multi-bar", "steels": ("1084", "15N20", "1095")},
        {},
        RACK,
        ["1095", "edge"],
    ),
    "plates too wide for square bars": (
        {"pattern": "multi-bar"},
        {},
        (bar("1084", 3.2, width=60), bar("15N20", 1.6, width=60)),
        ["rack", "60 mm", "narrower"],
    ),
    "five plates of two steels": (
        {"pattern": "clad", "layers": 5, "steels": ("1075", "W2")},
        {},
        None,
        ["three", "core"],
    ),
    "jackets not in the rack": ({"pattern": "clad", "layers": 3, "steels": ("1075", "W2")}, {}, RACK, ["rack", "1075"]),
    "jackets too thin for the core": (
        {"pattern": "clad", "layers": 3, "core": 0.1, "steels": ("15N20", "1084")},
        {},
        RACK,
        ["core", "0.1"],
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_one_sentence(case):
    target, words, rack, said = CASES[case]
    if case == "blade longer than the fire":
        words = {"length": "450 mm", "heel": "60 mm"}
    with pytest.raises(InputError) as caught:
        plan(knife(**words), Target(**target), rack)
    message = str(caught.value)
    assert "\n" not in message
    assert [w for w in said if w not in message] == []


def test_the_limit_that_binds_is_named_with_the_nearest_plan():
    with pytest.raises(InputError, match=r"nearest plan has .* layers .*most_welds = 4 is the limit"):
        plan(knife(shop="most_welds = 4"), Target(layers=900), RACK)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('[[bar]]\nsteel = "1084"\nthickness = 3.2\nwidth = "40 mm"\nlength = "1 m"\n', "unit"),
        ('[[bar]]\nsteal = "1084"\n', "steal"),
        ("[[bar", "TOML"),
        ("", "no bar"),
    ],
)
def test_rack_files_that_cannot_be_used(tmp_path, text, word):
    path = tmp_path / "rack.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=word):
        plan(knife(), Target(layers=100), read_rack(path))


def test_a_rack_in_the_recipe_is_read():
    each = '[[rack.bar]]\nsteel = "{}"\nthickness = "{} mm"\nwidth = "40 mm"\nlength = "1 m"\ncount = 4\n'
    more = each.format("1084", 3.2) + each.format("15N20", 1.6)
    made = plan(knife(more=more), Target(layers=100), handful=1)
    assert made.in_hand
    assert tomllib.loads(made.candidates[0].text)["rack"]["bar"][0]["steel"] == "1084"
