"""Which quick test runs through which line: `python -m tests.mutation.reach OUT FILE...`, run inside a copy of the tree.

Tests that fail undamaged, that are marked slow or that take longer than `LONGEST` seconds are left out.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any

import coverage
import pytest

LONGEST = 12.0
TRACED_TOO = 3.0  # what being watched may cost a test on top


class Watch:
    """A plugin of pytest: says to coverage whose lines are run now, and keeps what passed and how long it took."""

    def __init__(self, cover: coverage.Coverage) -> None:
        self.cover = cover
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        """Name the test while it is set up, run and taken down."""
        self.cover.switch_context(item.nodeid)
        start = time.perf_counter()
        yield
        self.seconds[item.nodeid] = time.perf_counter() - start
        self.cover.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test that fails or is skipped here says nothing about a damage."""
        if not report.passed:
            self.failed.add(report.nodeid)

    def quick(self) -> dict[str, float]:
        """Seconds of every test that can be asked."""
        return {
            name: seconds
            for name, seconds in self.seconds.items()
            if name not in self.failed and seconds < LONGEST * TRACED_TOO
        }


def lines_of(cover: coverage.Coverage, quick: dict[str, float]) -> dict[str, dict[str, list[str]]]:
    """For every file its lines, for every line the tests that ran it."""
    data, here, out = cover.get_data(), Path.cwd(), {}
    for file in data.measured_files():
        per_line = {
            str(line): [name for name in names if name in quick]
            for line, names in data.contexts_by_lineno(file).items()
        }
        out[str(Path(file).relative_to(here))] = {line: names for line, names in per_line.items() if names}
    return out


def main() -> None:
    """Run the test files and write what was seen."""
    out, *files = sys.argv[1:]
    cover = coverage.Coverage(data_file=None, include=["billet/*"], config_file=False)
    cover.start()
    watch = Watch(cover)
    pytest.main(
        ["-n", "0", "-q", "-m", "not slow", "-p", "no:cacheprovider", "--continue-on-collection-errors", *files],
        plugins=[watch],
    )
    cover.stop()
    quick = watch.quick()
    Path(out).write_text(json.dumps({"seconds": quick, "lines": lines_of(cover, quick)}), encoding="utf-8")


if __name__ == "__main__":
    main()
