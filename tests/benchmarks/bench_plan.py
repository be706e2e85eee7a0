"""How long plans take, and how long it takes to weigh 10,000 sequences, against 300 single ledgers of one of them. Prints both and their ratio.

Weighed means run through the steps' own arithmetic, at the law's scale loss and at twice it; pruned ones do not count.
The single ledger is the fastest there is: without diffusion. Run: python -m tests.benchmarks.bench_plan
"""

from __future__ import annotations

import contextlib
import statistics
import time
import tomllib
from typing import Any

from billet.base.errors import InputError
from billet.ledger.run import run
from billet.plan.candidate import write_out
from billet.plan.planner import plan
from billet.plan.sequence_search import lines_of, search
from billet.plan.sequences import Space, batches
from billet.plan.weigh import weigh
from billet.recipe.read import build
from billet.recipe.tables import Target
from tests.planning import bar, goal, knife

WEIGHED, SINGLE, REPEATS = 10_000, 300, 5


def weighing() -> float:
    """Seconds for 10,000 sequences of two and three restacks, as the search meets them."""
    wanted = goal({"layers": 250})
    [line] = lines_of(wanted, Space())
    tables = []
    rows = 0
    for group in line.groups:
        if group.restacks in (2, 3) and rows < WEIGHED:
            for batch in batches(wanted, line.habits, line.after, line.pair, Space(), group, 10_000):
                tables.append(batch.take(slice(0, WEIGHED - rows)))
                rows += len(tables[-1])
    assert rows == WEIGHED
    begun = time.perf_counter()
    for batch in tables:
        weigh(wanted, line.habits, line.after, batch, line.want, line.tail)
    return time.perf_counter() - begun


def single() -> float:
    """Seconds for 300 single ledgers, without diffusion, of the best plan for 250 layers."""
    wanted = goal({"layers": 250})
    best = search(wanted).found[0]
    text = write_out(wanted, best, best.start)
    recipe = build(tomllib.loads(text), text)
    begun = time.perf_counter()
    for _ in range(SINGLE):
        run(recipe, diffuse=False)
    return time.perf_counter() - begun


RACK = (
    *(bar("1084", t, 38.1, 1219, 3) for t in (2.4, 3.175, 4.76)),
    *(bar("15N20", t, 38.1, 1219, 3) for t in (1.2, 1.5875, 2.4)),
)
WANTED: tuple[dict[str, Any], ...] = (
    {"layers": 300}, {"line": 0.5e-3}, {"layers": 200, "carbon": 0.8}, {"distinct": 180}, {"pattern": "ladder"},
    {"pattern": "raindrop"}, {"pattern": "twist"}, {"pattern": "feather"}, {"pattern": "w"}, {"pattern": "accordion"},
)  # fmt: skip
NEVER: tuple[dict[str, Any], ...] = ({"layers": 5_000_000}, {"layers": 300, "line": 5e-3}, {"layers": 37, "dark": 0.95})


def answers() -> None:
    """Processor seconds to the first plan and to all, two steels and a rack of six bars; and to say why there is none."""
    firsts, alls, nones = [], [], []
    for target in WANTED:
        begun, first = time.process_time(), []
        plan(
            knife(),
            Target(**target),
            RACK,
            progress=lambda _, c, b=begun, f=first: c and f.append(time.process_time() - b),
        )
        alls.append(time.process_time() - begun)
        firsts += first[:1]
    for target in NEVER:
        begun = time.process_time()
        with contextlib.suppress(InputError):
            plan(knife(), Target(**target), RACK)
        nones.append(time.process_time() - begun)
    for name, times, most in (("first plan", firsts, 2), ("all plans", alls, 10), ("why there is none", nones, 5)):
        print(
            f"{name}: median {statistics.median(times):.2f} s, worst {max(times):.2f} s of {len(times)} (at most {most} is wanted)"
        )


def main() -> None:
    """Print medians and ranges."""
    answers()
    many, one = ([f() for _ in range(REPEATS)] for f in (weighing, single))
    for name, times in ((f"{WEIGHED:,} sequences weighed", many), (f"{SINGLE} single ledgers, no diffusion", one)):
        print(f"{name}: median {statistics.median(times):.2f} s, {min(times):.2f} to {max(times):.2f} s")
    print(f"ratio {statistics.median(many) / statistics.median(one):.2f} (at most 1 is wanted)")


if __name__ == "__main__":
    main()
