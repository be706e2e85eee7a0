"""Whole previews of a billet of 300,000 layers against one of 50: `python -m tests.benchmarks.bench_layers`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.benchmarks.paired import compare

CYCLE = """
[[bar.step]]
do = "restack"
pieces = 10
times = {times}
weld = {{ temperature = "1150 C", soak = "5 min" }}
draw = {{ thickness = "20 mm", width = "50 mm", temperature = "1100 C", soak = "2 min" }}
"""
TEXT = """
title = "{title}"
[shop]
scale_per_heat = "0.01 mm"
kerf = "0 mm"
face_cleanup = "0 mm"
end_trim = "0 mm"
press_opening = "2 m"
fire_length = "900 m"
[[bar]]
name = "billet"
width = "50 mm"
length = "{length}"
stack = ["1084 1 mm", "15N20 1 mm"]
repeat = {repeat}
[[bar.step]]
do = "weld"
temperature = "1150 C"
soak = "5 min"
{cycle}
[[bar.step]]
do = "draw"
thickness = "4.2 mm"
width = "54 mm"
temperature = "1100 C"
soak = "2 min"
[blade]
length = "210 mm"
heel_height = "48 mm"
"""


def recipe(folder: Path, layers: str) -> list[str]:
    """The preview command for a recipe with few or very many layers."""
    many = layers == "many"
    file = folder / f"{layers}.toml"
    cycle = CYCLE.format(times=4) if many else ""
    file.write_text(
        TEXT.format(title=layers, repeat=15 if many else 25, length="3 m" if many else "80 mm", cycle=cycle)
    )
    return [sys.executable, "-m", "billet.cli", "preview", str(file), "-o", str(folder / f"{layers}.png"), "--force"]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        compare("preview of 300,000 layers against 50", recipe(Path(name), "many"), recipe(Path(name), "few"), rounds=5)
