"""billet count: what it prints, compares with a recipe and marks in a picture."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer import Typer
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli.count import count as count_command
from billet.count import Count, Line, count_layers
from billet.count.against_recipe import as_json, compare_with_ledger
from render.annotate import marked_png
from tests.count_pictures import stripes

FOUND = Count(97, 96, 99, None, 9, 0.0, "nine lines", Line(0, 0, 0, 100), (1.0, 2.0))


@pytest.mark.parametrize(
    "distinct, words",
    [(97, "agree"), (99, "agree"), (112, "13 or more are missing"), (90, "6 or more too many"), (193, "one bevel")],
)
def test_the_ledger_and_the_photograph_are_set_side_by_side(distinct, words):
    """Seven plates in 16 pieces: 112 by the trade's count, 16 (7 - 1) + 1 = 97 distinct (shop arithmetic)."""
    sentence = compare_with_ledger(FOUND, distinct)
    assert words in sentence
    assert "97 (96 to 99)" in sentence


def test_json_has_the_keys_other_tools_rely_on():
    assert list(as_json(FOUND)) == ["layers", "low", "high", "layers_per_m", "lines_used", "spans_bar"]


@pytest.fixture
def bar_end(tmp_path) -> Path:
    """A scanned bar end of 97 equal layers, 8 px each at 1200 dpi."""
    path = tmp_path / "bar-end.png"
    Image.fromarray(np.uint8(255 * stripes(97, 8.0))).save(path, dpi=(1200, 1200))
    return path


def run(*words: object):
    """The count command run with these words."""
    app = Typer(pretty_exceptions_enable=False)
    app.command()(count_command)
    return CliRunner().invoke(app, [str(w) for w in words])


def test_the_command_prints_the_count_and_the_density(bar_end):
    result = run(bar_end)
    assert result.exit_code == 0
    assert "97 (96 to 98) layers" in result.stdout
    assert "150 layers per inch" in result.stdout  # 1200 dpi over 8 px


def test_the_command_gives_json_in_si(bar_end):
    data = json.loads(run(bar_end, "--json").stdout)
    assert data["layers"] == 97
    assert data["layers_per_m"] == pytest.approx(150 / 0.0254, rel=0.01)


def test_the_command_takes_a_line_and_a_ruler(bar_end):
    data = json.loads(run(bar_end, "--json", "--along", "120,40,120,440", "--scale", "0,0,200,0=10 mm").stdout)
    assert abs(data["layers"] - 50) <= 1
    assert data["layers_per_m"] == pytest.approx(2500, rel=0.01)  # 8 px of 0.05 mm


def test_the_command_compares_with_a_recipe(bar_end, tmp_path):
    recipe = tmp_path / "smokehouse.toml"
    recipe.write_text(
        'version = 1\ntitle = "Smokehouse set"\nunits = "metric"\n'
        '[[bar]]\nname = "billet"\nwidth = "40 mm"\nlength = "150 mm"\n'
        'stack = ["1084 3 mm", "15N20 3 mm"]\nrepeat = 3\ncap = "1084 3 mm"\n'
    )
    told = " ".join(run(bar_end, "--recipe", recipe).stdout.split())
    assert "7 distinct: there are 89 or more too many" in told
    assert isinstance(run(bar_end, "--recipe", recipe, "--after", "5").exception, InputError)


def test_the_marked_picture_is_written_once(bar_end, tmp_path):
    out = tmp_path / "counted.png"
    assert run(bar_end, "--picture", out).exit_code == 0
    first = out.read_bytes()
    assert isinstance(run(bar_end, "--picture", out).exception, InputError)
    assert out.read_bytes() == first
    assert run(bar_end, "--picture", out, "--force").exit_code == 0


def test_a_picture_of_another_kind_and_a_band_without_a_line_are_refused(bar_end, tmp_path):
    assert "ending in .png" in str(run(bar_end, "--picture", tmp_path / "counted.jpg").exception)
    assert "--along" in str(run(bar_end, "--band", "80").exception)
    assert not list(tmp_path.glob("counted*"))


def test_every_layer_has_its_block_in_the_marked_picture():
    """Amber on bright and blue on dark layers, read back from the picture along the measured line."""
    image = stripes(30, 20.0)
    sheet = np.asarray(Image.open(io.BytesIO(marked_png(image, count_layers(image)))).convert("RGB"), dtype=int)
    line = sheet[
        16 : 16 + 600, 16 + 120
    ]  # the photograph stands at 16, 16 and is not scaled: 600 px high, its middle column
    amber = line[:, 0] > line[:, 2]
    bright = image[:, 120] > 0.5
    assert np.mean(amber == bright) > 0.95
    assert 1 + np.count_nonzero(np.diff(amber)) == 30
