"""A drawing that is kept: ledger, tables and traced faces stay, and a change of blade, grind or light redraws fast.

    kept = session(run(load(path)), Request(view="right", width=1000))
    kept.codes("right")                      # grey codes of the face alone
    kept.with_(offset=0.2e-3).codes("right", quick=True)  # while it is dragged
    composed(kept.with_(light=1.2))          # the whole page of render.picture, with captions and figures

A session is a value: `with_` gives another one, and both may be drawn. They share what did not change.
"""

from __future__ import annotations

from collections.abc import Hashable
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from billet.base.errors import InputError
from billet.blade import Blade, read_blade
from billet.blade.design import BladeDesign, SpineSet
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.tables import Etch
from render.etch import Look
from render.kept import Kept
from render.panel import Painted, Panel, Setting, Subject, light_view, paint_view, setting_of
from render.request import Request, check_size
from render.scene import Ready, ready
from render.subject import look_of, pixel_of, subject_of
from render.surface import Depth
from render.texture import TEXTURES
from render.thin_window import thin_window
from render.views import THIN, View, Window

if TYPE_CHECKING:
    from render.measured_face import Measured


@dataclass(frozen=True, eq=False)
class Session:
    """A ledger and a request that are drawn again and again."""

    ledger: Ledger
    request: Request = field(default_factory=Request)
    kept: Kept = field(default_factory=Kept, repr=False)

    def with_(
        self,
        *,
        blade: BladeDesign | None = None,
        offset: float | None = None,
        grind: float | None = None,
        light: float | None = None,
        finish: str | None = None,
        etch: Etch | None = None,
        request: Request | None = None,
    ) -> Session:
        """Return a session with something changed.

        blade: another `[blade]` table. offset: its mid-plane from the bar's [m]. grind: how much deeper each face is
        ground than the table says [m], negative for shallower. light: where the light comes from, turned from the
        blade's length [rad]. finish: one of `render.etch.FINISHES`. etch: another `[etch]` table. Raises InputError for a blade that cannot be ground.
        """
        ledger = self.ledger
        design = blade or ledger.recipe.tables.blade
        if (offset is not None or grind is not None) and design is None:
            raise InputError("there is no [blade] in this recipe; add one before moving it")
        if design is not None:
            design = design if offset is None else design.model_copy(update={"offset": offset})
            design = design if grind is None else _deeper(design, grind)
            ledger = _with_blade(ledger, design)
        table = etch or ledger.recipe.tables.etch
        table = table.model_copy(update={k: v for k, v in (("light", light), ("finish", finish)) if v is not None})
        if table != ledger.recipe.tables.etch:
            ledger = _with_tables(ledger, etch=table)
        return Session(ledger, request or self.request, self.kept)

    @cached_property
    def subject(self) -> Subject:
        """What is looked at."""
        return self._looked_at[0]

    @cached_property
    def words(self) -> str:
        """Words for the state of what is looked at."""
        return self._looked_at[1]

    @cached_property
    def _looked_at(self) -> tuple[Subject, str]:
        found, words = subject_of(self.ledger, self.request, self._blade)
        return (found if self.ground is None else replace(found, shift=self.ground.shift)), words

    @cached_property
    def _blade(self) -> Blade | None:
        """The blade as a solid, whatever its offset."""
        if self.ledger.recipe.tables.blade is None or self.request.of_bar:
            return None
        return self.kept.get(
            "blade", self._solid, lambda: read_blade(self._plain, folder_of(self.ledger), self.request.state)
        )

    @property
    def _plain(self) -> BladeDesign:
        """The design, set in the middle of the bar."""
        design = self.ledger.recipe.tables.blade
        assert design is not None
        return design.model_copy(update={"offset": 0.0})

    @cached_property
    def _solid(self) -> Hashable:
        """What the solid depends on."""
        if self.request.of_bar:
            return None
        return repr(self._plain), str(folder_of(self.ledger)), self.request.state

    @cached_property
    def ground(self) -> Measured | None:
        """The grinding planned to the request's stations."""
        if self.request.stations is None or self._blade is None:
            return None
        from render.measured_face import measured  # slow to load, and most pictures have no stations

        return measured(self.ledger, self._blade, self.request.stations)

    @cached_property
    def look(self) -> Look:
        """How the steel is etched and lit."""
        return look_of(self.ledger, self.request.two_tone)

    @cached_property
    def windows(self) -> tuple[Window, ...]:
        """The windows of the request's views."""
        subject, request = self.subject, self.request
        if request.crop is not None:
            return (subject.close_up(request.views[0], request.crop, request.width),)
        if request.view in THIN and not request.bare:
            return (thin_window(subject, request.views[0], request.width),)
        pixel = pixel_of(subject, request)
        out = tuple(subject.window(name, pixel) for name in request.views)
        check_size(request.width, sum(w.rows for w in out))
        return out

    def window(self, name: str) -> Window:
        """Return the window of a view."""
        if name in self.request.views:
            return self.windows[self.request.views.index(name)]
        return self.subject.window(name, self.windows[0].pixel)

    def make_ready(self, pool: Executor) -> None:
        """Make what the request's views share, in a pool, before they are drawn at once."""
        windows = self.windows
        textures = [pool.submit(part, windows[0].pixel) for part in TEXTURES if not self.look.two_tone]
        for name, window in zip(self.request.views, windows, strict=True):
            self._ready(name, window)
        for one in textures:
            one.result()

    def panel(
        self, name: str, window: Window | None = None, *, shadow: bool | None = None, quick: bool = False
    ) -> Panel:
        """Return a view drawn, in a window or in its own; quick for one that follows the hand, see `render.field.Scene`."""
        window = window or self.window(name)
        shadow = self.request.crop is None if shadow is None else shadow
        painted = self._painted(name, window, quick)
        key = (name, window, *self._where(), shadow)
        setting: Setting = self.kept.get(
            "setting", key, lambda: setting_of(self.subject, painted.view, name, window, shadow=shadow)
        )
        return light_view(self.subject, painted, setting, self.look)

    def codes(self, name: str | None = None, *, quick: bool = False) -> NDArray[np.uint8]:
        """Return the grey codes of a view alone (rows, columns), without words."""
        return self.panel(name or self.request.views[-1], quick=quick).codes

    def _where(self) -> tuple[Hashable, ...]:
        """What the outline of a view depends on, beside the window."""
        return (self._solid, self.subject.bar if self._solid is None else None, self.subject.at)

    def _painted(self, name: str, window: Window, quick: bool = False) -> Painted:
        subject, look = self.subject, self.look
        offset = None if subject.placement is None else (subject.placement.offset, self._read_stations)
        return self.kept.get(
            "painted",
            (name, window, *self._where(), *self._etch, offset, quick),
            lambda: paint_view(
                subject,
                name,
                window,
                look,
                self._threads,
                self._ready(name, window, quick),
                quick=partial(self._followed, name, window) if quick else None,
            ),
        )

    def _followed(self, name: str, window: Window, kind: type[np.floating]) -> View:
        """A view that follows the hand: a face is fitted once, in the middle of the bar, and moved from there."""
        subject, at = self.subject, self.subject.placement
        if at is None or name not in ("left", "right") or subject.shift is not None:
            return subject.view(name, window, kind)
        middle = replace(subject, placement=replace(at, offset=0.0))
        key = (name, window, self._solid, at.heel_x, at.edge_y, kind)
        view = self.kept.get("view", key, lambda: middle.view(name, window, kind))
        depth = view.surface.z
        assert isinstance(depth, Depth)
        return replace(view, surface=replace(view.surface, z=depth.moved(at.offset)))

    @property
    def _threads(self) -> int:
        """Threads for one view: several views are drawn at once instead."""
        return self.request.workers if len(self.request.views) == 1 else 1

    @cached_property
    def _read_stations(self) -> Hashable:
        """The file of stations as it is now."""
        file = self.request.stations
        return None if file is None else (file, file.stat().st_mtime_ns)

    @property
    def _etch(self) -> tuple[Hashable, ...]:
        """What a table of brightness depends on, beside the size of a pixel."""
        return (self.subject.bar, self.look.strength, self.look.seams)

    def _ready(self, name: str, window: Window, quick: bool = False) -> Ready:
        """Table and welds for a view; one for the faces of a blade, and one for every doubling of the pixel."""
        kind = name if self.subject.blade is None or name not in ("left", "right") else "face"
        size = int(np.floor(2 * np.log2(min(window.pixel, window.rise))))
        first = lambda: self.subject.view(name, window, np.float64)  # noqa: E731
        return self.kept.get(
            "ready",
            (kind, size, *self._etch, quick),
            lambda: ready(self.subject.bar, self.look, first(), window, quick=quick),
        )


