"""The page in a real browser: one is started, a shop opened in it, and what goes wrong on the page is kept."""

from __future__ import annotations

import io
import re
import shutil
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.page_servers import Server

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright's client is not installed")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
IN_A_BROWSER = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed: the page is not tried in a browser"),
]
DEMOS = Path(__file__).parent.parent / "demo_billets"
FLAGS = [
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
]  # fmt: skip


def shades(png: bytes) -> Any:
    """The grey of every pixel of a screenshot."""
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"), int)


class Shop:
    """A folder of recipes with the page open on it, a browser window, and what went wrong in it."""

    def __init__(self, folder: Path, browser: Any, width: int, given: str = "", *options: str) -> None:
        self.folder = folder
        self.server = Server(["open", str(folder / given), "--no-browser", *options], folder)
        self.told = self.server.told("Ctrl-C stops it.")
        found = re.search(r"http://127\S+", "".join(self.told))
        if not found:
            pytest.skip("".join(self.told))  # no local network to be in
        self.address = found[0]
        self.window = browser.new_context(viewport={"width": width, "height": 800}).new_page()
        self.faults: list[str] = []
        self.asked: list[str] = []
        self.window.on("pageerror", lambda error: self.faults.append(str(error)))
        self.window.on("console", lambda m: self.faults.append(m.text) if m.type == "error" else None)
        self.window.on("response", lambda r: self.faults.append(f"{r.status} {r.url}") if r.status >= 500 else None)
        self.window.on("request", lambda request: self.asked.append(request.url))
        try:
            self.window.goto(self.address)
        except sync_api.Error:
            self.close()
            raise

    def room(self, name: str) -> None:
        self.window.get_by_role("button", name=name, exact=True).click()

    def until(self, true: str) -> None:
        """Wait for something to be true on the page; asked from outside, for its own policy allows no text as a program."""
        ends = time.monotonic() + 15
        while not self.window.evaluate(true):
            assert time.monotonic() < ends, true
            self.window.wait_for_timeout(50)

    def when(self, true: Callable[[], Any]) -> None:
        """Wait, while the browser goes on, for something to be true of the files or of what was asked."""
        ends = time.monotonic() + 15
        while not true():
            assert time.monotonic() < ends
            self.window.wait_for_timeout(50)

    def recipe(self, file: str) -> Any:
        return tomllib.loads((self.folder / file).read_text())

    def close(self) -> None:
        self.server.kill()


def rewrite(path: Path, text: str) -> None:
    """Change a file in one go, as another program would; half a file would be noticed as one."""
    fresh = path.with_suffix(".fresh")
    fresh.write_text(text)
    fresh.replace(path)


def launched(player: Any) -> Any:
    """A headless Chromium."""
    return player.chromium.launch(executable_path=CHROMIUM, headless=True, args=FLAGS)


def start(shop: Shop) -> Any:
    window = shop.window
    window.fill("#newtitle", "Harbour petty")
    window.fill("#newname", "petty")
    window.click("[data-start=starter_metric]")
    window.wait_for_selector(".stackcard")
    return window
