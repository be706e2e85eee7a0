"""Thousands of sequences run forwards at once, with the arithmetic the steps themselves use.

A laminate of two steels in turn is known from a few figures: how deep each outer face has been eaten, in thicknesses of
the first stack, says which steel lies there and how many layers are gone; seams inside are counted when they are laid.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.sizes import Size, drawn, laid_up, part_drawn, piece_length, scale_depth, scaled
from billet.heating.heats import coming_up
from billet.metal.lamella import rms_contrast
from billet.metal.substitutional_diffusion import substitutional_in_austenite
from billet.plan.after import After
from billet.plan.goal import Goal
from billet.plan.recipe_text import step_of
from billet.plan.sequences import Batch
from billet.plan.smiths_habits import Habits

Array = NDArray[np.float64]
_TRIALS = np.array([[0.1], [0.3]])  # [m] starting lengths; every length on the way is straight in it
_FO = np.geomspace(1e-7, 1.0, 200)
_RMS = rms_contrast(_FO)


@dataclass(frozen=True)
class Weighed:
    """What became of each candidate (n,).

    doubles: seams where one steel meets itself; welds: weld heats; forgeable: no draw asked for the impossible; known:
    no face is eaten past the packs of the first restack, so distinct layers, faces and shares are exact (past them the
    seams of later restacks are taken to be like the first); longest: longest bar [m] before a restack; long: how many of them are longer than the fire; steadiest: least
    length over height of a stack; dark: dark thickness over the whole; contrast of nickel left; start, end [m];
    laid, added, left [kg].
    """

    start: Array
    end: Array
    counted: Array
    distinct: Array
    thickness: Array
    dark: Array
    doubles: Array
    welds: Array
    forgeable: NDArray[np.bool_]
    known: NDArray[np.bool_]
    longest: Array
    long: Array
    steadiest: Array
    contrast: Array
    laid: Array
    added: Array
    left: Array

    @property
    def share_left(self) -> Array:
        """Yield: what is left of all that was put in."""
        return self.left / (self.laid + self.added)


@dataclass(frozen=True)
class Tail:
    """What the steps after the laminate make of its mass: the share `kept` at each of some lengths [m] it may be drawn
    to, and what they `add` (a core) [kg].
    """

    lengths: tuple[float, ...] = (1.0,)
    kept: tuple[float, ...] = (1.0,)
    added: float = 0.0


class _Gone(NamedTuple):
    """Layers gone, thickness gone of the first stack's first steel, and whether that steel now lies outermost."""

    layers: Array
    first: Array
    first_out: NDArray[np.bool_]


class _Pack(NamedTuple):
    """The seams of the first restack: how deep the pieces were eaten below and above, the spacer, layers that merge
    there, and the pieces.
    """

    low: Array
    high: Array
    spacer: Array
    same: Array
    pieces: Array

    def seen_from(self, top: bool) -> tuple[Array, Array, Array, Array]:
        """Eaten at the near and at the far face of a piece, spacer, layers merged."""
        return (self.high, self.low, self.spacer, self.same) if top else (self.low, self.high, self.spacer, self.same)


