"""What a picture is asked to show, checked before anything is drawn."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path

from billet.bar.bar import Bar
from billet.base.errors import InputError
from billet.base.units import Kind, read
from billet.blade import State
from billet.ledger.rows import Ledger
from render.views import VIEWS

LARGEST = 100_000_000
"""Pixels of the largest picture."""

_NARROWEST = 200
SMALLEST, LARGEST_PIECE = 0.05e-3, 1.0  # of a piece looked at closely [m]: a few layers of thousands; a sword
_ZOOM = (10e-3, 5e-3)  # what a zoom shows [m]
_CROP = re.compile(r"^(?P<x>.+?),(?P<y>.+?\D)\s+(?P<w>[\d.].*?)\s*[x×]\s*(?P<h>.+)$")


@dataclass(frozen=True)
class Crop:
    """A piece of a view: its centre from heel and edge line (bars: from the left and lower border of the view) and its
    size [m].
    """

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Request:
    """One picture. view None shows both faces; after is the number of a step, perhaps with its bar as "name:3"; at is
    the station of a section [m].
    bare leaves title, caption, inset and footer away; stations is a file of readings whose grinding is drawn."""

    view: str | None = None
    after: str | None = None
    state: State = "finished"
    welds: bool = False
    width: int = 2400
    crop: Crop | None = None
    at: float | None = None
    station: float = 0.05
    two_tone: bool = False
    workers: int = 1
    bare: bool = False
    stations: Path | None = None

    def __post_init__(self) -> None:
        if self.view is not None and self.view not in VIEWS:
            raise InputError(
                f'--view: found "{self.view}", wanted one of {", ".join(VIEWS)}; left out, both faces are shown'
            )
        if self.state not in ("finished", "hardening"):
            raise InputError(f'--ground: found "{self.state}", wanted finished or hardening')
        if self.after is not None and not self.of_bar:
            raise InputError("--after: an earlier step is shown on the bar; add --view bar-face, bar-side or bar-end")
        if self.width < _NARROWEST:
            raise InputError(f"--width: found {self.width}, wanted at least {_NARROWEST} pixels")
        if self.crop is not None and self.view is None:
            raise InputError("--crop: say which face is to be looked at closely, such as --view right")
        if self.stations is not None and self.view not in (None, "left", "right"):
            raise InputError(f"--stations: found --view {self.view}, and readings move the faces; wanted left or right")
        check_size(
            self.width, 0.3 * self.width if self.crop is None else self.width * self.crop.height / self.crop.width
        )

    @property
    def of_bar(self) -> bool:
        """Tell whether the picture shows the bar and not the blade."""
        return self.view is not None and self.view.startswith("bar-")

    @property
    def views(self) -> tuple[str, ...]:
        """The views drawn, from the top."""
        return ("left", "right") if self.view is None else (self.view,)


def check_size(width: float, height: float) -> None:
    """Refuse a picture that is too large to be useful."""
    if width * height > LARGEST:
        raise InputError(
            f"--width: a picture of {width:,.0f} by {height:,.0f} pixels "
            f"is more than {LARGEST // 1_000_000} megapixels; "
            "ask for fewer pixels, or for a closer look at a small piece with --crop"
        )


def read_crop(text: str) -> Crop:
    """Read "120 mm, 20 mm 10 mm x 5 mm": the centre from heel and edge, then width x height."""
    found = _CROP.match(text.strip())
    if found is None:
        raise InputError(
            f'--crop: found "{text}", wanted the centre and the size of the piece, such as "120 mm, 20 mm 10 mm x 5 mm"'
        )
    x, y, w, h = (float(read(found[k], Kind.LENGTH, "--crop", signed=k in "xy")) for k in "xywh")
    if w <= 0 or h <= 0:
        raise InputError(
            f'--crop: found "{text}", and a piece needs a width and a height, such as "120 mm, 20 mm 10 mm x 5 mm"'
        )
    if not (SMALLEST <= w <= LARGEST_PIECE and SMALLEST <= h <= LARGEST_PIECE):
        raise InputError(
            f'--crop: found "{text}", and a piece is from 0.05 mm to 1 m wide and high, such as "120 mm, 20 mm 10 mm x 5 mm"'
        )
    return Crop(x, y, w, h)


def read_zoom(text: str) -> Crop:
    """Read "120 mm, 20 mm": a close look 10 mm wide round a point, from heel and edge."""
    x, comma, y = text.partition(",")
    if not comma:
        raise InputError(f'--zoom: found "{text}", wanted a point from heel and edge, such as "120 mm, 20 mm"')
    along, up = (float(read(part.strip(), Kind.LENGTH, "--zoom", signed=True)) for part in (x, y))
    return Crop(along, up, *_ZOOM)


def asked(
    *,
    view: str | None,
    after: str | None,
    state: str,
    welds: bool,
    width: int,
    crop: str | None,
    at: str | None,
    two_tone: bool,
    zoom: str | None = None,
    stations: Path | None = None,
) -> Request:
    """Return the request that a command's options spell out; a zoom without a view looks at the right face."""
    if crop is not None and zoom is not None:
        raise InputError("--zoom: found --crop beside it, wanted one of them; --zoom is 10 mm wide, --crop any size")
    station = None if at is None else float(read(at, Kind.LENGTH, "--at"))
    closely = read_zoom(zoom) if zoom is not None else None if crop is None else read_crop(crop)
    return Request(
        view or (None if zoom is None else "right"), after, state, welds, width, closely, station,  # type: ignore[arg-type]
        two_tone=two_tone, workers=os.cpu_count() or 1, stations=stations,
    )  # fmt: skip


def chosen_bar(ledger: Ledger, after: str | None) -> tuple[Bar, str]:
    """Return the bar to look at and words for it: the last bar after its last step unless `after` says otherwise."""
    name, _, number = (after or "").rpartition(":")
    runs = {run.name: run for run in ledger.bars}
    if name and name not in runs:
        raise InputError(f'--after: found the bar "{name}", wanted one of {", ".join(runs)}')
    run = runs[name] if name else ledger.bars[-1]
    if after is None:
        return run.last, f"{run.name} after its last step"
    if not re.fullmatch(r"\s*[0-9]{1,9}\s*", number):
        raise InputError(
            f'--after: found "{after}", wanted the number of a step, such as --after 3 or --after "{run.name}:3"'
        )
    bar = run.after(int(number))
    return bar, f"{run.name} after step {int(number)} ({run.rows[int(number)].do})"
