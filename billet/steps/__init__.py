"""The steps of the trade, one file each. The registry is derived from the files: a step that is imported here is known everywhere."""

from __future__ import annotations

import importlib
import pkgutil
import threading
from collections.abc import Collection

from billet.steps.step import Step

__all__ = ["Step", "some_steps", "step_types"]
_LOADING = threading.RLock()  # the page asks from several threads


def step_types() -> dict[str, type[Step]]:
    """Every step by its verb (the `do` of a recipe), in alphabetical order."""
    with _LOADING:
        for module in pkgutil.iter_modules(__path__):
            importlib.import_module(f"{__name__}.{module.name}")
        return dict(sorted(_known().items()))


def some_steps(verbs: Collection[str]) -> dict[str, type[Step]]:
    """The steps of some verbs, so that a recipe loads no file it does not use; all of them where a verb is not the name
    of its file.
    """
    with _LOADING:
        files = {module.name for module in pkgutil.iter_modules(__path__)}
        for verb in files.intersection(verbs):
            importlib.import_module(f"{__name__}.{verb}")
        known = _known()
    return {verb: known[verb] for verb in sorted(verbs)} if known.keys() >= set(verbs) else step_types()


def _known() -> dict[str, type[Step]]:
    """The steps loaded so far by their verbs."""
    return {str(kind.model_fields["do"].default): kind for kind in list(Step.kinds.values())}
