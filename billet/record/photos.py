"""Photographs by reference: the file stays where it is, the record keeps its path and the hash of its bytes."""

import hashlib
from pathlib import Path

from billet.base.errors import InputError
from billet.record.entry import Photo


def photograph(path: Path, folder: Path) -> Photo:
    """Refer to a photograph that exists; inside ``folder``, where the record lies, its path is kept relative to it."""
    if not path.is_file():
        what = "is a folder" if path.is_dir() else "is not there"
        raise InputError(f"The photograph {path} {what}; check the name, or write the note without it.")
    try:
        sha256, size = _sha256(path), path.stat().st_size
    except OSError as error:
        raise InputError(f"The photograph {path} cannot be read ({error.strerror}); check the file.") from error
    return Photo(kept_path(path, folder), sha256, size)


def kept_path(path: Path, folder: Path) -> str:
    """How a path is written down: relative to ``folder`` with forward slashes when inside it, else in full."""
    whole, base = path.resolve(), folder.resolve()
    return whole.relative_to(base).as_posix() if whole.is_relative_to(base) else str(whole)


def photo_state(photo: Photo, folder: Path) -> str:
    """``"there"``, ``"missing"`` or ``"changed"``: whether the file still holds the bytes that were noted."""
    path = folder / photo.path
    if not path.is_file():
        return "missing"
    return "there" if path.stat().st_size == photo.size and _sha256(path) == photo.sha256 else "changed"


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
