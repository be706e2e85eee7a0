"""What a knife costs to make: steel, fire, belts, acid and hours, each from the shop's own figures or marked as a guess."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

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


Band = tuple[float, float, float]  # likely, low and high end


@dataclass(frozen=True)
class FromRecord:
    """What a shop's own notes tell: minutes of what is done, and belts a knife, each with the ends of its interval."""

    minutes: Mapping[str, Band] = field(default_factory=dict)
    belts: Band | None = None


@dataclass(frozen=True)
class Line:
    """One line of a quote: what, how much of it and in which unit, its cost with a low and a high end, whether any of its
    figures is a guess, and whether any comes from the shop's own notes."""

    what: str
    amount: float
    unit: str
    cost: float
    low: float
    high: float
    guess: bool
    noted: bool = False


@dataclass(frozen=True)
class Quote:
    """All lines, and their sum; the ends of the lines are added as if they went together, so the band is wide."""

    lines: tuple[Line, ...]
    hours: tuple[tuple[str, float], ...]
    money: str

    @property
    def total(self) -> Band:
        """Return low, likely and high end of the sum."""
        low, likely, high = (sum(getattr(line, k) for line in self.lines) for k in ("low", "cost", "high"))
        return low, likely, high


def quote(ledger: Ledger, stages: Sequence[Stage], record: FromRecord | None = None, share: float = 1.0) -> Quote:
    """Return the quote of a knife from its ledger and its weighed stages.

    A time the recipe gives wins over the `record`'s, and that over the usual one. `share` is the part of the bar this knife
    is cut from: it bears so much of the steel, the fire and the forging.
    """
    record, prices = record or FromRecord(), ledger.recipe.tables.shop.prices
    own: set[str] = set(ledger.recipe.tables.stages.time)
    timed = [_timed(stage, own, record, share) for stage in stages]
    lines = (
        *_steel(ledger, prices, share),
        _fire(timed, prices),
        _kiln(timed, prices),
        _belts(stages, prices, record),
        *(_piece(name, prices) for name in ("acid", "handle")),
        _work(timed, prices),
    )
    hours = tuple((str(t.stage), t.by_hand) for t in timed)
    return Quote(tuple(line for line in lines if line.amount > 0), hours, prices.money)


@dataclass(frozen=True)
class _Timed:
    """A stage with the hours it takes, the ends they lie between, and where they come from."""

    stage: Stage
    hours: float
    low: float
    high: float
    usual: bool
    noted: bool

    @property
    def beside_it(self) -> float:
        """Share of the time at which the smith stands by."""
        return _ALONE.get(self.stage.do, 1.0)

    @property
    def by_hand(self) -> float:
        """Hours of the smith's own."""
        return self.hours * self.beside_it


def _timed(stage: Stage, own: set[str], record: FromRecord, share: float) -> _Timed:
    hours = (stage.minutes or 0.0) / 60
    band = record.minutes.get(stage.do)
    known, noted = stage.kind == "blade" and stage.do in own, False
    low, high = (hours, hours) if known else (hours * (1 - TIMES_SPREAD), hours * (1 + TIMES_SPREAD))
    if band is not None and not known:
        (hours, low, high), noted = (minutes / 60 for minutes in band), True
    part = share if stage.kind == "bar" else 1.0
    return _Timed(stage, hours * part, low * part, high * part, not (known or noted), noted)


def _told(prices: Prices, *names: str) -> tuple[list[float], bool]:
    """Figures of the shop, or guesses where it has none, and whether any is one."""
    own = [getattr(prices, name) for name in names]
    return [GUESSES[n] if v is None else float(v) for n, v in zip(names, own, strict=True)], None in own


def _line(what: str, amount: float, unit: str, each: float, guess: bool, spread: float = SPREAD) -> Line:
    cost, off = amount * each, spread if guess else 0.0
    return Line(what, amount, unit, cost, cost * (1 - off), cost * (1 + off), guess)


def _steel(ledger: Ledger, prices: Prices, part: float) -> Iterator[Line]:
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
        yield _line(f"steel {steel}", part * mass, "kg", guess if own is None else own, guessed and own is None)


def _on_rack(bars: Sequence[RackBar], steel: str, density: float) -> float | None:
    """Price of a kilogram of a steel on the rack; of several bars the dearest."""
    found = [
        b.price / (b.thickness * b.width * b.length * density) for b in bars if b.steel == steel and b.price is not None
    ]
    return max(found, default=None)


def _fire(timed: Sequence[_Timed], prices: Prices) -> Line:
    (gas,), guess = _told(prices, "gas_hour")
    return _line("gas", sum(t.hours for t in timed if t.stage.kind == "bar"), "h of fire", gas, guess)


def _kiln(timed: Sequence[_Timed], prices: Prices) -> Line:
    hours = sum(t.hours for t in timed if t.stage.kind == "blade" and t.stage.do in IN_THE_KILN)
    (kwh, power), guess = _told(prices, "kwh", "kiln_kw")
    return _line("electricity", hours * power, "kWh of kiln", kwh, guess)


def _belts(stages: Sequence[Stage], prices: Prices, record: FromRecord) -> Line:
    """By the belts this shop's knives took where it noted them, else by the metal ground away."""
    if record.belts is not None:
        (belt,), guess = _told(prices, "belt")
        likely, low, high = record.belts
        off = SPREAD if guess else 0.0
        return Line(
            "belts", likely, "belts", likely * belt, low * belt * (1 - off), high * belt * (1 + off), guess, noted=True
        )
    ground = sum(
        s.lost or 0.0 for s in stages if s.kind == "blade" and s.do in ("profile", "rough grind", "thin", "finish")
    )
    (belt, grams), guess = _told(prices, "belt", "grams_a_belt")
    return _line("belts", 1e3 * ground / grams, "belts", belt, guess)


def _piece(name: str, prices: Prices) -> Line:
    (each,), guess = _told(prices, name)
    return _line(name, 1.0, "knife", each, guess)


def _work(timed: Sequence[_Timed], prices: Prices) -> Line:
    """Hours at the shop's rate; where the rate is a guess its spread comes on top of that of the times."""
    (rate,), guess = _told(prices, "hour")
    hours, low, high = (sum(getattr(t, k) * t.beside_it for t in timed) for k in ("hours", "low", "high"))
    off = SPREAD * hours * rate if guess else 0.0
    usual, noted = any(t.usual and t.hours for t in timed), any(t.noted for t in timed)
    return Line("work", hours, "h", hours * rate, low * rate - off, high * rate + off, guess or usual, noted)
