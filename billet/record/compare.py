"""Predicted beside measured, step by step."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from billet.record.entry import Entry, Place

READING_M = 1e-4  # what a rule or calliper is read to at the bench: common practice, no source
MASS_SHARE = 0.005  # of a bench scale: common practice, no source
_KEYS = {"length": "length_m", "width": "width_m", "thickness": "thickness_m", "mass": "mass_kg"}


@dataclass(frozen=True)
class Difference:
    """One measurement beside its prediction, in SI [m, kg].

    ``beyond_reading`` says that they differ by more than twice what a reading at the bench is good to.
    """

    place: Place
    name: str
    predicted: float
    measured: float
    entry: int
    beyond_reading: bool

    @property
    def by(self) -> float:
        """Measured less predicted, in SI."""
        return self.measured - self.predicted

    @property
    def share(self) -> float:
        """The difference as a share of the prediction."""
        return self.by / self.predicted


def predicted_rows(ledger: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The rows of a ledger in its JSON form, bar after bar, each carrying its bar's name under ``bar``."""
    return [{"bar": bar["name"], **row} for bar in ledger["bars"] for row in bar["steps"]]


def compare(predicted: Sequence[Mapping[str, Any]], entries: Iterable[Entry]) -> tuple[Difference, ...]:
    """Every measured length, width, thickness and mass beside the prediction of its step, in the order of the rows.

    A row that names no ``bar`` stands for a recipe of one bar. Measurements of steps without a row, and rows that
    predict nothing (None), are left out.
    """
    notes = [entry for entry in entries if entry.place is not None]
    return tuple(
        found
        for row in predicted
        for entry in notes
        if entry.place and entry.place.number == row["number"] and row.get("bar", entry.place.bar) == entry.place.bar
        for found in _differences(row, entry, entry.place)
    )


def _differences(row: Mapping[str, Any], entry: Entry, place: Place) -> Iterable[Difference]:
    for name, key in _KEYS.items():
        measured, foreseen = entry.measured(name), row.get(key)
        if measured is None or not foreseen:
            continue
        noise = MASS_SHARE * foreseen if name == "mass" else READING_M
        yield Difference(place, name, foreseen, measured, entry.id, abs(measured - foreseen) > 2 * noise)
