"""The round bar of the quench: Grossmann, Asimow and Urban (1939), the series of the plate written for a cylinder."""

from billet.metal.quench import _section, half_temperature_time_round


def round_for_ideal_diameter(ideal_diameter_m: float, severity_per_m: float) -> float:
    """Diameter [m] of the round bar with half martensite at its centre; arguments as for the plate."""
    return _section(half_temperature_time_round, ideal_diameter_m, severity_per_m)