class _Run:
    """The state of a batch on its way through the steps."""

    def __init__(self, goal: Goal, habits: Habits, b: Batch, start: Any, factor: float) -> None:
        self.shop, self.habits, self.b, self.factor = goal.shop, habits, b, factor
        self.size = Size(start, b.width.copy(), b.height.copy())
        self.scale = np.ones(len(b))
        self.low, self.high = np.zeros(len(b)), np.zeros(len(b))
        self.first = (b.repeat + b.cap) * b.first
        self.runs = 2 * b.repeat + b.cap
        self.counted = self.runs.copy()
        self.doubles, self.fourier = np.zeros(len(b)), np.zeros(len(b))
        self.forgeable, self.known = np.ones(len(b), bool), np.ones(len(b), bool)
        self.bars: list[Any] = []
        self.stacks: list[Any] = []
        self.added: Any = 0.0
        self.height, self.spacer_first = b.height, b.spacer_dark == b.dark_first
        self.pack: _Pack | None = None

    def _eaten(self, depth: Array, top: bool) -> _Gone:
        """What is gone at a depth in thicknesses of the first stack: through the outer pack, then seam by seam through
        those the first restack laid.
        """
        if self.pack is None:
            return self._of_pack(depth, top)
        near, far, gap, same = self.pack.seen_from(top)
        end = self.height - far
        whole, begun = self._of_pack(np.nextafter(end, 0.0), top), self._of_pack(near, top)
        runs, first = whole.layers + 1 - begun.layers, whole.first - begun.first
        passed, rest = np.divmod(np.maximum(depth - end, 0.0), gap + end - near)
        within = self._of_pack(near + rest - gap, top)
        inside, spaced = rest >= gap, gap > 0
        layers = (
            whole.layers + 1 + passed * (runs + spaced - same) + inside * (spaced - same + within.layers - begun.layers)
        )
        spacer = self.spacer_first * np.minimum(rest, gap)
        gone = whole.first + passed * (first + gap * self.spacer_first) + spacer + inside * (within.first - begun.first)
        face = np.where(inside, within.first_out, self.spacer_first)
        outer, deep = self._of_pack(depth, top), depth >= end
        return _Gone(
            np.where(deep, layers, outer.layers),
            np.where(deep, gone, outer.first),
            np.where(deep, face, outer.first_out),
        )

    def _reach(self, top: bool) -> Array:
        """How deep this book-keeping is exact: to the far side of the packs the first restack laid, or of the first
        where like meets like.
        """
        if self.pack is None:
            return self.height
        near, far, gap, same = self.pack.seen_from(top)
        end = self.height - far
        return end + np.where(same > 0, 0.0, (self.pack.pieces - 1) * (gap + end - near))

    def _of_pack(self, depth: Array, top: bool) -> _Gone:
        """What is gone at a depth in a pack as first stacked."""
        b = self.b
        swap = top & (b.cap == 0)
        u, v = np.where(swap, b.second, b.first), np.where(swap, b.first, b.second)
        whole, rest = np.divmod(depth, u + v)
        past = rest >= u
        mine = whole * u + np.minimum(rest, u)
        return _Gone(2 * whole + past, np.where(swap, depth - mine, mine), past == swap)

    def eat(self, low: Array, high: Array) -> None:
        """Take metal off both faces [m]."""
        for side, depth in ((False, low), (True, high)):
            was = self.high if side else self.low
            now = was + depth / self.scale
            before, after = self._eaten(was, side), self._eaten(now, side)
            self.runs = self.runs - (after.layers - before.layers)
            self.first = self.first - self.scale * (after.first - before.first)
            if side:
                self.high = now
            else:
                self.low = now

    def heat(self, kelvin: float, seconds: float, at: Any = True) -> None:
        """One heat, for the candidates `at`."""
        depth = np.where(at, scale_depth(self.size, self.shop, kelvin, seconds, self.factor), 0.0)
        layer = self.size.thickness / self.runs
        held = seconds + coming_up(kelvin, np.minimum(self.size.width, self.size.thickness))
        self.fourier += np.where(at, _nickel(kelvin) * held / layer**2, 0.0)
        self.size = scaled(self.size, depth)
        self.eat(depth, depth)

    def weld(self) -> None:
        """The heats of a weld."""
        self.stacks.append(self.size.length / self.size.thickness)
        for _ in range(self.habits.weld[2]):
            self.heat(*self.habits.weld[:2])

    def draw(self, width: Any, thickness: Any, heats: NDArray[np.int_], kind: tuple[float, float]) -> None:
        """A draw over several heats."""
        w0, t0 = self.size.width, self.size.thickness
        for k in range(1, int(heats.max(initial=1)) + 1):
            at = k <= heats
            self.heat(*kind, at)
            if k == 1:
                self.forgeable &= (thickness < self.size.thickness) & (
                    width * thickness <= self.size.width * self.size.thickness
                )
            share = np.minimum(k / heats, 1.0)
            w, t = part_drawn(w0, width, share), part_drawn(t0, thickness, share)
            ratio = t / self.size.thickness
            self.scale, self.first = self.scale * ratio, self.first * ratio
            self.size = drawn(self.size.box, w, t)
        self.bars.append(self.size.length)

    def restack(self, pieces: Array) -> None:
        """Trim, cut, clean the mating faces, lay up with or without spacers."""
        b, clean = self.b, self.shop.face_cleanup
        trims = sum(self.shop.trims)
        long = piece_length(self.size.length - trims, pieces, self.shop.kerf)
        seams, spaced = pieces - 1, b.spacer > 0
        spacer_first = self.spacer_first
        meet: list[NDArray[np.bool_]] = []
        layers, first = np.zeros(len(b)), np.zeros(len(b))
        for side, was in ((False, self.low), (True, self.high)):
            before, after = self._eaten(was, side), self._eaten(was + clean / self.scale, side)
            layers = layers + after.layers - before.layers
            first = first + self.scale * (after.first - before.first)
            self.known &= was + clean / self.scale < self._reach(side)
            meet.append(after.first_out)
        same = np.where(spaced, (meet[0] == spacer_first) * 1.0 + (meet[1] == spacer_first), meet[0] == meet[1])
        self.runs = pieces * self.runs + seams * (spaced - same - layers)
        self.first = pieces * self.first + seams * (b.spacer * spacer_first - first)
        self.counted = pieces * self.counted + seams * spaced
        self.doubles = self.doubles + seams * same
        density = np.where(b.spacer_dark, b.pair.dark.density, b.pair.bright.density)
        if self.pack is None:
            self.pack = _Pack(
                self.low + clean / self.scale, self.high + clean / self.scale, b.spacer / self.scale, same, pieces
            )
        self.added = self.added + seams * b.spacer * density * long * self.size.width
        self.size = Size(long, self.size.width, laid_up(self.size.thickness, pieces, clean, b.spacer))

    def mass(self) -> Any:
        """Mass [kg]."""
        one, two = _densities(self.b)
        t = self.size.thickness
        return (self.first * one + (t - self.first) * two) * self.size.length * self.size.width


