"""Our table of everyday units against the pint library's definitions."""

import pytest

from billet.base.units import BASE_UNITS, UNITS, Kind, Unit, read
from tests.truth.registry import How, Pairs, checks

pint = pytest.importorskip("pint", reason="the outside reference pint is not installed")
registry = pint.UnitRegistry()


@checks(
    "units turned into one another",
    "pint's definitions, every unit of the everyday table",
    How.METHOD,
    unit="%",
    within=1e-9,
)
def test_every_entry_of_the_table_is_the_unit_pint_knows() -> Pairs:
    """Three numbers a unit, so that an offset shows; 0 is compared as it stands."""
    for unit in UNITS:
        for number in (0, 1, 1150):
            ours = float((number + unit.offset) * unit.factor)
            outside = registry.Quantity(float(number), unit.pint).to(BASE_UNITS[unit.kind]).magnitude
            if number or unit.offset:
                yield ours, outside
            else:
                assert ours == outside


MULTIPLES = (Kind.LENGTH, Kind.TIME, Kind.MASS, Kind.ANGLE, Kind.VOLUME)
OWN_MEANING = {(Kind.TIME, "m"), (Kind.MASS, "kilos")}
SPELLED = [
    pytest.param(unit, word, id=f"{unit.kind.value} {word}")
    for unit in UNITS
    for word in unit.words
    if unit.kind in MULTIPLES and word.isalpha() and word in registry and (unit.kind, word) not in OWN_MEANING
]


@pytest.mark.parametrize(("unit", "word"), SPELLED)
def test_a_word_that_pint_knows_means_the_same_here(unit: Unit, word: str) -> None:
    """Left out: m (minutes here) and kilos (kiloseconds there), and forces, whose short words are masses there."""
    assert float(unit.factor) == pytest.approx(_si(registry.Quantity(1.0, word), unit.kind), rel=1e-12)


def test_most_words_are_compared() -> None:
    assert len(SPELLED) > 50


def _si(quantity: "pint.Quantity", kind: Kind) -> float:
    return float(quantity.to(BASE_UNITS[kind]).magnitude)


@pytest.mark.parametrize(
    ("text", "kind", "outside"),
    [
        ("3 furlong", Kind.LENGTH, (3.0, "furlong")),
        ("2 yard", Kind.LENGTH, (2.0, "yard")),
        ("1 day", Kind.TIME, (1.0, "day")),
        ("5 lbf", Kind.FORCE, (5.0, "lbf")),
        ("1/4 turn", Kind.ANGLE, (0.25, "turn")),
        ("2 stone", Kind.MASS, (2.0, "stone")),
        ("1 quart", Kind.VOLUME, (1.0, "quart")),
        ("2000 degR", Kind.TEMPERATURE, (2000.0, "degR")),
    ],
)
def test_an_unusual_unit_is_looked_up(text: str, kind: Kind, outside: tuple[float, str]) -> None:
    assert read(text, kind) == pytest.approx(_si(registry.Quantity(*outside), kind), rel=1e-12)


def test_the_reason_for_our_own_grammar_still_stands() -> None:
    """pint multiplies a whole number and the fraction beside it; when it stops, the grammar may be thought over."""
    assert registry.Quantity("1 1/2 in").to("inch").magnitude == pytest.approx(0.5)
    assert read("1 1/2 in", Kind.LENGTH) == pytest.approx(1.5 * 0.0254)
