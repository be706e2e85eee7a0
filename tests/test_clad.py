"""A hard core between soft jackets: what a jacket is not asked, what its core keeps, and what stands behind it."""

from dataclasses import replace
from itertools import pairwise

import pytest
from typer.testing import CliRunner

from billet.bar.measure import by_steel, measure
from billet.cli import app
from billet.hardening import advise
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.carbon_report import report
from billet.ledger.rows import Ledger
from billet.steel.library import library
from tests.making import ledger_of

STEPS = [
    {"do": "weld", "heat": "1150 C", "time": "8 min", "heats": 2},
    {"do": "draw", "thickness": "6 mm", "width": "54 mm", "heat": "1050 C", "time": "3 min", "heats": 3},
]
BLADE = {
    "length": "210 mm", "heel_height": "48 mm", "shape": "chef", "bevel": "full flat",
    "spine": {"heel": "2.5 mm", "middle": "2.0 mm", "tip": "0.9 mm"}, "edge": {"hardening": "0.7 mm", "finished": "0.25 mm"},
}  # fmt: skip
JACKETS = ["wrought iron", "304", "410", "A203E", "1018"]


def clad(jacket: str, core: str = "52100", shim: str | None = None) -> Ledger:
    between = [] if shim is None else [shim]
    stack = [f"{jacket} 8 mm", *between, f"{core} 8 mm", *between, f"{jacket} 8 mm"]
    return ledger_of(stack, STEPS, diffuse=True, blade=BLADE, shop={"atmosphere": "neutral"})


@pytest.mark.parametrize("jacket", JACKETS)
def test_soft_jackets_are_no_skin_to_grind_off(jacket: str) -> None:
    """By definition: decarburisation is carbon lost, and a jacket never had it."""
    found = report(clad(jacket))
    assert (found.skin_92, found.skin_50, found.functional_skin) == (None, None, None)
    assert any("jacket" in n.say("metric") for n in found.notes)
    assert found.edge.steel == "52100"


def test_a_lean_outer_layer_that_is_thin_still_has_a_skin() -> None:
    """Eleven layers that have levelled: the face is as hard as the rest but for what burnt out."""
    stack = ["1018 1 mm", "1095 3 mm"] * 5 + ["1018 1 mm"]
    m = measure(ledger_of(stack, STEPS, diffuse=True, shop={"atmosphere": "neutral"}).last)
    assert m.soft_skin is not None
    assert 0.0 < m.soft_skin < 1e-3


@pytest.mark.parametrize("jacket", JACKETS)
def test_all_of_a_jacket_counts_in_its_share(jacket: str) -> None:
    """Two jackets of 8 mm about a core of 8 mm, less a millimetre or two of scale: more than half of the bar."""
    shares = {s.steel.name: s.share for s in by_steel(clad(jacket).last)}
    assert 0.5 < shares[jacket] < 2 / 3


@pytest.mark.parametrize("shim", [None, "nickel 0.3 mm"])
@pytest.mark.parametrize("jacket", JACKETS)
def test_the_edge_of_a_clad_blade_is_the_cores(jacket: str, shim: str | None) -> None:
    """Common practice, no source: 52100 hardens through at 3 mm in fast oil, whatever soft jacket is on it."""
    ledger = clad(jacket, shim=shim)
    advice = advise(layers_of(ledger), question_of(ledger))
    assert [x.name for x in advice.layers if x.hardens] == ["52100"]
    assert all(str(place.through) == "full" for place in advice.stations)
    assert {place.leanest for place in advice.stations} == {"52100"}


def test_a_shim_saves_some_of_what_the_core_would_lose_and_never_more() -> None:
    """The report names the most a shim can save; with one in the stack the core keeps part of it."""
    bare, shimmed = (report(clad("wrought iron", "1095", shim)).edge for shim in (None, "nickel 0.3 mm"))
    assert bare.layer + 0.01 < shimmed.layer < shimmed.bought == library()["1095"].carbon
    assert bare.carbon >= bare.layer  # the mid-plane is the last to lose


@pytest.mark.parametrize("jacket", ["304", "410"])
def test_carbon_and_harden_tell_one_figure_of_the_core(jacket: str) -> None:
    """One steel of one bar has one mean carbon, whichever command is asked; the bar is sampled in neither."""
    ledger = clad(jacket, "1084")
    core = next(x for x in layers_of(ledger) if x.name == "1084")
    assert core.carbon_wt_percent == pytest.approx(report(ledger).edge.layer, abs=1e-9)
    assert core.carbon_wt_percent < library()["1084"].carbon - 0.03


def test_layers_whose_carbon_is_a_guess_are_named() -> None:
    said = {s: " ".join(n.say("metric") for n in report(clad("304", shim=s)).notes) for s in (None, "nickel 0.3 mm")}
    assert "304 binds carbon" in said[None]
    assert "to a quarter" in said[None]
    assert "within a factor 1.5" in said["nickel 0.3 mm"]
    assert "within a factor 1.5" not in said[None]


def test_the_report_names_what_stands_behind_it() -> None:
    keys = {s.key for s in report(clad("wrought iron")).sources}
    assert {"agren1986", "gunnarson1967", "paidassi1958", "ellingham"} <= keys
    assert "stainless-sink" not in keys
    assert "stainless-sink" in {s.key for s in report(clad("304")).sources}
    own = ledger_of(["1084 8 mm", "15N20 8 mm"], STEPS, diffuse=True, shop={"scale_per_heat": "0.1 mm"})
    own_keys = {s.key for s in report(own).sources}
    assert "nickel-mobility" in own_keys
    assert not {"paidassi1958", "salje"} & own_keys  # the shop's own scale, and no copper


