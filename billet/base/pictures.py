"""Picture files read safely, for whoever needs the greys of one: the size is checked in the header before anything is
decoded, only regular files are opened, and whatever is wrong is one sentence.
"""

from __future__ import annotations

import os
import stat
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from billet.base.errors import InputError

Array = NDArray[np.float64]
MOST_PIXELS = 100_000_000
# Decoded in this process; none of them starts a helper program.
FORMATS = ("PNG", "JPEG", "TIFF", "WEBP", "BMP", "GIF", "PPM")
INCH_M = 0.0254
SCREEN_DPI = (72.0, 96.0)  # written by default, says nothing about the steel (common practice, no source)
EXIF_DETAILS = 0x8769  # Exif 2.3, tag of the sub-directory with the camera's settings
CAMERA_TAGS = (0x829A, 0x829D, 0x920A)  # exposure time, f-number, focal length (Exif 2.3, section 4.6.5)
DEEP = 65535.0  # white of a 16-bit picture


@dataclass(frozen=True, eq=False)
class Photo:
    """A picture: grey (h, w) 0..1, turned as the camera was held; pixel_m [m] by the resolution in the file, None
    where it says nothing about the steel: a camera's or a screen's placeholder, unequal both ways, or none.
    """

    grey: Array
    pixel_m: float | None


def read_picture(path: Path | str, longest: int | None = None) -> Photo:
    """Read a picture (PNG, JPEG, TIFF, WebP, BMP, GIF, PPM), the first frame if it moves, of any depth and colour
    model; what is transparent counts as white.

    With longest given, a picture with a longer side [px] is made smaller. Raises InputError for what is no regular
    file, is damaged, or holds more than MOST_PIXELS pixels by its header.
    """
    path = Path(path)
    try:
        with _regular_file(path) as file, warnings.catch_warnings():
            # The library warns of large pictures below our limit and of odd tags; neither helps the user.
            warnings.simplefilter("ignore")
            with Image.open(file, formats=FORMATS) as image:
                _check_size(path, image.size)
                pixel_m = _pixel_m(image)
                image.seek(0)
                levels = _levels(path, _turned(image))
        size = levels.size
        if longest is not None:
            levels.thumbnail((longest, longest))
        grey = np.asarray(levels, dtype=np.float64) / (1.0 if levels.mode == "F" else 255.0)
        return Photo(grey, pixel_m if levels.size == size else None)
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; give the name of a picture.") from None
    except PermissionError:
        raise InputError(f"{path}: the file may not be read; change its permissions or copy it.") from None
    except Image.DecompressionBombError:
        raise InputError(
            f"{path}: far more than {_millions(MOST_PIXELS)} pixels by its header; crop it or save it smaller."
        ) from None
    except Image.UnidentifiedImageError:
        raise InputError(f"{path}: not a picture that can be read; save it as PNG, JPEG or TIFF.") from None
    except Exception:  # decoders of damaged files raise whatever their author thought of
        raise InputError(
            f"{path}: the picture is damaged or of an unknown kind; save it again as PNG, JPEG or TIFF."
        ) from None


def text_in_picture(path: Path, key: str) -> str | None:
    """A text that a PNG file carries under a key, None where it carries none. Raises InputError for what is no PNG."""
    try:
        with _regular_file(path) as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(file, formats=("PNG",)) as image:
                found = getattr(image, "text", {}).get(key)
                return None if found is None else str(found)
    except InputError:
        raise
    except Exception:  # decoders of damaged files raise whatever their author thought of
        raise InputError(
            f"{path.name}: this is no picture that can be read; give one drawn by billet preview."
        ) from None


@contextmanager
def _regular_file(path: Path) -> Iterator[BinaryIO]:
    """The file, open for reading; InputError for folders, pipes and devices, which are never waited for."""
    if path.is_dir():
        raise InputError(f"{path}: found a folder; a picture file is wanted.")
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise InputError(f"{path}: found a pipe or a device; save the picture as a file first.")
        yield file


def _millions(pixels: int) -> str:
    return f"{pixels / 1e6:,.0f} million"


def _check_size(path: Path, size: tuple[int, int]) -> None:
    """InputError when the header promises more pixels than we decode."""
    if size[0] * size[1] > MOST_PIXELS:
        raise InputError(
            f"{path}: {size[0]} x {size[1]} is {_millions(size[0] * size[1])} pixels, at most"
            f" {_millions(MOST_PIXELS)} are read; crop it or save it smaller."
        )


def _turned(image: Image.Image) -> Image.Image:
    """The picture as the camera was held; as it lies in the file when its tags cannot be read."""
    try:
        return ImageOps.exif_transpose(image)
    except (ValueError, TypeError, KeyError, SyntaxError):
        return image


def _levels(path: Path, image: Image.Image) -> Image.Image:
    """Brightness of any kind of picture: mode L, 0 to 255, or for deep ones mode F, 0 to 1; transparent is white."""
    if image.mode.startswith(("I", "F")):
        return _deep_levels(path, image)
    if "A" in image.getbands() or "transparency" in image.info:
        clear = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear)
    if image.mode == "LAB":
        return image.getchannel(0)
    if image.mode not in ("L", "RGB"):
        image = image.convert("RGB")
    return image.convert("L")


def _deep_levels(path: Path, image: Image.Image) -> Image.Image:
    """Values of a 16-bit, 32-bit or floating-point picture brought to 0..1: by the full 16 bits, or by the largest
    value beyond that.
    """
    values = np.asarray(image, dtype=np.float32)
    if not np.all(np.isfinite(values)):
        raise InputError(
            f"{path}: the picture holds values that are not numbers; save it again as an 8-bit or 16-bit PNG."
        )
    full = np.float32(1.0 if image.mode.startswith("F") else DEEP)
    shown = np.clip(values, 0, None) / max(full, values.max(initial=0.0))
    clear = image.info.get("transparency")
    if isinstance(clear, int):
        shown[values == clear] = 1.0
    return Image.fromarray(shown)


def _pixel_m(image: Image.Image) -> float | None:
    """Size of a pixel [m] by the resolution in the file; None when that is missing, unequal, a screen's default or
    written by a camera.
    """
    try:
        across, down = (float(d) for d in image.info["dpi"])
        camera = image.getexif().get_ifd(EXIF_DETAILS)
    except Exception:  # damaged tags: then there is no scale, and the picture can still be read
        return None
    told = np.isfinite([across, down]).all() and 10 <= across <= 100_000 and abs(across - down) < 0.01 * across
    if not told or any(abs(across - d) < 0.5 for d in SCREEN_DPI) or any(tag in camera for tag in CAMERA_TAGS):
        return None
    return INCH_M / across
