"""How many small damages to the code the quick tests notice: `nice python -m tests.benchmarks.mutants [N [SEED [ROOM]]]`.

N damages (400), at least forty a room, are drawn by SEED (1) and done one at a time to a copy of the tree in FOLDER (the
variable MUTANTS, else a folder of the machine's scratch space); the tests that run through the damaged line are asked,
the likeliest first. Prints the share killed per room with its 95 % interval (Wilson), and the survivors.
`python -m tests.benchmarks.mutants again [SECONDS]` asks of the last survivors, and of what had no end, so many seconds of
tests (40) instead of the six of the first go. Needs `coverage`.
"""

from __future__ import annotations

import json
import math
import os
import random
import subprocess
import sys
import tempfile
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any

from tests.mutation.copy import ROOMS, ROOT, Copy, files_of
from tests.mutation.damage import Mutant, differs, mutants

LEAST = 40  # a room
QUICK, THOROUGH = 6.0, 40.0  # seconds of tests asked about one damage, as they were counted while watched
SLACK = 20.0  # seconds on top of twice that after which a damage counts as endless


def drawn(count: int, seed: str, rooms: list[str]) -> tuple[list[tuple[str, Mutant]], dict[str, int]]:
    """The sample, by room in proportion but at least so many each; and how many damages each room has."""
    sources = {room: [(str(f), (ROOT / f).read_bytes()) for f in files_of(room)] for room in rooms}
    every = {room: [(m, text) for file, text in held for m in mutants(file, text)] for room, held in sources.items()}
    sizes = {room: len(found) for room, found in every.items()}
    out = []
    for room, found in every.items():
        wanted = max(LEAST, round(count * sizes[room] / sum(sizes.values())))
        dice = random.Random(f"{seed} {room}")
        real = [(room, m) for m, text in dice.sample(found, min(2 * wanted, len(found))) if differs(m, text)]
        out += real[:wanted]
    return out, sizes


class Trials:
    """Does the damages one after another and keeps what became of them."""

    def __init__(self, copy: Copy, budget: float) -> None:
        self.copy, self.budget = copy, budget
        pipe = subprocess.PIPE
        self.server = copy.run("tests.mutation.server", stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)
        self.killers: dict[str, list[str]] = {}
        self.known_good: set[str] = set()

    def ask(self, tests: list[str]) -> dict[str, Any]:
        """One question to the copy."""
        assert self.server.stdin and self.server.stdout
        self.server.stdin.write(json.dumps({"tests": tests, "limit": SLACK + 2 * self.budget}) + "\n")
        self.server.stdin.flush()
        return dict(json.loads(self.server.stdout.readline()))

    def run(self, mutant: Mutant) -> dict[str, Any]:
        """Damage, ask the likeliest tests and then the rest, and mend; a test that fails undamaged too is asked no more."""
        path, whole = self.copy.tree / mutant.file, (ROOT / mutant.file).read_bytes()
        parts = self.copy.asked(mutant, self.killers.get(mutant.file, []), self.budget)
        said: dict[str, Any] = {"end": "survived", "killer": "", "seconds": 0.0}
        for part in parts:
            if part and said["end"] == "survived":
                put(path, mutant.text(whole))
                try:
                    said = self.ask(part)
                finally:
                    put(path, whole)
                if not self.trusted(part, said["killer"]):
                    self.copy.seconds.pop(said["killer"])
                    return self.run(mutant)
        self.learn(mutant.file, said["killer"])
        return said | {"tests": sum(map(len, parts))}

    def trusted(self, tests: list[str], killer: str) -> bool:
        """Whether a test that killed passes undamaged, after the same others."""
        if "::" in killer and killer not in self.known_good:
            if self.ask(tests[: tests.index(killer) + 1])["killer"] == killer:
                return False
            self.known_good.add(killer)
        return True

    def learn(self, file: str, killer: str) -> None:
        """What killed a damage of a file is asked first of the next."""
        if "::" in killer:
            known = self.killers.setdefault(file, [])
            known[:] = [k for k in known if k != killer] + [killer]


def put(path: Path, text: bytes) -> None:
    """Write a module, and forget what it was compiled to: that is told apart by whole seconds and lengths alone."""
    path.write_bytes(text)
    Path(cache_from_source(str(path))).unlink(missing_ok=True)


def wilson(good: int, count: int) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson 1927)."""
    z, p = 1.959964, good / count
    middle, half = p + z * z / (2 * count), z * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    return (middle - half) / (1 + z * z / count), (middle + half) / (1 + z * z / count)


def report(results: list[dict[str, Any]], sizes: dict[str, int]) -> None:
    """The table and the survivors."""
    print(f"{'room':10} {'of':>6} {'tried':>6} {'killed':>7} {'endless':>8} {'left':>5}  share, 95 %")
    weighted = 0.0
    for room in [*sizes, "all"]:
        ends = [r["end"] for r in results if room in (r["room"], "all")]
        left, endless = ends.count("survived"), ends.count("timeout")
        low, high = wilson(len(ends) - left, len(ends))
        share = 1 - left / len(ends)
        weighted += share * sizes.get(room, 0) / sum(sizes.values())
        told = f"{100 * share:.0f} %, {100 * low:.0f} to {100 * high:.0f}"
        of = sizes.get(room, sum(sizes.values()))
        print(f"{room:10} {of:6} {len(ends):6} {len(ends) - left - endless:7} {endless:8} {left:5}  {told}")
    print(f"rooms weighed by their size: {100 * weighted:.1f} %")
    for r in results:
        if r["end"] == "survived":
            print(f"  {r['kind']}, {r['tests']} tests: {r['say']}")


def main() -> None:
    """Run and print."""
    words = sys.argv[1:]
    more = words[:1] == ["again"]
    folder = Path(os.environ.get("MUTANTS") or Path(tempfile.gettempdir()) / "billet-mutants")
    folder.mkdir(parents=True, exist_ok=True)
    kept = folder / "results.json"
    if more:
        last = json.loads(kept.read_text(encoding="utf-8"))
        results, sizes = last["results"], last["sizes"]
    else:
        count, seed, room = [*words, *("400", "1", "")[len(words) :]]
        sample, sizes = drawn(int(count), seed, [room] if room else list(ROOMS))
        results = [{"room": name, "mutant": vars(m), "end": "survived", "kind": m.kind} for name, m in sample]
    trials = Trials(Copy(folder), float(words[1]) if more and words[1:] else THOROUGH if more else QUICK)
    for r in results:
        trials.learn(r["mutant"]["file"], r.get("killer", ""))
    for at, r in enumerate(results):
        if r["end"] != "killed":
            mutant = Mutant(**r["mutant"])
            r |= trials.run(mutant) | {"say": mutant.say((ROOT / mutant.file).read_bytes())}
            print(f"{at + 1}/{len(results)} {r['end']} {r['seconds']:.1f} s {r['killer']} | {r['say']}", flush=True)
            kept.write_text(json.dumps({"results": results, "sizes": sizes}), encoding="utf-8")
    report(results, sizes)


if __name__ == "__main__":
    main()
