"""What the heat-treatment advice refuses, what it says it does not know, and that it says it once."""

from collections import Counter

import pytest
from scipy.constants import zero_Celsius
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.base.safety import cautions
from billet.cli import app
from billet.cli.harden import print_advice
from billet.hardening import Cycle, LayerInput, Question, Station, advise, keys
from billet.metal.limits import OutsideRange, within
from billet.steel.library import find, from_certificate, library
from tests.making import ledger_of
from tests.test_clad import BLADE, STEPS

EDGE = (Station("edge", 0.8e-3),)


def stack(*names: str) -> list[LayerInput]:
    steels = [find(name) for name in names]
    return [LayerInput(s, 1 / len(steels), s.carbon, s.composition) for s in steels]


@pytest.mark.parametrize("celsius", [20.0, 600.0, 720.0])
def test_a_heat_without_austenite_is_refused(celsius: float) -> None:
    """Iron and carbon have no austenite below 727 C (textbook); Andrews puts 1095 at 725 C."""
    with pytest.raises(InputError, match="does not harden at all"):
        advise(stack("1095", "15N20"), Question(EDGE, heat_K=celsius + zero_Celsius))


@pytest.mark.parametrize("celsius", [1010.0, 1200.0, 2000.0])
def test_a_heat_of_the_forge_is_refused(celsius: float) -> None:
    with pytest.raises(InputError, match="coarse grain") as refusal:
        advise(stack("1095", "15N20"), Question(EDGE, heat_K=celsius + zero_Celsius))
    assert " C (" in str(refusal.value)
    assert " F)" in str(refusal.value)


@pytest.mark.parametrize("celsius", [770.0, 900.0])
def test_a_heat_outside_the_window_is_answered_with_a_caution(celsius: float) -> None:
    advice = advise(stack("1095", "15N20"), Question(EDGE, heat_K=celsius + zero_Celsius))
    assert "outside the window" in advice.cautions[0].say("metric")


@pytest.mark.parametrize(("pair", "width"), [(("O1", "L6"), 0.0), (("5160", "1095"), 0.0), (("L6", "1095"), -1.0)])
def test_a_window_narrower_than_heats_are_good_to_is_said(pair: tuple[str, str], width: float) -> None:
    """Sheets: O1 788 to 816 C, L6 816 to 843 C, so one heat to hold; 1095 and 5160 from memory."""
    advice = advise(stack(*pair), Question(EDGE))
    assert advice.window.high.temperature_K - advice.window.low.temperature_K == pytest.approx(width)
    first = advice.cautions[0].say("metric")
    assert all(name in first for name in pair)
    assert "good to" in first


def test_a_wide_window_needs_no_such_word() -> None:
    assert "room between" not in " ".join(
        n.say("metric") for n in advise(stack("1084", "15N20"), Question(EDGE)).cautions
    )


def test_the_layers_a_forecast_speaks_of_are_named() -> None:
    """No tempering table of O7 could be read: the figure is that of the other layer, and says so."""
    advice = advise(stack("O7", "1084"), Question(EDGE))
    assert advice.temper.told == ("1084",)
    assert keys(advice)["tempered_layers"] == ["1084"]
    assert advise(stack("1084", "15N20"), Question(EDGE)).temper.told == ("1084", "15N20")


def test_no_more_than_a_least_value_reads_as_such() -> None:
    with pytest.raises(OutsideRange, match="only 600 or more can be answered"):
        within(300.0, 600.0, float("inf"), "time at temper [s]", "shorter was not measured")


@pytest.mark.parametrize("one", sorted(library()))
@pytest.mark.parametrize("other", ["1084", "15N20", "O1", "L6", "52100", "80CrV2", "A203E", "nickel", "304"])
def test_any_pair_is_answered_or_refused_in_a_sentence(one: str, other: str) -> None:
    """Bands ascend, hot tempers are not harder than cool ones, and a refusal names the command."""
    if one == other:
        return
    try:
        advice = advise(stack(one, other), Question(EDGE, tempers=(Cycle(468.15, 7200.0),) * 2, wanted_hrc=61.0))
    except InputError as refusal:
        assert str(refusal).startswith("harden: ")
        return
    rows = [row for row in advice.temper.table if row.cycles == 2]
    assert all(row.hrc.low <= row.hrc.likely <= row.hrc.high for row in rows)
    assert all(nan == nan for row in rows for nan in (row.hrc.low, row.hrc.high))
    assert 0.0 <= advice.retained_austenite.low <= advice.retained_austenite.high < 0.6
    assert 50.0 <= advice.as_quenched_hrc.low <= advice.as_quenched_hrc.high <= 68.0
    assert advice.anneal_max is not None
    assert advice.anneal_max.temperature_K < 727 + zero_Celsius  # no austenite in a sub-critical anneal (textbook)
    assert len(set(advice.cautions)) == len(advice.cautions)
    assert advice.sources


