"""Levelling in closed form: equal lamellae, a slab, a half space, a couple. Constant diffusivity.

Uniform thinning leaves all of it exact with the Fourier number Fo = integral of D/h^2 dt, h the thickness at the time.
Crank's equation numbers are from memory; every formula was evaluated again against his tables' values.
"""

from typing import Any

import numpy as np

from billet.metal.limits import Array
from billet.metal.sources import Source, cites

CRANK = Source(
    "crank1975", "J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), eqs. 2.14, 3.13, 4.18", "from memory"
)
_EARLY = 0.05  # Fourier number below which sums over images converge faster than sums over harmonics
_TERMS = 12  # harmonics or images: the first left out is below 1e-16 on its side of _EARLY


@cites(CRANK)
def rms_contrast(fourier: Any) -> Array:
    """Root-mean-square deviation over the thickness left [1] of equal lamellae at Fo = D t/h^2, any shape.

    By Parseval from the profile's series: sqrt((8/pi^2) sum of exp(-2 (2n + 1)^2 pi^2 Fo)/(2n + 1)^2); 4000 harmonics,
    good to 3e-5.
    """
    Fo = np.asarray(fourier, dtype=float)[..., np.newaxis]
    odd = 2.0 * np.arange(4000) + 1.0
    return np.sqrt((8.0 / np.pi**2) * np.sum(np.exp(-2.0 * (odd * np.pi) ** 2 * Fo) / odd**2, axis=-1))
