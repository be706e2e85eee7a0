"""Grinding to measured stations: what to take off each side, and what to do when there is not enough metal."""

from billet.grinding.between import Field, Midplane, NextReading, field, midplane, next_reading
from billet.grinding.grinding_plan import Plan, StationPlan, make_plan, plan_readings
from billet.grinding.least import Least, SkinBand, scratch_depth
from billet.grinding.plane import Hold, Plane
from billet.grinding.skin import skin_band
from billet.grinding.station_files import read_stations
from billet.grinding.stations import Place, Reading, Station, in_order, on_blade
from billet.grinding.tolerance import Tolerance, core_thickness, tolerance
from billet.grinding.typed import read_typed

__all__ = [
    "Field",
    "Hold",
    "Least",
    "Midplane",
    "NextReading",
    "Place",
    "Plan",
    "Plane",
    "Reading",
    "SkinBand",
    "Station",
    "StationPlan",
    "Tolerance",
    "core_thickness",
    "field",
    "in_order",
    "make_plan",
    "midplane",
    "next_reading",
    "on_blade",
    "plan_readings",
    "read_stations",
    "read_typed",
    "scratch_depth",
    "skin_band",
    "tolerance",
]
