"""Nothing in the house is kept for the tests alone: every function and class is named somewhere in billet or render."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest

from billet.cli import COMMANDS
from billet.steps import step_types

ROOT = Path(__file__).parent.parent
TREES = {f: ast.parse(f.read_text("utf-8")) for room in ("billet", "render") for f in (ROOT / room).rglob("*.py")}
MANUAL_IS_MADE_BY = ast.parse((ROOT / "tests" / "manual.py").read_text("utf-8"))
FROM_ITS_MODELS = {"all_fields"}  # what the tests of every field read from the models


def named_in(tree: ast.AST, exports: bool) -> list[str]:
    """Every name used in a file; what an ``__init__`` only passes on does not count."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            found.append(node.id)
        elif isinstance(node, ast.Attribute):
            found.append(node.attr)
        elif isinstance(node, ast.ImportFrom) and not exports:
            found += [a.name for a in node.names if a.asname]
    return found


def idle(trees: dict[Path, ast.Module]) -> set[str]:
    """Functions and classes that nothing names."""
    used = Counter(name for f, tree in trees.items() for name in named_in(tree, f.name == "__init__.py"))
    made = {
        node.name for tree in trees.values() for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)
    }
    return {name for name in made if not used[name]}


def test_nothing_is_kept_for_the_tests_alone() -> None:
    manual = {a.name for node in ast.walk(MANUAL_IS_MADE_BY) if isinstance(node, ast.ImportFrom) for a in node.names}
    registered = {t.__name__ for t in step_types().values()} | set(COMMANDS)
    assert idle(TREES) - manual - registered - FROM_ITS_MODELS == set()


@pytest.mark.parametrize("text", ["def nobody_asks(): ...", "class NobodyAsks: ..."])
def test_an_idle_name_is_found(text: str) -> None:
    assert "nobody" in next(iter(idle({Path("new.py"): ast.parse(text)}))).lower()
