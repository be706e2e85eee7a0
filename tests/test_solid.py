"""The knife as a solid, read back by other hands: closed, true to size, its pictures the right way round."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from billet.blade import Blade, BladeDesign
from billet.blade.handle import Whole
from billet.cli import app
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import load
from render.request import Request
from render.session import session
from render.solid.glb import as_glb, solid
from render.solid.surface_patches import patches

DEMOS = sorted(p for p in (Path(__file__).parent.parent / "demo_billets").glob("*.toml") if "[[bar]]" in p.read_text())
VALIDATOR = """
const v = require("gltf-validator"), data = new Uint8Array(require("fs").readFileSync(process.argv[1]));
v.validateBytes(data).then((r) => console.log(JSON.stringify(r.issues)));
"""


@cache
def made(path: Path) -> tuple[Any, bytes]:
    """A demo's knife and its bytes, with small pictures."""
    book = run(load(path), diffuse=False)
    return book, as_glb(solid(book, 600))


def closed(points: Any, triangles: Any) -> trimesh.Trimesh:
    """The surface with points of one place made one."""
    mesh = trimesh.Trimesh(points, triangles, process=False)
    mesh.merge_vertices(merge_tex=True, merge_norm=True, digits_vertex=8)
    return mesh


@pytest.mark.parametrize("demo", DEMOS, ids=lambda p: p.stem)
def test_a_reader_by_other_hands_finds_a_closed_knife_of_the_recipes_size(demo: Path) -> None:
    """Length and height are the recipe's; the volume is that of the engine's own sections, within half a per cent."""
    book, data = made(demo)
    read = trimesh.load(io.BytesIO(data), file_type="glb", force="mesh")
    mesh, whole = closed(read.vertices, read.faces), Whole(blade_of(book.recipe))
    assert mesh.is_watertight and mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(whole.blade.volume() + whole.volume_behind(), rel=5e-3)
    assert mesh.extents[0] == pytest.approx(whole.blade.length + whole.behind, abs=0.2e-3)
    high = float(whole.spine_y(np.linspace(-whole.behind, whole.blade.length, 4001)).max())
    assert mesh.extents[1] == pytest.approx(high - min(0.0, float(mesh.bounds[0][1])), abs=0.2e-3)
    thickest = max(book.recipe.tables.blade.spine.finished.heel, getattr(whole.design.bolster, "thickness", 0.0))
    assert mesh.extents[2] == pytest.approx(thickest, rel=0.05)


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0.08, 0.32), st.floats(0.02, 0.06), st.sampled_from(["chef", "usuba", "santoku"]),
    st.sampled_from(["full flat", "convex", "sabre"]), st.sampled_from(["none", "stick", "full"]), st.floats(0.0, 0.012),
)  # fmt: skip
def test_any_blade_is_closed(length: float, height: float, shape: str, bevel: str, tang: str, choil: float) -> None:
    face = {"kind": bevel, "height": 0.6 * height} if bevel == "sabre" else bevel
    given = {"length": length, "heel_height": height, "shape": shape, "bevel": face, "tang": {"kind": tang}}
    given["heel"] = {"choil": choil if tang != "none" else 0.0}
    whole = Whole(Blade(BladeDesign.model_validate(given)))
    skin = patches(whole, (-0.5 * whole.behind, length), 1e-4)
    starts = np.cumsum([0, *(len(p.points) for p in skin)])
    triangles = np.concatenate([p.triangles + start for p, start in zip(skin, starts, strict=False)])
    mesh = closed(np.concatenate([p.points for p in skin]), triangles)
    assert mesh.is_watertight and mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(whole.blade.volume() + whole.volume_behind(), rel=0.01)


@pytest.mark.parametrize(("side", "towards"), [("right", 1.0), ("left", -1.0)])
def test_every_spot_carries_the_pixel_the_picture_has_there(side: str, towards: float) -> None:
    """Seen along Z the solid's colours are those of the drawn face: by place, not mirrored."""
    book, data = made(next(p for p in DEMOS if p.stem == "chef"))
    read = trimesh.load(io.BytesIO(data), file_type="glb", force="mesh")
    picture = np.asarray(read.visual.material.baseColorTexture.convert("L"), float)
    x, y, z = read.vertices.T
    inside = (x > 0.02) & (x < 0.2) & (y > 0.008) & (y < 0.03) & (np.sign(z) == towards)
    column, row = read.visual.uv[inside, 0] * picture.shape[1], (1 - read.visual.uv[inside, 1]) * picture.shape[0]
    found = picture[row.astype(int), column.astype(int)]
    panel = session(book, Request(width=600, bare=True)).panel(side)
    mirrored = -1.0 if side == "left" else 1.0
    at = ((mirrored * x[inside] - panel.window.left) / panel.window.pixel).astype(int)
    up = ((panel.window.top - y[inside]) / panel.window.pixel).astype(int)
    drawn = panel.codes[up, at].astype(float)
    assert inside.sum() > 300 and drawn.std() > 10
    assert np.corrcoef(found, drawn)[0, 1] > 0.9
    assert np.corrcoef(found, panel.codes[up, panel.codes.shape[1] - 1 - at].astype(float))[0, 1] < 0.5


@pytest.mark.parametrize(
    ("words", "says"),
    [(["-o", "knife.obj"], "ending in .glb"), (["-o", "there.glb"], "--force"), (["--width", "90000"], "--width")],
)
def test_what_cannot_be_written_is_told(
    words: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("there.glb").write_bytes(b"mine")
    result = CliRunner().invoke(app, ["solid", str(DEMOS[0]), *words])
    assert result.exit_code == 1 and says in str(result.exception)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["there.glb"] and Path("there.glb").read_bytes() == b"mine"


def test_the_command_says_how_large_the_knife_is(tmp_path: Path) -> None:
    demo = next(p for p in DEMOS if p.stem == "slicer")
    out = tmp_path / "slicer.glb"
    result = CliRunner().invoke(app, ["solid", str(demo), "-o", str(out), "--width", "400"], catch_exceptions=False)
    assert "370.0 mm long, 34.0 mm high" in result.stdout and out.read_bytes()[:4] == b"glTF"


def test_the_formats_own_validator_finds_nothing_wrong(tmp_path: Path) -> None:
    """glTF 2.0 by the validator of the format's own keepers, an npm package; without it this is reported as skipped."""
    node = shutil.which("node")
    if node is None or subprocess.run([node, "-e", 'require("gltf-validator")'], capture_output=True).returncode:
        pytest.skip("node or its package gltf-validator is not installed")
    file = tmp_path / "knife.glb"
    file.write_bytes(made(DEMOS[0])[1])
    done = subprocess.run([node, "-e", VALIDATOR, str(file)], capture_output=True, text=True, check=True)
    issues = json.loads(done.stdout)
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0)