def session(ledger: Ledger, request: Request | None = None) -> Session:
    """Return a session for a ledger and a request."""
    return Session(ledger, request or Request())


def folder_of(ledger: Ledger) -> Path:
    """Return where the recipe lies."""
    return ledger.recipe.path.parent if ledger.recipe.path else Path()


def _with_tables(ledger: Ledger, **tables: Any) -> Ledger:
    return replace(ledger, recipe=replace(ledger.recipe, tables=ledger.recipe.tables.model_copy(update=tables)))


def _with_blade(ledger: Ledger, design: BladeDesign) -> Ledger:
    """A ledger with another blade; run again only where the bar is forged to the blade's shape."""
    old = ledger.recipe.tables.blade
    new = _with_tables(ledger, blade=design)
    forged = any(row.step is not None and row.step.forges_to_blade for row in ledger.bars[-1].rows)
    if forged and (old is None or old.model_copy(update={"offset": design.offset}) != design):
        return run(new.recipe)
    return new


def _deeper(design: BladeDesign, by: float) -> BladeDesign:
    """A blade ground deeper on both faces: its spine is thinner, down to its edge."""
    edge = design.edge.finished

    def thinner(spine: SpineSet | None) -> SpineSet | None:
        if spine is None:
            return None
        heel, middle, tip = (max(v - 2 * by, edge) for v in (spine.heel, spine.middle, spine.tip))
        return SpineSet(heel=heel, middle=middle, tip=tip)

    spine = design.spine.model_copy(
        update={"finished": thinner(design.spine.finished), "hardening": thinner(design.spine.hardening)}
    )
    return design.model_copy(update={"spine": spine})
