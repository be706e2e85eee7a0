"""billet preview: what the bevel will show."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.answer import Full, print_wrapped, tell
from billet.cli.common import AsJson, BladeName, Force, RecipeFile, print_cautions, print_json, wrote

if TYPE_CHECKING:
    from render.picture import Picture

Out = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        "--out",
        metavar="FILE",
        help="Where to write the PNG; left out, beside the recipe under its name.",
    ),
]
View = Annotated[
    str | None,
    typer.Option(
        "--view", help="left, right, spine, choil, section, bar-face, bar-side or bar-end; left out, both faces."
    ),
]
After = Annotated[
    str | None, typer.Option("--after", help='Show the bar after this step: a number, or "name:3" for another bar.')
]
Ground = Annotated[
    str, typer.Option("--ground", "--state", help="finished, or hardening: the blade as it goes into the quench.")
]
Welds = Annotated[bool, typer.Option("--welds", help="Draw where the weld planes reach the surface.")]
Width = Annotated[int, typer.Option("--width", help="Width of the picture in pixels.")]
CropAt = Annotated[
    str | None,
    typer.Option("--crop", help='Look closely: centre from heel and edge, then size, "120 mm, 20 mm 10 mm x 5 mm".'),
]
Zoom = Annotated[
    str | None, typer.Option("--zoom", help='Look closely: 10 mm round a point from heel and edge, "120 mm, 20 mm".')
]
Stations = Annotated[
    Path | None,
    typer.Option("--stations", help="Measured stations, as for billet grind: faces as that grinding leaves them."),
]
At = Annotated[str | None, typer.Option("--at", help="Station of a section, from the heel.")]
Vary = Annotated[
    str | None, typer.Option("--vary", help='A sheet over one field of the recipe, "blade.offset=0 mm,0.1 mm".')
]
TwoTone = Annotated[bool, typer.Option("--two-tone", help="Plain black and white, for a working print.")]


def preview(
    recipe: RecipeFile,
    out: Out = None,
    view: View = None,
    after: After = None,
    ground: Ground = "finished",
    welds: Welds = False,
    width: Width = 2400,
    crop: CropAt = None,
    zoom: Zoom = None,
    stations: Stations = None,
    at: At = None,
    vary: Vary = None,
    two_tone: TwoTone = False,
    blade: BladeName = None,
    json: AsJson = False,
    full: Full = False,
    force: Force = False,
) -> None:
    """Draw the etched blade, or the bar at any step, true to size.

    Example: billet preview knife.toml --view right --welds
    """
    from billet.base.safe_files import check_free
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from render.picture import save
    from render.request import asked
    from render.vary import pictured

    request = asked(
        view=view, after=after, state=ground, welds=welds, width=width, crop=crop, at=at, two_tone=two_tone,
        zoom=zoom, stations=stations,
    )  # fmt: skip
    path = out or (recipe.with_suffix(".png") if blade is None else recipe.with_name(f"{recipe.stem}-{blade}.png"))
    check_free(path, force, picture=True)
    picture = pictured(for_blade(load(recipe), blade), request, vary)
    save(picture, path, force=force)
    facts = {"file": str(path), **picture.facts}
    if json:
        print_json(facts)
    else:
        _print(picture, full)
    wrote(path)


def _print(picture: Picture, full: bool) -> None:
    """The picture in a few lines of words."""
    head = [_face(side, face, picture.units) for side, face in picture.facts["faces"].items()]
    head += picture.facts.get("grinding", {}).get("says", ())
    warnings = [f"- {line}" for line in picture.facts["warnings"]]
    if not full:
        tell(head, warnings, ("acid", "kitchen"))
        return
    for line in (*head, *warnings):
        print_wrapped(line)
    print_cautions("acid", "kitchen")


def _face(side: str, face: dict[str, Any], units: str) -> str:
    """What one face shows, in a sentence."""
    from billet.base.units import Kind, show

    if not face["lines"]:
        return f"{side} face: no lines cross here near the heel"
    many = f"{face['lines']} line{'' if face['lines'] == 1 else 's'} near the heel"
    wide = show(face["median_line_m"], Kind.LENGTH, units, fine=True)
    fine = f"{100 * face['grey_share']:.0f} % too fine to see" if face["grey_share"] > 0.005 else "none too fine to see"
    core = "" if face["core_line_m"] is None else show(face["core_line_m"], Kind.LENGTH, units)
    return f"{side} face: {many}, mostly about {wide} wide; {fine}" + (core and f"; core line {core} above the edge")
