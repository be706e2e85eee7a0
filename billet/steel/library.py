"""The steels a smith may stack: analysis, heats and etching order, with the standing of every figure.

The figures live in ``steels.toml``; this module reads them once. A bar with a mill certificate is a steel of its own.
"""

import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.base.errors import InputError
from billet.base.units import Kind, read

ELEMENTS: tuple[str, ...] = ("C", "Mn", "Si", "Cr", "Ni", "Mo", "V", "W", "P", "Cu", "Co")
"""The order of every composition array; iron is the rest."""

MOST_CARBON = 2.1
"""More carbon than this is cast iron, no steel [wt%] (from memory: the Fe-C diagram's 2.1)."""

ROWS_EITHER_WAY = 2.5
"""How wide published tempering rows are read where nothing else is known of them [HRC]."""

Family = Literal["plain", "nickel", "chromium", "tool", "stainless", "iron", "nickel metal"]


class Content(NamedTuple):
    """One element of an analysis [wt%]: the limits of the standard and the value to reckon with."""

    element: str
    least: float
    typical: float
    most: float


class TemperRow(NamedTuple):
    """Hardness [HRC] after tempering at a temperature [K], as a published table prints it."""

    temperature: float
    hardness: float


@dataclass(frozen=True)
class Hardening:
    """The heat to quench from: lowest and highest temperature [K], shortest and longest soak [s], and its standing."""

    low: float
    high: float
    soak: tuple[float, float]
    status: str
    source: str


@dataclass(frozen=True)
class Steel:
    """One steel. Temperatures in [K], composition in weight percent.

    ``status`` is the standing of the composition limits: "verified" (seen in the document that ``source`` names),
    "from memory", or "certificate". ``forging_max`` is the highest forging temperature of its data sheet; it is where
    damage starts, not a welding heat, and ``forging_source`` tells its standing. ``normalise`` is None where no figure
    is known; ``air_cooling_forbidden`` says the sheets forbid it. ``anneal`` is the ceiling of the sub-critical anneal
    (from memory). ``etch_rank`` counts from dark (1) to bright. ``temper`` rows are empty where no table could be read;
    ``temper_either_way`` is how wide they are to be read [HRC].
    ``nicknames`` are words that smiths use for it and for others like it; who uses one is told which steel was taken.
    ``trade`` marks a mill's designation that the trade uses generically and no open standard defines.
    """

    name: str
    designation: str
    family: Family
    trade: bool
    aliases: tuple[str, ...]
    nicknames: tuple[str, ...]
    analysis: tuple[Content, ...]
    status: str
    source: str
    density: float
    forging_max: float
    forging_source: str
    harden: Hardening | None
    normalise: float | None
    air_cooling_forbidden: bool
    anneal: float | None
    etch_rank: int
    as_quenched: float | None
    temper: tuple[TemperRow, ...]
    temper_source: str
    temper_either_way: float
    cautions: tuple[str, ...]

    @property
    def composition(self) -> NDArray[np.float64]:
        """Typical composition (11,) [wt%] in the order of ``ELEMENTS``; 0 where an element is not stated."""
        typical = {content.element: content.typical for content in self.analysis}
        return np.array([typical.get(element, 0.0) for element in ELEMENTS])

    @property
    def carbon(self) -> float:
        """Typical carbon [wt%]."""
        return next((content.typical for content in self.analysis if content.element == "C"), 0.0)


@lru_cache(maxsize=1)
def library() -> Mapping[str, Steel]:
    """Every steel of the house by name, read once."""
    rows = tomllib.loads(files("billet.steel").joinpath("steels.toml").read_text(encoding="utf-8"))
    return MappingProxyType({name: _steel(name, row) for name, row in rows.items()})


def _steel(name: str, row: Mapping[str, Any]) -> Steel:
    """One table of ``steels.toml`` as a value."""
    normalise = row.get("normalise")
    forbidden = normalise == "do not"
    return Steel(
        name=name,
        designation=row["designation"],
        family=row["family"],
        trade=row.get("trade", False),
        aliases=tuple(row.get("aliases", ())),
        nicknames=tuple(row.get("nicknames", ())),
        analysis=tuple(Content(element, *row["composition"][element]) for element in row["composition"]),
        status=row["status"],
        source=row["source"],
        density=float(row["density_kg_m3"]),
        forging_max=_kelvin(row["forging_max"], name),
        forging_source=row.get("forging_source", "from memory"),
        harden=_hardening(row["harden"], name) if "harden" in row else None,
        normalise=None if normalise is None or forbidden else _kelvin(normalise, name),
        air_cooling_forbidden=forbidden,
        anneal=_kelvin(row["anneal"], name) if "anneal" in row else None,
        etch_rank=row["etch_rank"],
        as_quenched=row.get("as_quenched_hrc"),
        temper=tuple(TemperRow(_kelvin(heat, name), float(hrc)) for heat, hrc in row.get("temper", ())),
        temper_source=row.get("temper_source", ""),
        temper_either_way=float(row.get("temper_either_way", ROWS_EITHER_WAY)),
        cautions=tuple(row.get("cautions", ())),
    )


