"""What a day at the grinder leaves in the record: the stations measured, set beside those of the day before."""

from __future__ import annotations

from pathlib import Path

from billet.base.messages import Note
from billet.grinding import Plan
from billet.record.desk import stage_place
from billet.record.entry import Entry, now, text_sha256
from billet.record.grind_days import SOURCE, Spot, beside, last_day, measures_of, spot_name
from billet.record.photos import kept_path
from billet.record.store import Bench, all_of
from billet.record.take import read_knife
from billet.record.whose import own

GRINDS = {"hardening": "rough grind", "finished": "thin"}
"""The stage that grinding to a thickness belongs to."""


def keep_day(recipe: Path, plan: Plan, bench: Path, keep: bool) -> tuple[tuple[Note, ...], bool]:
    """Set the stations beside those of the day before and, to `keep` them, write them down; what has changed, and
    whether it was written. The same stations again are written once. Raises InputError for a record that cannot be written.
    """
    do, knife = GRINDS[plan.state], read_knife(recipe)
    spots = [
        Spot(
            spot_name(s.station.place, s.station.x, s.station.height), s.station.x, s.station.reading.thickness, s.target,
            s.station.reading.bow,
        )
        for s in plan.stations
    ]  # fmt: skip
    before = None
    if bench.is_file():
        before = last_day(own(*all_of(bench), recipe, knife.title, bench.parent), do)
    measures = measures_of(spots)
    if before is not None and {m.name: m.value for m in before.measures} == {m.name: m.value for m in measures}:
        return (), False
    if keep:
        moment, offset = now()
        entry = Entry(
            knife.title, moment, offset, kept_path(recipe, bench.parent), text_sha256(knife.text),
            stage_place(knife, do), measures, source=SOURCE,
        )  # fmt: skip
        with Bench(bench) as record:
            record.add(entry, knife.text)
    return (beside(before, spots) if before else ()), keep
