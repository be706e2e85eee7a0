"""Nothing in a recipe is read and then forgotten: every field, changed alone, changes a result."""

from __future__ import annotations

import copy
import json
import tomllib
import typing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit
from pydantic import BaseModel
from typer.testing import CliRunner

from billet.bar.trace import trace
from billet.base.errors import InputError
from billet.base.plain_data import finite
from billet.blade import read_blade
from billet.blade.need import need
from billet.cli import app
from billet.hardening import advise, keys
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.json import row_json
from billet.ledger.run import run
from billet.plan.plan_json import as_json as plan_json
from billet.plan.planner import plan
from billet.recipe.models import models
from billet.recipe.read import load
from billet.recipe.recipe import Recipe
from billet.steps import step_types
from render.picture import draw
from render.request import Request
from tests import field_changes as known
from tests.examples import EXAMPLES, bench, step

NUMBERS = np.random.default_rng(5).uniform(-0.45, 0.45, (3, 300))


def all_fields() -> set[tuple[str, str]]:
    """Every field of every table a recipe may hold."""
    found: dict[str, set[tuple[str, str]]] = {}

    def walk(kind: Any) -> None:
        if isinstance(kind, type) and issubclass(kind, BaseModel) and kind.__name__ not in found:
            found[kind.__name__] = {(kind.__name__, name) for name in kind.model_fields}
            for field in kind.model_fields.values():
                walk(field.annotation)
        for inner in typing.get_args(kind):
            walk(inner)

    walk(models()[1])
    return set().union(*found.values())


def covered() -> set[tuple[str, str]]:
    names = {verb: kind.__name__ for verb, kind in step_types().items()}
    steps = {(names[verb], field) for verb, field in (*known.STEPS, *warm())}
    verbs = {(name, "do") for name in names.values()}
    return steps | verbs | set(known.TABLES) | known.TOLD_ELSEWHERE


def warm() -> list[tuple[str, str]]:
    """Heat, soak and heats of every step that may be done hot."""
    return [(verb, name) for verb, kind in step_types().items() for name in known.WARM if name in kind.model_fields]


def test_every_field_has_a_change_to_be_tried() -> None:
    lost = sorted(all_fields() - covered())
    assert not lost, f"add a change for {lost} to tests/field_changes.py, and make it change a result"
    assert not covered() - all_fields()


def result_of_step(example: str, text: str) -> tuple[Any, ...]:
    """What a step leaves behind: the bar, what was lost and said, and where its points came from."""
    out = step(text).apply(EXAMPLES[example].start(), bench())
    bar = out.bar
    size = np.array([[bar.length], [bar.width], [bar.thickness]])
    came = trace(bar.material, *(NUMBERS * size)).z
    cells = [leaf.composition.tobytes() for leaf in bar.leaves]
    return (*size.ravel(), bar.mass, out.lost, [n.say() for n in out.notes], came.tobytes(), cells, repr(bar.profile))


def changed(text: str, field: str, value: str) -> str:
    """The lines of a step with one of them new."""
    lines = [line for line in text.splitlines() if line.partition("=")[0].strip() != field]
    return "\n".join([*lines, f"{field} = {value}"])


@pytest.mark.parametrize(("verb", "field"), list(known.STEPS), ids=lambda part: str(part))
def test_a_field_of_a_step_changes_the_bar(verb: str, field: str) -> None:
    example, value = known.STEPS[verb, field]
    before = EXAMPLES[example].text
    assert tomllib.loads(before)["do"] == verb
    assert result_of_step(example, before) != result_of_step(example, changed(before, field, value))


@pytest.mark.parametrize(("verb", "field"), warm(), ids=lambda part: str(part))
def test_the_heats_of_a_step_change_the_bar(verb: str, field: str) -> None:
    example = next(name for name, e in EXAMPLES.items() if tomllib.loads(e.text)["do"] == verb)
    text = changed(changed(EXAMPLES[example].text, "temperature", '"1080 C"'), "soak", '"4 min"')
    assert result_of_step(example, text) != result_of_step(example, changed(text, field, known.WARM[field]))


