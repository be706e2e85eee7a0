"""The bevels: how far each face stands from the mid-plane, from edge to spine.

A face is described by its kind and its numbers. Heights are stated at the heel and keep their share of the local height
towards the point, so a shoulder line runs out at the tip with the blade.
"""

import difflib
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, field_validator, model_validator

from billet.base.fields import Length, sentence

Array = NDArray[np.float64]
Side = Literal["left", "right"]

KINDS = {
    "full flat": (),
    "convex": ("amount", "radius"),
    "hollow": ("wheel", "height"),
    "sabre": ("height",),
    "compound": ("wheel", "height", "lower", "amount"),
    "unground": (),
}
"""The kinds of face and the numbers each may carry."""

NEEDED = {
    "hollow": ("wheel", 'wheel = "1800 mm"'),
    "compound": ("wheel", 'wheel = "1800 mm"'),
    "sabre": ("height", 'height = "25 mm"'),
}
"""The number a kind cannot do without, and an example of it."""

# Shares of the heel height where a hollow, and the two lower zones of a compound grind, end; from memory, unverified.
_DEFAULT_HEIGHT = {"hollow": 0.5, "compound": 0.75}
_DEFAULT_LOWER = 1 / 3
_DEFAULT_BULGE = 1 / 8  # of the face's run from edge to spine, for a convex face; from memory, unverified


