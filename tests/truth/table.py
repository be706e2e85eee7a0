"""The truth table as a page of the manual, made of the checks and what they measure."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from pathlib import Path

from tests.truth.figures import FIGURES, SECTIONS, Figure
from tests.truth.registry import CHECKS, PROVES, Check, Found, How

TESTS = Path(__file__).parents[1]
HEAD = """# How far off it is

What this page says was not typed: every deviation below was measured by the tests of billet, which hold each kind of figure it prints against something outside. `python -m tests.truth` measures all of them again and writes the page; the tests fail when the page says anything else.

{share}

- **Held out**: measured or printed by somebody else, and used nowhere in making the formula. The hardest test.
- **Another method**: the same thing reckoned a second way that shares nothing with the first: another program's solver, a second workshop in the tests, geometry by hand.
- **In the fit**: the formula was made from these very figures, so agreeing proves little.
- **Regression only**: typed twice from one source, or the same formula worked twice. It guards against slips of the pen, not against being wrong.

"At worst" is the largest deviation, "on the whole" the root mean square; a range that a source prints counts as met anywhere within it. The number in brackets is how many figures were compared. "From memory" marks a source that was recalled and not opened. None of this says that a weld is sound or a temperature safe.
"""


def load_checks() -> dict[tuple[str, str], Check]:
    """All checks, from every file of tests that holds one."""
    for path in sorted(TESTS.rglob("test_*.py")):
        if "\n@checks(" in path.read_text("utf-8"):
            importlib.import_module(".".join(("tests", *path.relative_to(TESTS).with_suffix("").parts)))
    return CHECKS


def of_figure(figure: Figure) -> list[Check]:
    """The checks of a kind of figure, strongest first."""
    strength = list(How)
    return sorted(
        (c for c in CHECKS.values() if c.figure == figure.name), key=lambda c: (strength.index(c.how), c.source)
    )


def proven(figure: Figure) -> bool:
    """Whether a kind of figure has a held-out check or one by another method."""
    return any(c.how in PROVES for c in of_figure(figure))


def share() -> str:
    """How many kinds are checked, and which are not."""
    good = [f for f in FIGURES if proven(f)]
    held = [f for f in FIGURES if any(c.how is How.HELD_OUT for c in of_figure(f))]
    lacking = [f.name for f in FIGURES if not proven(f)]
    lines = (
        f"Of {len(FIGURES)} kinds of figure {len(good)} ({100 * len(good) // len(FIGURES)} %) have a check that is held out "
        f"or made by another method; {len(held)} have one that is held out."
    )
    return lines + (f" None such: {'; '.join(lacking)}." if lacking else "")


def blocks(measured: Callable[[Check], Found], say: Callable[[Check, Found], str]) -> list[str]:
    """A block a kind of figure, under the headings of the work."""
    out = []
    for heading, figures in SECTIONS:
        out.append(f"\n## {heading}")
        for figure in figures:
            found = [(check, measured(check)) for check in of_figure(figure)]
            rows = [f"- {say(check, one)}, {check.tail} ({one.pairs})." for check, one in found]
            none = [f"- no outside check: {figure.why_not or 'none was found'}."]
            out.append(f"\n{figure.name[0].upper()}{figure.name[1:]} ({figure.told}):\n\n" + "\n".join(rows or none))
    return out


def page(
    measured: Callable[[Check], Found],
    say: Callable[[Check, Found], str] = lambda check, found: check.told(found.deviation),
) -> str:
    """The whole page, with what was measured for each check and how that is said."""
    return HEAD.format(share=share()) + "\n".join(blocks(measured, say)) + "\n"