def put(data: dict[str, Any], place: tuple[str | int, ...] | str, value: Any) -> dict[str, Any]:
    """A copy of plain data with one value new, or gone."""
    out: Any = copy.deepcopy(data)
    *way, last = (place,) if isinstance(place, str) else place
    here = out
    for key in way:
        here = here.setdefault(key, {}) if isinstance(here, dict) else here[key]
    if value is known.Missing:
        del here[last]
    else:
        here[last] = value
    return out


def blade_result(recipe: Recipe) -> Any:
    """The knife's surfaces, sizes and place, in both states."""
    design = recipe.tables.blade
    folder = recipe.path.parent if recipe.path else Path()
    out: list[Any] = []
    for state in ("finished", "hardening"):
        blade = read_blade(design, folder, state)  # type: ignore[arg-type]
        x, share = np.meshgrid(np.linspace(-0.02, 0.999, 41) * blade.length, np.linspace(0.001, 0.999, 21))
        y = blade.edge_y(x) + share * blade.height(x)
        faces = [blade.half(x, y, side).tobytes() for side in ("left", "right")]
        out += [faces, blade.placement(0.4, 0.06), need(blade), blade.outline(50).tobytes()]
    return out


_kept: dict[tuple[str, str], Any] = {}


def result(name: str, data: dict[str, Any], folder: Path) -> Any:
    """One kind of result of a recipe, reckoned once; a refusal is one too."""
    key = (name, repr(data))
    if key not in _kept:
        try:
            _kept[key] = fresh_result(name, data, folder)
        except InputError as error:
            _kept[key] = error
    return _kept[key]


def fresh_result(name: str, data: dict[str, Any], folder: Path) -> Any:
    path = folder / "knife.toml"
    path.write_text(tomlkit.dumps({k: v for k, v in data.items() if v is not None}))
    (folder / "outline.csv").write_text(known.OUTLINE)
    recipe = load(path)
    if name == "blade":
        return blade_result(recipe)
    if name == "plan":
        return json.dumps(finite(plan_json(plan(recipe))), default=float)
    if name in ("words", "quote", "stages", "chosen"):
        words = {"words": ["ledger"], "chosen": ["preview", "--blade", "petty", "--width", "300"]}.get(name, [name])
        done = CliRunner().invoke(app, [words[0], str(path), *words[1:], *(["--force"] if name == "chosen" else [])])
        return done.exception if isinstance(done.exception, InputError) else done.stdout
    book = run(recipe, diffuse=name in ("harden", "picture"))
    if name == "harden":
        return json.dumps(finite(keys(advise(layers_of(book), question_of(book)), recipe.tables.units)), default=str)
    if name == "picture":
        return np.asarray(draw(book, Request(width=500, view="right")).image).tobytes()
    rows = [row_json(row) for bar in book.bars for row in bar.rows]
    return json.dumps(finite([recipe.tables.title, [bar.name for bar in book.bars], rows]), default=float)


PLANNED = [key for key, change in known.TABLES.items() if change[3] == "plan"]


@pytest.mark.parametrize(
    ("table", "field"),
    [pytest.param(*key, marks=pytest.mark.slow if key in PLANNED else ()) for key in known.TABLES],
    ids=lambda part: str(part),
)
def test_a_field_of_a_table_changes_a_result(table: str, field: str, tmp_path: Path) -> None:
    base, place, value, kind = known.TABLES[table, field]
    if isinstance(base.get("blade"), dict):
        base = {**base, "blade": {k: v for k, v in base["blade"].items() if v is not None}}
    first, second = (result(kind, data, tmp_path) for data in (base, put(base, place, value)))
    assert not isinstance(first, InputError), first
    assert first != second
