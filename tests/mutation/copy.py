"""The copy of the tree that is damaged, and which tests reach which of its lines, kept from one run to the next."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections import Counter
from itertools import accumulate
from pathlib import Path
from typing import Any

from tests.mutation.damage import Mutant

ROOT = Path(__file__).parents[2]
ROOMS = {
    **{name: f"billet/{name}/*.py" for name in ("bar", "steps", "heating", "blade", "grinding", "record")},
    "units": "billet/base/units.py",
}
LEFT_OUT = (  # too slow for a damage each, or about other rooms
    "page page_browser page_contrast plan_exhaustive plan_targets plan_integral plan_patterns fuzz gallery manual_pages "
    "field_sentences count count_bench count_line count_command harden_words hardening heat_treatment_properties "
    "solver_properties readme rooms floors sheet_html sheet_template light session banding mesh solid steels particles kept"
)
NEAR, MOST_FILES = 2, 24  # files of tests asked about one damage at first, and at most: every file costs its imports
FEW = 5  # tests
TAKEN = ("billet", "render", "tests", "demo_billets", "pyproject.toml", "README.md", "DEVELOPERS.md")


def files_of(room: str) -> list[Path]:
    """The files of a room, from the top of the tree."""
    return sorted(path.relative_to(ROOT) for path in ROOT.glob(ROOMS[room]))


def test_files() -> list[str]:
    """Every file of quick tests."""
    out = {f"test_{name}.py" for name in LEFT_OUT.split()}
    found = [
        path for folder in ("tests", "tests/outside", "tests/textbook") for path in ROOT.glob(f"{folder}/test_*.py")
    ]
    return sorted(str(path.relative_to(ROOT)) for path in found if path.name not in out)


def mark(*paths: Path) -> str:
    """A short mark of what files hold."""
    return hashlib.sha256(b"\0".join(path.read_bytes() for path in paths)).hexdigest()[:16]


class Copy:
    """The copy in `folder` and what is known of it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.tree = folder, folder / "tree"
        shutil.rmtree(self.tree, ignore_errors=True)
        self.tree.mkdir(parents=True)
        for name in TAKEN:
            take = shutil.copytree if (ROOT / name).is_dir() else shutil.copy2
            take(ROOT / name, self.tree / name)
        self.lines: dict[str, dict[str, list[str]]] = {}
        self.seconds: dict[str, float] = {}
        self.broad: dict[str, list[str]] = {}
        self._reached()

    def run(self, *words: str, **more: Any) -> subprocess.Popen[str]:
        """A program of ours inside the copy."""
        where = os.environ | {"PYTHONPATH": str(self.tree), "CI": "1"}
        return subprocess.Popen([sys.executable, "-m", *words], cwd=self.tree, env=where, text=True, **more)

    def _reached(self) -> None:
        """Read what was kept, and look again at the test files that have changed; at all of them if the rooms have."""
        kept, code = self.folder / "reach.json", mark(*(ROOT / file for room in ROOMS for file in files_of(room)))
        known: dict[str, Any] = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
        if known.get("code") != code:
            known = {"code": code, "files": {}, "seconds": {}, "lines": {}}
        marks = {file: mark(ROOT / file) for file in test_files()}
        stale = {file for file, is_now in marks.items() if known["files"].get(file) != is_now}
        if stale:
            seen = self.folder / "seen.json"
            print(f"looking which lines {len(stale)} test files reach", flush=True)
            with open(self.folder / "seen.log", "w", encoding="utf-8") as log:
                self.run("tests.mutation.reach", str(seen), *sorted(stale), stdout=log, stderr=log).wait()
            known = merged(known, json.loads(seen.read_text(encoding="utf-8")), stale) | {"files": marks}
            kept.write_text(json.dumps(known), encoding="utf-8")
        self.lines, self.seconds = known["lines"], known["seconds"]

    def _of_room(self, file: str) -> set[str]:
        """Tests that reach a neighbour of a file in which nothing is called."""
        rooms = [lines for other, lines in self.lines.items() if Path(other).parent == Path(file).parent]
        return {test for lines in rooms for tests in lines.values() for test in tests}

    def _files(self, file: str) -> list[str]:
        """Files of tests, those named like a file first, then those that run through most of its lines."""
        if file not in self.broad:
            lines = self.lines.get(file, {}).values()
            count = Counter(f for tests in lines for f in {file_of(test) for test in tests})
            self.broad[file] = sorted(count, key=lambda f: (Path(file).stem not in f, -count[f], f))
        return self.broad[file]

    def asked(self, mutant: Mutant, killers: list[str], budget: float) -> tuple[list[str], list[str]]:
        """Tests to ask first, and then, together within a budget of seconds: what killed before in this file and what
        runs through the damaged line in the two files of tests that know it best; then further files.
        """
        lines = self.lines.get(mutant.file, {})
        there = range(mutant.first, mutant.last + 1) if mutant.called else ()
        reach = {t for at in there for t in lines.get(str(at), ())}
        reach = reach or {test for tests in lines.values() for test in tests}
        if (
            len(reach) < FEW and not mutant.called
        ):  # nothing in it is called: whoever came first has imported it for all
            reach |= self._of_room(mutant.file)
        reach &= self.seconds.keys()
        mine = Counter(map(file_of, reach))
        best = [f for f in self._files(mutant.file) if f in mine] or sorted(mine, key=lambda f: -mine[f])
        rank = {test: at for at, test in enumerate(reversed(killers))}
        order = sorted(reach, key=lambda t: (rank.get(t, len(rank)), self.seconds[t], t))
        near = {*best[:NEAR], *(file_of(k) for k in killers[-NEAR:])}
        first = within([t for t in order if file_of(t) in near], budget / 2, self.seconds)
        far = {*near, *best[:MOST_FILES]}
        also = sorted((t for t in self.seconds if file_of(t) in far and t not in reach), key=lambda t: self.seconds[t])
        taken = set(first)
        return first, within([t for t in (*order, *also) if file_of(t) in far and t not in taken], budget, self.seconds)


def within(tests: list[str], budget: float, seconds: dict[str, float]) -> list[str]:
    """The first of the tests that take no longer than so many seconds together, one at least."""
    spent = accumulate(seconds[test] for test in tests)
    return [test for at, (test, so_far) in enumerate(zip(tests, spent, strict=True)) if not at or so_far <= budget]


def file_of(test: str) -> str:
    """The file a test stands in."""
    return test.partition("::")[0]


def merged(known: dict[str, Any], seen: dict[str, Any], stale: set[str]) -> dict[str, Any]:
    """What was known of other test files, and what was seen of these."""

    def stays(test: str) -> bool:
        return file_of(test) not in stale

    lines: dict[str, dict[str, list[str]]] = {}
    for source in (known["lines"], seen["lines"]):
        for file, per_line in source.items():
            here = lines.setdefault(file, {})
            for line, tests in per_line.items():
                here.setdefault(line, []).extend(t for t in tests if source is seen["lines"] or stays(t))
    seconds = {test: s for test, s in known["seconds"].items() if stays(test)} | seen["seconds"]
    return known | {"lines": lines, "seconds": seconds}
