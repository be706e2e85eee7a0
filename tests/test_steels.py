"""The library of steels: complete, honest about its sources, found by the names a smith uses, open to certificates."""

import subprocess
import sys
from typing import Any

import numpy as np
import pytest

from billet.base.errors import InputError
from billet.ledger.run import run
from billet.recipe.read import build
from billet.steel.library import ELEMENTS, Steel, find, from_certificate, library
from tests.making import recipe_data

STEELS = list(library().values())
by_name = pytest.mark.parametrize("steel", STEELS, ids=lambda steel: steel.name)


def test_the_shelf_holds_what_smiths_stack() -> None:
    """Pairs named by smiths on public boards: 10xx with 15N20, O1 with L6, O2 with 75Ni8, 1095 with A203E, jackets."""
    wanted = {"1075", "1080", "1084", "1095", "15N20", "75Ni8", "O1", "O2", "L6", "A203E", "52100", "5160", "8670",
              "80CrV2", "W1", "W2", "nickel", "wrought iron", "304", "316"}  # fmt: skip
    assert wanted <= set(library())
    assert len(STEELS) >= 26


@by_name
def test_typical_values_lie_inside_the_limits(steel: Steel) -> None:
    assert all(0.0 <= c.least <= c.typical <= c.most <= 100.0 for c in steel.analysis)
    assert {c.element for c in steel.analysis} <= set(ELEMENTS)


@by_name
def test_every_figure_has_a_standing(steel: Steel) -> None:
    assert steel.status in ("verified", "from memory")
    assert steel.source and steel.forging_source and steel.designation
    assert (steel.temper == ()) == (steel.temper_source == "")
    assert steel.harden is None or steel.harden.status in ("verified", "from memory")


@by_name
def test_a_figure_from_memory_says_so(steel: Steel) -> None:
    assert steel.status == "verified" or "from memory" in steel.source


@by_name
def test_heats_stand_in_their_order(steel: Steel) -> None:
    """Anneal below Ac1 of iron's 727 C eutectoid, hardening above it, forging below iron's melting point 1538 C."""
    assert steel.anneal is None or steel.anneal < 727 + 273.15
    assert steel.harden is None or 727 + 273.15 < steel.harden.low <= steel.harden.high < steel.forging_max
    assert steel.normalise is None or 727 + 273.15 < steel.normalise < steel.forging_max
    assert steel.forging_max < 1538 + 273.15
    assert not (steel.air_cooling_forbidden and steel.normalise)


@by_name
def test_hotter_tempers_are_softer(steel: Steel) -> None:
    rows = np.array(steel.temper).reshape(-1, 2)
    assert np.all(np.diff(rows[:, 0]) > 0)
    assert np.all(np.diff(rows[:, 1]) < 0)


@by_name
def test_density_lies_between_wrought_iron_and_nickel(steel: Steel) -> None:
    """7700 for wrought iron and 8890 for nickel [kg/m3], from memory; carbon steel 7850 is EN 1993-1-2."""
    assert 7700 <= steel.density <= 8890


def test_etching_from_dark_to_bright() -> None:
    """The order is the trade's, from memory."""
    order = ["O1", "1084", "1095", "W1", "80CrV2", "52100", "5160", "8670", "L6", "15N20", "A203E", "nickel", "304"]
    ranks = [find(name).etch_rank for name in order]
    assert ranks == sorted(set(ranks))
    assert len({find(name).etch_rank for name in ("1084", "1080", "1075")}) == 1
    assert find("W1").etch_rank == find("W2").etch_rank


def test_mill_designations_are_flagged() -> None:
    """15N20, 26C3 and 13C26 are mill names in general use, from memory; no open standard defines them."""
    assert {steel.name for steel in STEELS if steel.trade} == {"15N20", "26C3", "13C26"}


def test_the_anneal_ceiling_beside_15n20() -> None:
    """Andrews 1965: Ac1 of 15N20 is 694 C; 25 to 30 K below it."""
    ac1 = 723 - 10.7 * 0.40 - 16.9 * 2.0 + 29.1 * 0.25 + 16.9 * 0.10
    ceiling = find("15N20").anneal
    assert ceiling is not None
    assert 25.0 <= ac1 - (ceiling - 273.15) <= 30.0


def test_composition_follows_the_order_of_the_elements() -> None:
    steel = find("15N20")
    composition = dict(zip(ELEMENTS, steel.composition, strict=True))
    assert composition == {c.element: c.typical for c in steel.analysis} | {
        e: 0.0 for e, v in composition.items() if v == 0
    }
    assert steel.carbon == composition["C"] == 0.75


