"""What a knife costs to make: steel, fire, belts, acid and hours, each from the shop's own figures or marked as a guess."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from billet.base.shop import Prices
from billet.ledger.rows import Ledger
from billet.recipe.tables import RackBar
from billet.stages.stage import Stage

# Used where a shop gives no figure of its own; common practice, no source, and no currency.
GUESSES = {
    "hour": 40.0, "steel_kg": 9.0, "gas_hour": 4.0, "kwh": 0.35, "kiln_kw": 3.0, "belt": 6.0, "grams_a_belt": 60.0,
    "acid": 3.0, "handle": 25.0,
}  # fmt: skip
SPREAD = 0.35  # of a guess, either way: judgement, no source
TIMES_SPREAD = 0.30  # of the usual times, either way, without a record of one's own: judgement, no source
IN_THE_KILN = ("normalise", "anneal", "harden", "temper")
_ALONE = {"temper": 0.1}  # share of a stage at which the smith stands by; judgement


@dataclass(frozen=True)
class Line:
    """One line of a quote: what, how much of it and in which unit, its cost with a low and a high end, and whether any of
    its figures is a guess."""

    what: str
    amount: float
    unit: str
    cost: float
    low: float
    high: float
    guess: bool


@dataclass(frozen=True)
class Quote:
    """All lines, and their sum; the ends of the lines are added as if they went together, so the band is wide."""

    lines: tuple[Line, ...]
    hours: tuple[tuple[str, float], ...]
    money: str

    @property
    def total(self) -> tuple[float, float, float]:
        """Return low, likely and high end of the sum."""
        low, likely, high = (sum(getattr(line, k) for line in self.lines) for k in ("low", "cost", "high"))
        return low, likely, high


def quote(ledger: Ledger, stages: Sequence[Stage]) -> Quote:
    """Return the quote of a knife from its ledger and its weighed stages."""
    prices = ledger.recipe.tables.shop.prices
    hours = tuple((str(stage), (stage.minutes or 0.0) / 60 * _ALONE.get(stage.do, 1.0)) for stage in stages)
    lines = (
        *_steel(ledger, prices),
        _fire(stages, prices),
        _kiln(stages, prices),
        _belts(stages, prices),
        *(_piece(name, prices) for name in ("acid", "handle")),
        _work(stages, sum(h for _, h in hours), prices, own=set(ledger.recipe.tables.stages.time)),
    )
    return Quote(tuple(line for line in lines if line.amount > 0), hours, prices.money)


def _told(prices: Prices, *names: str) -> tuple[list[float], bool]:
    """Figures of the shop, or guesses where it has none, and whether any is one."""
    own = [getattr(prices, name) for name in names]
    return [GUESSES[n] if v is None else float(v) for n, v in zip(names, own, strict=True)], None in own


def _line(what: str, amount: float, unit: str, each: float, guess: bool, spread: float = SPREAD) -> Line:
    cost, off = amount * each, spread if guess else 0.0
    return Line(what, amount, unit, cost, cost * (1 - off), cost * (1 + off), guess)


def _steel(ledger: Ledger, prices: Prices) -> Iterator[Line]:
    """The plates as laid, by steel; by the price of the rack where the steel lies there with one."""
    put_in: dict[str, float] = {}
    for run in ledger.bars:
        first = run.rows[0]
        if first.do == "stack":
            for steel, share in first.measures.shares.items():
                put_in[steel] = put_in.get(steel, 0.0) + share * first.bar.mass
    spacers = sum(row.added for run in ledger.bars for row in run.rows)
    if spacers:
        put_in["spacers"] = spacers
    density = {s.name: s.density for leaf in ledger.last.leaves for s in leaf.steels}
    for steel, mass in put_in.items():
        own = _on_rack(ledger.recipe.tables.rack.bar, steel, density.get(steel, 7850.0))
        (guess,), guessed = _told(prices, "steel_kg")
        yield _line(f"steel {steel}", mass, "kg", guess if own is None else own, guessed and own is None)


def _on_rack(bars: Sequence[RackBar], steel: str, density: float) -> float | None:
    """Price of a kilogram of a steel on the rack; of several bars the dearest."""
    found = [
        b.price / (b.thickness * b.width * b.length * density) for b in bars if b.steel == steel and b.price is not None
    ]
    return max(found, default=None)


def _fire(stages: Sequence[Stage], prices: Prices) -> Line:
    hours = sum(s.minutes or 0.0 for s in stages if s.kind == "bar") / 60
    (gas,), guess = _told(prices, "gas_hour")
    return _line("gas", hours, "h of fire", gas, guess)


def _kiln(stages: Sequence[Stage], prices: Prices) -> Line:
    hours = sum(s.minutes or 0.0 for s in stages if s.kind == "blade" and s.do in IN_THE_KILN) / 60
    (kwh, power), guess = _told(prices, "kwh", "kiln_kw")
    return _line("electricity", hours * power, "kWh of kiln", kwh, guess)


def _belts(stages: Sequence[Stage], prices: Prices) -> Line:
    ground = sum(
        s.lost or 0.0 for s in stages if s.kind == "blade" and s.do in ("profile", "rough grind", "thin", "finish")
    )
    (belt, grams), guess = _told(prices, "belt", "grams_a_belt")
    return _line("belts", 1e3 * ground / grams, "belts", belt, guess)


def _piece(name: str, prices: Prices) -> Line:
    (each,), guess = _told(prices, name)
    return _line(name, 1.0, "knife", each, guess)


def _work(stages: Sequence[Stage], hours: float, prices: Prices, own: set[str]) -> Line:
    """Hours at the shop's rate; their spread is that of the usual times where the recipe does not give its own."""
    (rate,), guess = _told(prices, "hour")
    usual = any(s.kind == "blade" and s.do not in own for s in stages) or any(s.kind == "bar" for s in stages)
    cost = hours * rate
    off = (TIMES_SPREAD if usual else 0.0) + (SPREAD if guess else 0.0)
    return Line("work", hours, "h", cost, cost * (1 - off), cost * (1 + off), guess or usual)
