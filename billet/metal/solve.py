"""What a hold does to a stack: carbon levels by activity, the alloy blurs, decarburising faces burn out and recede.

One dimension, through the thickness, at the thickness the stack has during the hold; thinning between heats is the
caller's. Contents are conserved to rounding, never negative, and the time goes with the number of cells.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from billet.metal.carbon_diffusion import (
    AGREN_1986,
    LEE_2011,
    carbon_in_austenite_agren_1986,
    chromium_slowing_lee_2011,
)
from billet.metal.finite_volume import Diffusivity, Opening, Stack, State, Stretch, cut, march, opening
from billet.metal.limits import ELEMENTS, Array, OutsideRange, within
from billet.metal.partition import GUNNARSON_1967, capped_alloy_factor
from billet.metal.scale import parabolic_constant
from billet.metal.sources import cites
from billet.metal.substitutional_diffusion import SUBSTITUTIONAL, substitutional_in_austenite

CARBON_MOVES_ABOVE_K = 1000.0  # [K] below about 727 C carbon sits in carbides and is left alone
NEGLIGIBLE_BLUR = (
    0.01  # an element stays put when sqrt(integral of D dt) is under this share of the thinnest cell at a jump
)
RECESSION_MATTERS = 1e-15  # [m]
TOLERANCE = 5e-3  # [wt%] between a time step and its halves; the result is some five times better
_TRACE = 1e-3  # [wt%] smaller spreads of an alloying element are followed no closer than this
_CARBON, _CHROMIUM = ELEMENTS.index("C"), ELEMENTS.index("Cr")
_AUSTENITE_CARBON_MAX = 2.1  # [wt%] where D is read at most

Schedule = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Boundary:
    """A face in contact with scale or air. Sealed faces are None.

    `surface_carbon` [wt%] held at the face, as in plain austenite: an alloyed cell holds the same activity.
    `recession_m` [m] of metal eaten in the whole schedule, along a parabola that starts with it and follows the
    temperatures.
    """

    surface_carbon: float = 0.0
    recession_m: float = 0.0

    def __post_init__(self) -> None:
        within(self.surface_carbon, 0.0, 2.1, "surface carbon [wt%]", "it is a content of austenite")
        within(self.recession_m, 0.0, np.inf, "the recession [m]", "scale takes metal away, it adds none")


@dataclass(frozen=True, eq=False)
class Face:
    """What left by a face: `recession_m` [m] of metal, `eaten` with it, `through` by diffusion, (elements,) [wt% m]."""

    recession_m: float
    through: Array
    eaten: Array


@dataclass(frozen=True, eq=False)
class Diffused:
    """A stack after a hold, cell for cell: `thickness` (n,) [m], zero where eaten, and `composition` (n, elements)
    [wt%].

    Before = after + `left` and `right` through + eaten, element for element, each the sum of thickness times content.
    """

    thickness: Array
    composition: Array
    left: Face
    right: Face


def diffusion_lengths(schedule: Schedule, carbon: float = 0.6, elements: Sequence[str] = ELEMENTS) -> Array:
    """sqrt(integral of D dt) [m] of each element over a schedule of (temperature [K], seconds); C at `carbon` [wt%]."""
    T, t = np.asarray(schedule, dtype=float).reshape(-1, 2).T
    carbon_D = np.where(T > CARBON_MOVES_ABOVE_K, carbon_in_austenite_agren_1986(carbon, T), 0.0)
    D = [carbon_D if name == "C" else substitutional_in_austenite(name, T) for name in elements]
    return np.sqrt(np.array(D) @ t)


def _agren(temperature_K: float) -> Diffusivity:
    """Carbon's diffusivity [m2/s] at a temperature as a function of carbon content [wt%]."""
    return lambda carbon: carbon_in_austenite_agren_1986(np.clip(carbon, 0.0, _AUSTENITE_CARBON_MAX), temperature_K)


