"""Settings of the suite: in the checks that gate a change, the same random cases every time; at a developer's desk, new ones every run."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from tests.browsing import Shop

settings.register_profile("gate", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("gate" if os.environ.get("CI") else "desk")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A headless Chromium."""
    from tests.browsing import launched, sync_api

    with sync_api.sync_playwright() as player:
        found = launched(player)
        yield found
        found.close()


@pytest.fixture(params=[1280], ids=str)
def shop(request: pytest.FixtureRequest, tmp_path: Path, browser: Any) -> Iterator[Shop]:
    """A folder with a knife in it, opened in a window of a width [px]; nothing off this machine may be asked for."""
    from tests.browsing import DEMOS, Shop

    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    opened = Shop(tmp_path, browser, request.param)
    yield opened
    opened.close()
    assert [one for one in opened.asked if not one.startswith(("http://127.0.0.1:", "blob:"))] == []
