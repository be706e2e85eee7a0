"""A picture of a knife or a bar: views drawn true to size on a calm ground, with scale, steels and a caption."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from billet.base.errors import InputError
from billet.base.safe_files import write_whole
from billet.base.units import Kind, show
from billet.blade import Side, read_blade
from billet.ledger.recipe_warnings import of_recipe
from billet.ledger.rows import Ledger
from render.drawing import INK, SOFT, as_image, fitted, palette_of, scale_bar, swatches, tinted, write
from render.etch import FINISHES, Look, steel_tone
from render.inset import draw_inset, wants_inset
from render.light import BACKGROUND, encode
from render.lines import FaceFigures, figures
from render.measured_face import measured
from render.panel import Panel, Subject, draw_panel
from render.request import Request, check_size, chosen_bar
from render.welds import draw_welds

_INCH = 0.0254
_MARGIN = 0.035  # of the width
_TALLEST = 0.62  # of the width a view may take

NAMES = {
    "left": "left face",
    "right": "right face",
    "spine": "spine, from above",
    "choil": "choil",
    "section": "section",
    "bar-face": "upper face of the bar",
    "bar-side": "edge side of the bar",
    "bar-end": "handle end of the bar",
}
TONE_NOTE = "Tones are a rank from dark to bright, not a promise; the picture is an aid, the etch decides."


@dataclass(frozen=True, eq=False)
class Picture:
    """A finished picture and what can be said about it; `facts` are the keys of the command's JSON."""

    image: Image.Image
    pixel: float
    facts: dict[str, Any]
    panels: tuple[Panel, ...] = field(default=())
    units: str = "metric"


def look_of(ledger: Ledger, two_tone: bool = False) -> Look:
    """Return how the recipe wants its steel etched and lit."""
    etch = ledger.recipe.tables.etch
    how = FINISHES[etch.finish]
    strength = how.strength if etch.strength is None else etch.strength
    depth = how.depth if etch.depth is None else etch.depth
    return Look(strength, etch.seams, depth, etch.light, two_tone, etch.finish)


def subject_of(ledger: Ledger, request: Request) -> tuple[Subject, str]:
    """Return what a request looks at, and words for it."""
    bar, words = chosen_bar(ledger, request.after)
    if request.of_bar:
        return Subject(bar), words
    design = ledger.recipe.tables.blade
    if design is None:
        raise InputError(
            f"{ledger.recipe.place(())}there is no [blade] in this recipe; "
            "add one, or look at the bar with --view bar-face"
        )
    folder = ledger.recipe.path.parent if ledger.recipe.path else Path()
    blade = read_blade(design, folder, request.state)
    station = 0.0 if request.view == "choil" else 0.5 * blade.length if request.at is None else request.at
    if not 0 <= station < blade.length:
        raise InputError(
            f"--at: found {station * 1e3:.4g} mm, wanted a station between heel and point, "
            f"from 0 to {blade.length * 1e3:.4g} mm"
        )
    state = "finished" if request.state == "finished" else "before hardening"
    return Subject(bar, blade, blade.placement(bar.length, bar.width), station), state


def draw(ledger: Ledger, request: Request) -> Picture:
    """Draw a picture. Raises InputError for what cannot be shown."""
    subject, words = subject_of(ledger, request)
    ground_to = None
    if request.stations is not None and subject.blade is not None:
        ground_to = measured(ledger, subject.blade, request.stations)
        subject = replace(subject, shift=ground_to.shift)
    faces = _faces(subject, request)
    look = look_of(ledger, request.two_tone)
    if request.crop is not None:
        windows = [subject.close_up(request.views[0], request.crop, request.width)]
    else:
        pixel = _pixel(subject, request)
        windows = [subject.window(name, pixel) for name in request.views]
    check_size(request.width, sum(w.rows for w in windows))
    panels = tuple(
        draw_panel(subject, name, window, look, request.workers, shadow=request.crop is None)
        for name, window in zip(request.views, windows, strict=True)
    )
    shown = faces.get(request.view or "right") or faces.get("right")
    inset = shown is not None and wants_inset(request, shown.median_line, windows[0].pixel)
    image = _composed(ledger, request, subject, panels, look, words, inset=inset)
    facts = _facts(ledger, request, subject, faces, image) | {"pixel_m": windows[0].pixel}
    facts["warnings"] = _warnings(ledger, request, panels)
    if ground_to is not None:
        facts["grinding"] = ground_to.facts(ledger.recipe.tables.units)
    return Picture(image, windows[0].pixel, facts, panels, ledger.recipe.tables.units)


def _pixel(subject: Subject, request: Request) -> float:
    """Size of a pixel with which the widest view fills the width, and the tallest does not tower [m]."""
    room = request.width * (1 - 2 * _MARGIN)
    sizes = [subject.bounds(name) for name in request.views]
    return max(max((right - left) / room, (top - bottom) / (_TALLEST * room)) for left, right, bottom, top in sizes)


