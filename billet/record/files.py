"""Write a text file whole or not at all."""

import os
from pathlib import Path

from billet.errors import InputError


def write_whole(path: Path, text: str, *, force: bool = False) -> None:
    """Write ``text`` beside ``path``, sync it, then put it in its place; an existing file needs ``force``."""
    if path.exists() and not force:
        raise InputError(f"{path} exists; name another file, or --force to replace it.")
    beside = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        with beside.open("w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise InputError(
            f"{path} cannot be written ({error.strerror}); nothing was changed, check the disk."
        ) from error
    finally:
        beside.unlink(missing_ok=True)
