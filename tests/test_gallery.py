"""The pictures of the gallery are those that this program draws: each is drawn anew, smaller, and laid over the one
that is kept.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import gaussian_filter
from typer.testing import CliRunner

from billet.cli import app
from tests.manual import DEMOS

WIDE = 1100  # captions then shrink with the picture
BLUR = 2.5  # [pixels] over which lines may shift by the smaller drawing
FAR = 0.10  # of the grey range: a place that looks another
MOST = 0.01  # of the picture that may look another: text and edges, drawn finer in the large picture

KNIVES = sorted(p.stem for p in DEMOS.glob("*.toml") if p.stem != "order")


@cache
def kept(name: str, wide: int = WIDE) -> Image.Image:
    """The picture as it is kept, shrunk to a width."""
    whole = Image.open(DEMOS / f"{name}.png").convert("L")
    return whole.resize((wide, round(whole.height * wide / whole.width)), Image.Resampling.BOX)


def drawn(name: str, out: Path, wide: int) -> Image.Image:
    """The picture as it is drawn today."""
    words = ["preview", str(DEMOS / f"{name}.toml"), "-o", str(out), "--width", str(wide), "--force"]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.exception
    return Image.open(out).convert("L")


def differs(one: Image.Image, other: Image.Image) -> float:
    """Share of two pictures of one size that looks another, a few pixels blurred."""
    a, b = (gaussian_filter(np.asarray(p, float) / 255, BLUR) for p in (one, other))
    rows = min(len(a), len(b))
    return float(np.mean(np.abs(a[:rows] - b[:rows]) > FAR))


@pytest.mark.slow
@pytest.mark.parametrize("name", KNIVES)
def test_a_picture_of_the_gallery_is_the_one_drawn_today(name: str, tmp_path: Path) -> None:
    wide, out = WIDE, tmp_path / "new.png"
    new = drawn(name, out, wide)
    if (
        abs(new.height - kept(name).height) > 4
    ):  # a smaller picture may want a close look that the large one does without
        wide = Image.open(DEMOS / f"{name}.png").width
        new = drawn(name, out, wide)
    share = differs(new, kept(name, wide))
    assert share < MOST, f"{100 * share:.1f} % of {name}.png looks another: draw it anew with billet preview --force"


def test_another_knife_and_a_moved_pattern_would_be_seen() -> None:
    """The measure tells what it must: two hammered knives apart, and one pattern moved by two line widths."""
    one = kept("random")
    moved = Image.fromarray(np.roll(np.asarray(one), 12, axis=1))
    assert differs(one, moved) > 5 * MOST
    assert differs(one, one) == 0


def test_every_demo_has_its_picture() -> None:
    assert [name for name in KNIVES if not (DEMOS / f"{name}.png").is_file()] == []
