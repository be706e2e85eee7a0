"""What the record teaches about the shop: scale lost per face and heat, cleanup per face, end trim, spread in a draw.

Relations between one reading of a bar and the next (L, W, T length, width, thickness; n pieces, k kerf, p spacer):

* cut and laid up:  L' = (L - 2 e - (n - 1) k) / n,   T' = n T - 2 (n - 1) c + (n - 1) p
* in the fire, h heats:  V' = V - s * sum over the heats of 2 (LW + WT + TL), the size before each heat taken on the
  geometric path from the first reading to the last; weighed, the same with the density
* drawn:  ln(W'/W) + sum 2 s/W_j = x (ln(T/T') - sum 2 s/T_j)

with e the end trim, c the cleanup, s the scale depth [m] and x the spread exponent. A stack that is not welded is
judged by weight only, for there is air between its plates; a reading that cannot be (a slipped figure) is left out.
The equations are the ledger's own turned round.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from billet.base.errors import InputError
from billet.record.chains import Passage
from billet.record.relations import START, Noise, Track
from billet.record.robust import Estimate, solve

NEEDED = {"scale_per_heat": 6, "face_cleanup": 4, "end_trim": 4, "spread": 5}
_UNITS_OF = {
    "scale_per_heat": "heated bars weighed, or measured on all sides, before and after",
    "face_cleanup": "restacks or folds with the thickness measured before and after",
    "end_trim": "restacks or folds with the length measured before and after",
    "spread": "draws of a welded bar with width and thickness measured before and after",
}


@dataclass(frozen=True)
class Learnt:
    """A figure of the shop and its 90 % interval [m] (``spread`` is a bare exponent), from ``points`` relations."""

    name: str
    value: float
    low: float
    high: float
    points: int

    @property
    def settled(self) -> bool:
        """True when the interval keeps clear of zero; otherwise the figure is not worth using yet."""
        return self.low > 0


@dataclass(frozen=True)
class NotYet:
    """A figure that cannot be told yet, with how many more measurements it takes."""

    name: str
    have: int
    need: int

    @property
    def reason(self) -> str:
        """One sentence for the smith."""
        return (
            f"{self.name}: {self.have} {_UNITS_OF[self.name]}, {self.need} are needed, so {self.need - self.have} more."
        )


@dataclass(frozen=True)
class ShopFit:
    """What could be learnt, figure by figure, and by how much of itself readings erred beyond what was stated."""

    scale_per_heat: Learnt | NotYet
    face_cleanup: Learnt | NotYet
    end_trim: Learnt | NotYet
    spread: Learnt | NotYet
    extra_reading_error: float = 0.0

    @property
    def figures(self) -> tuple[Learnt | NotYet, ...]:
        """The four figures in the order of the shop table."""
        return (self.scale_per_heat, self.face_cleanup, self.end_trim, self.spread)


def fit_shop(passages: Sequence[Passage], noise: Noise | None = None) -> ShopFit:
    """Fit the shop's losses; figures with too few points are refused one by one.

    Raises ``InputError`` with the reasons when nothing at all can be told.
    """
    track = Track(passages, noise or Noise())
    counts = track.counts
    kept = [at for at, name in enumerate(tuple(NEEDED)[:3]) if counts[name] >= NEEDED[name]]
    learnt: dict[str, Learnt | NotYet] = {name: NotYet(name, counts[name], need) for name, need in NEEDED.items()}
    losses, share = np.zeros(3), 0.0
    if kept:
        found = solve(track.loss_problem(kept), START[kept])
        losses[kept], share = found.values, found.share
        learnt |= _learnt([tuple(NEEDED)[at] for at in kept], found, counts)
    counts["spread"] = int(np.sum(track.spread_rows(kept)))
    learnt["spread"] = NotYet("spread", counts["spread"], NEEDED["spread"])
    if counts["spread"] >= NEEDED["spread"]:
        found = solve(track.spread_problem(losses, kept), np.array([0.2]))
        learnt |= _learnt(["spread"], found, counts)
        share = max(share, found.share)
    if not any(isinstance(one, Learnt) for one in learnt.values()):
        raise InputError(f"The record cannot teach the shop's losses yet. {' '.join(_reasons(learnt))}")
    return ShopFit(**learnt, extra_reading_error=share)


def _reasons(learnt: dict[str, Learnt | NotYet]) -> list[str]:
    return [one.reason for one in learnt.values() if isinstance(one, NotYet)]


def _learnt(names: Sequence[str], found: Estimate, counts: dict[str, int]) -> dict[str, Learnt]:
    """Results by name; a loss cannot be below zero."""
    low, high = np.maximum(found.interval(), 0.0)
    values = np.maximum(found.values, 0.0)
    return {
        name: Learnt(name, float(values[at]), float(low[at]), float(high[at]), counts[name])
        for at, name in enumerate(names)
    }


def offer(found: ShopFit, notes: int, day: str) -> str:
    """A ``[shop]`` table as TOML text with what was learnt from so many ``notes`` up to ``day``.

    A figure whose interval reaches zero is offered as a remark only; so is one that cannot be told yet.
    """
    lines = ["[shop]", f'fitted = "bench record, {notes} notes up to {day}; intervals are 90 %"']
    return "\n".join([*lines, *(_line(one) for one in found.figures)]) + "\n"


def _line(one: Learnt | NotYet) -> str:
    if isinstance(one, NotYet):
        return f"# {one.reason}"
    value, low, high = (
        f"{part:.2f}" if one.name == "spread" else f"{part * 1e3:.3g}" for part in (one.value, one.low, one.high)
    )
    written = value if one.name == "spread" else f'"{value} mm"'
    line = f"{one.name} = {written}  # {low} to {high}, from {one.points} measurements"
    return line if one.settled else f"# {line}; not settled, measure more"


def as_dict(found: ShopFit) -> dict[str, object]:
    """What was learnt as plain JSON values in SI; a figure that cannot be told yet says why."""
    figures = {}
    for one in found.figures:
        unit = "" if one.name == "spread" else "_m"
        told = asdict(one) | ({"settled": one.settled} if isinstance(one, Learnt) else {"reason": one.reason})
        figures[one.name] = {
            key + (unit if key in ("value", "low", "high") else ""): told[key] for key in told if key != "name"
        }
    return {**figures, "extra_reading_error": found.extra_reading_error}
