"""What one heat does to a bar: scale eats its faces while its layers even out."""

from __future__ import annotations

from dataclasses import replace

from billet.bar import Bar, Laminar, corner_share
from billet.evening import even_out
from billet.operations.step import Bench, Lost, pare


def one_heat(bar: Bar, bench: Bench, temperature: float, seconds: float) -> tuple[Bar, Lost]:
    """One heat at a temperature [K], held for `seconds` [s] after the core is up, in the bench's shop.

    All six faces lose the same depth of metal to scale; the layers even out meanwhile.
    """
    depth = float(bench.shop.scale_depth(temperature, seconds, min(bar.width, bar.thickness), bench.scale_factor))
    if not bench.diffuse or bar.laminate is None or 2 * depth >= bar.thickness:
        bar, taken = pare(bar, bottom=depth, top=depth, sides=depth, left=depth, right=depth)
        return bar, Lost(scale=taken)
    laminate, areal = even_out(bar.laminate, temperature, seconds, depth, bench.shop.decarb)
    from_faces = areal * bar.length * bar.width * corner_share(bar.corner)
    bar = replace(bar, material=Laminar(laminate), thickness=laminate.total, mean_density=laminate.areal_mass / laminate.total)
    bar, taken = pare(bar, sides=depth, left=depth, right=depth)
    return bar, Lost(scale=from_faces + taken)


def heats(bar: Bar, bench: Bench, temperature: float, seconds: float, count: int) -> tuple[Bar, Lost]:
    """Several heats one after the other; the scale falls off between them and starts afresh."""
    lost = Lost()
    for _ in range(count):
        bar, more = one_heat(bar, bench, temperature, seconds)
        lost = lost.plus(scale=more.scale)
    return bar, lost
