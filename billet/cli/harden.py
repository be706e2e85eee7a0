"""billet harden: heat treatment of the steel this bar has become."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from billet.cli.answer import MOST_LINES, Full, named, print_wrapped, tell, wrapped
from billet.cli.common import AsJson, BladeName, Force, RecipeFile, print_cautions, print_json, print_table, wrote
from billet.cli.remind import reminder, shop_habits

if TYPE_CHECKING:
    from billet.base.messages import Note
    from billet.hardening import Advice
    from billet.metal.limits import Range


_BESIDE = 5  # lines of an answer beside the card: title, how many more there are, three cautions


def harden(
    recipe: RecipeFile,
    hardness: Annotated[
        float | None, typer.Option(help="Hardness wanted, Rockwell C: answered backwards with a temper.")
    ] = None,
    chart: Annotated[Path | None, typer.Option(help="Draw hardness against temper into this PNG file.")] = None,
    blade: BladeName = None,
    json: AsJson = False,
    full: Full = False,
    force: Force = False,
) -> None:
    """Advise the heat treatment of the finished laminate, layer by layer, with ranges and sources.

    Example: billet harden knife.toml --hardness 61
    """
    from billet.base.safe_files import check_free
    from billet.hardening import advise, keys
    from billet.hardening.bolster import bolster_advice
    from billet.hardening.fire_card import fire_card
    from billet.hardening.treatment import layers_of, question_of
    from billet.ledger.run import run
    from billet.metal.quench import MEDIA
    from billet.recipe.blade import blade_of
    from billet.recipe.read import load
    from billet.recipe.several import for_blade

    if chart is not None:
        check_free(chart, force, picture=True)
    book = run(for_blade(load(recipe), blade))
    advice = advise(layers_of(book), question_of(book, hardness))
    units = book.recipe.tables.units
    if chart is not None:
        from render.temper_chart import tempering_chart

        wrote(tempering_chart(advice, units, book.recipe.tables.title, chart, force))
    beside = bolster_advice(blade_of(book.recipe), advice.layers, question_of(book).bath, advice.heat_K)
    last, habits = reminder(book.recipe, recipe, "harden", "temper"), shop_habits(recipe)
    learnt = [one.say(units) for one in (*habits.oven_notes(), *habits.hardness_notes())]
    if json:
        bolster = {} if beside is None else {"bolster": beside.keys(units)}
        print_json({**keys(advice, units), **bolster, "reminder": last or None, "learnt": learnt})
        return
    medium = book.recipe.tables.hardening.quench.medium
    bath = "water" if MEDIA[medium].water_based else "quench"
    learnt = [f"Learnt from your record: {one}" for one in learnt]
    of_bolster = () if beside is None else beside.notes
    if full:
        print_wrapped(book.recipe.tables.title)
        print_advice(advice, medium, units)
        _print_rest(of_bolster, [*([last] if last else []), *learnt], units)
        print_cautions("fire", bath, "straightening", "grinder")
        return
    mind = [f"- {n.say(units)}" for n in (*of_bolster, *advice.risks, *advice.cautions)]
    card = fire_card(advice, book.recipe.tables.hardening, units)
    head = [book.recipe.tables.title, *_making_room(card, last)]
    tell(head, [*learnt, *mind], ("figures", bath, "straightening"), last=[last] if last else [], units=units)


def _making_room(card: list[tuple[str, str]], last: str) -> list[str]:
    """The card's lines; what went wrong last time always stands, and whole rows of the card make room for it."""
    left = ["First", "Straighten", "Anneal"] if last else []
    room = MOST_LINES - _BESIDE - (len(wrapped(last)) if last else 0)
    while left and len(named(card)) > room:
        least = left.pop()
        card = [row for row in card if row[0] != least]
    return named(card)


def _print_rest(of_bolster: Sequence[Note], told: Sequence[str], units: str) -> None:
    """What follows the advice in full: the bolster, last time's mistake, what the record has taught."""
    if of_bolster:
        print("\nthe bolster")
        for n in of_bolster:
            print_wrapped(f"  - {n.say(units)}")
    for line in told:
        print_wrapped(line)


def _range(band: Range | None, digits: int = 1) -> str:
    """A likely value and its band, the ends of a band in whole points rounded outwards."""
    if band is None:
        return "not told"
    low, high = (band.low, band.high) if digits else (floor(band.low), ceil(band.high))
    return f"{band.likely:.{digits}f} ({low:.{digits}f} to {high:.{digits}f})"


def print_advice(advice: Advice, medium: str, units: str) -> None:
    """The advice in the order of the work: harden, straighten, temper, anneal; then what to mind."""
    _print_layers(advice, units)
    _print_hardening(advice, medium, units)
    _print_tempers(advice, units)
    for head, notes in (
        ("into the quench", advice.pearlite),
        ("straightening", advice.straightening),
        ("tempering", (*advice.temper_steps, *advice.temper.notes)),
        ("without an instrument", advice.without_instrument),
        ("at the grinder", advice.at_the_grinder),
        ("risks", advice.risks),
        ("mind", tuple(n for n in advice.cautions if n not in advice.temper.notes)),
    ):
        if notes:
            print(f"\n{head}")
            for n in notes:
                print_wrapped(f"  - {n.say(units)}")
    print("\nsources")
    for source in advice.sources:
        print_wrapped(f"  {source.text} ({source.status})")


