"""The grinding plan as one sheet: how thick it is now, what comes off each face, and the bow along spine and edge.

Each face is drawn as the smith sees it with the edge down: the left face with the tip to the left, the right face with
the tip to the right. Between the stations the figures bend like a thin plate.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import map_coordinates

from billet.base.safety import cautions
from billet.grinding import Plan, StationPlan
from billet.grinding.grinding_text import STEP, figure, least_words, next_words, small, sum_of, table, topics, verdict
from billet.metal.colours import AT_THE_GRINDER, BEYOND_COLOUR
from render.drawing import fitted, font, wrapped, write

Array = NDArray[np.float64]
Colour = tuple[int, int, int]

WIDE, MARGIN = 2400, 90
PAPER, INK, SOFT, LINE = (247, 245, 240), (34, 38, 44), (104, 106, 110), (176, 174, 168)
SHORT = (168, 44, 40)  # where less comes off than must; hatched too, for eyes that do not tell the hue
_TAKE = ((250, 243, 226), (222, 164, 72), (104, 46, 24))  # little to much
_THICK = ((236, 240, 241), (128, 160, 172), (38, 72, 92))  # thin to thick
_BIG, _TEXT, _FINE = 44, 32, 28
_BAR = 84  # the longest bar at a station [px]
_GRID = (241, 33)  # where the smooth figures are reckoned, along and up
_STRIP = 150  # half height of the view along an edge [px]


def plan_png(plan: Plan, units: str, title: str = "", *, maps_alone: bool = False) -> bytes:
    """Return the sheet as a PNG."""
    out = io.BytesIO()
    plan_image(plan, units, title, maps_alone=maps_alone).save(out, "PNG")
    return out.getvalue()


def plan_image(plan: Plan, units: str, title: str = "", *, maps_alone: bool = False) -> Image.Image:
    """Return the sheet as an image, as tall as it needs to be; without its table and cautions where ``maps_alone``."""
    sheet = _Sheet(plan, units, Image.new("RGB", (WIDE, 6000), PAPER))
    y = _head(sheet, title)
    left, right, thick = _figures(plan)
    y = _face(sheet, y, "Thickness now", thick, _Look(_THICK, 0.0, float(thick.max())), "right", lambda s: s.now)
    look = _take_look(sheet, left, right)
    y = _face(sheet, y, "Take off the left face", left, look, "left", lambda s: s.left)
    y = _face(sheet, y, "Take off the right face", right, look, "right", lambda s: s.right)
    for place in ("spine", "edge"):
        y = _strip(sheet, y, place)
    y = y if maps_alone else _foot(sheet, _table(sheet, y))
    return sheet.image.crop((0, 0, WIDE, min(y + MARGIN // 2, 6000)))


def _figures(plan: Plan) -> tuple[Array, Array, Array]:
    """Return what comes off left and right, and the thickness now, on a grid along and up the blade [m]."""
    x, w = np.linspace(0, plan.blade.length, _GRID[0]), np.linspace(0, 1, _GRID[1])
    here, share = np.meshgrid(x, w, indexing="ij")
    up = plan.blade.edge_y(here) + share * plan.blade.height(here)
    return *plan.removal(here, up), plan.thickness(here, up)


def _take_look(sheet: _Sheet, left: Array, right: Array) -> _Look:
    most = max(float(left.max()), float(right.max()), STEP[sheet.units])
    return _Look(_TAKE, 0.0, most, sheet.plan.least.face)


@dataclass(frozen=True)
class _Look:
    """Colours of a map, the figures they run between [m], and the least below which it is hatched."""

    ramp: tuple[Colour, Colour, Colour]
    low: float
    high: float
    least: float | None = None

    def colour(self, values: Array) -> Array:
        """Return colours (..., 3) for figures."""
        t = np.clip((values - self.low) / (self.high - self.low), 0, 1)
        return np.stack([np.interp(t, (0, 0.5, 1), [c[k] for c in self.ramp]) for k in range(3)], axis=-1)


@dataclass(frozen=True, eq=False)
class _Sheet:
    plan: Plan
    units: str
    image: Image.Image

    @property
    def draw(self) -> ImageDraw.ImageDraw:
        """Return the pen."""
        return ImageDraw.Draw(self.image)

    @property
    def pixel(self) -> float:
        """Return the size of a pixel [m]."""
        return self.plan.blade.length / (WIDE - 2 * MARGIN)

    def across(self, x: float, side: str) -> float:
        """Return where a distance from the heel lies on the sheet [px]; the left face runs to the left."""
        return MARGIN + x / self.pixel if side == "right" else WIDE - MARGIN - x / self.pixel

    @property
    def unit(self) -> str:
        """Return the unit of the figures."""
        return "thou" if self.units == "imperial" else "mm"


def _head(sheet: _Sheet, title: str) -> int:
    """Write title, verdict and the least per face; return where the next thing starts."""
    plan, draw = sheet.plan, sheet.draw
    when = "for hardening" if plan.state == "hardening" else "to finish"
    write(draw, (MARGIN, 60), fitted(draw, f"{title or 'Blade'}: grinding {when}", 56, WIDE - 2 * MARGIN), 56, INK)
    y = 146
    texts = (
        (verdict(plan, sheet.units), INK if plan.shortfall == 0 else SHORT),
        (least_words(plan, sheet.units), SOFT),
    )
    for text, ink in texts:
        for line in wrapped(draw, text, 36, WIDE - 2 * MARGIN):
            write(draw, (MARGIN, y), line, 36, ink)
            y += 48
    return y + 24


def _face(sheet: _Sheet, y: int, title: str, values: Array, look: _Look, side: str, shown: Callable[..., int]) -> int:
    """Draw one map with its bars; return where the next thing starts."""
    plan, draw = sheet.plan, sheet.draw
    write(draw, (MARGIN, y), f"{title}, {sheet.unit}", _BIG, INK)
    _legend(sheet, y + 10, look)
    picture, mask = _painted(sheet, values, look, side)
    tall = picture.height
    reach = _BAR if look.least is not None else 0
    top = y + 72 + reach + 48
    sheet.image.paste(picture, (MARGIN, top), mask)
    draw.line(_border(sheet, side, 1, (MARGIN, top)), fill=INK, width=3, joint="curve")
    sums = [sum_of(row, sheet.units) for row in plan.stations]
    most = max(shown(s) for s in sums) or 1
    taken: list[tuple[float, float, float, float]] = []
    for row, s in zip(plan.stations, sums, strict=True):
        removal = look.least is not None
        bar = 0.0 if row.gone else reach * shown(s) / most
        text = s.say(s.now) if not removal else "-" if row.gone else s.side(shown(s))
        _station(sheet, row, text.split()[0], side, (top, tall), bar, taken)
    foot = top + tall + reach + 56
    if look.least is None:
        _ring(sheet, top, foot)
    write(draw, (sheet.across(0, side), foot), "heel", _FINE, SOFT, "la" if side == "right" else "ra")
    return foot + 64


def _extent(plan: Plan) -> tuple[float, float]:
    x = np.linspace(0, plan.blade.length, 257)
    return float(plan.blade.edge_y(x).min()), float(plan.blade.spine_y(x).max())


def _painted(sheet: _Sheet, values: Array, look: _Look, side: str) -> tuple[Image.Image, Image.Image]:
    """Return the smooth figures with level lines, hatched where they are short, and the outline as a mask."""
    plan, pixel = sheet.plan, sheet.pixel
    low, high = _extent(plan)
    wide, tall = WIDE - 2 * MARGIN, int((high - low) / pixel)
    x = (np.arange(wide) + 0.5) * pixel
    x = x if side == "right" else x[::-1]
    y = high - (np.arange(tall)[:, None] + 0.5) * pixel
    share = np.clip((y - plan.blade.edge_y(x)) / np.maximum(plan.blade.height(x), 1e-9), 0, 1)
    where = np.stack([np.broadcast_to(x / plan.blade.length * (_GRID[0] - 1), share.shape), share * (_GRID[1] - 1)])
    field = map_coordinates(values, where, order=1, mode="nearest")
    colours = look.colour(field)
    colours = colours * (1 - 0.35 * _levels(field, _level_step(look, sheet.units))[..., None])
    if look.least is not None:
        row, col = np.indices(field.shape)
        colours[(field < look.least - 5e-6) & ((row + (col if side == "right" else wide - 1 - col)) % 18 < 4)] = SHORT
    return Image.fromarray(colours.astype(np.uint8)), _mask(sheet, side, wide, tall)


def _border(sheet: _Sheet, side: str, zoom: int, at: tuple[float, float] = (0, 0)) -> list[tuple[float, float]]:
    """Return the outline on the sheet [px]."""
    x, y = sheet.plan.blade.outline(300)
    top = _extent(sheet.plan)[1]
    along = x / sheet.pixel if side == "right" else (sheet.plan.blade.length - x) / sheet.pixel
    return [(at[0] + a * zoom, at[1] + b * zoom) for a, b in zip(along, (top - y) / sheet.pixel, strict=True)]


def _mask(sheet: _Sheet, side: str, wide: int, tall: int) -> Image.Image:
    """Return the outline filled, with smooth borders."""
    mask = Image.new("L", (wide * 3, tall * 3), 0)
    ImageDraw.Draw(mask).polygon(_border(sheet, side, 3), fill=255)
    return mask.reduce(3)


def _level_step(look: _Look, units: str) -> float:
    """Return a round step that gives three to eight level lines [m]."""
    base = 1e-3 if units == "metric" else 2.54e-5
    steps = [n * 10.0**e * base for e in range(-2, 3) for n in (1, 2, 5)]
    return next((s for s in steps if (look.high - look.low) / s <= 7), steps[-1])


def _levels(field: Array, step: float) -> Array:
    """Return 1 on the level lines of a field, falling off within a pixel or so."""
    phase = field / step
    slope = np.hypot(*np.gradient(phase)) + 1e-12
    return np.asarray(np.clip(1.6 - np.abs(phase - np.round(phase)) / slope, 0, 1) * (np.round(phase) > 0))


def _legend(sheet: _Sheet, y: int, look: _Look) -> None:
    """Draw the colours from least to most at the right, with the step of the level lines."""
    draw, wide = sheet.draw, 420
    x = WIDE - MARGIN - wide - 130
    strip = look.colour(np.broadcast_to(np.linspace(look.low, look.high, wide), (30, wide)))
    sheet.image.paste(Image.fromarray(strip.astype(np.uint8)), (x, y))
    draw.rectangle([x, y, x + wide, y + 30], outline=SOFT)
    write(draw, (x - 14, y + 15), figure(look.low, sheet.units).split()[0], _FINE, SOFT, "rm")
    write(draw, (x + wide + 14, y + 15), figure(look.high, sheet.units).split()[0], _FINE, SOFT, "lm")
    each = small(_level_step(look, sheet.units), sheet.units)
    hatched = "; hatched: less than must come off" if look.least is not None else ""
    write(draw, (x - 110, y + 15), f"a line every {each}{hatched}", _FINE, SOFT, "rm")


def _station(
    sheet: _Sheet,
    row: StationPlan,
    text: str,
    side: str,
    frame: tuple[int, int],
    bar: float,
    taken: list[tuple[float, float, float, float]],
) -> None:
    """Draw a station's bar outward from spine or edge with its figure, or a dot with its figure on the face."""
    draw, top = sheet.draw, frame[0]
    x = sheet.across(row.station.x, side)
    y = top + (_extent(sheet.plan)[1] - row.station.y) / sheet.pixel
    tone = SHORT if row.thinner > STEP[sheet.units] / 2 else INK
    if row.station.place == "face":
        draw.ellipse([x - 7, y - 7, x + 7, y + 7], fill=tone, outline=PAPER, width=2)
        draw.text((x + 16, y), text, fill=tone, font=font(_TEXT), anchor="lm", stroke_width=4, stroke_fill=PAPER)
        return
    out = -1 if row.station.place == "spine" else 1
    tip = y + out * (bar + 10)
    draw.line([(x, y), (x, tip)], fill=tone, width=10 if bar else 4)
    half = draw.textlength(text, font=font(_TEXT)) / 2
    x = min(max(x, MARGIN / 3 + half), WIDE - MARGIN / 3 - half)
    spot = _free(x, tip + out * 22, half, out, taken)
    write(draw, spot, text, _TEXT, tone, "mm")


