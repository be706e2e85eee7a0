"""What `billet where` says: the plate, the weld, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

from billet.base.units import Kind, show
from billet.ledger.rows import MARKS, Ledger
from billet.where.follow import Plate, step_words
from billet.where.spot import Spot

_OFF = {"metric": 0.1e-3, "imperial": 4 * 25.4e-6}  # ground away in the example [m]
_HERE = 10e-6  # nearer than this no eye tells a spot from a weld, and no hand grinds so little [m]
_FROM = ", from the bottom of the first stack"
_STILL = 0.02e-3  # a line that moves less is said to stay [m]


def told(spot: Spot, ledger: Ledger) -> Iterator[str]:
    """Which plate a spot is, how deep it goes, and the weld nearest to it, in a few sentences."""
    units = ledger.recipe.tables.units

    def fine(v: float) -> str:
        return show(v, Kind.LENGTH, units, fine=True)

    def long(v: float) -> str:
        return show(v, Kind.LENGTH, units)

    place = f"{long(spot.x)} from heel" if spot.x >= 0 else f"{long(-spot.x)} behind the heel"
    yield f"{spot.side} face, {place}, {long(spot.y)} above edge line:"
    yield f"  {plate_words(spot.plate, ledger)}{_FROM if spot.plate.number else ''}"
    if spot.stays is None or spot.under is None:
        yield "  ground to the middle of the blade it is still this plate"
    else:
        deeper = "just under it comes" if spot.stays < _HERE else f"{fine(spot.stays)} deeper comes"
        yield f"  {deeper} {plate_words(spot.under, ledger)}"
    if spot.weld is None:
        yield "No weld lies near it: the bar is one piece here."
        return
    one, other = (_short(plate) for plate in spot.weld.between)
    away = "right here" if spot.weld.distance < _HERE else f"{fine(spot.weld.distance)} away"
    yield f"The nearest weld is {away}: {one} on {other}, made in {ledger.title(spot.weld.mark)}."


def plate_words(plate: Plate, ledger: Ledger) -> str:
    """A plate as a smith would point at it."""
    if not plate.number:
        return f"{plate.steel}, a plate laid in later"
    of = f" of bar {plate.bar}" if len(ledger.bars) > 1 else ""
    return f"plate {plate.number} of {plate.of}{of} ({plate.steel})"


def _short(plate: Plate) -> str:
    return f"plate {plate.number} ({plate.steel})" if plate.number else f"{plate.steel}"


def moving(spot: Spot, units: str) -> Iterator[str]:
    """How the nearest weld's line wanders as the face is ground; nothing where there is none."""
    weld = spot.weld
    if weld is None:
        return

    def fine(v: float) -> str:
        return show(v, Kind.LENGTH, units, fine=True)

    if weld.comes_up is None:
        yield "  It does not come to this spot before the middle of the blade."
    elif weld.comes_up >= _HERE:
        yield f"  Grind {fine(weld.comes_up)} deeper and it is right here."
    off = _OFF[units]
    x, y = (v * off for v in weld.drift)
    moves = []
    if abs(y) > _STILL:
        moves.append(f"{fine(abs(y))} nearer the {'spine' if y > 0 else 'edge'}")
    if abs(x) > _STILL:
        moves.append(f"{fine(abs(x))} nearer the {'point' if x > 0 else 'heel'}")
    if moves:
        yield f"  For every {fine(off)} ground off this face its line moves {' and '.join(moves)}."


def if_open(spot: Spot) -> Iterator[str]:
    """What to do where the nearest weld has opened up; nothing where there is none."""
    if spot.weld is None:
        return
    y = spot.weld.drift[1] * _OFF["metric"]
    yield "Opened up here? Stop, mark its ends, look with a glass."
    if y < -_STILL:
        yield "It runs to the edge as you grind: grind no more here."
    yield "Grinding closes no weld."


def way_words(spot: Spot, ledger: Ledger) -> Iterator[str]:
    """Where the spot lay after every step, the last first; from the handle end, the edge side and the bottom face."""
    units = ledger.recipe.tables.units
    for stop in spot.way:
        where = step_words(ledger, stop.mark)
        one = ledger.bars[stop.mark // MARKS].rows[where["number"]].bar
        at = [
            show(v + 0.5 * size, Kind.LENGTH, units, fine=fine)
            for v, size, fine in zip(
                stop.point, (one.length, one.width, one.thickness), (False, False, True), strict=True
            )
        ]
        piece = "" if stop.piece is None else f", piece {stop.piece + 1}"
        yield f"{where['bar']} step {where['number']} ({where['do']}): {at[0]} from the handle end, {at[1]} from the edge side, {at[2]} up{piece}"


def as_data(spot: Spot, ledger: Ledger) -> dict[str, object]:
    """The same as plain data: SI, the unit in the key."""
    weld = spot.weld
    return {
        "face": spot.side,
        "x_m": spot.x,
        "y_m": spot.y,
        "thickness_m": spot.thickness,
        "plate": _plate(spot.plate),
        "goes_deeper_m": spot.stays,
        "below": None if spot.under is None else _plate(spot.under),
        "weld": None
        if weld is None
        else {
            **step_words(ledger, weld.mark),
            "distance_m": weld.distance,
            "between": [_plate(p) for p in weld.between],
            "comes_up_at_m": weld.comes_up,
            "moves_x": weld.drift[0],
            "moves_y": weld.drift[1],
        },
        "way_back": [
            {**step_words(ledger, s.mark), "x_m": s.point[0], "y_m": s.point[1], "z_m": s.point[2], "piece": s.piece}
            for s in spot.way
        ],
    }


def _plate(plate: Plate) -> dict[str, object]:
    return {"steel": plate.steel, "bar": plate.bar, "number": plate.number, "of": plate.of}
