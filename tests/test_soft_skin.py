"""The soft skin is counted from the carbon the steel was bought with, so a thin bar does not hide its own loss."""

import pytest

from billet.ledger.carbon_report import report
from billet.ledger.rows import Ledger
from tests.making import ledger_of
from tests.textbook.diffusion import depth_below_share


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


def test_its_depth_is_the_books() -> None:
    """Birks, Meier and Pettit's profile below a receding face, D = 8.6e-11 m2/s (Agren 1986 at half of 0.95 % C, 1100 C)
    and 0.2 mm lost in 10 min: about 0.45 mm under 92 % and 0.16 mm under half, constant D being worth 30 % either way.
    """
    kc = (0.2e-3) ** 2 / (2 * 600.0)
    thin = report(heated("3 mm", scale_per_heat="0.2 mm"))
    for found, share in ((thin.skin_92, 0.92), (thin.skin_50, 0.5)):
        assert found == pytest.approx(float(depth_below_share(share, 600.0, 8.6e-11, kc)), rel=0.3)


def test_a_bar_burnt_right_through_is_soft_to_its_middle() -> None:
    """Two hours at 1200 C reach sqrt(2.6e-10 x 7200) = 1.4 mm and more: nothing of a bar of 4 mm keeps nine tenths."""
    ledger = heated("5 mm", "1200 C", "2 h", scale_per_heat="0.5 mm")
    assert report(ledger).skin_92 == pytest.approx(0.5 * ledger.last.thickness)
