"""All that the page can be asked: every question a method, in plain values, apart from how it is asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from billet.base.errors import InputError
from billet.base.safety import cautions
from billet.base.units import Kind, show
from billet.ledger.rows import Ledger
from billet.where import look
from billet.where.words import as_data, if_open, moving, told
from render.page.bench import add_note, bench_view, grind_view
from render.page.books import Books, shop_of
from render.page.draggable import shapes
from render.page.edit import checked, edited_text
from render.page.fire import fire_view
from render.page.folder import Folder
from render.page.forms import forms
from render.page.history import ChangedOutsideError, History, still, version_of
from render.page.plans import Plans
from render.page.refusals import in_the_text, known_plates, refused
from render.page.view import bar_holds, knife_view, news
from render.page.wishes import Desk, Drawn, Wish, filmstrip

Data = Mapping[str, Any]
_SOLID_WIDTH = 1800  # pixels of the pictures laid over the knife
_LONGEST = 2_000_000
_FAR = 10.0  # m; no knife reaches so far
_DIGITS = 16  # of a number that counts something


class House:
    """One folder opened: recipes, their histories, ledgers, drawings and searches."""

    def __init__(self, root: Path, opened: str | None = None) -> None:
        self.folder, self.opened = Folder(root), opened
        self.history, self.books, self.plans = History(root), Books(), Plans()
        self.desk = Desk(self.books)

    def close(self) -> None:
        """Close what is open."""
        self.history.close()

    def listing(self, _: Data) -> dict[str, Any]:
        """The folder's knives and the starting points."""
        return {
            "folder": str(self.folder.root),
            "knives": self.folder.knives(),
            "beyond": self.folder.beyond(),
            "starts": self.folder.starts(),
            "open": self.opened,
            "cautions": cautions("fire", "press", "grinder", "quench", "acid"),
        }

    def forms(self, _: Data) -> dict[str, Any]:
        """Every step and table with its fields, for either kind of units."""
        return {units: forms(units) for units in ("metric", "imperial")}

    def create(self, asked: Data) -> dict[str, Any]:
        """A new knife from a starting point. Raises InputError for a name that is taken."""
        path = self.folder.new(asked.get("start"), asked.get("file"), asked.get("title"))
        return knife_view(self.books, self.history, path)

    def knife(self, asked: Data) -> dict[str, Any]:
        """A knife as it stands on disk."""
        return knife_view(self.books, self.history, self.folder.path(asked.get("file")))

    def edit(self, asked: Data) -> dict[str, Any]:
        """Edits written into the recipe, comments kept; what the recipe refuses is not written."""
        path = self.folder.path(asked.get("file"))
        text = still(path, self.history.text(path), asked.get("version"))
        edits = checked(asked.get("edits"))
        made = edited_text(text, edits)
        try:
            known_plates(self.books.recipe(path, made), edits)
        except InputError as error:
            raise refused(error, edits[0]["path"] if edits else ()) from None
        return self._saved(path, asked, made)

    def text(self, asked: Data) -> dict[str, Any]:
        """The whole text of a recipe, written anew."""
        text = asked.get("text")
        if not isinstance(text, str) or len(text) > _LONGEST:
            raise InputError("text: wanted the text of a recipe")
        try:
            return self._saved(self.folder.path(asked.get("file")), asked, text)
        except ChangedOutsideError:
            raise
        except InputError as error:
            raise InputError(in_the_text(str(error))) from None

    def _saved(self, path: Path, asked: Data, text: str) -> dict[str, Any]:
        self.books.recipe(path, text)
        self.history.save(path, str(asked.get("version")), text)
        return knife_view(self.books, self.history, path)

    def undo(self, asked: Data) -> dict[str, Any]:
        """One text back."""
        return self._stepped(asked, -1)

    def redo(self, asked: Data) -> dict[str, Any]:
        """One text forward."""
        return self._stepped(asked, 1)

    def _stepped(self, asked: Data, by: int) -> dict[str, Any]:
        path = self.folder.path(asked.get("file"))
        self.history.step(path, str(asked.get("version")), by)
        return knife_view(self.books, self.history, path)

    def version(self, asked: Data) -> str:
        """What names the text on disk now."""
        return version_of(self.history.text(self.folder.path(asked.get("file"))))

    def standing(self, asked: Data) -> dict[str, str]:
        """What names the texts on disk now: the recipe's, and the shop's where its own was asked for too."""
        shop = {"shop": version_of(shop_of(self.folder.path(asked.get("file"))))} if "shop" in asked else {}
        return {"version": self.version(asked), **shop}

    def draw(self, asked: Mapping[str, str], given_up: Callable[[], bool] = lambda: False) -> Drawn | None:
        """A picture; None when the same window has already wished for another, or nobody waits for it any more."""
        path = self.folder.path(asked.get("file"))
        text = self._text(path, asked)
        client = asked.get("client", "")[:40]
        number = _counted(asked.get("wish", ""), 0) if client else 0
        return self.desk.draw(path, text, Wish.read(asked), client if number else "", number, given_up)

    def _text(self, path: Path, asked: Mapping[str, Any]) -> str:
        """The text on disk, or an earlier one that is asked for by its version."""
        now = self.history.text(path)
        wanted = asked.get("at")
        if not wanted or wanted == version_of(now):
            return now
        earlier = self.history.earlier(path, str(wanted))
        if earlier is None:
            raise InputError("at: this recipe never had that text")
        return earlier

    def _book(self, asked: Data, *, diffuse: bool = True) -> tuple[Path, Ledger]:
        path = self.folder.path(asked.get("file"))
        return path, self.books.of_blade(path, self._text(path, asked), asked.get("blade"), diffuse=diffuse)

    def shapes(self, asked: Data) -> dict[str, Any]:
        """What can be dragged."""
        path = self.folder.path(asked.get("file"))
        recipe = self.books.recipe(path, self._text(path, asked))
        return {"shapes": shapes(recipe, asked.get("blade"))}

    def strip(self, asked: Data) -> dict[str, Any]:
        """The addresses of a filmstrip: the pattern as it is ground deeper."""
        path, book = self._book(asked)
        units, count = book.recipe.tables.units, 6
        common = {
            "file": path.name,
            "blade": asked.get("blade") or "",
            "view": asked.get("view") or "right",
            "width": 420,
        }
        out = []
        for depth in filmstrip(book, count):
            far = show(abs(depth), Kind.LENGTH, units, fine=True)
            said = "as finished" if abs(depth) < 1e-6 else f"{far} a face {'deeper' if depth > 0 else 'to go'}"
            query = urlencode({**common, "grind_m": f"{depth:.7f}", "at": version_of(book.recipe.text)})
            out.append({"grind_m": depth, "words": said, "url": f"/api/draw?{query}"})
        return {"pictures": out}

    def solid(self, asked: Data) -> Drawn:
        """The knife as a solid, for the viewer."""
        from render.solid.glb import as_glb, solid

        return Drawn(as_glb(solid(self._book(asked, diffuse=False)[1], _SOLID_WIDTH)), "model/gltf-binary")

    def where(self, asked: Data) -> dict[str, Any]:
        """What a spot of a face is, on the knife as it is wished: dragged, or ground deeper."""
        path = self.folder.path(asked.get("file"))
        book = self.desk.wished(path, self._text(path, asked), Wish.read(asked))
        units = book.recipe.tables.units
        face = asked.get("face")
        try:
            x, y = float(asked.get("x_m", "")), float(asked.get("y_m", ""))
        except ValueError:
            x = y = float("nan")
        if not (abs(x) < _FAR and abs(y) < _FAR):
            raise InputError("where: wanted x_m and y_m, metres from the heel and from the edge line")
        if face not in ("left", "right"):
            raise InputError("where: wanted face=left or face=right")
        try:
            found = look(book, face, x, y)
        except InputError as error:
            raise InputError(str(error).removeprefix("where: ").partition("; `billet check`")[0]) from None
        lines = [line.strip() for line in (*told(found, book), *moving(found, units))]
        return {"lines": lines, "if_open": list(if_open(found)), "data": as_data(found, book)}

    def holds(self, asked: Data) -> dict[str, Any]:
        """Whether the bar holds the knife as it is wished, and what is to be minded that was not before."""
        path = self.folder.path(asked.get("file"))
        wish = Wish.read(asked)
        text = self._text(path, asked)
        book = self.desk.wished(path, text, wish)
        return {
            "lines": bar_holds(book),
            "mind": list(news(book, self.books.told(path, text).ledger, wish.grind or 0.0)),
        }

    def fire(self, asked: Data) -> dict[str, Any]:
        """The heat treatment."""
        return fire_view(self._book(asked)[1])

    def bench(self, asked: Data) -> dict[str, Any]:
        """The next stage, notes, stations."""
        return bench_view(*self._book(asked))

    def note(self, asked: Data) -> dict[str, Any]:
        """A note for the bench book."""
        return add_note(self.folder.path(asked.get("file")), asked.get("words"), asked.get("stage"))

    def stations(self, asked: Data) -> dict[str, Any]:
        """What to grind off at measured stations."""
        path, book = self._book(asked)
        return grind_view(path, book, asked.get("readings"), asked.get("to"), asked.get("keep") is not False)

    def plan(self, asked: Data) -> dict[str, Any]:
        """Begin a search for plans."""
        path = self.folder.path(asked.get("file"))
        text = self._text(path, asked)
        recipe, client = self.books.recipe(path, text), str(asked.get("client", ""))[:40]
        seen = (version_of(text), version_of(shop_of(path)))
        return self.plans.start(recipe, asked.get("target"), asked.get("rack"), client, seen).say()

    def planned(self, asked: Data) -> dict[str, Any]:
        """How far a search is."""
        return self.plans.job(asked.get("job")).say()

    def stop_plan(self, asked: Data) -> dict[str, Any]:
        """Stop a search with the best so far."""
        job = self.plans.job(asked.get("job"))
        job.stop = True
        return job.say()

    def plan_picture(self, asked: Data) -> Drawn:
        """The face of one plan."""
        return self.plans.picture(asked.get("job"), _counted(str(asked.get("rank", "")), -1))

    def take_plan(self, asked: Data) -> dict[str, Any]:
        """One plan written as the recipe; it can be taken back like any edit."""
        job, rank = self.plans.job(asked.get("job")), asked.get("rank")
        made = () if job.made is None else job.made.candidates
        if isinstance(rank, bool) or not isinstance(rank, int) or not 0 <= rank < len(made):
            raise InputError("plan: there is no such plan")
        path = self.folder.path(asked.get("file"))
        if path != job.recipe.path:
            raise InputError(
                f"These plans are for {job.recipe.path and job.recipe.path.name}; search anew for this knife."
            )
        shop = version_of(shop_of(path))
        if (version_of(self.history.text(path)), shop) not in job.texts:
            raise InputError(
                "Recipe or shop was changed after this search; search anew, or take the change back first."
            )
        title = self.books.recipe(path, self.history.text(path)).tables.title
        named = edited_text(made[rank].text, [{"op": "set", "path": ["title"], "value": title}])
        seen = self._saved(path, asked, named)
        job.texts.add((seen["version"], shop))
        return seen


def _counted(text: str, otherwise: int) -> int:
    """The number a text counts; another for what is none, or has more digits than anything that is counted here."""
    return int(text) if text.isdecimal() and len(text) < _DIGITS else otherwise
