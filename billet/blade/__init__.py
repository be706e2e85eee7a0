"""The finished knife: its design, its shape as a solid, and the bar it needs."""

from billet.blade.bevels import Bevel, Face, Side
from billet.blade.design import Allow, BladeDesign, Bolster, Edge, Spine, SpineSet, State, Tang
from billet.blade.geometry import STEEL_DENSITY, Blade, Placement, Section, read_blade
from billet.blade.need import Fit, Fits, Need, fits, need
from billet.blade.outline import SHAPES, Outline, read_points

__all__ = [
    "SHAPES",
    "STEEL_DENSITY",
    "Allow",
    "Bevel",
    "Blade",
    "BladeDesign",
    "Bolster",
    "Edge",
    "Face",
    "Fit",
    "Fits",
    "Need",
    "Outline",
    "Placement",
    "Section",
    "Side",
    "Spine",
    "SpineSet",
    "State",
    "Tang",
    "fits",
    "need",
    "read_blade",
    "read_points",
]
