"""Two knives in one chart: how far each came out from its forecast, stage by stage."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from billet.base.errors import InputError
from billet.base.safe_files import write_whole
from billet.record.two_knives import AtStage, Compared
from render.charts import Chart, Line, draw_chart
from render.drawing import INK, SOFT


def two_knives_chart(found: Compared, path: Path, force: bool = False) -> Path:
    """Draw the chart into a PNG. Raises InputError when neither knife was measured at two stages with a forecast."""
    lines = []
    for letter, ink, dashed, each in (
        ("A", SOFT, True, [pair.first for pair in found.stages]),
        ("B", INK, False, [pair.second for pair in found.stages]),
    ):
        points = [(at, off) for at, one in enumerate(each) if (off := beyond(one)) is not None]
        if len(points) > 1:
            x, y = np.array(points, dtype=float).T
            lines.append(Line(letter, x, y, ink=ink, dashed=dashed))
    if not lines:
        raise InputError(
            "record compare --chart: neither knife was measured at two stages whose sizes are foreseen, so there is nothing to draw"
        )
    names = [pair.name for pair in found.stages]

    def stage(value: float) -> str:
        whole = round(value)
        return names[whole][:14] if abs(value - whole) < 1e-6 and 0 <= whole < len(names) else ""

    chart = Chart(
        f"A {found.first.title[:40]}, B {found.second.title[:40]}",
        "stage", "measured less foreseen, % (mean of the sizes at a stage)", lines, x_word=stage,
    )  # fmt: skip
    return write_whole(path, draw_chart(chart), force)


def beyond(one: AtStage) -> float | None:
    """By how many per cent the sizes at a stage exceed their forecast in the mean; None where none has one."""
    shares = [value / one.foreseen[name] - 1 for name, (value, _) in one.measured.items() if one.foreseen.get(name)]
    return 100 * sum(shares) / len(shares) if shares else None
