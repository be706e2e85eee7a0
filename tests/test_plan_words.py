"""The answer in words, bars told in a line, measured bars, the contact sheet, and stopping early."""

from __future__ import annotations

import tomllib

import pytest
from PIL import Image
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli import app
from billet.plan import planner
from billet.plan.infeasible import UnreachableError
from billet.plan.measured import reach, read_place
from billet.plan.planner import plan
from billet.plan.rackfile import read_bar
from billet.plan.tell import answer, saw_list
from billet.recipe.rack_line import bar_of_line
from billet.recipe.read import build, load
from billet.recipe.tables import Rack, Target
from tests.planning import RACK, bar, knife

INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "sizes", "count", "price"),
    [
        ("1084 1/8 x 1 1/2 x 48 in", (0.125, 1.5, 48), 1, None),
        ("2 of 15N20 1/16 in x 1.5 in x 48 in", (0.0625, 1.5, 48), 2, None),
        ("3 x 1095 3/16 x 2 x 24 in at 11.50", (0.1875, 2, 24), 3, 11.5),
    ],
)
def test_a_bar_is_told_in_a_line(text, sizes, count, price):
    """Sizes worked out by hand."""
    found = read_bar(text, "--have")
    assert (found.thickness, found.width, found.length) == pytest.approx([s * INCH for s in sizes])
    assert (found.count, found.price) == (count, price)


@pytest.mark.parametrize(
    "text", ["1084", "1084 1/8 x 48 in", "1084 1/8 x 1 1/2 x 48", "x x x", "1084 0 x 1 x 2 in", ""]
)
def test_a_line_that_is_no_bar_is_told_with_an_example(text):
    with pytest.raises(InputError, match=r"wanted .*1084 1/8 x 1 1/2 x 48 in"):
        bar_of_line(text, "--have")


def test_lines_and_tables_make_one_rack():
    table = {"steel": "1084", "thickness": "3 mm", "width": "40 mm", "length": "1 m"}
    rack = Rack.model_validate({"bar": [table], "bars": ["15N20 1.5 x 40 x 1000 mm"]}, context={"door": True})
    assert [b.steel for b in rack.bar] == ["1084", "15N20"]
    assert rack.bar[1].spelled("thickness") == "1.5 mm"


def test_a_plan_spells_plates_as_the_rack_does():
    rack = tuple(read_bar(f"4 of {s} {t} x 1 1/2 x 48 in", "--have") for s, t in (("1084", "1/8"), ("15N20", ".062")))
    made = plan(knife(units="imperial", length="8 1/4 in", heel="1 7/8 in"), Target(layers=150), rack, handful=1)
    assert tomllib.loads(made.candidates[0].text)["bar"][0]["stack"] == ["1084 1/8 in", "15N20 .062 in"]


def test_the_answer_starts_with_the_plates_and_ends_with_the_rack():
    c = plan(knife(), Target(layers=200), RACK, handful=1).candidates[0]
    said = answer(c, "metric")
    assert said[0].startswith(f" 1. Start with {c.plates} plates")
    assert any("cut in" in line for line in said)
    assert any(line.startswith("Saw ") and "stays" in line for line in said)
    left = next(line for line in saw_list(c.cuts, "metric") if line.startswith("Whole bars left"))
    used = {b: sum(cut.bar is b for cut in c.cuts.cuts) for b in RACK}
    assert all(f"{b.steel} {b.count - used[b]} of" in left for b in RACK if b.count > used[b])


def test_counted_and_separate_layers_are_explained_or_not_told():
    """Never a bare bracket: 12 plates cut in 5 twice are 300 by count, and fewer lie apart."""
    c = plan(knife(), Target(layers=300), RACK, handful=1).candidates[0]
    said = " ".join(answer(c, "metric"))
    distinct = c.book.bars[-1].rows[-1].measures.distinct
    assert f"300 layers by count, {distinct} of them separate" in said
    assert f"({distinct})" not in said


