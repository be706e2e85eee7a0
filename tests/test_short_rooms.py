"""No file is longer than four hundred lines and no function longer than sixty: what does not fit on a page is not read."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
FILES = sorted(f for room in ("billet", "render") for f in (ROOT / room).rglob("*.py"))
MOST_LINES, LONGEST = 400, 60


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(ROOT)))
def test_a_file_and_its_functions_are_short(file: Path) -> None:
    text = file.read_text("utf-8")
    functions = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    assert text.count("\n") <= MOST_LINES
    assert [f.name for f in functions if (f.end_lineno or 0) - f.lineno >= LONGEST] == []
