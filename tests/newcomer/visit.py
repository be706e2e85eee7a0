"""A folder in which every command is typed once, by a program that knows nothing of the checkout."""

from __future__ import annotations

import fnmatch
import re
import shlex
import shutil
import subprocess
import tomllib
import urllib.request
from collections.abc import Iterable, Mapping, Sequence
from http.cookiejar import CookieJar
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
FENCE = re.compile(r"```(\w+)(?: (\S+))?\n(.*?)```", re.S)

UNWRITABLE = Path("/proc")  # a home where nobody can write, not even the superuser
SERVED = (".js", ".css", ".svg", ".jpg")
# Every command at work on the starter recipe, in the order of the bench; files it makes stand behind the arrow.
WORK = """\
new knife.toml > knife.toml
check knife.toml
ledger knife.toml
ledger knife.toml --full
stages knife.toml
quote knife.toml
preview knife.toml -o knife.png > knife.png
where knife.toml "43 mm, 12 mm"
carbon knife.toml --full
harden knife.toml --full
grind knife.toml --at "50 mm spine 3.1 mm bow 0.2 mm left"
sheet knife.toml -o knife.pdf > knife.pdf
sheet knife.toml -o knife.html > knife.html
solid knife.toml -o knife.glb > knife.glb
next knife.toml
record add knife.toml after 2 thickness 14.1 mm note "edges cold" > bench.sqlite
record list
record search cold
record compare knife.toml
record export -o record.csv > record.csv
record backup --text record.jsonl > record.jsonl
record restore record.jsonl --bench second.sqlite > second.sqlite
again knife.toml knife2.toml > knife2.toml
count stripes.png --along 100,5,100,235
steels
steels W2
schema -o recipe.schema.json > recipe.schema.json
manual
manual tutorial
manual truth
manual ladder
--version
--help
"""


def carried() -> list[str]:
    """Every file of the packages as the project's file says a wheel carries it, by its path in the checkout."""
    tool = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
    globs = {name.replace(".", "/"): kinds for name, kinds in tool["package-data"].items()}
    return [
        str(path)
        for path in kept()
        if path.suffix == ".py"
        or any(path.is_relative_to(room) and _fits(str(path.relative_to(room)), kinds) for room, kinds in globs.items())
    ]


def kept() -> list[Path]:
    """Every file of the packages under version control, by its path in the checkout."""
    told = subprocess.run(["git", "ls-files", "-z", "billet", "render"], cwd=ROOT, capture_output=True, check=True)
    return [Path(name) for name in told.stdout.decode().split("\0") if name]


def _fits(name: str, kinds: Iterable[str]) -> bool:
    return any(fnmatch.fnmatch(name, kind) and name.count("/") == kind.count("/") for kind in kinds)


def laid(folder: Path) -> Path:
    """The packages as a wheel would lay them into a folder."""
    for name in carried():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, folder / name)
    return folder


def emptied(home: Path, **more: str) -> dict[str, str]:
    """The surroundings of a new machine: nothing of ours is set."""
    return {"HOME": str(home), "PATH": "/usr/bin:/bin", "LANG": "C", **more}


def typed(start: Sequence[str], words: str, folder: Path, env: Mapping[str, str]) -> list[str]:
    """Type one line; what was at fault."""
    line, _, makes = words.partition(" > ")
    run = subprocess.run([*start, *shlex.split(line)], cwd=folder, env=env, capture_output=True, check=False)
    told = (run.stdout + run.stderr).decode(env.get("PYTHONIOENCODING", "utf-8"), "replace")
    faults = [f"billet {line}: exit code {run.returncode}: {told[-300:]}"] if run.returncode else []
    faults += [f"billet {line}: traceback"] if "Traceback" in told else []
    return faults + ([f"billet {line}: made no {makes}"] if makes and not (folder / makes).is_file() else [])


def worked(start: Sequence[str], folder: Path, env: Mapping[str, str]) -> list[str]:
    """Type every line of the work; what was at fault."""
    stripes = Image.new("L", (200, 240), 40)
    for k in range(0, 12, 2):
        stripes.paste(210, (0, 20 * k, 200, 20 * k + 20))
    stripes.save(folder / "stripes.png")
    return [fault for words in WORK.splitlines() for fault in typed(start, words, folder, env)]


def read_along(start: Sequence[str], folder: Path, env: Mapping[str, str], page: str = "tutorial") -> list[str]:
    """A page of the manual to the letter: its files saved, its commands typed; what was at fault."""
    faults: list[str] = []
    for _, name, text in FENCE.findall((ROOT / "billet" / "manual" / f"{page}.md").read_text("utf-8")):
        if name:
            (folder / name).write_text(text, "utf-8")
        else:
            faults += [f for line in text.splitlines() for f in typed(start, line.removeprefix("billet "), folder, env)]
    return faults


def looked_at(start: Sequence[str], folder: Path, env: Mapping[str, str]) -> list[str]:
    """Open the page and fetch it with all it names, as a browser would; what was at fault."""
    server = subprocess.Popen(
        [*start, "open", ".", "--no-browser"],
        cwd=folder,
        env={**env, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        first = server.stdout.readline() if server.stdout else ""
        found = re.search(r"(http://[^/]+)/\S*", first)
        return _fetched(found[0], found[1]) if found else [f"billet open: {first}"]
    finally:
        server.terminate()
        server.wait(20)


def _fetched(address: str, host: str) -> list[str]:
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    faults = [] if b"main.js" in browser.open(address, timeout=20).read() else ["the page names no main.js"]
    for name in (str(path.relative_to("render/page")) for path in kept() if path.suffix in SERVED):
        try:
            if browser.open(f"{host}/{name}", timeout=20).read() != (ROOT / "render" / "page" / name).read_bytes():
                faults.append(f"the page's {name} is another")
        except OSError as error:
            faults.append(f"the page's {name}: {error}")
    return faults
