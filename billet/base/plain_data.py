"""Values as JSON takes them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def depth(data: Any) -> int:
    """How many tables and lists lie in one another; none in a plain value."""
    level, here = 0, [data]
    while here := [one for one in here if isinstance(one, Mapping | list | tuple)]:
        level += 1
        here = [inner for one in here for inner in (one.values() if isinstance(one, Mapping) else one)]
    return level


def finite(data: Any) -> Any:
    """Numbers that are not finite become null, tuples lists, numpy's numbers and arrays plain, and all else words."""
    if isinstance(data, Mapping):
        return {str(k): finite(v) for k, v in data.items()}
    if isinstance(data, list | tuple):
        return [finite(v) for v in data]
    if isinstance(data, float):
        return data if data == data and abs(data) != float("inf") else None
    if isinstance(data, str | int) or data is None:
        return data
    return finite(data.tolist()) if hasattr(data, "tolist") else str(data)
