"""The pictures of the gallery, drawn anew: ``python -m tests.gallery [NAME ...]``. Each keeps its width, in few greys and tints."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

DEMOS = Path(__file__).parent.parent / "demo_billets"
COLOURS = 128


def redraw(picture: Path) -> None:
    """Draw one knife, or one blade of a bar (``order-petty.png``), over the picture that is kept."""
    recipe, _, blade = picture.stem.partition("-")
    kept = Image.open(picture)
    with tempfile.TemporaryDirectory() as folder:
        new = Path(folder) / "new.png"
        words = ["preview", str(DEMOS / f"{recipe}.toml"), "-o", str(new), "--width", str(kept.width)]
        words += ["--blade", blade] if blade else []
        words += ["--view", "bar-face"] if picture.stem == "order" else []
        subprocess.run([sys.executable, "-m", "billet.cli", *words], check=True, stdout=subprocess.DEVNULL)
        drawn = Image.open(new)
        small = drawn.convert("RGB").quantize(COLOURS, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        small.save(picture, optimize=True, dpi=drawn.info["dpi"])


if __name__ == "__main__":
    names = sys.argv[1:] or sorted(
        p.stem for p in DEMOS.glob("*.png") if (DEMOS / f"{p.stem.partition('-')[0]}.toml").exists()
    )
    for name in names:
        redraw(DEMOS / f"{name}.png")
        print(name, (DEMOS / f"{name}.png").stat().st_size // 1000, "kB")
