"""Join: weld earlier bars to one another, as layers or side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

import numpy as np

from billet.bar.bar import Bar, Joined, Laminar, Material, worked
from billet.bar.decarb_layer import Buried, Skins, buried
from billet.bar.hand import laid_up, seen
from billet.bar.laminate import OPEN, stacked
from billet.bar.maps import affine
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.messages import long, refuse

Turn = Literal["over", "end for end"] | None
_MOST_UNEQUAL = 0.2
_TURNS = {None: np.diag([1.0, 1.0, 1.0]), "over": np.diag([1.0, -1.0, -1.0]), "end for end": np.diag([-1.0, -1.0, 1.0])}


def join(name: str, items: Sequence[tuple[Bar, Turn]], how: Literal["layers", "side by side"], bench: Bench) -> Outcome:
    """Join bars into one: layers bottom to top, or side by side from the edge side (-y).

    A bar named several times is cut into as many equal lengths, kerf counted. Mating faces are ground; lengths and mating
    widths (thicknesses side by side) are cut to the smallest. "over" rolls a bar upside down about its length, "end for end"
    turns it about the upright. Raises `RefusedError` when sizes differ by more than a fifth or a bar has open joints.
    """
    lost = Lost()
    pieces, lost = _cut_up([bar for bar, _ in items], bench, lost)
    lost = _check_equal(pieces, how, lost)
    length = min(p.length for p, _ in pieces)
    across = min((p.width if how == "layers" else p.thickness) for p, _ in pieces)
    ground: list[Bar] = []
    for k, ((piece, at), (_, turn)) in enumerate(zip(pieces, items, strict=True)):
        one, lost = _fit(piece, k, len(pieces), turn, how, length, across, bench, lost)
        skins = (
            one.skins.turned(2) if turn == "over" else one.skins.end_for_end() if turn == "end for end" else one.skins
        )
        ground.append(replace(one, material=_placed(one, at, turn), skins=skins))
    return Outcome(_assembled(name, ground, how, length, across), lost)


def _cut_up(bars: list[Bar], bench: Bench, lost: Lost) -> tuple[list[tuple[Bar, float]], Lost]:
    """Each named bar, or its next piece when named again, with the place of the piece's centre along the bar [m]."""
    out: list[tuple[Bar, float]] = []
    names = [b.name for b in bars]
    for k, bar in enumerate(bars):
        if not bar.welded:
            raise refuse('bar "{name}" is stacked but not welded; weld it before it is joined', name=bar.name)
        if bar.is_round:
            raise refuse(
                'bar "{name}" is still round from the twist; draw it to a thickness and a width before it is joined',
                name=bar.name,
            )
        n, nth = names.count(bar.name), names[:k].count(bar.name)
        length = (bar.length - (n - 1) * bench.shop.kerf) / n
        if length <= 0:
            raise refuse(
                'bar "{name}" is {have} long, too short to be cut into {n} pieces',
                name=bar.name,
                have=long(bar.length),
                n=n,
            )
        if nth == 0:
            lost = lost.plus(kerf=(n - 1) * bench.shop.kerf * bar.mass / bar.length)
        out.append((replace(bar, length=length), -0.5 * bar.length + 0.5 * length + nth * (length + bench.shop.kerf)))
    return out, lost


def _check_equal(pieces: list[tuple[Bar, float]], how: str, lost: Lost) -> Lost:
    """Refuse bars of very unequal sizes."""
    sizes = {"length": [p.length for p, _ in pieces]}
    sizes["width" if how == "layers" else "thickness"] = [
        (p.width if how == "layers" else p.thickness) for p, _ in pieces
    ]
    for what, values in sizes.items():
        if min(values) < (1 - _MOST_UNEQUAL) * (1 - 1e-9) * max(values):
            names = ", ".join(f"{p.name}" for p, _ in pieces)
            raise refuse(
                "the bars {names} differ too much in {what}: {low} against {high}; draw or trim them within a fifth of one another",
                names=names,
                what=what,
                low=long(min(values)),
                high=long(max(values)),
            )
    return lost


def _fit(
    piece: Bar, k: int, n: int, turn: Turn, how: str, length: float, across: float, bench: Bench, lost: Lost
) -> tuple[Bar, Lost]:
    """A piece cut to the common sizes, its mating faces ground."""
    ends = 0.5 * (piece.length - length)
    piece, trimmed = pare(piece, left=ends, right=ends)
    clean = bench.shop.face_cleanup
    low, high = clean * (k > 0), clean * (k < n - 1)
    if how == "layers":
        piece, narrowed = pare(piece, sides=0.5 * (piece.width - across))
        bottom, top = (high, low) if turn == "over" else (low, high)
        piece, cleaned = pare(piece, bottom=bottom, top=top)
    else:
        spare = 0.5 * (piece.thickness - across)
        piece, narrowed = pare(piece, bottom=spare, top=spare)
        near, far = (low, high) if turn is None else (high, low)
        piece, cleaned = pare(piece, sides=0.5 * (low + high), near=0.5 * (near - far))
    return piece, lost.plus(trim=trimmed + narrowed, cleanup=cleaned)


def _placed(piece: Bar, at: float, turn: Turn) -> Material:
    """The material of a piece in its own frame: cut out at `at` along the bar and turned."""
    if piece.laminate is not None:
        laminate = piece.laminate.turned_over() if turn == "over" else piece.laminate
        return Laminar(laminate, seen(piece.waves, np.diag(_TURNS[turn]).tolist(), (at, 0.0, 0.0)))
    return worked(piece.material, affine(_TURNS[turn], (at, 0.0, 0.0)))


def _assembled(
    name: str, parts: list[Bar], how: Literal["layers", "side by side"], length: float, across: float
) -> Bar:
    """The joined bar; laminar bars as layers become one laminate."""
    if len(parts) == 1:
        return replace(parts[0], name=name)
    sizes = np.array([p.thickness if how == "layers" else p.width for p in parts])
    total = float(sizes.sum())
    faces = np.r_[0.0, np.cumsum(sizes)] - 0.5 * total
    laminates = [p.laminate for p in parts if p.laminate is not None]
    material: Material
    if how == "layers" and len(laminates) == len(parts):
        material = Laminar(stacked(laminates), laid_up([(p.waves, p.thickness) for p in parts]))
    else:
        under = tuple(_meeting(a, b, how) for a, b in pairwise(parts))
        material = Joined(tuple(p.material for p in parts), "z" if how == "layers" else "y", tuple(faces), OPEN, under)
    width, thickness = (across, total) if how == "layers" else (total, across)
    density = sum(p.mass for p in parts) / (length * width * thickness)
    counted = sum(p.layers_counted for p in parts)
    return Bar(name, length, width, thickness, material, counted, False, density, skins=_outside(parts, how))


def _meeting(one: Bar, other: Bar, how: str) -> Buried:
    """The skins in the weld between two neighbours; they may spread to the middles of the bars."""
    if how == "layers":
        return buried(one.skins.top, other.skins.bottom, (0.5 * one.thickness, 0.5 * other.thickness))
    return buried(one.skins.high, other.skins.low, (0.5 * one.width, 0.5 * other.width))


def _outside(parts: list[Bar], how: str) -> Skins:
    """The free skins of the joined bar; a face that several share has the least of theirs, since a laminar one has its own in its leaf."""
    shared = [min((s[k] for s in (p.skins for p in parts)), key=lambda skin: skin.missing) for k in range(4)]
    ends = (0, 1) if how == "layers" else (2, 3)
    shared[ends[0]], shared[ends[1]] = parts[0].skins[ends[0]], parts[-1].skins[ends[1]]
    return Skins(*shared)
