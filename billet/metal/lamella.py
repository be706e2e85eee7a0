"""Levelling in closed form: equal lamellae, a slab, a half space, a couple. Constant diffusivity.

Uniform thinning leaves all of it exact with the Fourier number Fo = integral of D/h^2 dt, h the thickness at the time.
Crank's equation numbers are from memory; every formula was evaluated again against his tables' values.
"""

from typing import Any

import numpy as np
from scipy.special import erf, erfc

from billet.metal.limits import Array
from billet.metal.sources import Source, cites

CRANK = Source(
    "crank1975", "J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), eqs. 2.14, 3.13, 4.18", "from memory"
)
_EARLY = 0.05  # Fourier number below which sums over images converge faster than sums over harmonics
_TERMS = 12  # harmonics or images: the first left out is below 1e-16 on its side of _EARLY


def fourier_number(diffusivity: Any, seconds: Any, thickness: Any) -> float:
    """Fo = sum of D t/h^2 [1] over stretches of `diffusivity` [m2/s], `seconds` [s], layer `thickness` [m] then."""
    return float(np.sum(np.asarray(diffusivity) * np.asarray(seconds) / np.asarray(thickness, dtype=float) ** 2))


@cites(CRANK)
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


@cites(CRANK)
def rms_contrast(fourier: Any) -> Array:
    """Root-mean-square deviation over the thickness left [1] of equal lamellae at Fo = D t/h^2, any shape.

    By Parseval from the profile's series: sqrt((8/pi^2) sum of exp(-2 (2n + 1)^2 pi^2 Fo)/(2n + 1)^2); 4000 harmonics,
    good to 3e-5.
    """
    Fo = np.asarray(fourier, dtype=float)[..., np.newaxis]
    odd = 2.0 * np.arange(4000) + 1.0
    return np.sqrt((8.0 / np.pi**2) * np.sum(np.exp(-2.0 * (odd * np.pi) ** 2 * Fo) / odd**2, axis=-1))


@cites(CRANK)
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


@cites(CRANK)
def slab_uptake(fourier: Any) -> Array:
    """Share [1] of its final change that a slab with fixed faces has taken up at Dt/l^2, l the half thickness, any
    shape.

    1 - (8/pi^2) sum of exp(-(2n + 1)^2 pi^2 Dt/(4 l^2))/(2n + 1)^2; early on 2 sqrt(Dt/(pi l^2)).
    """
    Fo = np.asarray(fourier, dtype=float)
    odd = 2.0 * np.arange(_TERMS) + 1.0
    late = 1.0 - (8.0 / np.pi**2) * np.sum(np.exp(-((odd * np.pi / 2.0) ** 2) * Fo[..., np.newaxis]) / odd**2, axis=-1)
    return np.where(Fo < _EARLY, 2.0 * np.sqrt(Fo / np.pi), late)


@cites(CRANK)
def semi_infinite(depth: Any, diffusivity: Any, seconds: Any) -> Array:
    """Share [1] of the face's change felt at `depth` [m] of a thick bar: erfc(x/(2 sqrt(D t))); broadcasting."""
    return erfc(np.asarray(depth, dtype=float) / (2.0 * np.sqrt(np.multiply(diffusivity, seconds))))


@cites(CRANK)
def couple(distance: Any, diffusivity: Any, seconds: Any) -> Array:
    """Share [1] of the richer side at `distance` [m] into the other side of two thick plates; broadcasting."""
    return 0.5 * semi_infinite(distance, diffusivity, seconds)
