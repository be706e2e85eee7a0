"""The files of a sheet: checked before anything is drawn, each written whole."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from billet.base.errors import InputError
from billet.base.safe_files import check_free, write_whole
from render.sheet.html import as_html
from render.sheet.outline_files import check_outline, write_outline
from render.sheet.pdf import as_pdf, paper_for
from render.sheet.template_words import PRINT
from render.sheet.whole_sheet import Sheet


def check(path: Path, outlines: Sequence[Path], force: bool) -> None:
    """Refuse names that say something else than PDF or HTML, SVG or DXF, or that are taken. Raises InputError."""
    if path.suffix.lower() not in (".pdf", ".html"):
        raise InputError(f"{path.name}: wanted a name ending in .pdf or .html for a sheet, such as {path.stem}.pdf")
    check_free(path, force)
    for file in outlines:
        check_outline(file, force)


def write(
    sheet: Sheet, path: Path, outlines: Sequence[Path], paper: str | None, force: bool
) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """Write the sheet, as PDF or HTML by its name, and the outlines; return what was written and what is to be said."""
    if outlines and sheet.blade is None:
        raise InputError("--outline: there is no [blade] in this recipe to take an outline from; add one")
    if path.suffix.lower() == ".html":
        content: bytes | str = as_html(sheet)
        said: tuple[str, ...] = (
            f"one file with {len(sheet.cards) + 1} parts; the PDF has the template cut into pages",
        )
    else:
        made = as_pdf(sheet, paper or paper_for(sheet.units))
        content = made.data
        pages = ", ".join(f"{name} {count}" for name, count in made.pages)
        many = sum(count for _, count in made.pages)
        said = (f"{many} page{'' if many == 1 else 's'}: {pages}", *([PRINT] if sheet.template is not None else []))
    files = [write_whole(path, content, force)]
    if sheet.blade is not None:
        files += [write_outline(file, sheet.blade, sheet.title, force) for file in outlines]
    return tuple(files), said