def test_a_composition_handed_out_is_the_caller_s_own() -> None:
    find("1084").composition[0] = 99.0
    assert find("1084").carbon == find("1084").composition[0] < 1.0


@pytest.mark.parametrize(
    ("typed", "name"),
    [("1084", "1084"), ("15n20", "15N20"), ("o1", "O1"), ("80 crv2", "80CrV2"), ("A203-E", "A203E"), ("203E", "A203E"),
     ("100Cr6", "52100"), ("1.2842", "90MnCrV8"), ("G10840", "1084"), ("Wrought-Iron", "wrought iron"),
     ("Nickel 200", "nickel"), ("30 4", "304")],
)  # fmt: skip
def test_names_as_smiths_type_them(typed: str, name: str) -> None:
    assert find(typed).name == name


@by_name
def test_no_name_leads_to_two_steels(steel: Steel) -> None:
    assert [find(word).name for word in (steel.name, *steel.aliases)] == [steel.name] * (1 + len(steel.aliases))


@pytest.mark.parametrize(("typed", "offered"), [("1085", '"1084"'), ("15N2O", '"15N20"'), ("52110", '"52100"')])
def test_an_unknown_name_brings_the_nearest(typed: str, offered: str) -> None:
    with pytest.raises(InputError, match="did you mean") as refusal:
        find(typed)
    assert offered in str(refusal.value) and f'"{typed}"' in str(refusal.value)


def test_a_name_near_nothing_brings_the_whole_list() -> None:
    with pytest.raises(InputError, match="known are 1018, "):
        find("?")


def test_a_certificate_replaces_what_was_measured() -> None:
    tool = from_certificate("tool", {"like": "1084", "C": 0.86, "Cu": 0.12})
    bought = find("1084")
    assert tool.carbon == 0.86
    assert tool.composition[ELEMENTS.index("Cu")] == 0.12
    assert tool.composition[ELEMENTS.index("Mn")] == bought.composition[ELEMENTS.index("Mn")]
    assert (tool.name, tool.status, tool.harden, tool.etch_rank) == (
        "tool", "certificate", bought.harden, bought.etch_rank
    )  # fmt: skip
    assert "certificate for C, Cu" in tool.source


def test_a_shop_s_own_steel_comes_first() -> None:
    own = {"1084": from_certificate("1084", {"like": "1084", "C": 0.9})}
    assert find("1084", own).carbon == 0.9
    assert find("1095", own) is find("1095")


@pytest.mark.parametrize(
    ("table", "part"),
    [
        ({"like": "1084", "C": 95}, "did you mean 0.95?"),
        ({"like": "1084", "C": 8.4}, "did you mean 0.084?"),
        ({"like": "1084", "C": 0.86, "c": 0.86}, 'do not know the key "c"'),
        ({"like": "1084", "C": "0.86 %"}, "for example C = 0.86"),
        ({"like": "1084", "C": True}, "for example C = 0.86"),
        ({"like": "1084", "Mn": float("nan")}, "for example Mn = 0.86"),
        ({"like": "1084", "Mn": -0.1}, "from 0 to 100"),
        ({"like": "nickel", "Mn": 50}, "more than 100"),
        ({"like": "1048", "C": 0.8}, "did you mean"),
        ({"C": 0.86}, 'like = "1084"'),
        ({"like": 1084, "C": 0.86}, 'like = "1084"'),
    ],
)
def test_a_certificate_that_cannot_be(table: dict[str, Any], part: str) -> None:
    with pytest.raises(InputError) as refusal:
        from_certificate("tool", table)
    assert part in str(refusal.value)


def test_steels_are_values() -> None:
    assert from_certificate("a", {"like": "1084", "C": 0.9}) == from_certificate("a", {"like": "1084", "C": 0.9})
    assert len({find("1084"), find("g10840"), find("1095")}) == 2


def test_the_shelf_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        library()["mystery"] = find("1084")  # type: ignore[index]


def test_the_library_starts_light() -> None:
    """Start-up budget: none of the heavy packages may come along."""
    code = "import sys, billet.steel.library; billet.steel.library.library(); print({'scipy', 'pint', 'skimage'} & set(sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "set()\n"


@pytest.mark.parametrize("word", ["mild 3 mm", "Mild steel 1/8 in"])
def test_a_word_for_many_steels_is_taken_as_one_and_said(word: str) -> None:
    data = recipe_data(["1084 3 mm", word], [])
    notes = [n.say("metric") for n in run(build(data)).bars[0].rows[0].notes]
    assert [n for n in notes if "is taken as 1018" in n] == notes and len(notes) == 1


def test_an_unknown_steel_is_told_how_to_be_described() -> None:
    with pytest.raises(InputError, match=r'\[steels\."black bar"\] like = "1084"'):
        find("black bar")
