"""The knife as binary glTF 2.0: metres, the point along +X, the spine up +Y, the right face towards +Z."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from billet.blade import Side
from billet.blade.handle import Whole
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from render.panel import Panel
from render.request import Request
from render.session import session
from render.solid.surface_patches import Patch, patches
from render.tang import STUB

if TYPE_CHECKING:
    import trimesh

Array = NDArray[np.float64]

_METAL, _ROUGH = 0.35, 0.55  # of the material, so that the etched picture keeps its own light; judged by eye
_BREAKS_OFF = 3e-3  # of the tang a picture shows, where it is drawn broken off [m]
_PIXELS_INSIDE = 2.0  # a picture is read no nearer to the outline, where pixels are half table


def solid(ledger: Ledger, width: int = 2400) -> trimesh.Trimesh:
    """Return the finished knife as a mesh with its etched faces as texture; pictures are `width` pixels wide."""
    import trimesh

    whole = Whole(blade_of(ledger.recipe))
    drawing = session(ledger, Request(width=width, bare=True))
    sides: tuple[Side, Side] = ("right", "left")
    panels = {side: drawing.panel(side) for side in sides}
    pixel = panels["right"].window.pixel
    behind = min(whole.behind, whole.design.heel.choil + STUB) - _BREAKS_OFF
    skin = patches(whole, (-behind, whole.blade.length), _PIXELS_INSIDE * pixel)
    picture = np.concatenate([panels[side].codes for side in sides])
    rows = {"right": 0, "left": len(panels["right"].codes)}
    uv = np.concatenate([_uv(patch, panels[patch.side], rows[patch.side], picture.shape) for patch in skin])
    starts = np.cumsum([0, *(len(patch.points) for patch in skin)])
    material = trimesh.visual.material.PBRMaterial(
        baseColorTexture=Image.fromarray(picture).convert("RGB"), metallicFactor=_METAL, roughnessFactor=_ROUGH
    )
    return trimesh.Trimesh(
        np.concatenate([patch.points for patch in skin]),
        np.concatenate([patch.triangles + start for patch, start in zip(skin, starts, strict=False)]),
        visual=trimesh.visual.TextureVisuals(uv=uv, material=material),
        process=False,
    )


def _uv(patch: Patch, panel: Panel, first_row: int, shape: tuple[int, ...]) -> Array:
    """Where each point of a patch lies in the picture: from its left, and from its bottom as meshes have it."""
    window, mirrored = panel.window, -1.0 if patch.side == "left" else 1.0
    along, up = patch.seen_at.T
    column = (mirrored * along - window.left) / window.pixel
    row = first_row + (window.top - up) / window.pixel
    return np.stack([column / shape[1], 1.0 - row / shape[0]], axis=1)


def as_glb(mesh: trimesh.Trimesh) -> bytes:
    """Return a mesh as the bytes of a .glb file."""
    made = mesh.export(file_type="glb", include_normals=True)
    assert isinstance(made, bytes)
    return made
