"""The page's colours can be read: contrast by WCAG 2.1, success criteria 1.4.3 (text, 4.5) and 1.4.11 (marks of focus, 3)."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

CSS = files("render.page").joinpath("static", "style.css").read_text("utf-8")
LIGHT, DARK = (dict(re.findall(r"--([\w-]+):\s*(#\w+)", block)) for block in re.findall(r":root \{([^}]*)\}", CSS)[:2])
TEXT = [
    ("ink", "ground"), ("ink", "card"), ("soft", "ground"), ("soft", "card"), ("mark-ink", "mark"), ("warn", "card"),
    ("bad", "card"), ("good", "card"), ("ground", "ink"),
]  # fmt: skip


def luminance(colour: str) -> float:
    """Relative luminance of #rgb or #rrggbb, by the definition in WCAG 2.1."""
    digits = colour.lstrip("#")
    parts = [digits[k : k + 2] for k in (0, 2, 4)] if len(digits) == 6 else [d * 2 for d in digits]
    linear = [v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in (int(p, 16) / 255 for p in parts)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_is_the_definitions_own_example() -> None:
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777", "#fff") == pytest.approx(4.48, abs=0.01)  # widely printed as the grey that just fails


@pytest.mark.parametrize(("text", "behind"), TEXT)
@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_text_stands_out(colours: dict[str, str], text: str, behind: str) -> None:
    assert contrast(colours[text], colours[behind]) >= 4.5


@pytest.mark.parametrize("behind", ["ground", "card"])
@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_the_mark_of_focus_stands_out(colours: dict[str, str], behind: str) -> None:
    assert contrast(colours["mark"], colours[behind]) >= 3.0