def _free(
    x: float, y: float, half: float, out: int, taken: list[tuple[float, float, float, float]]
) -> tuple[float, float]:
    """Move a figure outward until it lies on no other one."""
    for _ in range(3):
        box = (x - half - 6, y - 18, x + half + 6, y + 18)
        if not any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken):
            break
        y += out * 38
    taken.append((x - half - 6, y - 18, x + half + 6, y + 18))
    return x, y


def _ring(sheet: _Sheet, top: int, foot: int) -> None:
    """Mark where to measure next."""
    found, blade = sheet.plan.next, sheet.plan.blade
    if found is None:
        return
    x = sheet.across(found.x, "right")
    y = top + (_extent(sheet.plan)[1] - float(blade.edge_y(found.x)) - found.height) / sheet.pixel
    sheet.draw.ellipse([x - 20, y - 20, x + 20, y + 20], outline=PAPER, width=12)
    sheet.draw.ellipse([x - 18, y - 18, x + 18, y + 18], outline=SHORT, width=6)
    words = next_words(sheet.plan, sheet.units)[0]
    write(sheet.draw, (WIDE - MARGIN, foot), f"ring: {words[0].lower()}{words[1:]}", _FINE, SHORT, "ra")


def _strip(sheet: _Sheet, y: int, place: str) -> int:
    """Draw the blade along its spine or edge from above, tip right, so the left face is the upper one."""
    rows = [row for row in sheet.plan.stations if row.station.place == place]
    if not rows:
        return y
    reach = max(abs(row.bow) + row.station.reading.thickness / 2 for row in rows)
    reach = max(reach, max(abs(row.plane) + row.target / 2 for row in rows)) * 1.15
    draw, zoom, middle = sheet.draw, _STRIP / reach, y + 70 + _STRIP
    times = round(zoom * sheet.pixel)
    write(draw, (MARGIN, y), f"Along the {place} from above, left face uppermost", _BIG, INK)
    note = f"thickness drawn {times} times too large; grey comes off, dark stays; thin line: the reference"
    write(draw, (WIDE - MARGIN, y + 10), note, _FINE, SOFT, "ra")
    x = [sheet.across(row.station.x, "right") for row in rows]
    now = [(row.bow, row.station.reading.thickness) for row in rows]
    then = [(row.plane + _aside(sheet.plan, row), max(row.final, 0.0)) for row in rows]
    for pairs, fill in ((now, LINE), (then, (64, 74, 84))):
        _band(draw, x, pairs, middle, zoom, fill)
    draw.line([(MARGIN, middle), (WIDE - MARGIN, middle)], fill=PAPER, width=2)
    for at in x:
        draw.line([(at, middle - _STRIP), (at, middle + _STRIP)], fill=SOFT, width=1)
    return middle + _STRIP + 60


