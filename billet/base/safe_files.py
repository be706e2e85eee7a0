"""Files are written whole or not at all, never over another without being told, and never over one that was read."""

from __future__ import annotations

import codecs
import contextlib
import errno
import os
import stat
import tempfile
from pathlib import Path

from billet.base.errors import InputError
from billet.base.read_files import was_read

_PNG = b"\x89PNG"
LARGEST_TEXT = 2_000_000  # [bytes] of a table or an outline; devices that never end are no files at all


def check_free(path: Path, force: bool, *, picture: bool = False) -> None:
    """Refuse a name that is taken (unless forced), a folder, a place that is not there, a link that leads nowhere but to
    itself, a file that was read or that is read-only (forced or not), and for a picture a name that says something else
    than PNG.
    """
    leads = Path(os.path.realpath(path))
    if picture and path.suffix.lower() == ".png" != leads.suffix.lower():
        raise InputError(f"{path.name}: this link leads to {leads.name}, which is no picture; give another name")
    if picture and path.suffix.lower() != ".png":
        raise InputError(f"{path.name}: wanted a name ending in .png for a picture, such as {path.stem or 'knife'}.png")
    if path.is_dir():
        raise InputError(f"{path}: this is a folder; give the name of a file to write")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first or write elsewhere")
    if circles(path):
        raise InputError(f"{path}: this link leads back to itself; delete it, or give another name")
    if was_read(path):
        raise InputError(
            f"{path}: this file is one of those being read, and is never written over, --force or not; "
            "give another name"
        )
    if path.exists() and not force:
        raise InputError(f"{path}: there already is such a file; add --force to write over it, or give another name")
    if path.exists() and not _may_be_written(path):
        raise InputError(
            f"{path}: this file is read-only, and is left as it is; allow writing to it first, or give another name"
        )


def circles(path: Path) -> bool:
    """Whether a link leads to itself, at once or by others."""
    try:
        path.stat()
    except OSError as error:
        return error.errno == errno.ELOOP
    return False


def _may_be_written(path: Path) -> bool:
    """Whether a file is not read-only: by its own mode too, which does not hold back a superuser."""
    return bool(path.stat().st_mode & 0o222) and os.access(path, os.W_OK)


def small_text(path: Path) -> str:
    """The text of a small file. Raises OSError for what is no file or far too large, UnicodeDecodeError for no text."""
    if not path.is_file() or path.stat().st_size > LARGEST_TEXT:
        raise OSError(errno.EFBIG if path.is_file() else errno.ENOENT, "no file, or far too large", str(path))
    return path.read_text(encoding="utf-8-sig")


def named_file(folder: Path, name: str) -> Path:
    """The file that a recipe names. Where none is called so, backslashes are read as slashes and capitals as small
    letters, as the machine it was written on may do; two files that differ in nothing else are not chosen from.
    """
    asked = folder / name
    if asked.exists():
        return asked
    slashed = folder / name.replace("\\", "/")
    return same_but_for_capitals(slashed) or (slashed if slashed.exists() else asked)


def same_but_for_capitals(path: Path) -> Path | None:
    """The one file in a path's folder whose name differs from it in capitals at most."""
    try:
        alike = [p for p in path.parent.iterdir() if p.name.casefold() == path.name.casefold()]
    except OSError:
        return None
    return alike[0] if len(alike) == 1 else None


def text_like(path: Path, text: str) -> bytes:
    """A text as it is to be written over a file: with the line ends and the byte order mark the file has."""
    try:
        old = path.read_bytes()
    except OSError:
        old = b""
    mark = codecs.BOM_UTF8 if old.startswith(codecs.BOM_UTF8) else b""
    plain = text.replace("\r\n", "\n")
    return mark + (plain.replace("\n", "\r\n") if b"\r\n" in old else plain).encode()


def write_whole(path: Path | str, content: bytes | str, force: bool = False) -> Path:
    """Write a file whole: beside its place first, then moved there in one go. Raises InputError; on any error the old file stays.

    Through a symbolic link the file it leads to is written, and the link stays. The file's mode stays too. A hard link is
    parted from it: its other names keep the old text, for only a new file can take the place of the old in one go.
    """
    path = Path(path)
    data = content.encode() if isinstance(content, str) else content
    check_free(path, force, picture=data.startswith(_PNG))
    temporary = ""
    try:
        place = Path(os.path.realpath(path)) if path.is_symlink() else path
        mode = stat.S_IMODE(place.stat().st_mode) if place.exists() else 0o666 & ~_umask()
        handle, temporary = tempfile.mkstemp(prefix=f".{place.name[:40]}.", suffix=".tmp", dir=place.parent)
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(temporary, mode)
        os.replace(temporary, place)
        _settle(place.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise InputError(f"{path}: cannot be written ({error.strerror}); nothing was changed") from None
    return path


def _settle(folder: Path) -> None:
    """See that a new name in a folder outlives a power cut, where the system lets folders be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
