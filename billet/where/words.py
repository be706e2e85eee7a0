"""What `billet where` says: the plate, the weld, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

from billet.base.units import Kind, show
from billet.ledger.rows import MARKS, Ledger
from billet.where.follow import Plate, step_words
from billet.where.spot import Spot, Weld

_MOVES = 0.1e-3  # ground away in the example [m]
_STILL = 0.02e-3  # a line that moves less is said to stay [m]


def told(spot: Spot, ledger: Ledger) -> Iterator[str]:
    """The answer in a few lines."""
    units = ledger.recipe.tables.units

    def fine(v: float) -> str:
        return show(v, Kind.LENGTH, units, fine=True)

    def long(v: float) -> str:
        return show(v, Kind.LENGTH, units)

    place = f"{long(spot.x)} from the heel" if spot.x >= 0 else f"{long(-spot.x)} behind the heel"
    yield f"{spot.side} face, {place}, {long(spot.y)} above the edge line:"
    yield f"this is {plate_words(spot.plate, ledger)}"
    if spot.stays is None or spot.under is None:
        yield "grind as deep as the middle of the blade, and it is still this plate"
    else:
        yield f"it goes {fine(spot.stays)} deeper; below it comes {plate_words(spot.under, ledger)}"
    if spot.weld is None:
        yield "no weld lies near it: the bar is one piece here"
        return
    yield from _weld_words(spot.weld, ledger, fine)


def plate_words(plate: Plate, ledger: Ledger) -> str:
    """A plate as a smith would point at it."""
    if not plate.number:
        return f"{plate.steel}, a plate laid in later"
    of = f" of bar {plate.bar}" if len(ledger.bars) > 1 else ""
    return f"plate {plate.number} of {plate.of}{of} ({plate.steel}), counted from the bottom of the first stack"


def _short(plate: Plate) -> str:
    return f"plate {plate.number} ({plate.steel})" if plate.number else f"{plate.steel}"


def _weld_words(weld: Weld, ledger: Ledger, fine: object) -> Iterator[str]:
    assert callable(fine)
    one, other = weld.between
    yield (
        f"the nearest weld is {fine(weld.distance)} away, {_short(one)} on {_short(other)}, "
        f"made in {ledger.title(weld.mark)}"
    )
    if weld.comes_up is None:
        yield "  it does not come to this spot before the middle of the blade"
    else:
        yield f"  grind {fine(weld.comes_up)} deeper and it is right here"
    x, y = (v * _MOVES for v in weld.drift)
    moves = []
    if abs(y) > _STILL:
        moves.append(f"{fine(abs(y))} nearer the {'spine' if y > 0 else 'edge'}")
    if abs(x) > _STILL:
        moves.append(f"{fine(abs(x))} nearer the {'point' if x > 0 else 'heel'}")
    if moves:
        yield f"  for every {fine(_MOVES)} ground off this face its line moves {' and '.join(moves)}"
    yield "if it has opened up here: stop, mark its ends and look at them with a glass while the etch is fresh;"
    if y < -_STILL:
        yield "  it runs toward the edge as you grind: grind no more here; before hardening, the smith decides"
    elif y > _STILL:
        yield "  grinding carries it away from the edge; it does not close it"
    yield "  an open weld does not close by grinding, and one at the edge is not for a kitchen"


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
