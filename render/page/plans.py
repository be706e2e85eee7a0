"""Plans sought in the background: progress while it lasts, pictures when they are there, one taken as the recipe."""

from __future__ import annotations

import itertools
import re
import threading
from dataclasses import dataclass, field
from typing import Any

from PIL import Image

from billet.base.errors import InputError
from billet.plan.candidate import Candidate
from billet.plan.infeasible import UnreachableError
from billet.plan.planner import Plan
from billet.plan.planner import plan as seek
from billet.plan.rackfile import read_bar
from billet.plan.tell import answer, in_short, why
from billet.plan.wanted import wanted
from billet.recipe.recipe import Recipe
from billet.recipe.tables import Target
from render.drawing import tinted
from render.page.refusals import on_the_page
from render.page.wishes import Drawn, png
from render.request import Request
from render.session import session

_KEPT, _AT_ONCE = 4, 3
_MOST_BARS = 40
_KEYS = re.compile(r" \((?:[a-z]+_[a-z_]+|spacers|outside|widest)(?:, [a-z_]+)*\)")  # keys named after their words


Seen = tuple[str, str]  # the versions of a recipe and of the shop's file


@dataclass
class Job:
    """One search: its recipe, how far it is, and what it found."""

    recipe: Recipe
    number: int
    client: str = ""
    texts: set[Seen] = field(default_factory=set)  # what a plan of it may be written over
    weighed: int = 0
    made: Plan | None = None
    trouble: str = ""
    done: bool = False
    stop: bool = False
    pictures: dict[int, Drawn] = field(default_factory=dict)

    def say(self) -> dict[str, Any]:
        """How far it is, and the plans with their lines."""
        units = self.recipe.tables.units
        plans = () if self.made is None else self.made.candidates
        return {
            "job": self.number,
            "done": self.done,
            "words": _plainly(self.trouble) or f"{self.weighed:,} ways tried",
            "failed": bool(self.trouble),
            "candidates": [self._one(k, c, units) for k, c in enumerate(plans)],
            "why": [_plainly(one) for one in why(self.made)] if self.made is not None and self.made.candidates else [],
        }

    def _one(self, k: int, c: Candidate, units: str) -> dict[str, Any]:
        return {"rank": k, "short": in_short(c, units), "lines": answer(c, units), "why": c.why}


def _plainly(words: str) -> str:
    """What a plan says of keys of a recipe, without them: the page has fields."""
    return on_the_page(_KEYS.sub("", words).removeprefix("target: "))


class Plans:
    """The searches of this run, the last few kept."""

    def __init__(self) -> None:
        self._jobs: dict[int, Job] = {}
        self._numbers, self._lock = itertools.count(1), threading.Lock()

    def start(self, recipe: Recipe, asked: object, have: object, client: str, seen: Seen) -> Job:
        """Begin a search on the recipe of a version; one that the same window began is stopped. Raises InputError for a
        target that cannot be, or where enough are under way.
        """
        target = wanted(recipe, asked if isinstance(asked, dict) else {})
        rack = None
        if have:
            if not isinstance(have, list) or len(have) > _MOST_BARS:
                raise InputError(f"rack: wanted at most {_MOST_BARS} bars, such as: 2 of 1084 1/8 x 1 1/2 x 48 in")
            rack = tuple(read_bar(str(text)[:200], "rack") for text in have)
        with self._lock:
            others = [job for job in self._jobs.values() if not (job.done or job.stop) and job.client != client]
            if len(others) >= _AT_ONCE:
                raise InputError(f"{_AT_ONCE} searches are under way in other windows; wait for one, or stop it there")
            for mine in self._jobs.values():
                mine.stop = mine.stop or mine.client == client
            job = Job(recipe, next(self._numbers), client, {seen})
            self._jobs[job.number] = job
            for old in [number for number, one in self._jobs.items() if one.done][:-_KEPT]:
                del self._jobs[old]
        threading.Thread(target=_search, args=(job, target, rack), daemon=True, name=f"plan {job.number}").start()
        return job

    def job(self, number: object) -> Job:
        """A search by its number. Raises InputError."""
        found = next((job for known, job in self._jobs.items() if str(number) == str(known)), None)
        if found is None:
            raise InputError("plan: this search is over; start it again")
        return found

    def picture(self, number: object, rank: int, width: int = 460) -> Drawn:
        """The right face of a plan's knife, small. Raises InputError."""
        job = self.job(number)
        candidates = job.made.candidates if job.made is not None else ()
        if not 0 <= rank < len(candidates):
            raise InputError("plan: there is no such plan")
        if rank not in job.pictures:
            drawn = session(candidates[rank].book, Request(view="right", width=width, bare=True)).codes()
            job.pictures[rank] = Drawn(png(tinted(Image.fromarray(drawn))), "image/png")
        return job.pictures[rank]


def _search(job: Job, target: Target, rack: Any) -> None:
    def progress(weighed: int, first: object) -> None:
        job.weighed = weighed
        if job.stop:
            raise KeyboardInterrupt  # as Ctrl-C at the terminal: the best so far

    try:
        job.made = seek(job.recipe, target, rack, progress=progress)
    except UnreachableError as error:
        job.made, job.trouble = error.plan, str(error)
    except InputError as error:
        job.trouble = str(error)
    except KeyboardInterrupt:
        job.trouble = "stopped before the first plan was found"
    finally:
        job.done = True
