"""billet carbon: where the carbon went, and what contrast is left."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.common import AsJson, Force, RecipeFile, print_cautions, print_json, wrote

if TYPE_CHECKING:
    from billet.ledger.carbon_report import CarbonReport


def carbon(
    recipe: RecipeFile,
    after: Annotated[int | None, typer.Option(help="After this step; the last unless given.")] = None,
    bar: Annotated[str | None, typer.Option(help="Which bar; the last unless given.")] = None,
    chart: Annotated[Path | None, typer.Option(help="Draw the profile into this PNG file.")] = None,
    json: AsJson = False,
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
    print(f"{book.recipe.tables.title}: carbon after step {found.step}\n")
    print_report(found, units)
    print_cautions("fire", "grinder")


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


def print_report(found: CarbonReport, units: str) -> None:
    """The report in words."""
    from billet.base.units import Kind, show

    def thick(value: float | None) -> str:
        return show(value, Kind.LENGTH, units, fine=True)

    def left(share: float | None) -> str:
        return "none to begin with" if share is None else f"{100 * share:.0f} % of the plates' as laid"

    print(f"  mean carbon          {found.mean:.2f} %, within 0.03")
    print(f"  carbon contrast      {left(found.carbon_contrast)}")
    print(f"  etching contrast     {left(found.alloy_contrast)} (time within a factor 2)")
    for name, step in (("washes out from", found.washes_out), ("half gone from", found.half_gone)):
        print(f"  {name:<20} {'not in this bar' if step is None else f'step {step}'}")
    print(
        f"  at the cutting edge  {found.edge.steel} with {found.edge.carbon:.2f} %, within 0.03 (bought with {found.edge.bought:.2f} %)"
    )
    if found.skin_92 is not None:
        print(
            f"  soft skin            {thick(found.skin_92)} a side under 92 % of the carbon it was bought with, within 30 %; {thick(found.skin_50)} under half"
        )
    if found.functional_skin is not None:
        low, likely, high = found.functional_skin
        print(
            f"  least to grind off   {thick(likely)} a face by the model, from {thick(low)} (rich fire, coated) to {thick(high)} (scaling): soft skin; only a file test tells"
        )
    for n in found.notes:
        print(f"  - {n.say(units)}")
    print("\nsources of these figures")
    for source in found.sources:
        print(f"  {source.text} ({source.status})")
