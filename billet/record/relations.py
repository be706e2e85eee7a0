"""The relations between one reading of a bar and the next, as arrays, for the fit of a shop's losses."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, vstack

from billet.record.chains import SIZES, Passage
from billet.record.robust import Array, Problem

Mask = NDArray[np.bool_]

DENSITY = 7850.0  # carbon steel [kg/m3]; EN 1991-1-1 table A.4 gives 77.0 to 78.5 kN/m3
LENGTH, WIDTH, THICKNESS, MASS = range(4)
SCALE, CLEANUP, TRIM = range(3)
START = np.array([1e-4, 3e-4, 8e-3])  # scale depth, cleanup, end trim [m] to begin the search with
SLIP = 1.6  # a bar that seems this many times larger or smaller than foreseen was misread: common practice, no source
_LEAST_DRAWN = 1.15  # a smaller draw says too little about spread: common practice, no source


@dataclass(frozen=True)
class Noise:
    """How well the shop reads: length on a rule or calliper [m], and weight as a share of itself.

    Readings that are worse than this are found out by their scatter and only widen the intervals.
    """

    reading: float = 1e-4
    mass_share: float = 0.005


class Track:
    """The passages as arrays, and the relations between their readings; see `billet.record.fit` for the equations."""

    def __init__(self, passages: Sequence[Passage], noise: Noise) -> None:
        def column(of: Callable[[Passage], float]) -> Array:
            return np.array([of(one) for one in passages], dtype=float)

        self._noise = noise
        self._read = [np.array([[side.sizes.get(name, np.nan) for name in SIZES] for side in sides]).reshape(-1, 4)
                      for sides in ([one.before for one in passages], [one.after for one in passages])]  # fmt: skip
        keys = np.array([[one.before.key, one.after.key] for one in passages], dtype=int).reshape(-1, 2)
        self._where = np.unique(keys, return_inverse=True)[1].reshape(-1, 2)
        self._pieces, self._heats = column(lambda one: one.pieces), column(lambda one: len(one.fire))
        self._kerf, self._spacer = column(lambda one: one.kerf), column(lambda one: one.spacer)
        self._drawn = column(lambda one: any(one.fire)) > 0
        self._solid = column(lambda one: one.before.solid and one.after.solid) > 0
        self._before, self._after = (self._completed(sizes) for sizes in self._read)
        most = max((len(one.fire) for one in passages), default=0)
        self._shares = (
            np.array([[*one.shares, *[0.0] * (most - len(one.fire))] for one in passages])
            .reshape(len(passages), most)
            .T
        )
        self._cut, self._hot = self._pieces > 1, self._heats > 0
        self._sane = self._believable()

    def _believable(self) -> Mask:
        """Which passages hold no gross slip of the pen, held against rough losses and against size times density."""
        _, volume, _, mass = self._predicted(START)
        by_size = [DENSITY * np.prod(read[:, :3], axis=1) for read in self._read]
        ratios = [
            by_size[1] / (DENSITY * volume),
            self._read[1][:, MASS] / mass,
            *(one / read[:, MASS] for one, read in zip(by_size, self._read, strict=True)),
        ]
        return ~np.any(np.abs(_log(np.array(ratios))) > np.log(SLIP), axis=0)

    def _completed(self, read: Array) -> Array:
        """Sizes with a missing length found from the weight; good enough for the surface that scales."""
        sizes = read.copy()
        by_mass = read[:, MASS] / (DENSITY * read[:, WIDTH] * read[:, THICKNESS])
        sizes[:, LENGTH] = np.where(np.isfinite(read[:, LENGTH]), read[:, LENGTH], by_mass)
        return sizes

    @property
    def counts(self) -> dict[str, int]:
        """How many relations speak of each figure when every figure is to be found."""
        rows = self._rows([SCALE, CLEANUP, TRIM])
        hot = (rows[MASS] | rows[WIDTH]) & self._hot & ~self._cut
        return {"scale_per_heat": int(np.sum(hot)), "face_cleanup": int(np.sum(rows[THICKNESS])),
                "end_trim": int(np.sum(rows[LENGTH])), "spread": 0}  # fmt: skip

    def _rows(self, kept: Sequence[int]) -> list[Mask]:
        """Which passages give which relation: length, volume (in the place of width), thickness, mass."""
        both = [np.isfinite(self._read[0][:, at]) & np.isfinite(self._read[1][:, at]) for at in range(4)]
        sides = both[LENGTH] & both[WIDTH] & both[THICKNESS]
        known = np.all(np.isfinite(self._before[:, :3]) & np.isfinite(self._after[:, :3]), axis=1)
        cut_known = ~self._cut | (CLEANUP in kept and TRIM in kept)
        hot_known = ~self._hot | (SCALE in kept)
        laid = self._cut & ~self._hot
        rows = [
            laid & both[LENGTH] & (TRIM in kept),
            self._hot & self._solid & sides & hot_known & cut_known,
            laid & both[THICKNESS] & (CLEANUP in kept),
            (self._hot | self._cut) & both[MASS] & known & hot_known & cut_known,
        ]
        return [row & self._sane for row in rows]

    def _laid_up(self, losses: Array) -> tuple[Array, Array, Array]:
        """Length, thickness and the share of the metal left after cutting and cleaning, if the bar was cut."""
        n = self._pieces
        gaps = n - 1
        crop = np.where(self._cut, 2 * losses[TRIM], 0.0) + gaps * self._kerf
        length = (self._before[:, LENGTH] - crop) / n
        ground = n * self._before[:, THICKNESS] - 2 * gaps * losses[CLEANUP]
        left = n * length / self._before[:, LENGTH] * ground / (n * self._before[:, THICKNESS])
        return length, ground + gaps * self._spacer, left

    def _path(self, length: Array, thickness: Array) -> list[tuple[Mask, Array]]:
        """Before each heat: which passages have that heat, and the sizes of the bar, shape (3, passages)."""
        start: Array = np.stack([length, self._before[:, WIDTH], thickness])
        ratio = _log(self._after[:, :3].T / start)
        return [(j < self._heats, start * np.exp(ratio * share)) for j, share in enumerate(self._shares)]

    def _scaled(self, losses: Array, length: Array, thickness: Array) -> Array:
        """Volume that went to scale [m3]."""
        faces = [np.where(on, 2 * (a * b + b * c + c * a), 0.0) for on, (a, b, c) in self._path(length, thickness)]
        return losses[SCALE] * np.sum([np.zeros(len(self._heats)), *faces], axis=0)

    def _predicted(self, losses: Array) -> tuple[Array, Array, Array, Array]:
        """Length, volume, thickness and mass foreseen at the later reading."""
        length, thickness, left = self._laid_up(losses)
        scale = self._scaled(losses, length, thickness)
        added = (self._pieces - 1) * self._spacer * self._before[:, WIDTH] * length
        volume = np.prod(self._before[:, :3], axis=1) * left + added - scale
        mass = self._read[0][:, MASS] * left + DENSITY * (added - scale)
        return length, volume, thickness, mass

    def loss_problem(self, kept: Sequence[int]) -> Problem:
        """Relations for scale, cleanup and trim, those not in ``kept`` left out."""
        rows = self._rows(kept)
        order = np.argsort(np.concatenate([np.flatnonzero(row) for row in rows]), kind="stable")  # bar after bar

        def whole(theta: Array) -> Array:
            losses = np.zeros(3)
            losses[list(kept)] = theta
            return losses

        measured = [self._read[1][:, LENGTH], np.prod(self._read[1][:, :3], axis=1),
                    self._read[1][:, THICKNESS], self._read[1][:, MASS]]  # fmt: skip

        def residual(theta: Array) -> Array:
            pairs = zip(rows, measured, self._predicted(whole(theta)), strict=True)
            return np.concatenate([_log(read[row]) - _log(foreseen[row]) for row, read, foreseen in pairs])[order]

        def slopes(theta: Array) -> csr_array:
            length, _, thickness, _ = self._predicted(whole(theta))
            gain_length = self._before[:, LENGTH] / (self._pieces * length)
            gain_thickness = self._pieces * self._before[:, THICKNESS] / thickness
            one = np.ones(len(length))
            parts = [
                self._slopes(rows[LENGTH], {LENGTH: (gain_length, one)}),
                self._slopes(rows[WIDTH], {at: (one, one) for at in (LENGTH, WIDTH, THICKNESS)}),
                self._slopes(rows[THICKNESS], {THICKNESS: (gain_thickness, one)}),
                self._slopes(rows[MASS], {MASS: (one, one)}),
            ]
            return csr_array(vstack(parts, format="csr")[order])

        return Problem(residual, slopes, self._variance)

    def spread_rows(self, kept: Sequence[int]) -> Mask:
        """Which passages speak of spread: drawn, solid, and thinned enough to tell."""
        sides = [self._read[end][:, at] for end in (0, 1) for at in (WIDTH, THICKNESS)]
        known = np.all(np.isfinite(sides), axis=0) & (~self._cut | (CLEANUP in kept))
        thick = self._pieces * self._before[:, THICKNESS]
        return self._sane & self._drawn & self._solid & known & (thick > _LEAST_DRAWN * self._after[:, THICKNESS])

    def spread_problem(self, losses: Array, kept: Sequence[int]) -> Problem:
        """Relations for the spread exponent, the losses being known."""
        row = self.spread_rows(kept)
        length, thickness, _ = self._laid_up(losses)
        lengths = np.where(np.isfinite(length), length, 1.0)  # a length that was not read does not matter to spread
        thinned = _log(thickness / self._after[:, THICKNESS])
        widened = _log(self._after[:, WIDTH] / self._before[:, WIDTH])
        for on, (_, wide, thick) in self._path(lengths, thickness):
            widened = widened + np.where(on, 2 * losses[SCALE] / wide, 0.0)
            thinned = thinned - np.where(on, 2 * losses[SCALE] / thick, 0.0)
        one = np.ones(len(row))
        return Problem(
            lambda theta: (widened - theta[0] * thinned)[row],
            lambda theta: self._slopes(row, {WIDTH: (one, one), THICKNESS: (-theta[0] * one, -theta[0] * one)}),
            self._variance,
        )

    def _slopes(self, row: Mask, gains: dict[int, tuple[Array, Array]]) -> csr_array:
        """Derivatives of relations ln(after) - ln(foreseen) by the logarithms of the readings."""
        passages = np.flatnonzero(row)
        relation = np.arange(len(passages))
        entries = [
            (sign * gain[passages], relation, 4 * self._where[passages, end] + size)
            for size, pair in gains.items()
            for end, (sign, gain) in enumerate(zip((-1.0, 1.0), pair, strict=True))
        ]
        value, down, across = (np.concatenate(parts) for parts in zip(*entries, strict=True))
        return csr_array((value, (down, across)), shape=(len(passages), 4 * (int(np.max(self._where, initial=0)) + 1)))

    def _variance(self, share: float) -> Array:
        """Variance of the logarithm of every reading; readings that were not made stand in no relation."""
        out = np.ones((int(np.max(self._where, initial=0)) + 1, 4))
        for end in (0, 1):
            read = self._read[end]
            error = np.concatenate(
                [self._noise.reading / read[:, :3], np.full((len(read), 1), self._noise.mass_share)], 1
            )
            out[self._where[:, end]] = np.where(np.isfinite(read), error**2 + share**2, out[self._where[:, end]])
        return out.ravel()


def _log(ratio: Array) -> Array:
    """Logarithm that turns impossible sizes met on the way into very unlikely ones."""
    return np.log(np.maximum(ratio, 1e-9))
