"""Every fault a forge has for files, and what became of them: `python -m tests.benchmarks.faults [TRIES [NAME]]`.

TRIES is how often each is tried (30); NAME picks those whose line begins with it. As the superuser of a Linux machine
disks are filled too. A line says how often it was tried and how often something was at fault: torn, lost although it was
acknowledged, or told as a traceback.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from tests.faults import campaigns, pages
from tests.faults.programs import Figure, warm


def all_of(tries: int) -> dict[str, Callable[[], Figure]]:
    """Every campaign by its name."""
    out: dict[str, Callable[[], Figure]] = {}
    for name in campaigns.WRITES:
        out[f"kills, {name}"] = lambda name=name: campaigns.kills(name, tries)  # type: ignore[misc]
        out[f"full disk, {name}"] = lambda name=name: campaigns.full_disk(name, max(4, tries // 3))  # type: ignore[misc]
        out[f"read-only folder, {name}"] = lambda name=name: campaigns.read_only(name)  # type: ignore[misc]
        out[f"removed folder, {name}"] = lambda name=name: campaigns.removed_folder(name)  # type: ignore[misc]
    return out | {
        "clock set back": lambda: campaigns.clock_back(tries),
        "2 writers": lambda: campaigns.writers(2, tries),
        "4 writers": lambda: campaigns.writers(4, tries),
        "page server killed in a save": lambda: pages.killed_in_a_save(tries),
        "2 browsers at 1 server": lambda: pages.browsers(2, 1, 0.2 * tries),
        "4 browsers at 1 server": lambda: pages.browsers(4, 1, 0.2 * tries),
        "2 browsers at 2 servers": lambda: pages.browsers(2, 2, 0.2 * tries),
        "4 browsers at 2 servers": lambda: pages.browsers(4, 2, 0.2 * tries),
        "2 programs saving": lambda: pages.programs_saving(2, 0.2 * tries),
        "4 programs saving": lambda: pages.programs_saving(4, 0.2 * tries),
        "full disk under the page": pages.full_disk_under_the_page,
        "folder gone under the page": pages.folder_gone_under_the_page,
        "phone drops off": lambda: pages.phone_drops_off(3 * tries),
    }


def main() -> None:
    """Run and print."""
    tries = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    wanted = sys.argv[2] if len(sys.argv) > 2 else ""
    warm()
    start, figures = time.time(), []
    for name, campaign in all_of(tries).items():
        if name.startswith(wanted):
            figures.append(campaign())
            print(figures[-1].say(), flush=True)
    faults = sum(len(figure.faults) for figure in figures)
    print(f"{sum(figure.tried for figure in figures)} tried in {time.time() - start:.0f} s, {faults} at fault")


if __name__ == "__main__":
    main()
