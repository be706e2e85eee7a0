"""The few constants of physics the formulas need, exact by definition."""

ZERO_CELSIUS = 273.15
"""Of the Celsius scale [K] (SI Brochure 2019, 2.3.1)."""

INCH = 0.0254
"""Of length [m] (ISO 31-1)."""

STEFAN_BOLTZMANN = 5.670374419e-8
"""Radiation of a black body over the fourth power of its temperature [W/(m2 K4)] (CODATA 2018, exact in SI)."""
