"""How quickly `billet --help` starts, against importing typer alone: `python -m tests.benchmarks.bench_start`."""

from __future__ import annotations

import sys

from tests.benchmarks.paired import compare, python

if __name__ == "__main__":
    compare(
        "billet --help against import typer",
        [sys.executable, "-m", "billet.cli", "--help"],
        python("import typer"),
        rounds=15,
    )
