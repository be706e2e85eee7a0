"""A picture of a knife or a bar, with the figures that go with it; drawn, sheeted, saved."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from PIL.PngImagePlugin import PngInfo

from billet.base.messages import Note
from billet.base.safe_files import write_whole
from billet.blade import Side
from billet.ledger.recipe_warnings import of_recipe
from billet.ledger.rows import Ledger
from billet.where.asked import KEY
from render.drawing import palette_of
from render.inset import wants_inset
from render.layout import NAMES, page
from render.lines import FaceFigures, figures
from render.panel import Panel, Subject
from render.request import Request
from render.session import Session, session

_INCH = 0.0254


@dataclass(frozen=True, eq=False)
class Picture:
    """A finished picture and what can be said about it; `facts` are the keys of the command's JSON."""

    image: Image.Image
    pixel: float
    facts: dict[str, Any]
    panels: tuple[Panel, ...] = field(default=())
    units: str = "metric"


def draw(ledger: Ledger, request: Request) -> Picture:
    """Draw a picture. Raises InputError for what cannot be shown."""
    return composed(session(ledger, request))


def composed(drawing: Session) -> Picture:
    """Return the whole page of a session: views, captions, figures."""
    ledger, request, subject = drawing.ledger, drawing.request, drawing.subject
    with ThreadPoolExecutor(max(1, request.workers)) as pool:
        drawing.make_ready(pool)
        drawn = [pool.submit(drawing.panel, name) for name in request.views]
        measured: dict[str, Future[FaceFigures]] = {
            side: pool.submit(_face, subject, request, side) for side in _sides(subject)
        }
        warned = pool.submit(of_recipe, ledger)
        panels = tuple(one.result() for one in drawn)
        faces = {side: one.result() for side, one in measured.items()}
    shown = faces.get(request.view or "right") or faces.get("right")
    inset = shown is not None and wants_inset(request, shown.median_line, panels[0].window.pixel)
    image = page(drawing, panels, inset=inset)
    pixel = max(panels[0].window.pixel, panels[0].window.rise)
    facts = _facts(request, subject, faces, image) | {"pixel_m": pixel}
    facts["warnings"] = _warnings(ledger, request, panels, warned.result())
    if drawing.ground is not None:
        facts["grinding"] = drawing.ground.facts(ledger.recipe.tables.units)
    return Picture(image, pixel, facts, panels, ledger.recipe.tables.units)


def _sides(subject: Subject) -> tuple[Side, ...]:
    """Both faces of a blade; none of a bar."""
    return () if subject.blade is None or subject.placement is None else ("left", "right")


def _face(subject: Subject, request: Request, side: Side) -> FaceFigures:
    """The figures of a face."""
    assert subject.blade is not None and subject.placement is not None
    return figures(subject.bar, subject.blade, subject.placement, side, request.station, subject.shift)


def _facts(request: Request, subject: Subject, faces: dict[str, FaceFigures], image: Image.Image) -> dict[str, Any]:
    """The keys of the command's JSON, in SI."""
    shown = faces.get(request.view or "right") or faces.get("right")
    return {
        "view": request.view or "faces",
        "width_px": image.width,
        "height_px": image.height,
        "lines_per_face": None if shown is None else shown.lines,
        "median_line_m": None if shown is None else shown.median_line,
        "station_m": None if subject.blade is None else request.station * subject.blade.length,
        "faces": {
            side: {
                "lines": f.lines,
                "median_line_m": f.median_line,
                "grey_share": f.grey_share,
                "core_line_m": f.core_line,
            }
            for side, f in faces.items()
        },
    }


def _warnings(ledger: Ledger, request: Request, panels: tuple[Panel, ...], recipe: tuple[Note, ...]) -> list[str]:
    units = ledger.recipe.tables.units
    said = [
        f"{NAMES[name]}: {min(100.0, 100 * p.missing):.1f} % of what is shown lies outside the bar's metal and is hatched"
        for name, p in zip(request.views, panels, strict=True)
        if p.missing > 0
    ]
    return (
        said
        + [n.say(units) for run in ledger.bars for row in run.rows for n in row.notes]
        + [n.say(units) for n in recipe]
    )


def save(picture: Picture, path: Path, *, force: bool = False) -> None:
    """Write a picture as PNG with its true resolution, whole or not at all; never over a file unless told to."""
    dots, out = _INCH / picture.pixel, BytesIO()
    kept = PngInfo()
    if KEY in picture.image.info:
        kept.add_text(KEY, picture.image.info[KEY])
    palette_of(picture.image).save(out, "PNG", dpi=(dots, dots), compress_level=3, pnginfo=kept)
    write_whole(path, out.getvalue(), force)
