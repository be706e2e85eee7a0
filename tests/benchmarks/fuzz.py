"""Fuzz the command line: `python -m tests.benchmarks.fuzz [CASES [FIRST_SEED [KIND]]]`, 100,000 cases unless told.

Every case is made by hypothesis and run in a worker process with ten seconds and a gigabyte. It must end with code 0, 1
or 2 and without a traceback, leave the files it was given as they were, and when it refuses, say where and what to do.
Prints how many cases of each kind ran, how they ended, the slowest and the largest, and every fault once with its case.
"""

from __future__ import annotations

import collections
import multiprocessing
import os
import re
import resource
import sys
import time
from typing import NamedTuple

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.fuzz.cases import KINDS, Case
from tests.fuzz.judge import Ended, run

BATCH = 250
TOLD = 3  # cases shown of one fault


class Batch(NamedTuple):
    """What one worker saw: the kind, how often each code came, seconds of the slowest, bytes at most, faults."""

    kind: str
    codes: collections.Counter[int]
    slowest: tuple[float, tuple[str, ...]]
    most: int
    faults: list[tuple[str, str, Case]]


def signature(what: str, ended: Ended) -> str:
    """One line that tells faults apart: the last line of our own in a traceback, or the sentence without its figures."""
    if ended.trace:
        places = re.findall(r'File "[^"]*/((?:billet|render)/[^"]+)", line (\d+)', ended.trace)
        return f"{what}: {ended.trace.strip().splitlines()[-1][:100]} at {':'.join(places[-1]) if places else '?'}"
    return f"{what}: {re.sub(r'[0-9.]+|' + chr(34) + '[^' + chr(34) + ']*' + chr(34), '#', ended.said)[:120]!r}"


def batch(job: tuple[str, int, int]) -> Batch:
    """So many cases of one kind, from a seed."""
    kind, first, count = job
    codes: collections.Counter[int] = collections.Counter()
    slowest: tuple[float, tuple[str, ...]] = (0.0, ())
    faults: list[tuple[str, str, Case]] = []

    @seed(first)
    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(KINDS[kind][0]())
    def each(case: Case) -> None:
        nonlocal slowest
        ended, what = run(case)
        codes[ended.code] += 1
        slowest = max(slowest, (ended.seconds, case.words))
        if what:
            faults.append((signature(what, ended), ended.trace or ended.said, case))

    each()
    return Batch(kind, codes, slowest, 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, faults)


def jobs(cases: int, first: int, only: str | None) -> list[tuple[str, int, int]]:
    """The batches of every kind."""
    kinds = {k: share for k, (_, share) in KINDS.items() if only in (None, k)}
    out = []
    for kind, share in kinds.items():
        left = round(cases * share / sum(kinds.values()))
        while left > 0:
            out.append((kind, first + len(out), min(BATCH, left)))
            left -= BATCH
    return out


def main() -> None:
    """Run and print."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    only = sys.argv[3] if len(sys.argv) > 3 else None
    start, seen, known = time.time(), collections.Counter(), collections.defaultdict(list)
    codes: dict[str, collections.Counter[int]] = collections.defaultdict(collections.Counter)
    slowest: tuple[float, tuple[str, ...]] = (0.0, ())
    most = 0
    with multiprocessing.get_context("forkserver").Pool(os.cpu_count(), maxtasksperchild=1) as pool:
        for one in pool.imap_unordered(batch, jobs(cases, first, only)):
            seen[one.kind] += sum(one.codes.values())
            codes[one.kind] += one.codes
            slowest, most = max(slowest, one.slowest), max(most, one.most)
            for what, text, case in one.faults:
                known[what].append((text, case))
    for kind, count in seen.items():
        ends = ", ".join(f"{n} with code {code}" for code, n in sorted(codes[kind].items()))
        print(f"{kind}: {count} cases, {ends}")
    print(
        f"{seen.total()} cases in {time.time() - start:.0f} s; slowest {slowest[0]:.1f} s: {' '.join(slowest[1])[:100]}; at most {most / 1e6:.0f} MB"
    )
    for what, found in sorted(known.items(), key=lambda item: -len(item[1])):
        print(f"\n{len(found)} x {what}")
        for text, case in found[:TOLD]:
            print("  billet", *map(repr, case.words))
            print("  " + "\n  ".join(text.strip().splitlines()[-4:])[:600])
            for name, data in case.files.items():
                if len(found) <= TOLD or text.strip():
                    print(f"  {name}: {data[:1500]!r}")
    print(f"{sum(map(len, known.values()))} faults of {len(known)} sorts")


if __name__ == "__main__":
    main()
