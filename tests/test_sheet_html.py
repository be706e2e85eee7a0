"""The sheet as one HTML file: whole, safe and self-contained; read by the standard library's own parser."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest

from billet.base.safety import CAUTIONS
from render.sheet.html import as_html
from tests.sheets import BLADE, DRAW, many_draws, recipe, sheet

VOID = {"meta", "input", "img", "rect"}  # HTML Living Standard 13.1.2, of those used; rect closes itself
NAILED = "<script>alert('x')</script> & \\\"co\\\""


class Page(HTMLParser):
    """Collects tags, attributes and words; notes what is not closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words, self.open, self.amiss = [], [], []
        self.feed(text)
        self.amiss += self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.amiss.append(tag)

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Page:
    text = recipe(NAILED, steps=many_draws(5), blade=BLADE.format(length="240 mm"))
    return Page(as_html(sheet(tmp_path_factory.mktemp("html"), text)))


def test_every_tag_is_closed_in_order(page: Page) -> None:
    assert page.amiss == []


def test_nothing_is_fetched_and_nothing_runs(page: Page) -> None:
    links = [v or "" for _, attrs in page.tags for k, v in attrs.items() if k in ("src", "href")]
    assert links and all(link.startswith(("#", "data:image/png;base64,")) for link in links)
    assert "script" not in {tag for tag, _ in page.tags}
    assert not any(name.startswith("on") for _, attrs in page.tags for name in attrs)


def test_a_title_is_words_whatever_stands_in_it(page: Page) -> None:
    assert "<script>alert('x')</script> & \"co\"" in page.words


def test_it_is_made_for_a_phone_and_for_paper(page: Page) -> None:
    assert ("meta", {"name": "viewport", "content": "width=device-width,initial-scale=1"}) in page.tags
    style = "".join(page.words)
    assert "@media print" in style and "@media (max-width" in style and "overflow-x:auto" in style


def test_the_template_is_in_millimetres_with_its_bars(page: Page) -> None:
    """SVG 2, 7.8: width in mm over a viewBox of the same number makes a user unit a millimetre."""
    svg = next(attrs for tag, attrs in page.tags if tag == "svg")
    assert (svg["width"] or "").endswith("mm")
    assert float((svg["width"] or "")[:-2]) == float((svg["viewbox"] or "").split()[2])
    assert sorted(float(attrs["width"] or 0) for tag, attrs in page.tags if tag == "rect") == [50.0, 50.8]
    outline = next(attrs["points"] or "" for tag, attrs in page.tags if tag == "polyline")
    x = [float(point.split(",")[0]) for point in outline.split()]
    assert max(x) - min(x) == pytest.approx(240.0, abs=0.01)


def test_it_holds_every_card_and_the_cautions_in_full(page: Page) -> None:
    ids = [attrs["id"] for tag, attrs in page.tags if tag == "section"]
    assert ids == ["template", "forge", "fire", "grinder", "customer"]
    told = " ".join(page.words)
    assert all(CAUTIONS[topic] in told for topic in ("fire", "press", "quench", "straightening", "grinder", "figures"))


def test_the_command_writes_it(tmp_path: Path) -> None:
    file = tmp_path / "k.toml"
    file.write_text(recipe(steps=DRAW.format(t=6)))
    words = [sys.executable, "-m", "billet.cli", "sheet", str(file), "--html"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "k.html").read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>") and "No template" in text
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", text)