@pytest.mark.parametrize("atmosphere", ["rich", "neutral", "oxidising"])
def test_the_soft_skin_is_a_band_about_the_shops_own(atmosphere: str) -> None:
    """A scaling fire's depth lies in the band of every shop; the skin of a rich fire is the least."""
    stack, shop = ["1084 12 mm", "15N20 3 mm", "1084 12 mm"], {"scale_per_heat": "0.1 mm"}
    scaling = report(ledger_of(stack, STEPS, diffuse=True, shop={**shop, "atmosphere": "oxidising"})).functional_skin
    band = report(ledger_of(stack, STEPS, diffuse=True, shop={**shop, "atmosphere": atmosphere})).functional_skin
    assert band is not None
    assert scaling is not None
    assert band[0] <= band[1] <= band[2]
    assert band[0] < scaling[1] < band[2]


def test_in_words(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """Every figure of the report carries its range, and its sources follow."""
    path = tmp_path / "clad.toml"
    path.write_text(
        'version = 1\n[[bar]]\nname = "a"\nwidth = "50 mm"\nlength = "120 mm"\n'
        'stack = ["304 8 mm", "nickel 0.3 mm", "52100 8 mm", "nickel 0.3 mm", "304 8 mm"]\n'
        '[[bar.step]]\ndo = "weld"\ntemperature = "1150 C"\nsoak = "8 min"\n'
    )
    result = CliRunner().invoke(app, ["carbon", str(path), "--full"])
    assert result.exit_code == 0, result.output
    assert "% (within 0.03)" in result.output
    assert "Sources" in result.output


def test_nickel_that_took_up_carbon_is_still_an_analysis() -> None:
    """Nickel 200 holds next to nothing but nickel: what diffuses in must not push it past 100 %."""
    ledger = clad("304", shim="nickel 0.3 mm")
    for layer in layers_of(ledger):
        rich = replace(layer, carbon_wt_percent=0.9)
        assert sum(rich.composition) <= 100.0 + 1e-9
        assert float(rich.chemistry.sum()) <= 100.0 + 1e-9


def test_the_whole_ledger_tells_its_ranges_once(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "bar.toml"
    path.write_text(
        'version = 1\n[[bar]]\nname = "a"\nwidth = "50 mm"\nlength = "120 mm"\nstack = ["1084 8 mm", "15N20 8 mm"]\n'
        '[[bar.step]]\ndo = "weld"\ntemperature = "1150 C"\nsoak = "8 min"\n'
    )
    result = CliRunner().invoke(app, ["ledger", str(path), "--full"])
    assert result.exit_code == 0, result.output
    assert result.output.count("within 40 %") == 1


@pytest.mark.parametrize(
    ("heat", "time", "said"),
    [("870 C", "4 min", True), ("870 C", "1 min", False), ("1000 C", "9 min", False), ("650 C", "2 h", False)],
)
def test_long_heats_where_the_face_turns_to_ferrite_are_told(heat: str, time: str, said: bool) -> None:
    """Iron without carbon is ferrite below 912 C (textbook), and steel has no austenite below 727 C."""
    steps = [*STEPS, {"do": "heat", "heat": heat, "time": time, "heats": 3}]
    found = report(ledger_of(["1084 8 mm", "15N20 8 mm"], steps, diffuse=True, shop={"atmosphere": "neutral"}))
    assert any("ferrite" in n.say("metric") for n in found.notes) == said


@pytest.mark.parametrize(("more", "told"), [([], True), ([{"do": "heat", "heat": "870 C", "time": "5 min"}], False)])
def test_coarse_grain_is_told_until_the_bar_is_normalised(more: list[dict[str, str]], told: bool) -> None:
    """Measured, open grain-growth data: 0.78 to 1.0 % C steels hold 61 to 125 micrometres after 30 min at 1100 C."""
    steps = [STEPS[0], {**STEPS[1], "heat": "1100 C", "time": "30 min"}, *more]
    ledger = ledger_of(["1084 8 mm", "15N20 8 mm"], steps, blade=BLADE)
    advice = advise(layers_of(ledger), question_of(ledger))
    grain = [n for n in advice.cautions if "grains of" in n.say("metric")]
    assert bool(grain) == told == ("sellars" in {s.key for s in advice.sources})
    for note in grain:
        low, high = (dict(note.amounts)[end].value * 1e6 for end in ("low", "high"))  # type: ignore[union-attr]
        assert low < 61 < 125 < high


def test_a_twist_does_not_bring_carbon_contrast_back() -> None:
    """By the second law carbon only levels: skins that the layers took along into the twist are no contrast of layers."""
    steps = [
        {"do": "draw", "thickness": "14 mm", "width": "14 mm", "heat": "1100 C", "time": "3 min"},
        {"do": "twist", "turns": 3, "heat": "1100 C", "time": "3 min"},
        {"do": "draw", "thickness": "8 mm", "width": "12 mm", "heat": "1100 C", "time": "3 min"},
    ]
    stack = ["1084 3 mm", "15N20 3 mm"] * 4
    ledger = ledger_of(stack, steps, diffuse=True, width="26 mm", length="120 mm", shop={"atmosphere": "oxidising"})
    left = [row.measures.carbon_contrast for row in ledger.bars[0].rows]
    assert [row.do for row in ledger.bars[0].rows] == ["stack", "weld", "draw", "twist", "draw"]
    assert all(later <= earlier + 0.02 for earlier, later in pairwise(left))  # sampled to 1 in 200
