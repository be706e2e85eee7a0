"""How long it takes to weigh 10,000 sequences, against 300 single ledgers of one of them. Prints both and their ratio.

Weighed means run through the steps' own arithmetic, at the law's scale loss and at twice it; pruned ones do not count.
The single ledger is the fastest there is: without diffusion. Run: python -m tests.benchmarks.bench_plan
"""

from __future__ import annotations

import statistics
import time
import tomllib

from billet.ledger.run import run
from billet.plan.candidate import write_out
from billet.plan.sequence_search import lines_of, search
from billet.plan.sequences import Space, batches
from billet.plan.weigh import weigh
from billet.recipe.read import build
from tests.planning import goal

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


def main() -> None:
    """Print medians and ranges."""
    many, one = ([f() for _ in range(REPEATS)] for f in (weighing, single))
    for name, times in ((f"{WEIGHED:,} sequences weighed", many), (f"{SINGLE} single ledgers, no diffusion", one)):
        print(f"{name}: median {statistics.median(times):.2f} s, {min(times):.2f} to {max(times):.2f} s")
    print(f"ratio {statistics.median(many) / statistics.median(one):.2f} (at most 1 is wanted)")


if __name__ == "__main__":
    main()