def _clocks(schedule: Schedule) -> Array:
    """The parabola's clock (holds + 1,) from 0 to 1: time weighted by kx of the temperature."""
    passed = np.array([0.0, *np.cumsum([parabolic_constant(T) * t for T, t in schedule])])
    return passed / passed[-1] if passed[-1] > 0.0 else passed


def _whole(before: Array, cells: Opening, after: Array) -> Array:
    """All cells' contents: those left as they are now, the eaten ones as they were."""
    contents = before.copy()
    contents[cells.first : cells.last] = after
    return contents


def _activity(face: Boundary | None) -> float:
    """Activity [wt%] held at a face, NaN where sealed."""
    return np.nan if face is None else face.surface_carbon


def _recession(face: Boundary | None) -> float:
    """Recession [m] of a face."""
    return 0.0 if face is None or face.recession_m < RECESSION_MATTERS else face.recession_m


def _blurs(thickness: Array, content: Array, length: float) -> bool:
    """Whether an element with this diffusion length [m] moves enough to matter in the cells beside its jumps."""
    jump = np.abs(np.diff(content)) > 1e-12 * float(np.max(content, initial=0.0))
    thin = np.minimum(thickness[:-1], thickness[1:])[jump]
    return len(thin) > 0 and length > NEGLIGIBLE_BLUR * float(thin.min())


def _alloy(thickness: Array, content: Array, length: float, tolerance: float) -> Array:
    """An alloying element (n,) [wt%] after a hold with this diffusion length [m], sealed, its diffusivity constant."""
    one = np.ones(len(content))
    stack = Stack(thickness, one, one)
    stretch = Stretch(lambda carbon: np.ones(len(carbon)), length**2)
    state = State(stack.resting, content.copy(), np.zeros(2), np.zeros(2))
    return march(stack, stretch, state, tolerance * max(float(np.ptp(content)), _TRACE)).activity


def _checked(thickness: Array, composition: Array, schedule: Schedule, elements: Sequence[str]) -> tuple[Array, Array]:
    """The arrays as floats, refused (OutsideRange) where they are no stack or the holds no schedule."""
    h, c = np.asarray(thickness, dtype=float), np.asarray(composition, dtype=float)
    if h.ndim != 1 or len(h) == 0 or c.shape != (len(h), len(elements)):
        raise OutsideRange(
            f"a stack has thickness (n,) and composition (n, {len(elements)}), got {h.shape} and {c.shape}"
        )
    if set(elements) - set(ELEMENTS):
        raise OutsideRange(f"not among the elements {ELEMENTS}: {sorted(set(elements) - set(ELEMENTS))}")
    within(
        h, np.finfo(float).tiny, np.inf, "a cell's thickness [m]", "a cell without thickness is no metal, leave it out"
    )
    within(c, 0.0, 100.0, "a content [wt%]", "contents are between 0 and 100 %")
    for T, seconds in schedule:
        within(T, 250.0, 1800.0, "the temperature of a hold [K]", "steel is solid and forged below 1800 K")
        within(seconds, 0.0, np.inf, "the time of a hold [s]", "time does not run backwards")
    return h, c


def _padded(composition: Array, elements: Sequence[str]) -> Array:
    """Compositions with all of ELEMENTS, (n, 11), those not given as zero."""
    full = np.zeros((len(composition), len(ELEMENTS)))
    full[:, [ELEMENTS.index(name) for name in elements]] = composition
    return full


