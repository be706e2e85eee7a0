"""How many layers a line across an etched bar end or bevel crosses, with an honest range, or a refusal that says why.

Layers are counted as the ledger's distinct ones are: dark and bright each count, a layer cut by the end of the line
counts, and two neighbours of one steel are one. Without a line of your own the bar's outline is looked for and the line
runs across the bar's middle from side to side. Where the bar fills the picture it is the picture's own middle line, rim
to rim: the middle column where the layers lie nearer level, the middle row where they stand nearer upright.

What it rests on is stated as numbers below, set by trial on synthetic photographs (no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.base.errors import InputError
from billet.count.bar_border import outline_of
from billet.count.line import Line, band, check_inside, middle_line
from billet.count.orient import Direction, layer_direction
from billet.count.region import layered_region
from billet.count.tally import Tally, tally_layers

Array = NDArray[np.float64]

LEAST_COHERENCE = 0.6  # of the structure tensor; layers reach 0.75 and more, everyday photographs 0.5 and less
LEAST_REPEAT = 0.75  # correlation between the halves of a strip; layers reach 0.86 and more
LEAST_LAYER_PX = 3.4  # measured mean layer; at a true 3 px thin layers melt together and the mean reads up to 3.4
LEAST_CONTRAST = 0.03  # step from layer to layer over the mean brightness
LEAST_LAYERS = 6
LEAST_LINES = 3
LEAST_FILLED = 0.6  # of the picture covered by layers; then it needs no outline
MOST_SCATTER = 0.045  # of the count, strip to strip; layers too fine for the picture scatter by 0.05 to 0.15


class DeclinedError(InputError):
    """The picture was read but its layers cannot be counted; the message says why and what would help."""


@dataclass(frozen=True)
class Count:
    """Layers across a line of a photograph.

    layers: the best figure; low, high: the range that should hold the truth nineteen times in twenty; layers_per_m
    [1/m]: square to the layers on the photographed surface, None without a scale; lines_used: parallel measuring lines
    averaged; orientation_rad [rad]: the layers' direction, from the picture's rows toward its foot; reason: what the
    range rests on; line: where it was measured [px]; seams [px]: where along that line one layer gives way to the next,
    as the most typical measuring line saw them; spanned: how much of the way from one side of the bar to the other the
    line goes (0 to 1), None where the picture does not show both sides.
    """

    layers: int
    low: int
    high: int
    layers_per_m: float | None
    lines_used: int
    orientation_rad: float
    reason: str
    line: Line
    seams: tuple[float, ...]
    spanned: float | None = None


def count_layers(image: Array, *, line: Line | None = None, pixel_m: float | None = None) -> Count:
    """Count the layers in a grey picture (h, w) with values 0 to 1, along a line or across the bar's middle. Of a line
    that leaves the bar only the part inside its outline is measured.

    pixel_m: size of a pixel on the steel [m], for layers_per_m. Raises DeclinedError, with the reason, on a picture
    without layers, with layers of 3 px or less, with too few of them, whose measuring lines disagree, or in which the
    bar cannot be told from what it lies on; InputError on an array that is no picture.
    """
    _check_picture(image, pixel_m)
    region = layered_region(image)
    outline = None if region is None else outline_of(image, region)
    if line is not None:
        check_inside(line, image.shape)
    elif outline is None and region is not None and region.share < LEAST_FILLED:
        telling_direction(region.cut_from(image))
        raise DeclinedError(
            "The bar cannot be told from what it lies on; crop the picture to the layers, or draw a line from side to"
            " side with --along."
        )
    if outline is not None and outline.any_seen:
        line = outline.crossing().within(image.shape) if line is None else outline.clipped(line)
    tally, line = _measured(image, line)
    spanned = outline.share_spanned(line) if outline is not None and outline.seen else None
    return _count(_convincing(tally), line, pixel_m, spanned)


def _measured(image: Array, line: Line | None) -> tuple[Tally, Line]:
    """The tally along the line, or along the picture's own middle line; and that line."""
    if line is None:
        angle = telling_direction(image).angle
        line = middle_line(image.shape, angle)
        upright, angle = band(image, line), line.band_angle(angle)
    else:
        upright = band(image, line)
        angle = telling_direction(upright).angle
    if abs(angle) > np.radians(65):
        raise DeclinedError(
            "The line runs nearly along the layers; draw it across them, as square to the layers as the picture allows."
        )
    return tally_layers(upright, float(np.tan(angle))), line


