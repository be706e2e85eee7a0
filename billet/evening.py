"""What diffusion does to a laminate in a heat."""

from __future__ import annotations

from billet.laminate import Laminate


def even_out(laminate: Laminate, temperature: float, seconds: float) -> Laminate:
    """The laminate after a heat at a temperature [K] for some time [s]."""
    return laminate
