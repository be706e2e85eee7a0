"""Settings of the suite: in the checks that gate a change, the same random cases every time; at a developer's desk, new ones every run."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("gate", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("gate" if os.environ.get("CI") else "desk")