def telling_direction(image: Array) -> Direction:
    """Direction of the layers in a grey picture (h, w); DeclinedError when brightness changes nearly as much one way as
    another.
    """
    direction = layer_direction(image)
    if direction.coherence < LEAST_COHERENCE:
        raise DeclinedError(
            f"No layers can be told in the picture: its lines agree in direction only to {direction.coherence:.2f}"
            f" where {LEAST_COHERENCE} is"
            " wanted; etch or light the steel so that the layers show, or draw a line across the layered part alone."
        )
    return direction


def _check_picture(image: Array, pixel_m: float | None) -> None:
    """InputError unless the array is a grey picture of finite values and the scale, if given, a length."""
    if image.ndim != 2 or min(image.shape) < 24:
        raise InputError(
            f"The picture is {' x '.join(map(str, image.shape))} values; a grey one of at least 24 x 24 pixels is"
            " wanted."
        )
    if not np.all(np.isfinite(image)):
        raise InputError("The picture holds values that are not numbers; brightness from 0 to 1 is wanted.")
    if pixel_m is not None and not 0 < pixel_m < 1:
        raise InputError(f"A pixel cannot be {pixel_m} m on the steel; its size is wanted in metres, say 0.00002.")


def _convincing(tally: Tally) -> Tally:
    """The tally itself, or DeclinedError with the first reason not to believe it."""
    lines = len(tally.readings)
    if lines < LEAST_LINES:
        raise DeclinedError(
            f"Only {lines} measuring lines fit side by side where {LEAST_LINES} are wanted; give a wider band or a"
            " larger picture."
        )
    if tally.contrast < LEAST_CONTRAST:
        raise DeclinedError(
            f"No layers stand out: the picture's lines differ by {100 * tally.contrast:.1f} % in brightness where"
            f" {100 * LEAST_CONTRAST:.0f} % is"
            " wanted; etch deeper or light it from one side."
        )
    if tally.repeat < LEAST_REPEAT:
        raise DeclinedError(
            f"The lines do not carry on from one strip to the next (they repeat to {tally.repeat:.2f},"
            f" {LEAST_REPEAT} is wanted): noise, scratches"
            " or no layers; etch deeper, light evenly and take the picture again."
        )
    if not tally.layers >= LEAST_LAYERS:
        raise DeclinedError(
            f"Fewer than {LEAST_LAYERS} layers stand out along the line, too few to tell from marks and shadows;"
            " count them by eye."
        )
    if tally.layer_px < LEAST_LAYER_PX:
        raise DeclinedError(
            f"The lines are {tally.layer_px:.1f} pixels apart; below about {LEAST_LAYER_PX} pixels a layer some are"
            " lost unseen: come closer or scan"
            " at a higher resolution."
        )
    if tally.scatter > max(MOST_SCATTER * tally.layers, 0.6):
        raise DeclinedError(
            f"The measuring lines disagree by {tally.scatter:.1f} layers about {tally.layers:.0f}: the layers are"
            " too fine, too wavy or not there;"
            " come closer, or draw a line where they run straight."
        )
    return tally


def _reach(tally: Tally, spanned: float | None) -> tuple[float, float]:
    """How far [layers] the truth may lie below and above the tally: end layers, scatter between strips, thin layers
    lost, the spectrum's doubt, and an outer layer of the bench's own tone where the line ends at the bar's sides.
    """
    doubt = 0.01 * tally.layers * abs(np.log(tally.spectral_px / tally.layer_px))
    spread = 0.8 + 1.5 * tally.scatter + doubt
    outer = 0.0 if spanned is None else 1.0
    return spread, spread + 1.5 * tally.scatter + 0.1 * tally.thin * tally.layers + outer


def _count(tally: Tally, line: Line, pixel_m: float | None, spanned: float | None) -> Count:
    """The Count of a tally made along the line."""
    step_px = line.length / (tally.rows - 1)
    below, above = _reach(tally, spanned)
    apart_px = tally.layer_px * step_px * np.cos(np.arctan(tally.slope))
    typical = min(tally.readings, key=lambda r: abs(len(r.seams) + 1 - tally.layers) + r.first)
    return Count(
        layers=round(tally.layers),
        low=max(round(tally.layers - below), 1),
        high=round(tally.layers + above),
        layers_per_m=None if pixel_m is None else float(1 / (apart_px * pixel_m)),
        lines_used=len(tally.readings),
        orientation_rad=line.layer_angle(tally.slope),
        reason=f"{len(tally.readings)} measuring lines that differ by {tally.scatter:.1f} layers;"
        f" mean layer {apart_px:.1f} px",
        line=line,
        seams=tuple(float(s) * step_px for s in typical.seams),
        spanned=spanned,
    )