@cites(AGREN_1986, LEE_2011)
def level_carbon(
    thickness: Array,
    carbon: Array,
    gamma: Array,
    chromium: Array,
    schedule: Schedule,
    faces: tuple[Boundary | None, Boundary | None],
    tolerance: float = TOLERANCE,
) -> tuple[Array, State]:
    """Carbon (n,) [wt%] of cells after a schedule, those eaten as they were, and the state it ended in.

    `thickness` (n,) [m]; `carbon` and `chromium` (n,) [wt%]; `gamma` (n,) their alloy factor; the rest as `diffuse`,
    which also checks its arguments and serves wherever the alloy of the cells is at hand.
    """
    clocks = _clocks(schedule)
    stack = Stack(
        thickness,
        gamma,
        np.ones(len(gamma)),
        (_activity(faces[0]), _activity(faces[1])),
        (_recession(faces[0]), _recession(faces[1])),
    )
    start = stack.resting  # outer cells so thin that they are rounding belong to their neighbours
    state = State(start, (carbon * gamma)[start.first : start.last], np.zeros(2), np.zeros(2))
    for (T, seconds), clock in zip(schedule, pairwise(clocks), strict=True):
        if seconds > 0.0 and T > CARBON_MOVES_ABOVE_K:
            here = replace(stack, slowing=chromium_slowing_lee_2011(carbon, chromium, T))
            state = replace(state, opening=opening(here, state.opening.eaten))
            state = march(here, Stretch(_agren(T), seconds, clock), state, tolerance)
        else:
            state = cut(stack, state, stack.eaten_at(clock[1]))
    state = cut(stack, state, stack.recession)
    return _whole(carbon, state.opening, state.activity / gamma[state.opening.first : state.opening.last]), state


@cites(AGREN_1986, LEE_2011, GUNNARSON_1967, *dict.fromkeys(row.source for row in SUBSTITUTIONAL.values()))
def diffuse(
    thickness: Array,
    composition: Array,
    schedule: Schedule,
    *,
    elements: Sequence[str] = ELEMENTS,
    left: Boundary | None = None,
    right: Boundary | None = None,
    tolerance: float = TOLERANCE,
) -> Diffused:
    """The stack after a schedule of (temperature [K], seconds) holds.

    `thickness` (n,) [m], first cell at the left face; `composition` (n, len(elements)) [wt%] in the order of
    `elements`; the faces sealed (None) or decarburising. Carbon: J = -(D/Gamma) d(C Gamma)/dx, Agren's D at the local
    carbon, slowed by chromium, austenite throughout (no carbides, no ferrite), still below 1000 K. Alloy: constant D,
    no flow through a face, left alone while sqrt(integral of D dt) is under 1 % of the thinnest cell at a jump; eaten
    metal takes what it holds. `tolerance` [wt%] is the difference allowed between a time step and its halves (a share
    of its range for an alloying element). Depths and times either way 15 % in plain steel, 30 % in alloyed; alloy a
    factor 1.3 to 3 in D. Raises OutsideRange for what is no stack or schedule, and when the faces recede through the
    whole stack.
    """
    h, c = _checked(thickness, composition, schedule, elements)
    if _recession(left) + _recession(right) >= float(h.sum()) * (1.0 - 1e-6):
        raise OutsideRange(f"the faces recede by more than the {h.sum():.3g} m of the stack: nothing is left")
    after, lengths = _padded(c, elements), diffusion_lengths(schedule)
    for column in range(len(ELEMENTS)):
        if column != _CARBON and _blurs(h, after[:, column], lengths[column]):
            after[:, column] = _alloy(h, after[:, column], lengths[column], tolerance)
    full = _padded(c, elements)
    carbon, state = level_carbon(
        h, full[:, _CARBON], capped_alloy_factor(full), full[:, _CHROMIUM], schedule, (left, right), tolerance
    )
    after[:, _CARBON] = carbon
    chosen = after[:, [ELEMENTS.index(name) for name in elements]]
    return _trimmed(h, chosen, state, elements)


def _trimmed(thickness: Array, composition: Array, state: State, elements: Sequence[str]) -> Diffused:
    """The result, its eaten cells without thickness, and the books of both faces."""
    left, right = state.opening.eaten
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    kept = np.zeros(len(composition))
    kept[state.opening.first : state.opening.last] = state.opening.thickness
    gone = (np.diff(np.minimum(edges, left)), np.diff(np.maximum(edges, edges[-1] - right)))
    is_carbon = np.array([name == "C" for name in elements])
    faces = [
        Face(
            (left, right)[side],
            np.where(is_carbon, state.through[side], 0.0),
            np.where(is_carbon, state.eaten[side], gone[side] @ composition),
        )
        for side in (0, 1)
    ]
    return Diffused(kept, composition, *faces)
