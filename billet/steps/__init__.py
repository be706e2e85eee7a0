"""The steps of the trade, one file each. The registry is derived from the files: a step that is imported here is known everywhere."""

from __future__ import annotations

import importlib
import pkgutil

from billet.steps.step import Step

__all__ = ["Step", "step_types"]


def step_types() -> dict[str, type[Step]]:
    """Every step by its verb (the `do` of a recipe), in alphabetical order."""
    for module in pkgutil.iter_modules(__path__):
        importlib.import_module(f"{__name__}.{module.name}")
    verbs = {str(t.model_fields["do"].default): t for t in Step.kinds.values()}
    return dict(sorted(verbs.items()))
