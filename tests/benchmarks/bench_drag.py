"""A slider dragged in a real browser: from the key to the picture on the screen, on every demo. Prints, asserts nothing.

    python -m tests.benchmarks.bench_drag [DEMO ...]

Wants playwright's client and Debian's chromium. The first pictures of a drag are drawn large; the page then draws as large as
this machine draws in time, so the median is told of all of them and of the later half.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from typing import Any

from playwright.sync_api import sync_playwright

DEMOS = Path(__file__).parents[2] / "demo_billets"
KEYS = 24
REST = 300  # ms from key to key, less than the page waits before it draws the fine picture
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-sync"]


def dragged(window: Any) -> list[float]:
    """Milliseconds from wish to picture of every quick picture while a slider is moved by key."""
    slider, face = window.locator("[data-shape='spine middle']"), window.locator(".face")
    slider.focus()
    took = []
    for k in range(KEYS):
        slider.press("ArrowRight" if k % 2 else "ArrowLeft")
        window.wait_for_timeout(REST)  # looking on all the time would itself hold the browser up
        if face.get_attribute("data-quality") == "drag":
            took.append(float(face.get_attribute("data-took")))
    return took


def main() -> None:
    """Drag the middle of the spine on each demo."""
    names = sys.argv[1:] or sorted(p.stem for p in DEMOS.glob("*.toml") if "[[bar]]" in p.read_text("utf-8"))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tools:
        for name in names:
            shutil.copy(DEMOS / f"{name}.toml", folder)
        shutil.copy(DEMOS / "scales.png", folder)  # the relief's own picture
        words = [sys.executable, "-m", "billet.cli", "open", folder, "--no-browser"]
        environment = {**os.environ, "HOME": folder, "PYTHONUNBUFFERED": "1"}
        server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment)
        assert server.stdout is not None
        address = next(m[0] for line in server.stdout if (m := re.search(r"http://127\S+", line)))
        browser = tools.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        try:
            window = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
            window.goto(address)
            window.locator("#title").wait_for()
            print(f"{'demo':<16}{'first':>8}{'median':>8}{'later':>8}  [ms]")
            for name in names:
                window.goto(f"{address.partition('?')[0]}#{name}.toml/blade")
                window.reload()
                window.locator("[data-shape='spine middle']").wait_for(timeout=30_000)
                window.wait_for_selector(".face[data-wish]", state="attached", timeout=30_000)
                took = dragged(window)
                later = took[len(took) // 2 :]
                print(f"{name:<16}{took[0]:>8.0f}{median(took):>8.0f}{median(later):>8.0f}", flush=True)
        finally:
            browser.close()
            server.kill()


if __name__ == "__main__":
    main()