def _composed(
    ledger: Ledger,
    request: Request,
    subject: Subject,
    panels: tuple[Panel, ...],
    look: Look,
    words: str,
    *,
    inset: bool = False,
) -> Image.Image:
    """Lay title, views and footer under one another."""
    size = text_size(request.width)
    margin = request.width * _MARGIN
    close = request.crop is not None
    top = 0.0 if close or request.bare else margin + 5.0 * size
    gap = 0.0 if close else 1.6 * size
    foot = 0.0 if request.bare else 4.6 * size + 0.4 * margin
    heights = [p.window.rows for p in panels]
    height = int(top + sum(heights) + gap * len(panels) + foot)
    check_size(request.width, height)
    canvas = ground(request.width, height)
    pen = ImageDraw.Draw(canvas)
    y, places = top, []
    for panel, name in zip(panels, request.views, strict=True):
        x = (request.width - panel.window.cols) // 2
        places.append((x, int(y + 0.6 * gap)))
        canvas.paste(as_image(panel.codes), places[-1])
        if not close:
            write(pen, (margin, y), _named(name, subject, ledger.recipe.tables.units), size, SOFT)
        y += panel.window.rows + gap
    if not close and not request.bare:
        room = request.width - margin
        if inset:
            pixel, units = panels[0].window.pixel, ledger.recipe.tables.units
            corner = (room, 0.5 * margin)
            room = draw_inset(canvas, subject, look, pixel, corner, top - margin, units, size)
        for down, large, ink, text in (
            (0.0, 1.7 * size, INK, ledger.recipe.tables.title),
            (2.3 * size, size, SOFT, _caption(ledger, subject, words)),
        ):
            write(pen, (margin, margin + down), fitted(pen, text, large, room - margin), large, ink)
    if not request.bare:
        footer(pen, ledger, subject, panels[0].window.pixel, look, y, request.width)
    colour = tinted(canvas)
    if request.welds:
        draw_welds(colour, ledger, subject, panels, places, size)
    return colour


def _named(name: str, subject: Subject, units: str) -> str:
    if name != "section":
        return NAMES[name]
    return f"section {show(subject.at, Kind.LENGTH, units)} from the heel"


def _caption(ledger: Ledger, subject: Subject, words: str) -> str:
    """Say what the metal is: layers, sizes, state."""
    units, bar = ledger.recipe.tables.units, subject.bar
    layers = f"{bar.layers_counted:,} layer{'s' if bar.layers_counted != 1 else ''}"
    if subject.blade is None:
        sizes = " x ".join(
            show(v, Kind.LENGTH, units, fine=f)
            for v, f in ((bar.length, False), (bar.width, False), (bar.thickness, True))
        )
        return f"{words}  ·  {layers}  ·  {sizes}"
    design = subject.blade.design
    length, height = (show(v, Kind.LENGTH, units) for v in (design.length, design.heel_height))
    return f"{layers}  ·  blade {length} by {height}  ·  {words}"


def footer(
    pen: ImageDraw.ImageDraw, ledger: Ledger, subject: Subject, pixel: float, look: Look, y: float, width: int
) -> None:
    """Draw scale bar, steels and the note on tones below y, into a grey picture of a width [pixels]."""
    size, margin = text_size(width), width * _MARGIN
    scale_bar(pen, (margin, y + 1.2 * size), pixel, 0.16 * width, ledger.recipe.tables.units, size)
    tones = {s.name: steel_tone(s, look) for leaf in subject.bar.leaves for s in leaf.steels}
    ranked = sorted(tones.items(), key=lambda t: t[1])
    codes = encode(np.array([t for _, t in ranked], np.float32))
    swatches(
        pen, width - margin, y + 1.2 * size, [(name, int(c)) for (name, _), c in zip(ranked, codes, strict=True)], size
    )
    write(pen, (margin, y + 2.6 * size), fitted(pen, TONE_NOTE, 0.85 * size, width - 2 * margin), 0.85 * size, SOFT)


def text_size(width: int) -> float:
    """Return the size of captions on a picture of a width [pixels]."""
    return max(10.5, width / 100)


def ground(width: int, height: int) -> Image.Image:
    """Return an empty grey picture."""
    return as_image(np.full((height, width), encode(np.array([BACKGROUND], np.float32))[0], np.uint8))


def _faces(subject: Subject, request: Request) -> dict[str, FaceFigures]:
    """The figures of both faces; none for a bar."""
    if subject.blade is None or subject.placement is None:
        return {}
    sides: tuple[Side, Side] = ("left", "right")
    return {
        side: figures(subject.bar, subject.blade, subject.placement, side, request.station, subject.shift)
        for side in sides
    }


def _facts(
    ledger: Ledger, request: Request, subject: Subject, faces: dict[str, FaceFigures], image: Image.Image
) -> dict[str, Any]:
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


def _warnings(ledger: Ledger, request: Request, panels: tuple[Panel, ...]) -> list[str]:
    units = ledger.recipe.tables.units
    said = [
        f"{NAMES[name]}: {min(100.0, 100 * p.missing):.1f} % of what is shown lies outside the bar's metal and is hatched"
        for name, p in zip(request.views, panels, strict=True)
        if p.missing > 0
    ]
    return (
        said
        + [n.say(units) for run in ledger.bars for row in run.rows for n in row.notes]
        + [n.say(units) for n in of_recipe(ledger)]
    )


def save(picture: Picture, path: Path, *, force: bool = False) -> None:
    """Write a picture as PNG with its true resolution, whole or not at all; never over a file unless told to."""
    dots, out = _INCH / picture.pixel, BytesIO()
    palette_of(picture.image).save(out, "PNG", dpi=(dots, dots), compress_level=3)
    write_whole(path, out.getvalue(), force)
