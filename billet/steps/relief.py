"""Relief: any grey picture, milled or pressed into the faces and made flat."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.errors import InputError
from billet.base.fields import Length
from billet.base.messages import Note, note, refuse, thin
from billet.base.pictures import read_picture
from billet.base.safe_files import named_file
from billet.forming.relief_shapes import Faces, Picture
from billet.steps.flatten import Made, Relieved

_LARGEST = 1024  # pixels a side; larger pictures are made smaller
_FAINT = 0.5  # of the depth asked for
_LEAST_RANGE = 2  # greys of 255; one step may be rounding


class Relief(Relieved):
    """A picture cut or pressed into the bar and repeated over it, then flattened: black is deep, white untouched.

    Its walls are eased over half the depth, as a round cutter leaves them.
    """

    do: Literal["relief"] = "relief"
    image: str = Field(
        min_length=1,
        description='A picture file, its path seen from where the recipe lies; black is deep, white untouched; example "scales.png".',
    )
    length: Length | None = Field(
        None, description='Length of the picture on the bar. Left out, the bar\'s own; example "40 mm".'
    )
    width: Length | None = Field(
        None, description='Width of the picture on the bar. Left out, the bar\'s own; example "40 mm".'
    )
    depth: Length = Field(description='How deep black is; example "1.2 mm".')
    method: Made = Field(
        "cut",
        description='How the relief is made: cut out, then forged flat; or pressed in, then ground flat. Default "cut"; example "pressed".',
    )
    faces: Faces = Field(
        "staggered",
        description='Where it lies: on both faces half a picture apart, on both over one another, or on the top alone. Default "staggered"; example "top".',
    )

    @model_validator(mode="after")
    def _sizes(self) -> Relief:
        for name in ("length", "width", "depth"):
            value = getattr(self, name)
            if value is not None and value <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "2 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        length, width = self.length or bar.length, self.width or bar.width
        picture = Picture(
            grey_rows(named_file(bench.folder, self.image)), length, width, self.depth, self.faces, 0.5 * self.depth
        )
        carved = self.carve(bar, bench, picture, self.method, one_sided=self.faces == "top")
        return replace(carved, notes=(*carved.notes, *_faint_notes(picture)))


def _faint_notes(picture: Picture) -> tuple[Note, ...]:
    """Warn of a picture whose darkest grey is nowhere near black."""
    share = 1 - min(min(row) for row in picture.grey) / 255
    if share >= _FAINT:
        return ()
    return (
        note(
            "the picture's darkest grey goes only {deep} deep where depth is {depth}; spread its greys from black to"
            " white",
            deep=thin(share * picture.depth),
            depth=thin(picture.depth),
        ),
    )


def grey_rows(path: Path | str) -> tuple[bytes, ...]:
    """Rows of grey bytes of a picture file, top row first. Raises `RefusedError` in one sentence when it cannot be
    read or is one even grey.
    """
    try:
        grey = read_picture(path, longest=_LARGEST).grey
    except InputError as error:
        raise refuse("image: {why}", why=str(error)) from None
    rows = np.round(255 * grey).astype(np.uint8)
    if np.ptp(rows) < _LEAST_RANGE:
        raise refuse(
            "image: {path} is one even grey and would cut no pattern; give a picture that goes from black (deep)"
            " to white (untouched)",
            path=str(path),
        )
    return tuple(row.tobytes() for row in rows)
