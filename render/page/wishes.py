"""Faces drawn for the page: one drawing at a time, and the newest wish of each window wins."""

from __future__ import annotations

import io
import json
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from billet.base.errors import InputError
from billet.blade import State
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from render.drawing import tinted
from render.etch import FINISHES
from render.kept import Shelf
from render.light import table_code
from render.page.books import Books, shop_of
from render.page.edit import checked
from render.picture import composed
from render.request import Request, chosen_bar
from render.session import Session, session

NARROW, WIDE = 200, 2600
VIEWS = ("left", "right", "both", "spine", "choil", "section", "bar-face", "bar-side", "bar-end")
_GAP = 0.014  # between the faces, as a share of the width, so that a quick picture stands as the fine one does
_JPEG = 82


@dataclass(frozen=True)
class Wish:
    """What a window wants to see."""

    blade: str | None = None
    view: str = "both"
    width: int = 1000
    quick: bool = False
    offset: float | None = None
    grind: float | None = None
    light: float | None = None
    finish: str | None = None
    state: State = "finished"
    at: float | None = None
    after: str | None = None
    welds: bool = False
    edits: tuple[Mapping[str, Any], ...] = ()

    @classmethod
    def read(cls, asked: Mapping[str, str]) -> Wish:
        """A wish from the words of an address. Raises InputError."""
        view = asked.get("view", "both")
        if view not in VIEWS:
            raise InputError(f'view: found "{view[:40]}", wanted one of {", ".join(VIEWS)}')
        finish = asked.get("finish") or None
        if finish is not None and finish not in FINISHES:
            raise InputError(f'finish: found "{finish[:40]}", wanted one of {", ".join(FINISHES)}')
        try:
            edits = json.loads(asked.get("edits") or "[]")
        except (ValueError, RecursionError):
            raise InputError("edits: this is not JSON") from None
        return cls(
            blade=asked.get("blade") or None, view=view, width=int(_number(asked, "width", 1000, NARROW, WIDE) or 1000),
            quick=asked.get("quality") == "drag", offset=_number(asked, "offset_m", None, -0.05, 0.05),
            grind=_number(asked, "grind_m", None, -0.01, 0.01), light=_number(asked, "light_rad", None, -20, 20),
            finish=finish, state="hardening" if asked.get("state") == "hardening" else "finished",
            at=_number(asked, "at_m", None, 0, 2), after=asked.get("after") or None, welds=asked.get("welds") == "1",
            edits=tuple(checked(edits)),
        )  # fmt: skip

    @property
    def request(self) -> Request:
        """What is drawn, apart from how the knife is moved."""
        view = None if self.view == "both" else self.view
        return Request(view=view, width=self.width, bare=True, state=self.state, after=self.after)

    def moves(self, drawing: Session) -> Session:
        """The drawing with blade, grind, light and finish as wished. Raises InputError."""
        return drawing.with_(offset=self.offset, grind=self.grind or None, light=self.light, finish=self.finish)


def _number(asked: Mapping[str, str], name: str, usual: float | None, low: float, high: float) -> float | None:
    text = asked.get(name)
    if not text:
        return usual
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise InputError(f'{name}: found "{text[:30]}", wanted a number from {low:g} to {high:g}')
    return value


@dataclass(frozen=True)
class Drawn:
    """An encoded picture: its bytes, its kind, and where the views lie in it."""

    data: bytes
    kind: str
    places: tuple[Mapping[str, Any], ...] = ()


