"""A newcomer's day on a new machine: `python -m tests.benchmarks.newcomer [PART ...]`. Needs the network.

Parts: `readme` (a fresh clone, the README's two commands, of the tests a quick part), `wheel` (built, installed away
from the checkout, every command, the tutorial, the page), and any Python by its path (a fresh clone, the newest
packages, the quick part of the suite). Without parts: readme, wheel and the Python that runs this. `.ci/floors` tries
the oldest packages. Everything happens in new folders with an emptied environment; each line says what was at fault.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Mapping
from pathlib import Path

from tests.newcomer import visit

_ONE_COMMAND = re.compile(r"^```\n(python3 -m venv .*)\n```", re.M)
_QUICK = [
    "tests/test_recipe.py",
    "tests/test_cli.py",
    "tests/test_counts.py",
    "tests/test_quantities.py",
    "tests/test_views.py",
    "tests/test_never_written_over.py",
    "tests/test_record_store.py",
    "tests/test_grinding_picture.py",
    "tests/test_plan_cli.py",
    "tests/test_steels.py",
    "tests/test_blade.py",
    "tests/test_sheet_template.py",
    "tests/test_sheet_html.py",
    "tests/test_manual.py",
    "tests/test_readme.py",
    "tests/test_solid.py",
    "tests/test_record_words.py",
    "tests/test_outlines.py",
    "tests/test_page.py",
    "tests/test_laws.py",
    "tests/test_other_machines.py",
]
_PYTEST = ["-n", "0", "-p", "no:cacheprovider", "-m", "not slow", *_QUICK]


def said(words: list[str] | str, folder: Path, env: Mapping[str, str]) -> list[str]:
    """Run one command; what was at fault, and its last line on the way."""
    run = subprocess.run(words, cwd=folder, env=env, shell=isinstance(words, str), capture_output=True, text=True)
    lines = (run.stdout + run.stderr).strip().splitlines()
    print("   ", lines[-1] if lines else "said nothing")
    return [f"exit code {run.returncode}: " + " / ".join(lines[-4:])] if run.returncode else []


def clone(room: Path) -> Path:
    """A fresh clone of what is committed."""
    subprocess.run(["git", "clone", "-q", str(visit.ROOT), str(room / "checkout")], check=True)
    return room / "checkout"


def readme(room: Path, env: Mapping[str, str]) -> list[str]:
    """The README's two commands, to the letter but for the part of the tests."""
    checkout = clone(room)
    first, second = _ONE_COMMAND.findall((checkout / "README.md").read_text("utf-8"))
    return said(first, checkout, env) + said(f"{second} {' '.join(map(repr, _PYTEST))}", checkout, env)


def wheel(room: Path, env: Mapping[str, str]) -> list[str]:
    """The wheel away from the checkout."""
    python, made = str(room / "venv" / "bin" / "python"), room / "made"
    faults = said(["python3", "-m", "venv", "venv"], room, env)
    faults += said([python, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(made), str(clone(room))], room, env)
    (found,) = made.glob("*.whl")
    faults += [
        f"the wheel lacks {name}" for name in set(map(str, visit.kept())) - set(zipfile.ZipFile(found).namelist())
    ]
    shutil.rmtree(room / "checkout")
    faults += said([python, "-m", "pip", "install", "-q", str(found)], room, env)
    (work := room / "Räucherei 1").mkdir()
    start = [str(room / "venv" / "bin" / "billet")]
    bare = {**env, "HOME": str(visit.UNWRITABLE), "PYTHONIOENCODING": "cp1252"}
    return faults + [f for try_ in (visit.worked, visit.read_along, visit.looked_at) for f in try_(start, work, bare)]


def newest(python: str, room: Path, env: Mapping[str, str]) -> list[str]:
    """Another Python with the newest packages it can have, and the quick part of the suite."""
    checkout = clone(room)
    own = str(checkout / ".venv" / "bin" / "python")
    faults = said([python, "-m", "venv", ".venv"], checkout, env)
    faults += said(
        [own, "-m", "pip", "install", "-q", "-U", "--upgrade-strategy", "eager", "-e", ".[test]"], checkout, env
    )
    said([own, "--version"], checkout, env)
    return faults + said([own, "-m", "pytest", *_PYTEST], checkout, env)


def main() -> None:
    """Try the parts and print."""
    at_fault = 0
    for part in sys.argv[1:] or ["readme", "wheel", getattr(sys, "_base_executable", sys.executable)]:
        start = time.time()
        print(part)
        with tempfile.TemporaryDirectory() as name:
            room = Path(name)
            (room / "home").mkdir()
            env = visit.emptied(room / "home")
            own = {"readme": readme, "wheel": wheel}
            faults = own[part](room, env) if part in own else newest(part, room, env)
        print(f"    {len(faults)} at fault in {time.time() - start:.0f} s", *faults, sep="\n    ", flush=True)
        at_fault += len(faults)
    sys.exit(bool(at_fault))


if __name__ == "__main__":
    main()
