"""The bar a blade needs, and whether a bar gives it: length, heel height and thickness answered apart."""

from dataclasses import dataclass

from billet.blade.design import Allow
from billet.blade.geometry import STEEL_DENSITY, Blade, extent


@dataclass(frozen=True)
class Need:
    """The least bar for a blade at hardening [m, kg].

    ``length`` is ``ahead`` of the heel plus ``behind`` it (bolster and tang); ``width`` is ``above`` plus ``below`` the
    edge line at the heel. ``thickness`` holds the thickest of blade, tang and bolster with the allowance on both faces.
    ``widest`` and ``thickest`` name the part behind the heel that decides, empty for the blade. ``mass`` is that of the rough blanks: the rectangles round blade, tang and bolster, each at its own thickness.
    """

    length: float
    width: float
    thickness: float
    mass: float
    ahead: float
    behind: float
    above: float
    below: float
    widest: str = ""
    thickest: str = ""


@dataclass(frozen=True)
class Fit:
    """One answer: what is needed, what the bar offers for it, and the difference [m]; a shortfall is negative. ``part`` is
    the part of the knife that decides, empty for the blade."""

    needed: float
    available: float
    part: str = ""

    @property
    def surplus(self) -> float:
        """Return what is left over, negative when it falls short [m]."""
        return self.available - self.needed

    @property
    def enough(self) -> bool:
        """Tell whether it is enough, to a nanometre."""
        return self.surplus >= -1e-9

    def as_data(self) -> dict[str, float | bool]:
        """The answer in plain values, SI with the unit in the key."""
        return {
            "needed_m": self.needed,
            "available_m": self.available,
            "surplus_m": self.surplus,
            "enough": self.enough,
        }


@dataclass(frozen=True)
class Fits:
    """The three answers a smith needs apart."""

    length: Fit
    heel_height: Fit
    thickness: Fit

    @property
    def named(self) -> dict[str, Fit]:
        """The three by what they are of."""
        return {"length": self.length, "heel_height": self.heel_height, "thickness": self.thickness}

    @property
    def enough(self) -> bool:
        """Tell whether the bar holds the blade."""
        return all(fit.enough for fit in self.named.values())


def need(blade: Blade, allow: Allow | None = None, density: float = STEEL_DENSITY) -> Need:
    """Return the bar a blade needs as it goes into hardening, for a density [kg/m3].

    ``allow`` left out is the design's own. The state of the blade given does not matter.
    """
    design, hard = blade.design, blade.in_state("hardening")
    face = 2 * (allow or design.allow).face
    spine = hard.taper.heel
    low, high = extent(hard)
    parts = {"": (design.length, high - low, spine)}
    if design.tang.kind != "none":
        parts["tang"] = design.tang.size(spine)
    if design.bolster:
        parts["bolster"] = (design.bolster.length, design.bolster.width, design.bolster.thickness)
    if design.heel.choil:
        parts["neck"] = (design.heel.choil, high - low, spine)
    blocks = list(parts.values())
    behind = sum(length for length, _, _ in blocks[1:])
    width = max(width for _, width, _ in blocks)
    length = design.length + behind
    others = (
        0.0 if design.beside is None else max(design.beside[1] - length, 0.0)
    )  # knives beside it, at this one's size
    return Need(
        length=length + others,
        width=width,
        thickness=max(thickness for _, _, thickness in blocks) + face,
        mass=density
        * sum(length * width * (thickness + face) for length, width, thickness in (*blocks, (others, *blocks[0][1:]))),
        ahead=design.length,
        behind=behind,
        above=width + low,
        below=-low,
        widest=max(parts, key=lambda part: parts[part][1]),
        thickest=max(parts, key=lambda part: parts[part][2]),
    )


def fits(
    need: Need,
    bar_length: float,
    bar_width: float,
    bar_thickness: float,
    offset: float = 0.0,
    heel_at: float | None = None,
    edge_at: float | None = None,
) -> Fits:
    """Return whether a bar holds what is needed, for length, heel height and thickness apart [m].

    ``offset`` is the blade's mid-plane from the bar's: it costs twice itself in thickness. ``heel_at`` is where the
    heel lies from the handle end and ``edge_at`` the edge line from the edge side; the tighter side then decides.
    """
    length, width = bar_length, bar_width
    if heel_at is not None:
        length = need.length + min(heel_at - need.behind, bar_length - heel_at - need.ahead)
    if edge_at is not None:
        width = need.width + min(edge_at - need.below, bar_width - edge_at - need.above)
    return Fits(
        length=Fit(need.length, length),
        heel_height=Fit(need.width, width, need.widest),
        thickness=Fit(need.thickness, bar_thickness - 2 * abs(offset), need.thickest),
    )
