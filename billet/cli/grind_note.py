"""What `billet grind` writes into the record, and what it says about the day before."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from billet.base.messages import Note
    from billet.grinding import Plan


def day_at_the_grinder(recipe: Path, plan: Plan, bench: Path | None, keep: bool) -> tuple[Note, ...]:
    """Set the stations beside those of the day before and write them down; a record that cannot be written is told."""
    from billet.base.errors import InputError
    from billet.cli.common import wrote
    from billet.cli.record.options import at
    from billet.record.grinder_day import keep_day

    path = at(bench, recipe)
    try:
        said, written = keep_day(recipe, plan, path, keep)
    except InputError as error:
        print(f"not written down: {error}", file=sys.stderr)
        return ()
    if written:
        wrote(path)
    return said