class Face(BaseModel):
    """One face of the blade: the kind of grind and its numbers.

    ``full flat`` runs straight from edge to spine. ``convex`` bulges over that line by ``amount`` half way up (default:
    an eighth of the run), or as an arc of ``radius``. ``hollow`` is the arc of a ``wheel`` (diameter) from the edge to
    ``height`` (default half the heel height), flat above. ``sabre`` is straight up to ``height`` and flat above.
    ``compound`` is the S grind: convex up to ``lower`` (default a third of the heel height), hollow from there to
    ``height`` (default three quarters), flat above; without ``amount`` the two meet without a ridge. ``unground`` is
    the flat face of a chisel grind, one plane from heel to point: the taper lies on the other face.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    kind: str = Field(
        "full flat",
        description='What grind it is: full flat, convex, hollow, sabre, compound or unground. Default "full flat"; example "convex".',
    )
    height: Length | None = Field(
        None,
        description='How high the ground part runs at the heel, for hollow, sabre and compound. Left out, half of the height for a hollow and three quarters for a compound grind; example "25 mm".',
    )
    lower: Length | None = Field(
        None,
        description='How high the convex part of a compound grind runs at the heel. Left out, a third of the height; example "15 mm".',
    )
    wheel: Length | None = Field(
        None,
        description='Diameter of the wheel, for hollow and compound. Left out for the others, nothing; example "1800 mm".',
    )
    amount: Length | None = Field(
        None,
        description='How far a convex face stands proud of flat half way up. Left out, an eighth of the run from edge to spine; example "0.15 mm".',
    )
    radius: Length | None = Field(
        None, description='Radius of a convex face, instead of amount. Left out, amount is used; example "600 mm".'
    )

    @field_validator("kind")
    @classmethod
    def _known(cls, kind: str) -> str:
        if kind not in KINDS:
            near = difflib.get_close_matches(kind, [*KINDS, "chisel"], n=1)
            offer = f'did you mean "{near[0]}"?' if near else f"wanted one of {', '.join(KINDS)} or chisel."
            raise ValueError(f'found "{kind}"; {offer}')
        return kind

    @model_validator(mode="after")
    def _numbers_fit(self) -> "Face":
        given = [name for name in type(self).model_fields if name != "kind" and getattr(self, name) is not None]
        stray = [name for name in given if name not in KINDS[self.kind]]
        if stray:
            takes = " and ".join(KINDS[self.kind]) or "no numbers"
            raise ValueError(f'a bevel of kind "{self.kind}" does not take {stray[0]}; it takes {takes}.')
        if any(getattr(self, name) <= 0 for name in given):
            raise ValueError(f'the numbers of a "{self.kind}" bevel must be greater than zero.')
        name, example = NEEDED.get(self.kind, ("kind", ""))
        if getattr(self, name) is None:
            raise ValueError(f'a bevel of kind "{self.kind}" needs {name}, for example {example}.')
        if self.amount is not None and self.radius is not None:
            raise ValueError("a convex bevel takes either amount or radius, not both.")
        return self

    def top(self, heel_height: float) -> float:
        """Return the share of the height at which the ground part ends [-]."""
        return self._share(self.height, _DEFAULT_HEIGHT.get(self.kind, 1.0), heel_height)

    def bottom(self, heel_height: float) -> float:
        """Return the share of the height at which the convex part of a compound grind ends [-]; 0 for the others."""
        return self._share(self.lower, _DEFAULT_LOWER, heel_height) if self.kind == "compound" else 0.0

    def bulge(self, run: float) -> float:
        """Return how far a convex face of a run from edge to spine [m] stands proud half way up, unless given [m]."""
        return _DEFAULT_BULGE * run if self.amount is None else self.amount

    def breaks(self, heel_height: float) -> tuple[float, ...]:
        """Return the shares of the height between which the face is smooth, from 0 to 1."""
        return tuple(sorted({0.0, self.bottom(heel_height), self.top(heel_height), 1.0}))

    @staticmethod
    def _share(height: float | None, default: float, heel_height: float) -> float:
        return default if height is None else height / heel_height


class Bevel(BaseModel):
    """The bevels of both faces.

    In a recipe: the name of a kind; or a table with ``kind`` and its numbers, where ``left`` and ``right`` may override
    either face. ``chisel`` leaves the face named by ``flat`` (default left) unground and gives the other the numbers:
    with ``height`` a sabre bevel, with ``wheel`` a hollow, else full flat.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    left: Face = Field(
        Face(),
        description='The left face, where it differs; the edge down and the tip away. Left out, as the table says for both; example { kind = "convex" }.',
    )
    right: Face = Field(
        Face(),
        description='The right face, where it differs. Left out, as the table says for both; example { kind = "hollow", wheel = "1800 mm" }.',
    )

    @model_validator(mode="before")
    @classmethod
    def _both_faces(cls, given: Any, info: ValidationInfo) -> Any:
        if isinstance(given, str):
            given = {"kind": given}
        if not isinstance(given, dict):
            return given
        shared = {key: value for key, value in given.items() if key not in ("left", "right", "flat")}
        if shared.get("kind") == "chisel":
            tables = _chisel(shared, given)
        elif "flat" in given:
            raise ValueError('flat belongs to kind = "chisel" alone; it names the face left unground.')
        else:
            tables = {side: _overridden(shared, given.get(side)) for side in ("left", "right")}
        return {side: _face(tables[side], info.context) for side in ("left", "right")}

    @model_validator(mode="after")
    def _one_ground(self) -> "Bevel":
        if self.left.kind == self.right.kind == "unground":
            raise ValueError("both faces are unground, so there is no edge; give one of them a bevel.")
        return self

    def face(self, side: Side) -> Face:
        """Return the face on a side."""
        return self.left if side == "left" else self.right


def _face(table: Any, context: Any) -> Face:
    """Return a face of its table; one fault of both faces is told once."""
    try:
        return Face.model_validate(table, context=context)
    except ValidationError as fault:
        raise ValueError(sentence(fault.errors()[0], Face.model_fields).removeprefix("value: ")) from None


