"""What `billet grind` writes into the record, and what it says about the day before."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from billet.base.messages import Note
    from billet.grinding import Plan

STAGES = {"hardening": "rough grind", "finished": "thin"}


def day_at_the_grinder(recipe: Path, plan: Plan, bench: Path | None, keep: bool) -> tuple[Note, ...]:
    """Set the stations beside those of the day before and write them down; a record that cannot be written is told.

    Running the same stations again writes nothing.
    """
    from billet.base.errors import InputError
    from billet.cli.common import wrote
    from billet.cli.record.options import at
    from billet.record.desk import stage_place
    from billet.record.entry import Entry, now, text_sha256
    from billet.record.grind_days import SOURCE, Spot, beside, last_day, measures_of, spot_name
    from billet.record.photos import kept_path
    from billet.record.store import Bench, open_to_read
    from billet.record.take import read_knife

    do = STAGES[plan.state]
    path, knife = at(bench, recipe), read_knife(recipe)
    spots = [
        Spot(
            spot_name(s.station.place, s.station.x, s.station.height), s.station.x, s.station.reading.thickness, s.target,
            s.station.reading.bow,
        )
        for s in plan.stations
    ]  # fmt: skip
    try:
        before = None
        if path.is_file():
            with open_to_read(path) as record:
                before = last_day(record.entries(knife.title), do)
        said = beside(before, spots) if before else ()
        measures = measures_of(spots)
        same = before is not None and {m.name: m.value for m in before.measures} == {m.name: m.value for m in measures}
        if keep and not same:
            moment, offset = now()
            entry = Entry(
                knife.title, moment, offset, kept_path(recipe, path.parent), text_sha256(knife.text),
                stage_place(knife, do), measures, source=SOURCE,
            )  # fmt: skip
            with Bench(path) as record:
                record.add(entry, knife.text)
            wrote(path)
    except InputError as error:
        print(f"not written down: {error}", file=sys.stderr)
        return ()
    return () if same else said
