"""How quickly commands start: `billet --help` against importing typer alone, and a whole preview of a demo against
importing what no picture can do without (wanted: at most 2.5). `python -m tests.benchmarks.bench_start [DEMO ...]`.

Compiled files are kept in a folder of the benchmark's own, ours and the libraries' alike, as they are kept where a
package is installed, whatever the environment says; the first run of each command fills it and is not counted.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.paired import compare, python

DEMOS = Path(__file__).parents[2] / "demo_billets"

if __name__ == "__main__":
    compare(
        "billet --help against import typer",
        [sys.executable, "-m", "billet.cli", "--help"],
        python("import typer"),
        rounds=15,
    )
    with tempfile.TemporaryDirectory() as folder:
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = f"{folder}/compiled"
        for demo in sys.argv[1:] or ("slicer", "chef"):
            compare(
                f"billet preview of {demo} against import numpy, scipy.ndimage",
                [
                    sys.executable,
                    "-m",
                    "billet.cli",
                    "preview",
                    str(DEMOS / f"{demo}.toml"),
                    "-o",
                    f"{folder}/a.png",
                    "--force",
                ],
                python("import numpy, scipy.ndimage"),
                rounds=7,
            )