def test_the_habits_can_be_changed():
    """Pieces thinner than 3/8 in, spacers and even stacks only when asked for."""
    usual = plan(knife(), Target(layers=200), RACK, handful=3)
    for c in usual.candidates:
        steps = tomllib.loads(c.text)["bar"][0]["step"]
        assert not any("spacer" in s for s in steps)
        assert all(3 <= s["pieces"] <= 6 for s in steps if s["do"] == "restack")
    even = plan(knife(), Target(layers=200, plates="even"), RACK, handful=2)
    assert all(c.plates % 2 == 0 for c in even.candidates)
    pale = plan(knife(), Target(layers=195, plates="odd", outside="bright"), RACK, handful=1).candidates[0]
    assert tomllib.loads(pale.text)["bar"][0]["stack"][0].startswith("15N20")


def test_a_short_fire_is_worked_in_two_halves():
    text = knife().text.replace('fire_length = "400 mm"', 'fire_length = "230 mm"')
    recipe = build(tomllib.loads(text), text)
    c = plan(recipe, Target(layers=200), RACK, handful=1).candidates[0]
    assert tomllib.loads(c.text)["shop"]["two_halves"] is True
    assert any("draw one half" in line for line in answer(c, "metric"))
    assert c.faults == ()


def test_what_cannot_be_met_carries_the_nearest_plan_and_the_habit():
    with pytest.raises(UnreachableError, match="most_welds = 4 is the limit") as caught:
        plan(knife(shop="most_welds = 4"), Target(layers=900), RACK)
    assert caught.value.plan.candidates[0].book.last.layers_counted < 900


def test_an_interrupt_gives_the_best_so_far(monkeypatch):
    real, calls = planner.candidate, []

    def stops(*args, **words):
        calls.append(1)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return real(*args, **words)

    monkeypatch.setattr(planner, "candidate", stops)
    made = plan(knife(), Target(layers=200), RACK)
    assert made.stopped
    assert len(made.candidates) == 1


def test_pictures_writes_a_contact_sheet(tmp_path):
    recipe, out = tmp_path / "knife.toml", tmp_path / "plans.png"
    recipe.write_text(knife().text)
    options = ["--layers", "60", "--have", "9 of 1084 3.2 x 40 x 1000 mm", "--have", "9 of 15N20 1.6 x 40 x 1000 mm"]
    done = CliRunner().invoke(app, ["plan", str(recipe), *options, "--pictures", str(out)])
    assert done.exit_code == 0, done.output
    assert Image.open(out).width == 1800


DEMO = "demo_billets/twist_bars.toml"


def test_any_bar_may_be_measured(request):
    """Half of one twisted bar's length: the join takes the shorter, so the last bar is all but half as long."""
    recipe = load(request.config.rootpath / DEMO)
    name = recipe.tables.bar[0].name
    k, step = read_place(recipe, f"{name}:2")
    there = reach(recipe, step, {}, k).expected
    as_planned = reach(recipe, step, dict(zip(("length", "width", "thickness"), there, strict=True)), k)
    assert as_planned.bar == name
    shorter = reach(recipe, step, {"length": 0.9 * there[0]}, k)
    assert 0.8 < shorter.nominal.length.available / as_planned.nominal.length.available < 0.95


@pytest.mark.parametrize("text", ["x", "nobody:2", "billet:x", ""])
def test_places_that_are_not_there(text):
    from tests.test_plan_rack import half_way

    with pytest.raises(InputError, match="--from"):
        read_place(half_way(), text)


def test_a_short_bar_is_gone_on_from_with_fewer_pieces_and_never_a_tang_welded_on():
    from billet.plan.tell import tell_reach
    from tests.test_plan_rack import half_way

    found = reach(half_way(), 2, {"length": 0.19})
    assert found.on is not None
    assert found.on.change
    assert found.on.layers <= found.planned_layers
    said = " ".join(tell_reach(found, "metric"))
    assert "tang" not in said
    assert "still in it with a change" in said


def test_odd_thick_plates_are_counted_by_the_ledger():
    made = plan(
        knife(), Target(layers=90), (bar("1084", 6.35, 38.1, count=8), bar("15N20", 4.76, 38.1, count=8)), handful=1
    )
    table = tomllib.loads(made.candidates[0].text)["bar"][0]
    plates = len(table["stack"]) * table["repeat"] + ("cap" in table)
    for s in table["step"]:
        plates *= s.get("pieces", 1)
    assert plates == made.candidates[0].book.last.layers_counted