def _aside(plan: Plan, row: StationPlan) -> float:
    """Return how far the middle between the faces lies right of the mid-plane by design [m]."""
    s = row.station
    return float(plan.blade.half(s.x, s.y, "right") - plan.blade.half(s.x, s.y, "left")) / 2


def _band(
    draw: ImageDraw.ImageDraw,
    x: list[float],
    pairs: list[tuple[float, float]],
    middle: float,
    zoom: float,
    fill: Colour,
) -> None:
    """Draw a band of (middle, thickness) [m] over x; a single station is a short bar."""
    if len(x) == 1:
        x, pairs = [x[0] - 30, x[0] + 30], pairs * 2
    upper = [(at, middle + (m - t / 2) * zoom) for at, (m, t) in zip(x, pairs, strict=True)]
    lower = [(at, middle + (m + t / 2) * zoom) for at, (m, t) in zip(x, pairs, strict=True)]
    draw.polygon([*upper, *reversed(lower)], fill=fill)


def _table(sheet: _Sheet, y: int) -> int:
    """Write the stations as a table."""
    heads, rows = table(sheet.plan, sheet.units)
    draw = sheet.draw
    stops = np.cumsum([0, 240, 260, 230, 230, 280, 280, 260])[: len(heads)] + MARGIN
    for x, head in zip(stops, heads, strict=True):
        write(draw, (float(x), y), head, _TEXT, SOFT)
    y += 50
    for row, plan in zip(rows, sheet.plan.stations, strict=True):
        draw.line([(MARGIN, y - 6), (WIDE - MARGIN, y - 6)], fill=LINE, width=1)
        for x, cell in zip(stops, row, strict=True):
            write(draw, (float(x), y), cell, _TEXT, SHORT if plan.thinner > STEP[sheet.units] / 2 else INK)
        y += 48
    write(draw, (MARGIN, y + 6), "Left and right with the edge down, tip away.", _FINE, SOFT)
    return y + 60


def _foot(sheet: _Sheet, y: int) -> int:
    """Write what to beware of at the grinder."""
    for text in (
        " ".join(AT_THE_GRINDER).format(beyond=figure(BEYOND_COLOUR, sheet.units)),
        *cautions(*topics(sheet.plan)),
    ):
        for line in wrapped(sheet.draw, text, _FINE, WIDE - 2 * MARGIN):
            write(sheet.draw, (MARGIN, y), line, _FINE, SOFT)
            y += 38
    return y
