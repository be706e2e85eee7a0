"""Hardness against temper, with its band."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from billet.base.errors import InputError
from billet.base.safe_files import write_whole
from billet.base.units import Kind, show
from billet.hardening import Advice
from render.charts import Chart, Line, draw_chart


def tempering_chart(advice: Advice, units: str, title: str, path: Path, force: bool = False) -> Path:
    """Draw the temper table of an advice into a PNG. Raises InputError when there is none."""
    rows = [r for r in advice.temper.table if r.cycles == 2]
    if len(rows) < 2:
        raise InputError(
            "harden --chart: no tempering forecast can be made for this steel, so there is nothing to draw"
        )
    heat = np.array([r.temperature_K for r in rows])
    shown = heat - 273.15 if units == "metric" else heat * 1.8 - 459.67
    line = Line(
        "likely",
        shown,
        np.array([r.hrc.likely for r in rows]),
        band=(np.array([r.hrc.low for r in rows]), np.array([r.hrc.high for r in rows])),
    )
    marks = []
    if advice.temper.wanted is not None and advice.temper.wanted_hrc is not None:
        wanted = advice.temper.wanted.temperature_K
        at = wanted - 273.15 if units == "metric" else wanted * 1.8 - 459.67
        marks = [(float(at), f"{show(wanted, Kind.TEMPERATURE, units)} for {advice.temper.wanted_hrc.likely:.1f} HRC")]
    chart = Chart(
        f"{title}: hardness after two tempers of two hours",
        f"temper, {'C' if units == 'metric' else 'F'}",
        "Rockwell C, likely value and band",
        [line],
        marks=marks,
        foot="Full hardening and a sound skin assumed. Trial pieces decide.",
    )
    return write_whole(path, draw_chart(chart), force)
