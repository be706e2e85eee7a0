"""One implicit step of diffusion through a stack of cells whose outer faces may recede, and the march of such steps
through a hold.

The unknown is the activity u = C Gamma of each cell. A cell of thickness h holds h/Gamma of it (so its content is h C),
and between two cells flows D (u1 - u2)/(h1 Gamma1/2 + h2 Gamma2/2), D taken at the carbon content of the face between
them. Every step is backward Euler with D from its start: a symmetric M-matrix, so contents never turn negative and
profiles never wiggle. A step is done once whole and once in two halves; the difference is the error estimate, and twice
the second less the first is second order. Where that would leave the bounds of the profile it is cut, and what was cut
stays in the cells that moved.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg.lapack import dptsv

from billet.metal.limits import Array

_SLIVER = 1e-9  # an outer cell thinner than this share of the stack joins its neighbour
_GROW, _SHRINK, _SAFETY = 5.0, 0.1, 0.9  # step control
_BITES = 20  # a step eats at most this part of the whole recession, or one cell if that is more
_FIRST_TRY = 0.2  # share of the tolerance for a whole stretch taken at once: it has no later steps to mend it
_LEAST_STEP = 1e-12  # share of a stretch below which no step is refused
_NOISE = 1e-8  # relative error in activity below which steps would chase rounding
_FLAT = 1e-13  # relative spread of activity that is rounding


@dataclass(frozen=True, eq=False)
class Stack:
    """What does not change in a hold: cell `thickness` (n,) [m], `gamma` (n,) alloy factor, `slowing` (n,) of D
    by alloy.

    `face` activity [wt%] held at the first and last face, NaN where sealed; `recession` [m] of both over the whole
    hold.
    """

    thickness: Array
    gamma: Array
    slowing: Array
    face: tuple[float, float] = (np.nan, np.nan)
    recession: tuple[float, float] = (0.0, 0.0)

    @cached_property
    def edges(self) -> Array:
        """Heights of the cell faces (n + 1,) [m], from 0."""
        return np.concatenate([[0.0], np.cumsum(self.thickness)])

    @cached_property
    def resting(self) -> "Opening":
        """The stack before anything was eaten."""
        return opening(self, (0.0, 0.0))

    @cached_property
    def held(self) -> Array:
        """Activity [wt%] held at both faces (2,), 0 where sealed."""
        return np.nan_to_num(np.array(self.face))

    @property
    def receding(self) -> bool:
        """Whether a face moves."""
        return max(self.recession) > 0.0

    def eaten_at(self, clock: float) -> tuple[float, float]:
        """Metal eaten from both faces [m] when the share `clock` [0 to 1] of the parabola's time has passed."""
        return self.recession[0] * clock**0.5, self.recession[1] * clock**0.5


@dataclass(frozen=True, eq=False)
class Opening:
    """The cells left, `first` to `last` (exclusive), when `eaten` [m] is gone from both faces; n their number.

    `thickness` (n,) [m], `capacity` (n,) h/Gamma [m], `half` (n,) h Gamma/2 over the slowing [m].
    """

    eaten: tuple[float, float]
    first: int
    last: int
    thickness: Array
    capacity: Array
    half: Array


def opening(stack: Stack, eaten: tuple[float, float]) -> Opening:
    """The stack with `eaten` [m] gone from its first and last face; raises ValueError when nothing is left."""
    bottom, top = eaten[0], stack.edges[-1] - eaten[1]
    sliver = _SLIVER * stack.edges[-1]
    if top - bottom <= sliver:
        raise ValueError("the faces recede through the whole stack")
    first = int(np.searchsorted(stack.edges, bottom + sliver, side="right")) - 1
    last = int(np.searchsorted(stack.edges, top - sliver, side="left"))
    h, gamma = stack.thickness[first:last].copy(), stack.gamma[first:last]
    h[0] -= bottom - stack.edges[first]
    h[-1] -= stack.edges[last] - top
    return Opening(eaten, first, last, h, h / gamma, 0.5 * h * gamma / stack.slowing[first:last])


@dataclass(frozen=True, eq=False)
class State:
    """Where a march stands: `activity` (n,) [wt%] in the cells of `opening`; what left through both faces, [wt% m].

    `through` diffused out, `eaten` went with the metal, each (2,).
    """

    opening: Opening
    activity: Array
    through: Array
    eaten: Array

    @property
    def content(self) -> Array:
        """Content of the cells (n,) [wt% m]."""
        return self.opening.capacity * self.activity


def cut(stack: Stack, state: State, eaten: tuple[float, float]) -> State:
    """The state with the metal down to `eaten` [m] from both faces taken off as it is, without diffusion."""
    if max(eaten[0] - state.opening.eaten[0], eaten[1] - state.opening.eaten[1]) <= 0.0:
        return state
    end = opening(stack, eaten)
    a, b = end.first - state.opening.first, end.last - state.opening.first
    before, after = state.content, end.capacity * state.activity[a:b]
    lost = np.array([before[: a + 1].sum() - after[0], before[b - 1 :].sum() - after[-1]])
    if b - a == 1:  # one cell is left, cut from both sides
        bites = np.array(eaten) - np.array(state.opening.eaten)
        lost = (before.sum() - after.sum()) * bites / bites.sum()
    return State(end, state.activity[a:b], state.through, state.eaten + lost)


