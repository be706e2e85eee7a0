"""The carbon profile of a bar as a chart."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from billet.base.safe_files import write_whole
from billet.ledger.carbon_report import CarbonReport
from render.charts import Chart, Line, draw_chart

_RICH = 20.0  # [wt%] nickel from which on a hundredth of it is drawn, so that the carbon stays readable


def carbon_chart(found: CarbonReport, units: str, title: str, path: Path, force: bool = False) -> Path:
    """Draw carbon (and nickel, a tenth or hundredth of it) through the thickness into a PNG."""
    scale, unit = (1e3, "mm") if units == "metric" else (1 / 25.4e-6, "thou")
    x = (found.height - found.height[0]) * scale
    lines = [Line("carbon", x, found.carbon)]
    if float(np.ptp(found.nickel)) > 0.05:
        part = 10 if float(found.nickel.max()) < _RICH else 100
        lines.append(Line(f"nickel / {part}", x, found.nickel / part, ink=150))
    lines.append(Line(f"mean {found.mean:.2f}", x[[0, -1]], np.full(2, found.mean), ink=105, dashed=True))
    chart = Chart(
        f"{title}: carbon after step {found.step}",
        f"height from the bottom face, {unit}",
        "weight percent",
        lines,
        foot="Carbon within 0.03 %, depths within 30 %: a model, not a measurement.",
    )
    return write_whole(path, draw_chart(chart), force)
