"""The knife behind its heel: plunge and bolster transition, choil, bolster and tang."""

from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from billet.blade import Blade, BladeDesign
from billet.blade.handle import Whole, kinks
from billet.blade.transition import cove

MM = 1e-3
BOLSTER = {"length": "20 mm", "width": "26 mm", "thickness": "20 mm"}


def blade(**changes: Any) -> Blade:
    table = {"length": "240 mm", "heel_height": "52 mm", **changes}
    return Blade(BladeDesign.model_validate(table, context={"door": True}))


def test_the_cove_is_the_arc_of_the_wheel() -> None:
    """Plane geometry: level where it leaves the face, as high as the block at its front; the area under the arc is
    R l - (R^2 asin(l / R) + l sqrt(R^2 - l^2)) / 2 with l = sqrt(2 R h - h^2)."""
    R, h = 25 * MM, 9 * MM
    reach = np.sqrt(2 * R * h - h**2)
    assert float(cove(0.0, h, 2 * R)) == pytest.approx(h)
    assert float(cove(reach, h, 2 * R)) == 0.0
    under = R * reach - (R**2 * np.arcsin(reach / R) + reach * np.sqrt(R**2 - reach**2)) / 2
    assert quad(lambda x: float(cove(x, h, 2 * R)), 0, reach)[0] == pytest.approx(under, rel=1e-6)


def test_a_block_higher_than_the_wheel_keeps_a_step() -> None:
    assert float(cove(0.0, 30 * MM, 40 * MM)) == pytest.approx(20 * MM)


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_blade_meets_its_bolster_all_over_the_front(side: Any) -> None:
    """The bolster is 20 mm thick: 10 mm either side, the edge in its middle, and nowhere thinner than the bevel."""
    made = blade(bolster=BOLSTER, plunge="50 mm")
    y = np.linspace(27 * MM, 51.9 * MM, 50)
    assert made.half(0.0, y, side) == pytest.approx(10 * MM)
    bare = blade()
    x, y = np.meshgrid(np.linspace(0, 0.2, 101), np.linspace(0, 0.052, 53))
    more = made.half(x, y, side) - bare.half(x, y, side)
    assert np.nanmin(more) >= 0
    assert np.nanmax(np.where(x > 24 * MM, more, 0)) == 0


def test_the_heel_below_the_bolster_stays_a_blade() -> None:
    """Under the bolster the distance is that to its lower edge: 26 mm below, past the arc's reach of 20 mm, nothing."""
    made, bare = blade(bolster=BOLSTER, plunge="50 mm"), blade()
    assert float(made.thickness(0.0, 1 * MM)) == pytest.approx(float(bare.thickness(0.0, 1 * MM)))
    assert float(made.thickness(0.0, 20 * MM)) > float(bare.thickness(0.0, 20 * MM)) + 2 * MM


def test_a_plunge_ahead_of_the_heel_leaves_a_ricasso() -> None:
    made = blade(plunge={"wheel": "50 mm", "at": "12 mm"}, bevel={"kind": "hollow", "wheel": "1200 mm"})
    assert made.half([0.0, 0.006, 0.0119], 0.004, "right") == pytest.approx([1.3 * MM] * 3)
    assert float(made.half(0.03, 0.004, "right")) < 0.5 * MM


def test_the_mass_of_the_transition_is_in_the_blade() -> None:
    """The volume by Gauss nodes against plain sums over 0.1 mm squares, good to a hundredth of the transition."""
    made, bare = blade(bolster=BOLSTER, plunge="50 mm"), blade()
    x, y = np.arange(0, 0.24, 1e-4) + 5e-5, np.arange(0, 0.052, 1e-4) + 5e-5
    thick = np.nan_to_num(made.thickness(x[:, None], y[None, :])) - np.nan_to_num(
        bare.thickness(x[:, None], y[None, :])
    )
    assert made.volume() - bare.volume() == pytest.approx(float(thick.sum()) * 1e-8, rel=0.01)


def test_bolster_and_tang_weigh_what_their_blocks_do() -> None:
    """By hand: 20 x 26 x 20 mm and a full tang of 100 x 20 x 4 mm whose end is a half circle of 10 mm:
    (90 x 20 + pi 10^2 / 2) x 4 mm."""
    tang = {"kind": "full", "length": "100 mm", "width": "20 mm", "thickness": "4 mm"}
    whole = Whole(blade(bolster=BOLSTER, plunge="50 mm", tang=tang))
    by_hand = 20 * 26 * 20 + (90 * 20 + np.pi * 100 / 2) * 4
    assert whole.volume_behind() / MM**3 == pytest.approx(by_hand, rel=2e-3)


def test_a_choil_runs_back_in_a_quarter_ellipse() -> None:
    """x^2/a^2 + y^2/b^2 = 1 round the foot of the handle: a = 8 mm back, b = 30 mm up to the handle's underside."""
    whole = Whole(blade(heel={"choil": "8 mm", "drop": "30 mm"}, tang={"kind": "none"}))
    x = np.array([-8.0, -4.0, -1.0, -1e-9]) * MM
    assert whole.edge_y(x) / MM == pytest.approx(30 * np.sqrt(1 - (x / MM + 8) ** 2 / 64), abs=1e-3)
    assert whole.behind == pytest.approx(8 * MM)


def test_a_hidden_tang_is_a_stick_and_narrows_behind_its_shoulders() -> None:
    whole = Whole(blade(tang={"kind": "hidden", "length": "90 mm", "width": "14 mm"}))
    wide = whole.spine_y([-0.006, -0.05, -0.0899]) - whole.edge_y([-0.006, -0.05, -0.0899])
    assert whole.design.tang.kind == "stick"
    assert np.all(np.diff(wide) < 0)
    assert wide[0] / MM == pytest.approx(14 * (1 - 0.4 * 6 / 90), abs=0.05)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"heel": {"radius": "30 mm"}}, "heel's radius"),
        ({"bolster": {**BOLSTER, "width": "60 mm"}}, "wide and the heel"),
        ({"bolster": BOLSTER, "plunge": {"wheel": "50 mm", "at": "5 mm"}}, "starts at its front"),
        ({"plunge": "0 mm"}, "needs a diameter"),
        ({"plunge": {"wheel": "50 mm", "at": "120 mm"}}, "past the middle of the blade"),
        ({"heel": {"drop": "60 mm"}}, "less than the heel height"),
    ],
)
def test_what_cannot_be_is_told(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        blade(**changes)


@pytest.mark.parametrize("x", [0.0, 6 * MM, 12 * MM])
def test_a_face_has_kinks_where_the_cove_begins_and_at_the_bolsters_lower_side(x: float) -> None:
    """The block is 26 mm wide under a spine 52 mm up; the other kinks part the metal the cove adds from the bare bevel."""
    made, bare = blade(bolster=BOLSTER, plunge="50 mm"), blade()
    at, *others = kinks(made, np.array([x]), "left")[:, 0]
    assert at == pytest.approx(26 * MM)
    for y in others:
        more = [float(made.half(x, y + d, "left") - bare.half(x, y + d, "left")) for d in (-0.5 * MM, 0.5 * MM)]
        assert more[0] < 1e-6 < more[1]


def test_a_bolsters_block_is_length_by_width_by_thickness() -> None:
    made = blade(bolster=BOLSTER).design.bolster
    assert made is not None
    assert made.volume == pytest.approx(20 * 26 * 20 * 1e-9)
