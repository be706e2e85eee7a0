"""How large a pixel is on the steel, and points in a picture, from what the user writes."""

from __future__ import annotations

import re

from billet.base.errors import InputError
from billet.base.pictures import INCH_M
from billet.base.units import Kind, read
from billet.count.line import Line

NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def read_line(text: str, band: float | None = None, field: str = "--along") -> Line:
    """The line from (x1, y1) to (x2, y2) [px] written "x1,y1,x2,y2", with a band of the given width [px] around it.

    Raises InputError naming the field for anything else, and for a line without length.
    """
    parts = [p.strip() for p in text.split(",")]
    if len(parts) != 4 or not all(NUMBER.fullmatch(p) for p in parts):
        raise InputError(
            f'{field}: found "{text[:60]}"; wanted two points in pixels as x1,y1,x2,y2, for example 400,20,410,1180.'
        )
    x1, y1, x2, y2 = map(float, parts)
    if (x1, y1) == (x2, y2):
        raise InputError(
            f'{field}: found "{text[:60]}", twice the same point; wanted two points apart, for example 400,20,410,1180.'
        )
    if band is not None and not band > 0:
        raise InputError(f"--band: found {band:g}; wanted a width in pixels above 0, for example 80.")
    return Line(x1, y1, x2, y2, band)


def measured_line(along: str | None, band: float | None) -> Line | None:
    """The line asked for, or None for the picture's middle; a band without a line is refused."""
    if along is None and band is not None:
        raise InputError("--band: a width was given without a line; add --along x1,y1,x2,y2.")
    return None if along is None else read_line(along, band)


def ruler_pixel(text: str) -> float:
    """Size of a pixel [m] from a ruler in the picture, written "x1,y1,x2,y2=25 mm": two points [px] and the length
    between them.
    """
    points, equals, length = text.partition("=")
    if not equals:
        raise InputError(
            f'--scale: found "{text[:60]}"; wanted two points of a ruler and the length between them, for example'
            ' "100,50,900,52=25 mm".'
        )
    metres = read(length.strip(), Kind.LENGTH, "--scale")
    if metres == 0:
        raise InputError(
            f'--scale: found "{text[:60]}", no length; wanted the length between the points, for example'
            ' "100,50,900,52=25 mm".'
        )
    return metres / read_line(points, field="--scale").length


def dpi_pixel(dpi: float) -> float:
    """Size of a pixel [m] at so many pixels per inch."""
    if not 1 <= dpi <= 100_000:
        raise InputError(f"--dpi: found {dpi:g}; wanted pixels per inch of steel from 1 to 100000, for example 1200.")
    return INCH_M / dpi


def pixel_size(in_file: float | None, dpi: float | None, ruler: str | None) -> float | None:
    """Size of a pixel on the steel [m]: by the ruler or the dpi given, else by what the file says, else None."""
    if dpi is not None and ruler is not None:
        raise InputError("--dpi and --scale both give the scale; give one of them.")
    if ruler is not None:
        return ruler_pixel(ruler)
    return in_file if dpi is None else dpi_pixel(dpi)
