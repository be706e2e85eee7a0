"""Read the plates of a stack: "1084 3.2 mm" is a steel and a thickness."""

from __future__ import annotations

import re
from collections.abc import Mapping

from billet.base.errors import InputError
from billet.base.units import Kind, read
from billet.steel.library import Steel, find

_THINNEST, _THICKEST = 1e-6, 1.0  # [m] foil and forging; past them it is a slip of the pen
_GAP = re.compile(r"\s+(?=[\d.½¼¾⅛⅜⅝⅞])")


def read_plate(text: str, own: Mapping[str, Steel], field: str) -> tuple[Steel, float]:
    """A plate as steel and thickness [m]; the steel's name may itself hold figures, so every gap before a figure is tried.

    Raises InputError naming the field when no reading fits.
    """
    trouble: InputError | None = None
    for gap in _GAP.finditer(text.strip()):
        name, size = text.strip()[: gap.start()], text.strip()[gap.end() :]
        try:
            steel = find(name, own)
            thickness = read(size, Kind.LENGTH, f"{field}, plate {text!r}")
        except InputError as error:
            trouble = trouble or error
            continue
        if thickness <= 0:
            raise InputError(
                f'{field}: found a plate of no thickness, "{text}"; a plate is a steel and a thickness, such as "1084 3.2 mm"'
            )
        if not _THINNEST <= thickness <= _THICKEST:
            raise InputError(
                f'{field}: found the plate "{text}", wanted one between 1 µm and 1 m thick, such as "1084 3.2 mm"'
            )
        return steel, thickness
    raise trouble or InputError(
        f'{field}: found "{text}", wanted a steel and a thickness with its unit, such as "1084 3.2 mm"'
    )
