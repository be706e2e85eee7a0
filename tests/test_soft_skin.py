"""The soft skin is counted from the carbon the steel was bought with, so a thin bar does not hide its own loss."""

import numpy as np
import pytest

from billet.ledger.carbon_report import report
from billet.ledger.rows import Ledger
from tests.making import ledger_of
from tests.textbook.diffusion import carbon_below_receding_face, depth_below_share
from tests.truth.registry import How, Pairs, checks


def heated(thickness: str, heat: str = "1100 C", time: str = "10 min", **more: str) -> Ledger:
    shop = {"atmosphere": "oxidising", **more}
    return ledger_of([f"1095 {thickness}"], [{"do": "heat", "heat": heat, "time": time}], diffuse=True, shop=shop)


def test_a_thin_bar_has_the_skin_of_a_thick_one() -> None:
    """A skin of 0.4 to 0.6 mm does not know what lies 1.2 mm deep: the same fire burns as deep into either bar."""
    thin, thick = (report(heated(t, scale_per_heat="0.2 mm")) for t in ("3 mm", "8 mm"))
    assert thin.mean < thick.mean - 0.1
    assert thin.skin_92 == pytest.approx(thick.skin_92, rel=0.05)
    assert thin.skin_50 == pytest.approx(thick.skin_50, rel=0.05)
    assert thin.functional_skin[1] == pytest.approx(thick.functional_skin[1], rel=0.05)


@checks(
    "soft skin, and how much of it to grind off", "Birks, Meier and Pettit's profile below a receding face, 1095 at 1100 C",
    How.METHOD, unit="%", within=30.0,
)  # fmt: skip
def test_its_depth_is_the_books() -> Pairs:
    """D = 8.6e-11 m2/s (Agren 1986 at half of 0.95 % C, 1100 C) and 0.2 mm lost in 10 min: about 0.45 mm under 92 % and
    0.16 mm under half; their D is constant, which is worth 30 % either way.
    """
    kc = (0.2e-3) ** 2 / (2 * 600.0)
    thin = report(heated("3 mm", scale_per_heat="0.2 mm"))
    for found, share in ((thin.skin_92, 0.92), (thin.skin_50, 0.5)):
        yield found, float(depth_below_share(share, 600.0, 8.6e-11, kc))


@checks(
    "soft skin, and how much of it to grind off", "52100 measured: four times the time, twice the depth (in words)",
    How.HELD_OUT, unit="%", within=25.0,
)  # fmt: skip
def test_its_depth_goes_with_the_root_of_time() -> Pairs:
    """Abstract of a tube-furnace study of 52100: total depth goes with the square root of time."""
    for celsius in ("1000 C", "1100 C"):
        short, long = (report(heated("20 mm", celsius, t)).skin_92 for t in ("15 min", "60 min"))
        yield long / short, 2.0


@checks(
    "carbon of the mixed steel after the heats", "Birks, Meier and Pettit's profile summed through a bar of 8 mm, 10 to 40 min at 1100 C",
    How.METHOD, unit="% carbon", within=0.03,
)  # fmt: skip
def test_the_mean_is_the_books() -> Pairs:
    """Both faces, 0.1 mm of metal lost to scale a heat."""
    for minutes in (10, 20, 40):
        kc, seconds = (0.1e-3) ** 2 / (2 * 60.0 * minutes), 60.0 * minutes
        ledger = heated("8 mm", time=f"{minutes} min", scale_per_heat="0.1 mm")
        thick = ledger.last.thickness
        depth = (np.arange(4000) + 0.5) * 0.5 * thick / 4000
        profile = carbon_below_receding_face(depth, seconds, 8.6e-11, kc, 0.95)
        yield report(ledger).mean, float(profile.mean())


def test_a_bar_burnt_right_through_is_soft_to_its_middle() -> None:
    """Two hours at 1200 C reach sqrt(2.6e-10 x 7200) = 1.4 mm and more: nothing of a bar of 4 mm keeps nine tenths."""
    ledger = heated("5 mm", "1200 C", "2 h", scale_per_heat="0.5 mm")
    assert report(ledger).skin_92 == pytest.approx(0.5 * ledger.last.thickness)