def _densities(b: Batch) -> tuple[Array, Array]:
    dark, bright = b.pair.dark.density, b.pair.bright.density
    return np.where(b.dark_first, dark, bright), np.where(b.dark_first, bright, dark)


def _nickel(kelvin: float) -> float:
    return float(substitutional_in_austenite("Ni", kelvin))


def weigh(goal: Goal, habits: Habits, after: After, b: Batch, want: float, tail: Tail) -> Weighed:
    """Run a batch: the starting length from twice the scale loss so that the laminate is drawn `want` [m] long, the
    rest at the law's loss.
    """
    worst = _forwards(goal, habits, after, b, _TRIALS, 2.0)
    ends = worst.bars[-1]
    slope = (ends[1] - ends[0]) / (_TRIALS[1, 0] - _TRIALS[0, 0])
    step = step_of(goal.units)
    start = np.ceil((_TRIALS[0, 0] + (want - ends[0]) / slope) / step - 1e-6) * step
    run = _forwards(goal, habits, after, b, start, 1.0)
    first_share = run.first / run.size.thickness
    one, two = _densities(b)
    of_first = (b.repeat + b.cap) * b.first
    laid = (of_first * one + (b.height - of_first) * two) * start * b.width
    known = run.known & (run.low < run._reach(False)) & (run.high < run._reach(True))
    whole = (len(b.pieces) > 0) | (run.low + run.high < b.height)
    inner, alike = run.bars[:-1], 1 + len(after.twins)
    return Weighed(
        start=start,
        end=run.size.length,
        counted=run.counted,
        distinct=run.runs,
        thickness=run.size.thickness,
        dark=np.where(b.dark_first, first_share, 1 - first_share),
        doubles=run.doubles,
        welds=np.full(len(b), habits.weld[2] * (len(b.pieces) + 1) * alike + after.welds),
        forgeable=worst.forgeable & run.forgeable & whole & (run.runs >= 2) & (slope > 0),
        known=known,
        longest=np.max(inner, axis=0) if inner else np.zeros(len(b)),
        long=np.sum(np.array(inner) > goal.shop.fire_length, axis=0) if inner else np.zeros(len(b)),
        steadiest=np.min(run.stacks, axis=0),
        contrast=np.interp(np.log(np.maximum(run.fourier, _FO[0])), np.log(_FO), _RMS),
        laid=laid * alike,
        added=run.added * alike + tail.added,
        left=run.mass() * np.interp(run.size.length, tail.lengths, tail.kept),
    )


def _forwards(goal: Goal, habits: Habits, after: After, b: Batch, start: Any, factor: float) -> _Run:
    """Weld, draw and restack as often as there are restacks, then weld and draw to the bar the pattern starts from."""
    run = _Run(goal, habits, b, start, factor)
    high = b.height
    for pieces, thick in zip(b.pieces, b.drawn, strict=True):
        run.weld()
        run.draw(b.width, thick, habits.heats_to_draw(high, thick), habits.draw)
        run.restack(pieces)
        high = laid_up(thick, pieces, goal.shop.face_cleanup, b.spacer)
    run.weld()
    run.draw(
        np.full(len(b), after.width),
        np.full(len(b), after.thickness),
        habits.heats_to_draw(high, after.thickness),
        habits.last,
    )
    for kelvin, seconds, times in after.heats:
        for _ in range(times):
            run.heat(kelvin, seconds)
    return run
