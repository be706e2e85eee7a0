"""Levelling and burning out in closed form: equal lamellae, a slab, a half space, a couple, a face that recedes.

Constant diffusivity. Crank, The Mathematics of Diffusion, 2nd ed. (1975), eqs. 2.14, 3.13, 4.18, numbers from memory, every
formula evaluated again against his tables' values; the receding face from Birks and Jackson (1970). Uniform thinning leaves
all of it exact with the Fourier number Fo = integral of D/h^2 dt, h the thickness at the time.
"""

from typing import Any

import numpy as np
from scipy.special import erf, erfc, erfcinv

from billet.metal.limits import Array, within
from billet.metal.scale import OXIDISING, RECESSION_RATIO, parabolic_constant

_EARLY = 0.05  # Fourier number below which sums over images converge faster than sums over harmonics
_TERMS = 12  # harmonics or images: the first left out is below 1e-16 on its side of _EARLY


def fourier_number(diffusivity: Any, seconds: Any, thickness: Any) -> float:
    """Fo = sum of D t/h^2 [1] over stretches of `diffusivity` [m2/s], `seconds` [s], layer `thickness` [m] then."""
    return float(np.sum(np.asarray(diffusivity) * np.asarray(seconds) / np.asarray(thickness, dtype=float) ** 2))


def contrast(fourier: Any) -> Array:
    """Contrast between mid-layers left [1] of equal lamellae at Fo = D t/h^2, any shape; h is one layer, the period 2
    h.

    (4/pi) sum of (-1)^n/(2n + 1) exp(-(2n + 1)^2 pi^2 Fo), early on by the same sum over images.
    """
    Fo = np.maximum(np.asarray(fourier, dtype=float), 0.0)[..., np.newaxis]
    odd = 2.0 * np.arange(_TERMS) + 1.0
    sign = (-1.0) ** np.arange(_TERMS)
    late = (4.0 / np.pi) * np.sum(sign / odd * np.exp(-((odd * np.pi) ** 2) * Fo), axis=-1)
    early = 1.0 - 2.0 * np.sum(sign * erfc(odd / (4.0 * np.sqrt(np.maximum(Fo, 1e-300)))), axis=-1)
    return np.where(Fo[..., 0] < _EARLY, early, late)


def lamella_profile(position: Any, fourier: float) -> Array:
    """Content [1] across equal lamellae, 1 in 0 < x < 1 and 0 in 1 < x < 2 at first, at `position` x in layers, any
    shape.

    The infinite row of layers as a sum over images, 1/2 erf per edge; Fo = D t/h^2 above zero.
    """
    x = np.asarray(position, dtype=float)[..., np.newaxis]
    reach = int(np.ceil(3.0 * 4.0 * np.sqrt(fourier))) + 2
    edge = 2.0 * np.arange(-reach, reach + 1)
    x = x - 2.0 * np.floor(x / 2.0)
    spread = 2.0 * np.sqrt(fourier)
    return 0.5 * np.sum(erf((x - edge) / spread) - erf((x - edge - 1.0) / spread), axis=-1)


def slab_uptake(fourier: Any) -> Array:
    """Share [1] of its final change that a slab with fixed faces has taken up at Dt/l^2, l the half thickness, any
    shape.

    1 - (8/pi^2) sum of exp(-(2n + 1)^2 pi^2 Dt/(4 l^2))/(2n + 1)^2; early on 2 sqrt(Dt/(pi l^2)).
    """
    Fo = np.asarray(fourier, dtype=float)
    odd = 2.0 * np.arange(_TERMS) + 1.0
    late = 1.0 - (8.0 / np.pi**2) * np.sum(np.exp(-((odd * np.pi / 2.0) ** 2) * Fo[..., np.newaxis]) / odd**2, axis=-1)
    return np.where(Fo < _EARLY, 2.0 * np.sqrt(Fo / np.pi), late)


def semi_infinite(depth: Any, diffusivity: Any, seconds: Any) -> Array:
    """Share [1] of the face's change felt at `depth` [m] of a thick bar: erfc(x/(2 sqrt(D t))); broadcasting."""
    return erfc(np.asarray(depth, dtype=float) / (2.0 * np.sqrt(np.multiply(diffusivity, seconds))))


def couple(distance: Any, diffusivity: Any, seconds: Any) -> Array:
    """Share [1] of the richer side at `distance` [m] into the other side of two thick plates; broadcasting."""
    return 0.5 * semi_infinite(distance, diffusivity, seconds)


def carbon_below_receding_face(
    depth: Any,
    seconds: float,
    diffusivity: float,
    recession_constant: float,
    carbon: float,
    surface_carbon: float = 0.0,
) -> Array:
    """Carbon [wt%] at `depth` [m] below the *final* face, shape of depth, after `seconds` [s] from uniform `carbon`
    [wt%].

    C = C0 - (C0 - Cs) erfc((X + d)/(2 sqrt(D t)))/erfc(sqrt(kc/(2 D))), X = sqrt(2 kc t) the metal lost; `diffusivity`
    D [m2/s] constant, `recession_constant` kc [m2/s], thick bar. Depths either way 30 % (constant D).
    """
    lost = np.sqrt(2.0 * recession_constant * seconds)
    x = (lost + np.asarray(depth, dtype=float)) / (2.0 * np.sqrt(diffusivity * seconds))
    return carbon - (carbon - surface_carbon) * erfc(x) / erfc(np.sqrt(recession_constant / (2.0 * diffusivity)))


def depth_below_share(
    share: Any, seconds: Any, diffusivity: Any, recession_constant: Any, surface_share: Any = 0.0
) -> Array:
    """Depth below the final face [m] where carbon has come back to `share` (0.92, 0.5 ...) of the body's, broadcasting.

    The formula of `carbon_below_receding_face` solved for depth; `surface_share` is Cs/C0. Zero where even the face
    holds that share. The level must be named with the depth: no standard fixes one. Either way 30 %. Raises
    OutsideRange unless the shares lie in [0, 1).
    """
    want = within(share, 0.0, np.nextafter(1.0, 0.0), "the share of the carbon", "the full content is reached nowhere")
    face = within(
        surface_share, 0.0, np.nextafter(1.0, 0.0), "the face's share of the carbon", "nothing would burn out"
    )
    D, kc, t = (np.asarray(v, dtype=float) for v in (diffusivity, recession_constant, seconds))
    missing = np.minimum((1.0 - want) / (1.0 - face), 1.0) * erfc(np.sqrt(kc / (2.0 * D)))
    return np.maximum(2.0 * np.sqrt(D * t) * erfcinv(missing) - np.sqrt(2.0 * kc * t), 0.0)


def recession_constant(temperature_K: Any, atmosphere_factor: Any = OXIDISING) -> Array:
    """kc [m2/s] of the receding metal face, X^2 = 2 kc t, so kc = (factor 0.56)^2 kx / 2; broadcasting."""
    return 0.5 * (np.asarray(atmosphere_factor, dtype=float) * RECESSION_RATIO) ** 2 * parabolic_constant(temperature_K)
