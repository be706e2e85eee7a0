"""Straightening warm out of the quench: the window, how long it lasts, and what the bath adds to it."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.constants import zero_Celsius
from typer.testing import CliRunner

from billet.cli import app
from billet.hardening import LayerInput, QuenchBath, Question, Station, advise
from billet.metal.air_cooling import still_air_seconds
from billet.metal.limits import OutsideRange
from billet.steel.library import find

EDGE, SPINE = Station("edge", 1.0e-3), Station("spine", 3.0e-3)


def advice(medium="fast oil", flash=None, names=("1084", "15N20")):
    layers = [LayerInput(find(n), 1 / len(names), find(n).carbon, find(n).composition) for n in names]
    return advise(layers, Question((EDGE, SPINE), QuenchBath(medium, flash_point_K=flash)))


def words(*given, **named):
    return " ".join(n.say() for n in advice(*given, **named).straightening)


def test_the_window_runs_from_above_the_martensite_start_to_half_martensite():
    """Koistinen and Marburger 1959: exp(-0.011 x 60) = 0.52 is left 60 K below Ms; 25 K is what Ms is known to."""
    found = advice()
    ms = max(layer.ms_K.likely for layer in found.layers)
    assert found.straighten.from_K == pytest.approx(ms + 25.0)
    assert found.straighten.until_K == pytest.approx(ms - 60.0)
    assert {x.name: x.ms_K.likely for x in found.layers}[found.straighten.steel] == ms
    assert 200 < found.straighten.from_K - zero_Celsius < 270


@pytest.mark.parametrize(("thickness", "seconds"), [(3.0e-3, 139.0), (1.0e-3, 46.0)])
def test_how_long_a_blade_stays_in_the_window(thickness, seconds):
    """By hand at 220 C: 0.8 x 5.67e-8 x (493^4 - 293^4) = 2.35 and 8 x 200 = 1.6, together about 3.9 kW/m2 a face; 3 mm
    hold 7850 x 0.003 x 537 = 12.6 kJ/m2 K, so 0.62 K/s and 137 s for 85 K; 1 mm a third of that.
    """
    assert still_air_seconds(thickness, 493.15 + 45.0, 493.15 - 40.0) == pytest.approx(seconds, rel=0.08)


def test_cooling_is_told_only_where_it_holds():
    with pytest.raises(OutsideRange, match="700 C"):
        still_air_seconds(1e-3, 1100.0, 500.0)
    with pytest.raises(OutsideRange, match="room"):
        still_air_seconds(1e-3, 400.0, 280.0)


def test_the_blade_goes_into_the_oil_first():
    """Leaving the oil above the pearlite nose (about 550 C, any TTT diagram of eutectoid steel) makes pearlite."""
    text = words()
    assert text.index("First straight into the oil") < text.index("Straighten by hand")
    assert "pearlite" in text


@pytest.mark.parametrize(("flash", "said"), [(180.0, "above the oil's flash point of 180 C"), (None, "flash point")])
def test_oil_on_a_hot_blade_can_flare(flash, said):
    """Quench oils flash near 150 to 200 C (makers' sheets, from memory), below the upper end of the window."""
    text = words("fast oil", None if flash is None else flash + zero_Celsius)
    assert said in text
    assert "flare" in text


@pytest.mark.parametrize("medium", ["water", "brine", "agitated water"])
def test_a_water_quench_does_not_speak_of_oil(medium):
    """3 mm in water falls from 800 to 540 C within half a second (lumped plate, h 8000 W/m2 K): no time to bend."""
    text = words(medium)
    assert "oil" not in text
    assert "in the temper" in text


@pytest.mark.parametrize("medium", ["air", "plates"])
def test_air_and_plates_do_not_speak_of_oil_either(medium):
    assert "oil" not in words(medium)


def test_the_cautions_of_a_water_quench_do_not_speak_of_oil(tmp_path):
    recipe = Path("demo_billets/slicer.toml").read_text(encoding="utf-8")
    book = tmp_path / "water.toml"
    book.write_text(recipe + '\n[hardening.quench]\nmedium = "water"\n', encoding="utf-8")
    said = " ".join(CliRunner().invoke(app, ["harden", str(book), "--full"]).output.split())
    assert "scalding steam" in said
    assert "oil deeper than the blade" not in said
