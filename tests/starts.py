"""The starting points the page ships: the smokehouse set's recipes as they lie in demo_billets, a small picture of each.

python -m tests.starts
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from billet.ledger.run import run
from billet.recipe.read import load
from render.page.folder import STARTERS, STARTS
from render.picture import draw
from render.request import Request

DEMOS = Path(__file__).parent.parent / "demo_billets"
WIDTH, QUALITY = 480, 82


def recipes() -> dict[str, Path]:
    """The demos a knife may start from, by name: those that need no other file beside them."""
    found = {p.stem: p for p in sorted(DEMOS.glob("*.toml")) if "[[bar]]" in (text := p.read_text("utf-8"))
             and 'image = "' not in text and 'points = "' not in text}  # fmt: skip
    return found


def main() -> None:
    """Write recipes and pictures anew."""
    STARTS.mkdir(exist_ok=True)
    starters = {name: Path(str(files("billet").joinpath(f"{name}.toml"))) for name in STARTERS}
    for name, path in recipes().items():
        (STARTS / f"{name}.toml").write_text(path.read_text("utf-8"), "utf-8")
    for name, path in (starters | recipes()).items():
        picture = draw(run(load(path)), Request(view="right", width=WIDTH, bare=True))
        picture.image.convert("RGB").save(STARTS / f"{name}.jpg", quality=QUALITY, optimize=True)
        print(name, (STARTS / f"{name}.jpg").stat().st_size)


if __name__ == "__main__":
    main()
