"""The steps of the trade, one file each. The registry is derived from the files: a step that is imported here is known everywhere."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Collection

from billet.steps.step import Step

__all__ = ["Step", "some_steps", "step_types"]


def step_types() -> dict[str, type[Step]]:
    """Every step by its verb (the `do` of a recipe), in alphabetical order."""
    for module in pkgutil.iter_modules(__path__):
        importlib.import_module(f"{__name__}.{module.name}")
    verbs = {str(t.model_fields["do"].default): t for t in Step.kinds.values()}
    return dict(sorted(verbs.items()))


def some_steps(verbs: Collection[str]) -> dict[str, type[Step]]:
    """The steps of some verbs, so that a recipe loads no file it does not use; all of them where a verb is not the name
    of its file.
    """
    files = {module.name for module in pkgutil.iter_modules(__path__)}
    for verb in files.intersection(verbs):
        importlib.import_module(f"{__name__}.{verb}")
    known = {str(t.model_fields["do"].default): t for t in Step.kinds.values()}
    return {verb: known[verb] for verb in sorted(verbs)} if known.keys() >= set(verbs) else step_types()