Diffusivity = Callable[[Array], Array]


def _regrouped(stack: Stack, start: State, end: Opening) -> tuple[Array, Array, Array]:
    """Activity and content of the cells left at `end` (eaten cells' with the outermost), and what was eaten (2,)."""
    a, b = end.first - start.opening.first, end.last - start.opening.first
    content, eaten = start.content, np.zeros(2)
    kept = content[a:b].copy()
    if end is not start.opening:
        for side, gone in ((0, content[:a]), (-1, content[b:])):
            bite = end.eaten[side] - start.opening.eaten[side]
            kept[side] += gone.sum()
            block = bite + end.thickness[side]
            face = stack.face[side] / stack.gamma[end.first if side == 0 else end.last - 1]
            eaten[side] = bite * min(face, kept[side] / block) if bite > 0.0 else 0.0
            kept[side] -= eaten[side]
    return start.activity[a:b], kept, eaten


def _conductances(stack: Stack, diffusivity: Diffusivity, cells: Opening, activity: Array) -> tuple[Array, Array]:
    """Conductance [m/s] between neighbours (n - 1,) and to both faces (2,), zero where sealed."""
    gamma = stack.gamma[cells.first : cells.last]
    between = diffusivity((activity[:-1] + activity[1:]) / (gamma[:-1] + gamma[1:])) / (
        cells.half[:-1] + cells.half[1:]
    )
    ends = np.array([0, -1])
    at_face = diffusivity(0.5 * (activity[ends] + stack.held) / gamma[ends]) / cells.half[ends]
    return between, np.where(np.isnan(stack.face), 0.0, at_face)


def _solved(capacity: Array, between: Array, to_face: Array, right: Array, seconds: float) -> Array:
    """The tridiagonal system of a backward Euler step, shape (n,)."""
    flow = seconds * between
    middle = capacity.copy()
    middle[:-1] += flow
    middle[1:] += flow
    middle[0] += seconds * to_face[0]
    middle[-1] += seconds * to_face[1]
    if len(capacity) == 1:
        return right / middle
    solution: Array = dptsv(middle, -flow, right, overwrite_d=1, overwrite_e=1, overwrite_b=1)[2]
    return solution


def _content(capacity: Array, activity: Array) -> float:
    """Sum of products of two arrays (n,); not by a threaded product, which stands and waits for its threads."""
    return float(np.einsum("i,i->", capacity, activity))


def _implicit(stack: Stack, diffusivity: Diffusivity, start: State, end: Opening, seconds: float) -> State:
    """One backward Euler step of `seconds` [s] that ends in the cells of `end`.

    The eaten metal takes the face's carbon with it. Rounding in the total is put right by one common factor.
    """
    before, kept, eaten = _regrouped(stack, start, end)
    between, to_face = _conductances(stack, diffusivity, end, before)
    face = stack.held
    right, total = kept.copy(), kept.sum()
    right[0] += seconds * to_face[0] * face[0]
    right[-1] += seconds * to_face[1] * face[1]
    after = _solved(end.capacity, between, to_face, right, seconds)
    through = seconds * to_face * (after[[0, -1]] - face)
    if stack.receding:  # a face that outruns diffusion must not pile carbon up beyond what was there
        ceiling = max(float(start.activity.max()), *face)
        over = np.maximum(after[[0, -1]] - ceiling, 0.0)
        after[[0, -1]] -= over
        through += np.where(len(after) > 1, 1.0, [1.0, 0.0]) * over * end.capacity[[0, -1]]
    held = _content(end.capacity, after)
    after *= (total - through.sum()) / held if held > 0.0 else 1.0
    return State(end, after, start.through + through, start.eaten + eaten)


def _within(wanted: Array, moved: Array, capacity: Array, low: float, high: float) -> Array | None:
    """The activities cut to [low, high] [wt%], what was cut given to cells with room, in proportion to what they
    `moved` (n,).

    None where they have not enough.
    """
    cut = np.clip(wanted, low, high)
    excess = _content(capacity, wanted - cut)
    room = capacity * np.minimum(high - cut if excess > 0.0 else cut - low, np.abs(moved))
    if abs(excess) > room.sum():
        return None
    return cut + (excess / max(float(room.sum()), np.finfo(float).tiny)) * room / capacity


def _unturned(wanted: Array, sure: Array, slack: float) -> float:
    """How far [0 to 1] one may go from the `sure` to the `wanted` profile, no step between neighbours turning round.

    Turned steps smaller than `slack` [wt%] do not count.
    """
    was, new = np.diff(sure), np.diff(wanted)
    turned = (was * new < 0.0) & (np.abs(new) > slack)
    was, new = np.abs(was[turned]), np.abs(new[turned])
    return float(np.min(was / (was + new), initial=1.0))