def _kelvin(text: str, name: str) -> float:
    return read(text, Kind.TEMPERATURE, name)


def _hardening(row: Mapping[str, Any], name: str) -> Hardening:
    shortest, longest = (read(soak, Kind.TIME, name) for soak in row["soak"])
    low, high = _kelvin(row["low"], name), _kelvin(row["high"], name)
    return Hardening(low, high, (shortest, longest), row["status"], row["source"])


def find(name: str, own: Mapping[str, Steel] = MappingProxyType({})) -> Steel:
    """The steel of that name; the recipe's ``own`` steels come before the house's.

    Case, spaces and hyphens do not matter. Raises ``InputError`` with the nearest names when there is none.
    """
    for shelf in (own, library()):
        if name in shelf:
            return shelf[name]
    for shelf in (own, library()):
        for steel in shelf.values():
            if _plain(name) in map(_plain, (steel.name, *steel.aliases, *steel.nicknames)):
                return steel
    known = [*own, *library()]
    raise InputError(
        f'I do not know the steel "{name}"; {_nearest(name, known)} '
        f'A steel of your own is told in the recipe: [steels.{_key(name)}] like = "1084", with the carbon and what else its sheet gives.'
    )


def _key(name: str) -> str:
    """A name as a TOML key."""
    return name if re.fullmatch("[A-Za-z0-9_-]+", name) else f'"{name}"'


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", "", name).casefold()


def _nearest(word: str, known: Iterable[str]) -> str:
    """An offer of up to three near names, else all of them."""
    by_plain = {_plain(name): name for name in known}
    near = difflib.get_close_matches(_plain(word), list(by_plain), n=3, cutoff=0.5)
    if near:
        return "did you mean " + " or ".join(f'"{by_plain[plain]}"' for plain in near) + "?"
    return "known are " + ", ".join(by_plain.values()) + "."


def from_certificate(name: str, table: Mapping[str, object]) -> Steel:
    """The steel of a recipe's ``[steels.NAME]``: ``like`` names the steel it was bought as, elements are in [wt%].

    Measured elements replace the typical values, and the limits with them; all else is as in the steel it is like.
    Raises ``InputError`` for a missing or unknown ``like``, an unknown key, or a content that cannot be.
    """
    place = f"steels.{name}"
    like = table.get("like")
    if not isinstance(like, str):
        raise InputError(f'{place}: say which steel the bar was bought as, for example like = "1084".')
    base = find(like)
    measured = {key: _content(place, key, value) for key, value in table.items() if key != "like"}
    contents = {content.element: content for content in base.analysis} | measured
    total = math.fsum(content.typical for content in contents.values())
    if total > 100.0:
        raise InputError(
            f"{place}: the elements add up to {total:.4g} weight percent, more than 100; check the certificate."
        )
    return replace(
        base,
        name=name,
        aliases=(),
        nicknames=(),
        analysis=tuple(contents[element] for element in ELEMENTS if element in contents),
        status="certificate",
        source=f"mill certificate for {', '.join(measured) or 'no element'}; the rest as {base.name}: {base.source}",
    )


def _content(place: str, element: str, value: object) -> Content:
    """One measured element, checked."""
    if element not in ELEMENTS:
        raise InputError(f'{place}: I do not know the key "{element}" here; known are like, {", ".join(ELEMENTS)}.')
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(
            f"{place}: {element} = {value!r} is no bare number of weight percent, for example {element} = 0.86."
        )
    most = MOST_CARBON if element == "C" else 100.0
    if not 0.0 <= value <= most:
        meant = f"; did you mean {value / 100:g}?" if 0.0 < value / 100 <= most else "."
        raise InputError(f"{place}: {element} = {value:g} must be from 0 to {most:g} weight percent{meant}")
    return Content(element, float(value), float(value), float(value))