def test_the_page_says_each_thing_once_and_with_its_range(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "knife.toml"
    path.write_text(
        'version = 1\n[[bar]]\nname = "a"\nwidth = "54 mm"\nlength = "300 mm"\nstack = ["O7 3 mm", "15N20 3 mm"]\n'
        '[[bar.step]]\ndo = "weld"\ntemperature = "1050 C"\nsoak = "8 min"\n[blade]\nlength = "210 mm"\nheel_height = "48 mm"\n'
        'shape = "chef"\nspine = { heel = "2.5 mm", middle = "2.0 mm", tip = "0.9 mm" }\nbevel = "full flat"\n'
    )
    result = CliRunner().invoke(app, ["harden", str(path), "--full"])
    assert result.exit_code == 0, result.output
    for words in (
        "soak 5 min to 10 min",
        "quench   fast oil",
        "austenite kept: ",
        "HRC, of 15N20 only",
        "full hardness of ",
        " is the least for ",
        "at most 6",
        "(set by 15N20)",
        "within 25 C)",
    ):
        assert " ".join(words.split()) in " ".join(result.output.split())
    lines = Counter(line for line in result.output.splitlines() if line.startswith("  - "))
    assert [line for line, times in lines.items() if times > 1] == []


def test_a_stack_of_the_clad_kind_runs_from_recipe_to_advice() -> None:
    """Stainless, nickel shims, bearing steel: the shims took up carbon, and the advice still comes."""
    from billet.hardening.treatment import layers_of, question_of

    stack_words = ["304 8 mm", "nickel 0.3 mm", "52100 8 mm", "nickel 0.3 mm", "304 8 mm"]
    ledger = ledger_of(stack_words, STEPS, diffuse=True, blade=BLADE, shop={"atmosphere": "neutral"})
    advice = advise(layers_of(ledger), question_of(ledger))
    assert {x.name: x.hardens for x in advice.layers} == {"304": False, "nickel": False, "52100": True}


@pytest.mark.parametrize(("element", "content"), [("W", 18.0), ("Co", 10.0), ("Cu", 5.0), ("Mo", 2.0)])
def test_a_depth_that_cannot_be_told_is_left_out_by_name(element: str, content: float) -> None:
    """ASTM A255 has no factor of tungsten or cobalt, and prints those of copper and molybdenum to 0.35 and 0.55 %."""
    odd = from_certificate("odd", {"like": "1084", element: content})
    layers = [LayerInput(odd, 0.5, odd.carbon, odd.composition), *stack("15N20")]
    advice = advise(layers, Question(EDGE))
    assert {place.leanest for place in advice.stations} == {"15N20"}
    assert "The depths leave out odd" in " ".join(n.say("metric") for n in advice.cautions)
    assert advice.temper.told == ("15N20",)


def test_tungsten_of_oil_hardening_steel_is_answered() -> None:
    """O1 holds 0.5 % W (ASTM A681), far too little to change the answer: fully hard at 3 mm in oil (common practice)."""
    advice = advise(stack("O1"), Question((Station("spine", 3e-3),)))
    assert advice.through_hardening == "full"


@pytest.mark.parametrize("shim", ["nickel 1 mm", "15N20 4 mm"])
def test_the_carbon_chart_is_drawn_for_nickel_metal_too(shim: str, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from PIL import Image

    from billet.ledger.carbon_report import report
    from render.carbon import carbon_chart

    found = report(ledger_of(["1084 8 mm", shim, "1084 8 mm"], [], diffuse=True, shop={"atmosphere": "neutral"}))
    with Image.open(carbon_chart(found, "metric", "t", tmp_path / "c.png")) as picture:
        assert min(picture.size) > 300


@pytest.mark.parametrize(
    ("units", "words"), [("metric", "Ac1 within 12 C, Ms within 25 C"), ("imperial", "Ac1 within 22 F, Ms within 45 F")]
)
def test_the_bands_are_told_in_the_recipes_units(units: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A difference of 12 K is 21.6 F and one of 25 K is 45 F: no offset of 32."""
    print_advice(advise(stack("1084", "15N20"), Question(EDGE)), "fast oil", units)
    assert words in capsys.readouterr().out


def test_fluoride_flux_is_warned_of_with_every_fire() -> None:
    """Safety labels for fluorides: hydrogen fluoride is a gas, and a particulate filter lets it through."""
    assert any("hydrogen fluoride" in line and "mask does not stop" in line for line in cautions("fire"))


@pytest.mark.parametrize(
    ("steel", "used", "unused"),
    [
        ("1075", {"hollomon-jaffe1945", "astm-a255"}, {"tool-steels-w", "fe-c", "lee-lee2007", "temper-rows"}),
        ("1095", {"hollomon-jaffe1945", "tool-steels-w", "fe-c"}, {"temper-rows"}),
        ("5160", {"astm-a255", "temper-rows"}, {"tool-steels-w", "fe-c", "hollomon-jaffe1945", "temper-fit"}),
    ],
)
def test_only_what_was_used_is_cited(steel: str, used: set[str], unused: set[str]) -> None:
    """Formulas by carbon: the cementite limit and its correction above 0.80 %, the standard's hardness to 0.70 %."""
    cited = {source.key for source in advise(stack(steel), Question(EDGE)).sources}
    assert used <= cited
    assert not unused & cited


@pytest.mark.parametrize(
    ("carbon", "said"),
    [
        (0.50, "cannot be told"),
        (0.58, "where the temper forecast ends"),
        (0.65, "between two forecasts"),
        (0.72, "between two forecasts"),
        (0.75, ""),
        (0.97, ""),
        (1.03, "where the temper forecast ends"),
        (1.25, "where the temper forecast ends"),
    ],
)
def test_what_the_tempered_hardness_rests_on_is_said_by_carbon(carbon: float, said: str) -> None:
    """The fit runs from 0.74 to 0.98 %; what stays undissolved above 0.95 % adds no hardness; below stand other rows."""
    steel = from_certificate("own", {"like": "1084", "C": carbon})
    advice = advise([LayerInput(steel, 1.0, carbon, steel.composition)], Question(EDGE))
    assert (advice.temper.asked is None) == (carbon < 0.57)
    assert said in " ".join(n.say("metric") for n in advice.temper.notes)
    assert bool(advice.temper.notes) == bool(said)
