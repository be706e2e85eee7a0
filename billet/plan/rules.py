"""Rules of thumb of the trade as arithmetic."""

from __future__ import annotations


def feather_layers(lines_per_metre: float, final_length: float, stack_height: float) -> float:
    """Layers per metre [1/m] of stack that give `lines_per_metre` [1/m] along the blade: lines x final length / stack
    height [m].

    The stack stands on end and is drawn to the final length, which spreads its layers as far as it lengthens it. Common
    practice: 50 lines an inch over 12 inches from a stack 3 inches high take 200 an inch.
    """
    return lines_per_metre * final_length / stack_height
