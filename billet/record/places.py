"""Which step a note is about: a number, a bar and a number, or what the step does, held against the recipe's steps."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from billet.base.errors import InputError
from billet.record.entry import Place


def places_of(bars: Iterable[Mapping[str, Any]]) -> tuple[Place, ...]:
    """The steps of a ledger in its JSON form: every bar's name with each row's ``number`` and ``do``."""
    return tuple(Place(bar["name"], int(row["number"]), str(row["do"])) for bar in bars for row in bar["steps"])


def find_place(words: str, steps: Sequence[Place]) -> Place:
    """The one step that ``words`` mean: ``5``, ``billet 5``, ``billet weld``, ``weld``, ``billet last``, ``stack``.

    Raises ``InputError`` when no step fits, or when more than one does.
    """
    tidy = re.sub(r"[\s:/,]+", " ", words).strip().lower()
    fits = [place for place in steps if tidy in _names(place, steps)]
    if len(fits) == 1:
        return fits[0]
    if fits:
        raise InputError(f'"after {words}" may mean {_either(fits)}; name the bar and the number.')
    raise InputError(f'There is no step "{words}" in this recipe; its steps are {_ranges(steps)}.')


def _names(place: Place, steps: Sequence[Place]) -> set[str]:
    of_bar = [other.number for other in steps if other.bar == place.bar]
    own = {str(place.number), place.do.lower()}
    own |= {"stack"} if place.number == 0 else set()
    own |= {"last"} if place.number == max(of_bar) else set()
    return own | {f"{place.bar.lower()} {name}" for name in own}


def _either(places: Sequence[Place]) -> str:
    names = [str(place) for place in places]
    return " or ".join(names) if len(names) < 5 else " or ".join(names[:4]) + f" or {len(names) - 4} more"


def _ranges(steps: Sequence[Place]) -> str:
    bars = dict.fromkeys(place.bar for place in steps)
    last = {bar: max(place.number for place in steps if place.bar == bar) for bar in bars}
    return ", ".join(f"{bar} 0 to {number}" for bar, number in last.items()) or "none at all"