def _print_layers(advice: Advice, units: str) -> None:
    from billet.base.units import Kind, show
    from billet.metal.critical_temperatures import AC1_EITHER_WAY
    from billet.metal.martensite import MS_EITHER_WAY

    def heat(band: Range | None) -> str:
        return "-" if band is None else show(round(band.likely / 5) * 5, Kind.TEMPERATURE, units)

    rows = [
        (
            x.name,
            f"{100 * x.share:.0f} %",
            f"{x.carbon_wt_percent:.2f} %",
            heat(x.ac1_K),
            heat(x.ms_K),
            _range(x.as_quenched_hrc, 0) if x.hardens else x.reason,
        )
        for x in advice.layers
    ]
    print()
    print_table(("layer", "share", "carbon", "Ac1", "Ms", "as quenched, HRC"), rows, left=(0, 5))
    ac1, ms = (show(v, Kind.DIFFERENCE, units) for v in (AC1_EITHER_WAY, MS_EITHER_WAY))
    print(f"Ac1 within {ac1}, Ms within {ms}, carbon within 0.03 %.")


def _print_hardening(advice: Advice, medium: str, units: str) -> None:
    from billet.base.units import Kind, show

    window = advice.window
    low, high = (show(t.temperature_K, Kind.TEMPERATURE, units) for t in (window.low, window.high))
    print(f"\nharden   {'no heat suits every layer: ' if window.empty else ''}{low} to {high}; trial pieces decide")
    if len(advice.layers) > 1:
        print(f"         {low} is the least for {window.low.layer}, {high} the most for {window.high.layer}")
    if window.soak_s is not None:
        soak = " to ".join(dict.fromkeys(show(s, Kind.TIME, units) for s in window.soak_s))
        print(f"         soak {soak} once the blade is at heat through and through")
    at, held = show(advice.heat_K, Kind.TEMPERATURE, units), show(advice.soak_s, Kind.TIME, units)
    outside = not window.empty and not window.low.temperature_K <= advice.heat_K <= window.high.temperature_K
    print(f"         reckoned from {at} held {held}{', outside the window: see below' if outside else ''}:")
    kept = advice.retained_austenite
    print(f"         as quenched {_range(advice.as_quenched_hrc, 0)} HRC where it hardens through")
    print(f"         austenite kept: {100 * kept.low:.0f} to {100 * kept.high:.0f} %")
    print(f"quench   {medium}" + _full_to(advice, units))
    for place in advice.stations:
        print(f"         {place.name:<20} {show(place.thickness_m, Kind.LENGTH, units, fine=True):>9}  {_grade(place)}")
    if advice.anneal_max is not None:
        most = show(advice.anneal_max.temperature_K, Kind.TEMPERATURE, units)
        print(f"anneal   sub-critical, at most {most} (set by {advice.anneal_max.layer})")
    print(f"normalise  {advice.normalising.text.say(units)}")


def _full_to(advice: Advice, units: str) -> str:
    """How thick a section of the leanest layer still hardens fully."""
    from billet.base.units import Kind, show

    if not advice.stations:
        return ""
    band = advice.stations[0].full_to_m
    low, high = (show(v, Kind.LENGTH, units, fine=True) for v in (band.low, band.high))
    return f", full hardness of {advice.stations[0].leanest} to somewhere between {low} and {high}"


def _grade(place) -> str:  # type: ignore[no-untyped-def]
    ends = list(dict.fromkeys((place.through.worst, place.through.best)))
    return f"{' to '.join(ends)} (set by {place.leanest})"


def _print_tempers(advice: Advice, units: str) -> None:
    from billet.base.units import Kind, show
    from billet.hardening.fire_card import of_which

    temper = advice.temper
    if temper.asked is None:
        print("temper   the hardness after this temper cannot be told for these steels; reason below")
    if temper.asked is not None:
        print(f"temper   as the recipe says: {_range(temper.asked)} HRC{of_which(advice)}")
    if temper.wanted is not None:
        print(
            f"         for the hardness wanted: {show(temper.wanted.temperature_K, Kind.TEMPERATURE, units)}, {_range(temper.wanted_hrc)} HRC"
        )
    if temper.table:
        print()
        rows = [
            (
                show(r.temperature_K, Kind.TEMPERATURE, units),
                str(r.cycles),
                _range(r.hrc),
                "-" if r.oven_hrc is None else f"{r.oven_hrc[0]:.1f} to {r.oven_hrc[1]:.1f}",
            )
            for r in temper.table
        ]
        out = show(10.0, Kind.DIFFERENCE, units)
        print_table(("temper", "2 h cycles", "HRC", f"HRC if the oven is {out} out"), rows)
