"""Two knives side by side, as lines for a person and as plain JSON values."""

from __future__ import annotations

from billet.base.units import Kind, show
from billet.record.measures import SI_UNITS, label
from billet.record.two_knives import AtStage, Compared, StagePair, Totals

_FINE = ("thickness", "spine", "edge", "bow", "twist")


def stage_rows(found: Compared, units: str) -> list[tuple[str, ...]]:
    """A row for each size at each stage: foreseen and measured of the first, then of the second."""
    rows = []
    for pair in found.stages:
        names = dict.fromkeys((*pair.first.measured, *pair.second.measured))
        for count, name in enumerate(names):
            cells = [cell for at in (pair.first, pair.second) for cell in _cells(at, name, units)]
            rows.append((pair.name if count == 0 else "", label(name, units), *cells))
    return rows


def _cells(at: AtStage, name: str, units: str) -> tuple[str, str]:
    foreseen = at.foreseen.get(name)
    unit = at.measured[name][1] if name in at.measured else "kg" if name == "mass" else "m"
    measured = at.measured.get(name, (None, unit))[0]
    return _shown(foreseen, unit, name, units), _shown(measured, unit, name, units)


def _shown(value: float | None, unit: str, name: str, units: str) -> str:
    if value is None:
        return "-"
    kind = next((kind for kind, si in SI_UNITS.items() if si == unit), None)
    if kind is None:
        return f"{value:g}" + (f" {unit}" if unit == "HRC" else "")
    if kind is Kind.LENGTH and value < 0:
        return f"{_shown(-value, unit, name, units)} left"
    return show(value, kind, units, fine=name.partition(".")[0] in _FINE)


def total_rows(found: Compared, units: str) -> list[tuple[str, ...]]:
    """A row for each sum; what neither knife has is left out."""
    one, other = found.totals
    rows: list[tuple[str, ...]] = [
        ("time noted", *(_time(each.seconds) for each in (one, other))),
        ("belts", *(_count(each.belts) for each in (one, other))),
        ("heats noted", *(_count(each.heats) for each in (one, other))),
        ("weight lost", *("-" if each.lost is None else f"{100 * each.lost:.0f} %" for each in (one, other))),
        ("last hardness", *("-" if each.hardness is None else f"{each.hardness:g} HRC" for each in (one, other))),
        ("largest bow", *(_shown(each.bow, "m", "bow", units) for each in (one, other))),
        ("went wrong", str(one.wrong), str(other.wrong)),
    ]
    return [row for row in rows if row[1:] != ("-", "-")]


def _time(seconds: float | None) -> str:
    return "-" if seconds is None else show(60.0 * round(seconds / 60), Kind.TIME, "metric")


def _count(value: float | None) -> str:
    return "-" if value is None else f"{value:g}"


def verdicts(found: Compared) -> list[str]:
    """What went wrong on either knife, stage by stage, and where it did not happen again."""
    return [line for pair in found.stages if (line := _verdict(pair, found))]


def _verdict(pair: StagePair, found: Compared) -> str:
    first, second = "; ".join(pair.first.wrong), "; ".join(pair.second.wrong)
    if first and second:
        return f"{pair.name}: wrong on both ({found.first.title}: {first}; {found.second.title}: {second})"
    if first:
        again = "not again" if pair.second.measured else "nothing noted of it since"
        return f"{pair.name}: {first} on {found.first.title}; {again}"
    return f"{pair.name}: {second} on {found.second.title}, and not before" if second else ""


def as_dict(found: Compared) -> dict[str, object]:
    """Everything as plain JSON values in SI."""
    return {
        "knives": [found.first.title, found.second.title],
        "recipe": list(found.recipe),
        "stages": [
            {"stage": pair.name, "knives": [_at_dict(at) for at in (pair.first, pair.second)]} for pair in found.stages
        ],
        "totals": [_total_dict(each) for each in found.totals],
        "verdicts": verdicts(found),
    }


def _at_dict(at: AtStage) -> dict[str, object]:
    foreseen = {f"{name}_{'kg' if name == 'mass' else 'm'}": value for name, value in at.foreseen.items()}
    measured = {f"{name}_{unit.lower() if unit == 'HRC' else unit}".removesuffix("_1"): value
                for name, (value, unit) in at.measured.items()}  # fmt: skip
    return {"foreseen": foreseen, "measured": measured, "wrong": list(at.wrong)}


def _total_dict(each: Totals) -> dict[str, object]:
    return {
        "time_s": each.seconds, "belts": each.belts, "heats": each.heats, "lost_share": each.lost,
        "hardness_hrc": each.hardness, "bow_m": each.bow, "wrong": each.wrong,
    }  # fmt: skip