def _blend(stack: Stack, start: State, once: State, halves: State, slack: float) -> State:
    """Twice the halves less the whole step, second order, kept within the start's bounds; the halves where that fails.

    Where a layer levels within the step it would overshoot by what is left; there it is drawn back towards the halves.
    """
    ahead = halves.activity - once.activity
    known = [*(f for f in stack.face if not np.isnan(f)), float(start.activity.min()), float(start.activity.max())]
    better = _within(halves.activity + ahead, ahead, halves.opening.capacity, min(known), max(known))
    if better is None:
        return halves
    share = _unturned(better, halves.activity, slack)
    return State(
        halves.opening,
        halves.activity + share * (better - halves.activity),
        halves.through + share * (halves.through - once.through),
        halves.eaten + share * (halves.eaten - once.eaten),
    )


@dataclass(frozen=True, eq=False)
class Stretch:
    """A time at one temperature: `diffusivity` of carbon, `seconds` [s], the parabola's clock at both ends."""

    diffusivity: Diffusivity
    seconds: float
    clock: tuple[float, float] = (0.0, 0.0)

    def clock_at(self, elapsed: float) -> float:
        """The parabola's clock [0 to 1] when `elapsed` [s] of this stretch have passed."""
        return self.clock[0] + (self.clock[1] - self.clock[0]) * min(elapsed / self.seconds, 1.0)


def _opening_at(stack: Stack, stretch: Stretch, elapsed: float) -> Opening:
    """The cells left when `elapsed` [s] of the stretch have passed."""
    return opening(stack, stack.eaten_at(stretch.clock_at(elapsed))) if stack.receding else stack.resting


def _bite_limit(stack: Stack, stretch: Stretch, state: State, elapsed: float) -> float:
    """Longest step [s] in which no face recedes by more than about a cell, or a twentieth of its whole recession."""
    limit = np.inf
    if not stack.receding or stretch.clock[1] <= stretch.clock[0]:
        return limit
    for side in (0, -1):
        whole = stack.recession[side]
        if whole > 0.0:
            bite = max(float(state.opening.thickness[side]), whole / _BITES)
            clock = ((state.opening.eaten[side] + bite) / whole) ** 2
            until = (clock - stretch.clock[0]) / (stretch.clock[1] - stretch.clock[0]) * stretch.seconds
            limit = min(limit, until - elapsed)
    return limit


def _careful_first_step(stack: Stack, stretch: Stretch, state: State, tolerance: float) -> float:
    """A quarter of the shortest time [s] in which neighbours that differ by more than `tolerance` [wt%] level out."""
    between, to_face = _conductances(stack, stretch.diffusivity, state.opening, state.activity)
    u, capacity = state.activity, state.opening.capacity
    jumps = np.concatenate([np.abs(np.diff(u)), np.abs(u[[0, -1]] - stack.held) * (to_face > 0.0)])
    rates = np.concatenate([between / np.minimum(capacity[:-1], capacity[1:]), to_face / capacity[[0, -1]]])
    rates = rates[jumps > tolerance]
    return 0.25 / float(rates.max()) if len(rates) else stretch.seconds


def level(stack: Stack, state: State) -> bool:
    """Whether nothing can flow: one activity throughout, held faces included."""
    known = np.array([*(f for f in stack.face if not np.isnan(f)), state.activity.min(), state.activity.max()])
    return bool(np.ptp(known) <= _FLAT * max(float(np.abs(known).max()), 1e-300))


def march(stack: Stack, stretch: Stretch, state: State, tolerance: float) -> State:
    """The state after a stretch, in steps whose whole and halved versions differ by less than `tolerance` [wt%].

    The first try is the whole stretch: where the layers are so thin that they level at once, it is also the last.
    """
    elapsed, step, tried = 0.0, stretch.seconds, False
    tolerance = max(tolerance, _NOISE * float(np.abs(state.activity).max()))
    while stretch.seconds - elapsed > 1e-12 * stretch.seconds:
        if not stack.receding and level(stack, state):
            return state
        step = min(step, _bite_limit(stack, stretch, state, elapsed))
        step = stretch.seconds - elapsed if elapsed + 1.0001 * step >= stretch.seconds else step
        middle, end = (_opening_at(stack, stretch, elapsed + share * step) for share in (0.5, 1.0))
        once = _implicit(stack, stretch.diffusivity, state, end, step)
        half = _implicit(stack, stretch.diffusivity, state, middle, 0.5 * step)
        halves = _implicit(stack, stretch.diffusivity, half, end, 0.5 * step)
        error = float(np.abs(halves.activity - once.activity).max())
        change = float(np.clip(_SAFETY * (tolerance / max(error, 1e-300)) ** 0.5, _SHRINK, _GROW))
        if error <= (tolerance if tried else _FIRST_TRY * tolerance) or step <= _LEAST_STEP * stretch.seconds:
            state, elapsed, step = _blend(stack, state, once, halves, 1e-3 * tolerance), elapsed + step, step * change
            tried = True
        else:
            careful = step * change if tried else _careful_first_step(stack, stretch, state, tolerance)
            step, tried = min(step * change, careful), True
    return state
