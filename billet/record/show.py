"""The record's results as lines for a person and as plain JSON values."""

from pathlib import Path

from billet.base.units import Kind, show
from billet.record.compare import Difference
from billet.record.entry import Entry, as_dict
from billet.record.measures import shown
from billet.record.photos import photo_state
from billet.record.visible import one_line


def line(entry: Entry, units: str, folder: Path) -> str:
    """One note on one line; a photograph that is gone or changed since is marked."""
    parts = [f"{entry.id}" + (f" (corrects {entry.corrects})" if entry.corrects else ""), entry.local_time]
    parts += [f"after {entry.place}"] if entry.place else []
    parts += [", ".join(shown(measure, units) for measure in entry.measures)] if entry.measures else []
    parts += [f"WRONG: {entry.wrong}"] if entry.wrong else []
    parts += [f"cure: {entry.cure}"] if entry.cure else []
    parts += [entry.note] if entry.note else []
    for photo in entry.photos:
        state = photo_state(photo, folder)
        parts.append(f"photo {photo.path}" + ("" if state == "there" else f" ({state})"))
    parts += [f"by {entry.by}"] if entry.by else []
    return one_line(" | ".join(parts))


def entry_dict(entry: Entry) -> dict[str, object]:
    """A note as plain JSON values; ``measured`` holds what has a value, in SI with the unit in the key."""
    values = {
        f"{measure.name}_{measure.unit.lower() if measure.unit == 'HRC' else measure.unit}".removesuffix(
            "_1"
        ): measure.value
        for measure in entry.measures
        if measure.value is not None
    }
    return as_dict(entry) | {"measured": values}


def difference_row(one: Difference, units: str) -> tuple[str, ...]:
    """Cells of the table of predicted and measured sizes."""
    kind, fine = (Kind.MASS if one.name == "mass" else Kind.LENGTH), one.name == "thickness"
    sizes = (show(value, kind, units, fine=fine) for value in (one.predicted, one.measured))
    mark = "!" if one.beyond_reading else ""
    return (str(one.entry), str(one.place), one.name, *sizes, f"{100 * one.share:+.1f} %", mark)


def difference_dict(one: Difference) -> dict[str, object]:
    """A difference as plain JSON values in SI."""
    unit = "kg" if one.name == "mass" else "m"
    return {
        "entry": one.entry,
        "bar": one.place.bar,
        "number": one.place.number,
        "do": one.place.do,
        "what": one.name,
        f"predicted_{unit}": one.predicted,
        f"measured_{unit}": one.measured,
        "share": one.share,
        "beyond_reading": one.beyond_reading,
    }
