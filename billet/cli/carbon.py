"""billet carbon: where the carbon went, and what contrast is left."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.answer import Full, named, print_wrapped, tell
from billet.cli.common import AsJson, Force, RecipeFile, print_cautions, print_json, wrote

if TYPE_CHECKING:
    from billet.ledger.carbon_report import CarbonReport


def carbon(
    recipe: RecipeFile,
    after: Annotated[int | None, typer.Option(help="After this step; the last unless given.")] = None,
    bar: Annotated[str | None, typer.Option(help="Which bar; the last unless given.")] = None,
    chart: Annotated[Path | None, typer.Option(help="Draw the profile into this PNG file.")] = None,
    json: AsJson = False,
    full: Full = False,
    force: Force = False,
) -> None:
    """Carbon through the bar after any step: the blend, the contrast left, the soft skin, the cutting edge.

    Example: billet carbon knife.toml --after 5 --chart carbon.png
    """
    from billet.base.safe_files import check_free
    from billet.ledger.carbon_report import report
    from billet.ledger.run import run
    from billet.recipe.read import load

    if chart is not None:
        check_free(chart, force, picture=True)
    book = run(load(recipe))
    found, units = report(book, bar, after), book.recipe.tables.units
    if chart is not None:
        from render.carbon import carbon_chart

        wrote(carbon_chart(found, units, book.recipe.tables.title, chart, force))
    if json:
        print_json(as_json(found, units))
        return
    head = f"{book.recipe.tables.title}: carbon after step {found.step}"
    if full:
        print_wrapped(head)
        print_report(found, units)
        print_cautions("fire", "grinder")
    else:
        notes = [f"- {n.say(units)}" for n in found.notes]
        tell([head, *named(_rows(found, units))], notes, ("figures", "grinder"))


def as_json(found: CarbonReport, units: str) -> dict[str, Any]:
    """The report in SI with the unit in every key."""
    return {
        "step": found.step,
        "carbon_wt_percent": found.mean,
        "carbon_either_way_wt_percent": 0.03,
        "carbon_contrast": found.carbon_contrast,
        "alloy_contrast": found.alloy_contrast,
        "soft_skin_m": found.skin_92,
        "half_carbon_m": found.skin_50,
        "functional_skin_m": found.functional_skin,
        "edge": {
            "steel": found.edge.steel,
            "carbon_wt_percent": found.edge.carbon,
            "bought_wt_percent": found.edge.bought,
            "layer_wt_percent": found.edge.layer,
        },
        "washes_out_at_step": found.washes_out,
        "half_gone_at_step": found.half_gone,
        "profile": {
            "height_m": found.height.tolist(),
            "carbon_wt_percent": found.carbon.tolist(),
            "nickel_wt_percent": found.nickel.tolist(),
        },
        "warnings": [n.say(units) for n in found.notes],
        "sources": [f"{source.text} ({source.status})" for source in found.sources],
    }


def _rows(found: CarbonReport, units: str) -> list[tuple[str, str]]:
    """The answer: a name and what it says."""
    from billet.base.units import Kind, show

    def thick(value: float | None) -> str:
        return show(value, Kind.LENGTH, units, fine=True)

    def left(share: float | None) -> str:
        return "none to begin with" if share is None else f"{100 * share:.0f} % of the plates' is left"

    rows = [
        ("mean carbon", f"{found.mean:.2f} % (within 0.03)"),
        ("at the edge", f"{found.edge.steel}: {found.edge.carbon:.2f} %, bought with {found.edge.bought:.2f} %"),
        ("carbon contrast", left(found.carbon_contrast)),
        ("etching contrast", f"{left(found.alloy_contrast)}{_from(found)}"),
    ]
    if found.skin_92 is not None:
        rows.append(("soft skin", f"{thick(found.skin_92)} a side (within 30 %)"))
    if found.functional_skin is not None:
        low, likely, high = found.functional_skin
        rows.append(("grind off", f"at least {thick(likely)} a face; {thick(low)} to {thick(high)} by the fire"))
    return rows


def _from(found: CarbonReport) -> str:
    """From which step the contrast is gone, where it is."""
    if found.washes_out is not None:
        return f"; it washes out from step {found.washes_out}"
    return "" if found.half_gone is None else f"; under half from step {found.half_gone}"


def print_report(found: CarbonReport, units: str) -> None:
    """Everything, with the sources."""
    from billet.base.units import Kind, show

    for line in named(_rows(found, units)):
        print(line)
    if found.skin_92 is not None:
        half = show(found.skin_50, Kind.LENGTH, units, fine=True)
        print_wrapped(
            f"The soft skin is counted down to 92 % of the carbon the steel was bought with; under half of it: {half}. "
            "What to grind off runs from a rich fire or a coated blade to a scaling one; only a file test tells."
        )
    print_wrapped("The contrast left may be that of half to twice the time.")
    for n in found.notes:
        print_wrapped(f"- {n.say(units)}")
    print("\nSources")
    for source in found.sources:
        print_wrapped(f"  {source.text} ({source.status})")