def _chisel(shared: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """Return both faces of a chisel grind."""
    flat = given.get("flat", "left")
    if flat not in ("left", "right"):
        raise ValueError(f'flat: found "{flat}", wanted "left" or "right", the face left unground.')
    if "left" in given or "right" in given:
        raise ValueError("a chisel bevel takes flat and the numbers of its one bevel, no left or right.")
    kind = "hollow" if "wheel" in shared else "sabre" if "height" in shared else "full flat"
    ground = "right" if flat == "left" else "left"
    return {flat: {"kind": "unground"}, ground: {**shared, "kind": kind}}


def _overridden(shared: dict[str, Any], own: Any) -> Any:
    """Return the table of one face; a face that names its own kind takes only its own numbers."""
    if own is None or isinstance(own, Face):
        return own or shared
    own = {"kind": own} if isinstance(own, str) else own
    if not isinstance(own, dict):
        return own
    return own if own.get("kind", shared.get("kind")) != shared.get("kind") else {**shared, **own}


@dataclass(frozen=True)
class Profile:
    """A face made ready for a blade: shares of the height, and the run from edge to spine at the heel [m]."""

    face: Face
    heel_height: float
    heel_run: float

    def __call__(self, w: ArrayLike, height: ArrayLike, edge: ArrayLike, spine: ArrayLike) -> Array:
        """Return the distance of the face from the mid-plane [m] at the share w of the local height [m].

        ``edge`` and ``spine`` are the distances at the edge and at the spine [m]; all broadcast together.
        """
        w, h, a, b = np.broadcast_arrays(*(np.asarray(part, dtype=float) for part in (w, height, edge, spine)))
        top = self.face.top(self.heel_height)
        u = w / top
        straight = a + (b - a) * np.minimum(u, 1.0)
        return straight + np.where(u < 1, _BENDS[self.face.kind](self, w, h, b - a), 0.0)


def _none(profile: Profile, w: Array, h: Array, run: Array) -> Array:
    return np.zeros_like(w)


def _convex(profile: Profile, w: Array, h: Array, run: Array) -> Array:
    """Bulge over the straight line: a parabola of the given share of the run, or a circle of the given radius."""
    if profile.face.radius is not None:
        return arc_dip(w, h, -run, 2 * profile.face.radius)  # the dip seen in a mirror
    amount = profile.face.amount
    share = _DEFAULT_BULGE if amount is None else amount / profile.heel_run
    return 4 * share * run * w * (1 - w)


def _hollow(profile: Profile, w: Array, h: Array, run: Array) -> Array:
    """Dip under the straight line along the arc of the wheel."""
    top = profile.face.top(profile.heel_height)
    return -arc_dip(w / top, top * h, run, profile.face.wheel or np.inf)


def _compound(profile: Profile, w: Array, h: Array, run: Array) -> Array:
    """Bulge below, dip above; the straight line is met where the two join.

    A parabola over l meets an arc over m without a ridge when 4 amount / l = m / D, D the wheel's diameter.
    """
    face, heel = profile.face, profile.heel_height
    low, top = face.bottom(heel), face.top(heel)
    wheel = face.wheel or np.inf
    level = low * (top - low) * h**2 / (4 * wheel)
    amount = level if face.amount is None else face.amount / profile.heel_run * run
    below, above = w / low, (w - low) / (top - low)
    bulge = 4 * amount * below * (1 - below)
    dip = arc_dip(np.clip(above, 0, 1), (top - low) * h, run * (top - low) / top, wheel)
    return np.where(w < low, bulge, -dip)


_BENDS = {
    "full flat": _none,
    "unground": _none,
    "sabre": _none,
    "convex": _convex,
    "hollow": _hollow,
    "compound": _compound,
}


def arc_dip(share: ArrayLike, base: ArrayLike, rise: ArrayLike, diameter: ArrayLike) -> Array:
    """Return how far a circle through two points dips under the straight line between them [m], square to the base.

    The points lie ``base`` apart along the height and ``rise`` apart across [m]; ``share`` runs from one to the other.
    Both ends dip nothing; on a level line the middle dips by the hollow depth. NaN where the circle cannot reach both.
    With k = rise / base, t = (share - 1/2) base, c half the chord and (t0, z0) the centre, above the chord's middle,
    the lower branch of (t - t0)^2 + (k t - dip - z0)^2 = R^2 is dip^2 + 2 p dip - q = 0 with p = z0 - k t and
    q = c^2 - t^2 (1 + k^2). Hand derivation; solved without cancellation.
    """
    share, base, rise = (np.asarray(part, dtype=float) for part in (share, base, rise))
    R = np.asarray(diameter, dtype=float) / 2
    with np.errstate(invalid="ignore", divide="ignore"):
        k = np.where(base > 0, rise / base, 0.0)
        t = (share - 0.5) * base
        c2 = (base**2 + rise**2) / 4
        p = np.sqrt(R**2 - c2) / np.hypot(1, k) - k * t
        q = c2 - t**2 * (1 + k**2)
        return np.asarray(q / (p + np.sqrt(p**2 + q)), dtype=np.float64)
