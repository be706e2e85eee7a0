"""The recipe: its grammar, its lines, its schema, and old recipes that must load for ever."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.base.errors import InputError
from billet.ledger.run import run
from billet.recipe.models import RecipeTables, models, schema, tables_with
from billet.recipe.names import copied_bars
from billet.recipe.read import build, load, plain
from billet.recipe.recipe import Recipe
from billet.recipe.toml_lines import index_lines
from billet.steps import step_types
from tests.making import NO_LOSSES, WELD, ledger_of, recipe_data

HERE = Path(__file__).parent
DEMOS = sorted((HERE.parent / "demo_billets").glob("*.toml"))


@pytest.mark.parametrize("file", [*sorted((HERE / "old_recipes").glob("*.toml")), *DEMOS], ids=lambda p: p.stem)
def test_every_recipe_ever_shipped_still_runs(file: Path) -> None:
    if file.stem.startswith(("rack", "shop")):
        pytest.skip("not a recipe")
    assert run(load(file)).last.welded


@pytest.mark.parametrize("file", DEMOS, ids=lambda p: p.stem)
def test_every_key_of_a_demo_is_in_the_index_of_lines(file: Path) -> None:
    text = file.read_text()
    where = index_lines(text)
    lines = text.splitlines()
    for path in _paths(tomllib.loads(text)):
        line = lines[where[path] - 1]
        assert str(path[-1]) in line or isinstance(path[-1], int)


def _paths(data: object, path: tuple = ()) -> list[tuple]:
    """Paths of all keys that stand on a line of their own (inline tables answer with their own line)."""
    if isinstance(data, dict):
        return [
            p
            for key, value in data.items()
            for p in ([] if _is_array(value) else [(*path, key)]) + _tables(value, (*path, key))
        ]
    return []


def _is_array(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _tables(value: object, path: tuple) -> list[tuple]:
    if _is_array(value):
        return [p for k, item in enumerate(value) for p in [(*path, k), *_paths(item, (*path, k))]]
    return []


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="[]{}=\"'#.\n ab1", max_size=200))
def test_the_index_of_lines_never_fails(text: str) -> None:
    assert all(line >= 1 for line in index_lines(text).values())


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_a_recipe_or_one_of_our_sentences(data: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "knife.toml"
        file.write_bytes(data)
        try:
            run(load(file))
        except InputError as error:
            assert str(error)


def test_the_schema_knows_every_step_and_refuses_other_keys() -> None:
    text = str(schema())
    assert [verb for verb in step_types() if f"'{verb}'" not in text] == []
    assert schema()["additionalProperties"] is False


def test_times_repeats_the_whole_cycle() -> None:
    rows = (
        ledger_of(
            ["1084 3 mm", "15N20 3 mm"],
            [
                {
                    "do": "restack",
                    "pieces": 2,
                    "times": 3,
                    "weld": {"heat": "1150 C", "time": "5 min"},
                    "draw": {"thickness": "6 mm", "width": "50 mm", "heat": "1100 C", "time": "1 min"},
                }
            ],
        )
        .bars[0]
        .rows
    )
    assert [r.do for r in rows] == ["stack", "weld"] + ["restack", "weld", "draw"] * 3


def test_a_bar_like_another_copies_it_and_its_own_keys_win() -> None:
    data = recipe_data(["1084 3 mm", "15N20 2 mm"], [])
    data["bar"].append({"name": "other", "like": "billet", "width": "30 mm"})
    bars = run(build(data), diffuse=False).bars
    assert (bars[1].last.width, bars[1].last.length) == (pytest.approx(0.030), pytest.approx(0.400))


def test_a_mill_certificate_makes_a_steel_of_its_own() -> None:
    data = recipe_data(["tool 3 mm", "15N20 2 mm"], [], steels={"tool": {"like": "1084", "C": 0.91}})
    lam = run(build(data), diffuse=False).last.laminate
    assert lam is not None
    assert lam.composition[0, 0] == pytest.approx(0.91)


def test_a_shared_shop_file_is_read_and_the_recipe_wins(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('kerf = "3 mm"\nend_trim = "9 mm"\n')
    text = 'title = "t"\n[shop]\nkerf = "1 mm"\n[[bar]]\nname = "b"\nwidth = "40 mm"\nlength = "90 mm"\nstack = ["1084 3 mm"]\n'
    (tmp_path / "knife.toml").write_text(text)
    shop = load(tmp_path / "knife.toml").tables.shop
    assert (shop.kerf, shop.end_trim) == (pytest.approx(1e-3), pytest.approx(9e-3))


def test_uneven_plates_keep_each_steels_total_and_the_seed_repeats() -> None:
    even, odd, again = (
        ledger_of(["1084 3 mm", "15N20 2 mm"], [], repeat=6, uneven=u, seed=4).last.laminate for u in (0.0, 0.08, 0.08)
    )
    assert even is not None and odd is not None and again is not None
    assert odd.shares() == pytest.approx(even.shares())
    assert (odd.thickness == again.thickness).all()
    assert odd.thickness.std() > 1.05 * even.thickness.std()


def test_a_million_layers_are_the_most(tmp_path: Path) -> None:
    cycle = {
        "do": "restack",
        "pieces": 10,
        "times": 5,
        "weld": {"heat": "1150 C", "time": "1 min"},
        "draw": {"thickness": "20 mm", "width": "50 mm", "heat": "1100 C", "time": "1 min"},
    }
    data = recipe_data(["1084 3 mm", "15N20 2 mm"], [cycle], repeat=10)
    with pytest.raises(InputError, match="thinner than its grain"):
        run(build({**data, "bar": [{**data["bar"][0], "length": "900 m"}]}), diffuse=False)


def test_no_losses_means_no_losses() -> None:
    rows = (
        ledger_of(["1084 3 mm", "15N20 2 mm"], [{"do": "fold", "weld": {"heat": "1150 C", "time": "1 min"}}])
        .bars[0]
        .rows
    )
    assert rows[-1].bar.mass == pytest.approx(rows[0].bar.mass, rel=1e-12)
    assert NO_LOSSES["kerf"] == "0 mm" and WELD["do"] == "weld"


def test_base_and_cap_lie_under_and_over_the_stack() -> None:
    data = recipe_data(["1084 3 mm", "15N20 2 mm"], [], repeat=2, cap="O1 4 mm")
    data["bar"][0]["base"] = "W2 5 mm"
    lam = run(build(data), diffuse=False).last.laminate
    assert lam is not None
    assert [lam.steels[k].name for k in lam.steel] == ["W2", "1084", "15N20", "1084", "15N20", "O1"]


@pytest.mark.parametrize("file", [f for f in DEMOS if "bar" in tomllib.loads(f.read_text())], ids=lambda p: p.stem)
def test_a_recipe_read_with_its_own_steps_alone_is_the_recipe_read_with_all(file: Path) -> None:
    shell = Recipe(RecipeTables(), file, file.read_text())
    data = copied_bars(plain(shell.text, file), shell)
    data.pop("blade", None)
    verbs = frozenset(step["do"] for bar in data["bar"] for step in bar.get("step", ()))
    own, whole = (model.model_validate(data, context={"door": True}) for model in (tables_with(verbs), models()[1]))
    assert own.model_dump() == whole.model_dump()


def test_a_recipe_loads_no_step_it_does_not_use_and_refuses_with_all_of_them() -> None:
    code = (
        "import sys; from pathlib import Path; from billet.recipe.read import build, load;"
        f"load(Path({str(DEMOS[0].parent / 'slicer.toml')!r}));"
        "print('billet.steps.raindrop' in sys.modules);"
        "bar = {'name': 'a', 'width': '9 mm', 'length': '9 mm', 'stack': ['1084 3 mm'], 'step': [{'do': 'weldd'}]};"
        "build({'bar': [bar]})"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert told.stdout == "False\n"
    assert 'did you mean "weld"' in told.stderr