class Desk:
    """The one drawing place. Who waits while a newer wish of the same window arrives is passed over."""

    def __init__(self, books: Books) -> None:
        self.books = books
        self._sessions: Shelf = Shelf(6)  # each up to some hundred megabytes
        self._tags: Shelf = Shelf(
            400
        )  # pictures of bars after their steps, some kilobytes each; their sessions are not kept
        self._pen, self._newest = threading.Lock(), dict[str, int]()

    def draw(
        self,
        path: Path,
        text: str,
        wish: Wish,
        client: str = "",
        number: int = 0,
        given_up: Callable[[], bool] = lambda: False,
    ) -> Drawn | None:
        """Draw a wish; None when a newer one has come, or whoever asked has gone. Raises InputError."""
        self._newest[client] = max(number, self._newest.get(client, 0))
        with self._pen:
            if number < self._newest[client] or given_up():
                return None
            return self._drawn(path, text, wish)

    def _drawn(self, path: Path, text: str, wish: Wish) -> Drawn:
        if wish.after and not wish.edits:
            key = (path, text, shop_of(path), wish)
            return self._tags.get(key, lambda: _bar_alone(session(self.books.reached(path, text), wish.request), wish))
        book = self.books.wished(path, text, wish.edits, wish.blade, quick=wish.quick)
        if wish.view in ("spine", "choil", "section") or wish.welds:
            return self._whole(book, wish)
        return _faces(self.kept(book, wish), wish)

    def wished(self, path: Path, text: str, wish: Wish) -> Ledger:
        """The ledger with the knife as it is wished; nothing is drawn. Raises InputError."""
        book = self.books.wished(path, text, wish.edits, wish.blade, quick=wish.quick)
        return wish.moves(session(book, wish.request)).ledger

    def kept(self, book: Ledger, wish: Wish) -> Session:
        """The session of a wish: bar and tables are kept, the blade moves in them."""
        base: Session = self._sessions.get((book.bars, wish.request), lambda: session(book, wish.request))
        tables = book.recipe.tables
        moved = base.with_(blade=tables.blade, etch=tables.etch) if tables.blade is not None else base
        return wish.moves(moved)

    def _whole(self, book: Ledger, wish: Wish) -> Drawn:
        """A view with its captions, as the command draws it."""
        view = None if wish.view == "both" else wish.view
        request = Request(
            view=view, width=wish.width, state=wish.state, at=wish.at, welds=wish.welds, bare=view is None
        )
        return Drawn(png(composed(wish.moves(session(book, request))).image), "image/png")


def _faces(drawing: Session, wish: Wish) -> Drawn:
    """The views under one another without words, and where each lies."""
    panels = [(name, drawing.panel(name, quick=wish.quick)) for name in drawing.request.views]
    wide = max(panel.window.cols for _, panel in panels)
    gap = round(_GAP * wide)
    tall = sum(panel.window.rows for _, panel in panels) + gap * (len(panels) - 1)
    canvas: NDArray[np.uint8] = np.full((tall, wide), table_code(), np.uint8)
    places, top = [], 0
    for name, panel in panels:
        rows, cols = panel.codes.shape
        left = (wide - cols) // 2
        canvas[top : top + rows, left : left + cols] = panel.codes
        places.append(panel.place(name, (left, top)))
        top += rows + gap
    image = Image.fromarray(canvas)
    if wish.quick:
        out = io.BytesIO()
        image.save(out, "JPEG", quality=_JPEG)
        return Drawn(out.getvalue(), "image/jpeg", tuple(places))
    return Drawn(png(tinted(image)), "image/png", tuple(places))


def _bar_alone(drawing: Session, wish: Wish) -> Drawn:
    """A view of a bar cut to the bar itself, without the table it lies on: its tag shows it to scale."""
    name = drawing.request.views[0]
    panel = drawing.panel(name)
    bar, _ = chosen_bar(drawing.ledger, wish.after)
    across, up = {
        "bar-end": (bar.width, bar.thickness), "bar-face": (bar.length, bar.width), "bar-side": (bar.length, bar.thickness),
    }[name]  # fmt: skip
    rows, cols = panel.codes.shape
    window = panel.window
    left, top = (max(0, round(free / window.pixel)) for free in (-window.left - 0.5 * across, window.top - 0.5 * up))
    cut = panel.codes[top : max(top + 1, rows - top), left : max(left + 1, cols - left)]
    return Drawn(png(tinted(Image.fromarray(np.ascontiguousarray(cut)))), "image/png")


def png(image: Image.Image) -> bytes:
    """A picture as PNG, quickly rather than small."""
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=1)
    return out.getvalue()


def filmstrip(book: Ledger, count: int) -> list[float]:
    """How much deeper each picture of a filmstrip is ground [m]: from hardening thickness to past the finished one."""
    blade = blade_of(book.recipe)
    design = blade.design
    more = 0.5 * (design.spine.at("hardening").heel - design.spine.finished.heel)
    past = 0.25 * design.spine.finished.heel / 2
    before = count // 2
    return [-more * (before - k) / before for k in range(before)] + [
        past * k / (count - before - 1) for k in range(count - before)
    ]
