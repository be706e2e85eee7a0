"""Tables as spreadsheets leave them: parted by commas, tabs, or semicolons where numbers have a decimal comma."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator


def table_rows(text: str, strict: bool = False) -> Iterator[tuple[int, list[str]]]:
    """Every line of a table with its number, as cells; decimal commas between semicolons become points. Raises
    ``csv.Error`` for broken quotes, if strict.
    """
    between = _between(text)
    for number, row in enumerate(csv.reader(io.StringIO(text), strict=strict, delimiter=between), 1):
        yield number, [_decimal_point(cell) for cell in row] if between == ";" else row


def _between(text: str) -> str:
    """What stands between two cells of the first line that is no comment."""
    head = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    return max(",;\t", key=head.count)


def _decimal_point(cell: str) -> str:
    return re.sub(r"(?<=\d),(?=\d)", ".", cell)
