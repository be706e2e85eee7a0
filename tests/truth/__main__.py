"""Measure every check and write the truth table: `python -m tests.truth`; with words, only what it prints for those."""

from __future__ import annotations

import sys
import time

from tests.truth.registry import PAGE, Check, Found
from tests.truth.table import load_checks, page, share


def measured(check: Check) -> Found:
    """Measure a check, and say how it came out and how long it took."""
    start = time.perf_counter()
    found = check.found()
    flag = "" if found.deviation <= check.within else f"  OVER {check.within:g}"
    print(
        f"{check.figure}\n  {check.told(found.deviation)}, {check.tail} ({found.pairs}){flag}  [{time.perf_counter() - start:.1f} s]",
        flush=True,
    )
    return found


def main(words: list[str]) -> None:
    """Write the page, or measure the checks whose figure or source holds the words."""
    all_checks = load_checks()
    if words:
        for check in all_checks.values():
            if " ".join(words).lower() in f"{check.figure} {check.source}".lower():
                measured(check)
        return
    text = page(measured)
    PAGE.write_text(text, "utf-8")
    print(share())


if __name__ == "__main__":
    main(sys.argv[1:])
