"""Whole commands timed in turn, A B A B, so that a machine whose speed drifts drifts under both: medians and the ratio pair by pair."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Sequence


def wall(command: Sequence[str]) -> float:
    """Wall time of one run [s]."""
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def compare(name: str, first: Sequence[str], second: Sequence[str], rounds: int = 9) -> float:
    """Print medians and the median ratio first/second with its range; returns the ratio."""
    wall(first), wall(second)
    pairs = [(wall(first), wall(second)) for _ in range(rounds)]
    ratios = sorted(a / b for a, b in pairs)
    medians = [statistics.median(p[k] for p in pairs) for k in (0, 1)]
    ratio = statistics.median(ratios)
    print(
        f"{name}: {medians[0]:.3f} s against {medians[1]:.3f} s, ratio {ratio:.2f} [{ratios[0]:.2f} to {ratios[-1]:.2f}]"
    )
    return ratio


def python(code: str) -> list[str]:
    """A command that runs a piece of Python."""
    return [sys.executable, "-c", code]
