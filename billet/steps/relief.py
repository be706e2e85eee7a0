"""Relief: any grey picture, milled or pressed into the faces and made flat."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np
from PIL import Image, UnidentifiedImageError
from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length
from billet.base.messages import refuse
from billet.forming.relief_shapes import Faces, Picture
from billet.steps.flatten import Made, Relieved

_LARGEST = 1024  # pixels a side; larger pictures are made smaller
_MOST_PIXELS = 50_000_000


class Relief(Relieved):
    """A picture, black `depth` deep and white untouched, `length` by `width` on the bar (the bar's own size when left
    out) and repeated over it.

    Its walls are eased over half the depth, as a round cutter leaves them.
    """

    do: Literal["relief"] = "relief"
    image: str = Field(min_length=1, description="A picture file, as seen from where the recipe lies.")
    length: Length | None = None
    width: Length | None = None
    depth: Length
    method: Made = "cut"
    faces: Faces = "staggered"

    @model_validator(mode="after")
    def _sizes(self) -> Relief:
        for name in ("length", "width", "depth"):
            value = getattr(self, name)
            if value is not None and value <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "2 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        length, width = self.length or bar.length, self.width or bar.width
        picture = Picture(grey_rows(bench.folder / self.image), length, width, self.depth, self.faces, 0.5 * self.depth)
        return self.carve(bar, bench, picture, self.method, one_sided=self.faces == "top")


def grey_rows(path: Path | str) -> tuple[bytes, ...]:
    """Rows of grey bytes of a picture file, top row first. Raises `RefusedError` in one sentence when it cannot be
    read.
    """
    if not Path(path).is_file():
        raise refuse(
            'image: there is no file "{path}"; give the path of a picture, as seen from where the recipe lies',
            path=str(path),
        )
    try:
        with Image.open(path) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                raise refuse(
                    'image: "{path}" has {many} pixels; make it smaller',
                    path=str(path),
                    many=picture.width * picture.height,
                )
            grey = picture.convert("L")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError):
        raise refuse('image: "{path}" is not a picture that can be read; save it as PNG', path=str(path)) from None
    grey.thumbnail((_LARGEST, _LARGEST))
    return tuple(row.tobytes() for row in np.asarray(grey))
