"""Texts and files spoiled: as by a slip of the hand, a bad disk, another program, or somebody who means it."""

from __future__ import annotations

import re
from typing import Any

from hypothesis import strategies as st

Draw = Any
WEIRD = (
    "", "0", "-1", "1e308", "nan", "inf", "-0", "1e-320", "99999999999999999999", "0x10", "1_000", "true", "'", '"', '"""', "[", "]",
    "{", "}", "[[", "[bar]", "=", "\n", "\r\n", "\r", "\t", "\x00", "\x1b[31m", "\ufeff", "\u202e", "ß", "ſ", "²", "½", "１２", "µm", "C",
    "mm", "in", "thou", "1 1/2 in", '5 ft 3"', "1/0 in", "3,2 mm", "1.000,5 mm", "25", "9000 F", "-300 C", "../../etc/passwd", "/dev/zero",
    "/dev/stdin", ".", "~", "$HOME", "%s", "{0}", "a" * 3000, "9" * 400, "🔪", "\U0010ffff", "null", "None", "#", ";", ",,,", "1084",
    "15N20 0.8 mm", "1979-05-27", "07:32:00", "''' '''", "\\u0000", "\\", "do", 'do = "weld"', 'do = "twist"', "times = 50", "pieces = 100",
)  # fmt: skip
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def _cut(draw: Draw, length: int) -> int:
    return draw(st.integers(0, max(length, 0)))


def one(draw: Draw, text: str) -> str:
    """A text after one mishap."""
    kind = draw(st.integers(0, 9))
    at = _cut(draw, len(text))
    if kind == 0:
        return text[:at] + draw(st.sampled_from(WEIRD)) + text[at:]
    if kind == 1:
        return text[:at] + text[at + draw(st.integers(1, 12)) :]
    if kind == 2:
        return text[:at]
    lines = text.split("\n")
    k = _cut(draw, len(lines) - 1)
    if kind == 3:
        return "\n".join(lines[:k] + lines[k + 1 :])
    if kind == 4:
        return "\n".join([*lines[:k], lines[k], *lines[k:]])
    if kind == 5:
        other = _cut(draw, len(lines) - 1)
        lines[k], lines[other] = lines[other], lines[k]
        return "\n".join(lines)
    if kind == 6:
        return text[:at] + draw(st.characters()) + text[at:]
    found = list(NUMBER.finditer(text))
    if not found:
        return text + draw(st.sampled_from(WEIRD))
    number = found[_cut(draw, len(found) - 1)]
    if kind == 7:
        factor = draw(st.sampled_from([-1, 0, 1e-3, 0.1, 10, 25.4, 1000, 1e9]))
        new = f"{float(number[0]) * factor:.6g}"
    else:
        new = draw(st.sampled_from(WEIRD))
    return text[: number.start()] + new + text[number.end() :]


def spoilt(draw: Draw, text: str) -> str:
    """A text after one to four mishaps."""
    for _ in range(draw(st.integers(1, 4))):
        text = one(draw, text)
    return text


def as_bytes(draw: Draw, text: str) -> bytes:
    """A text as some program saved it."""
    how = draw(st.sampled_from(["utf-8"] * 8 + ["utf-8-sig", "utf-16", "cp1252"]))
    return text.encode(how, "replace" if how == "cp1252" else "surrogatepass")


def damaged(draw: Draw, data: bytes) -> bytes:
    """Bytes after one to three mishaps of a disk or a line."""
    for _ in range(draw(st.integers(1, 3))):
        kind, at = draw(st.integers(0, 4)), _cut(draw, len(data))
        if kind == 0:
            data = data[:at]
        elif kind == 1:
            data = data[:at] + draw(st.binary(min_size=1, max_size=8)) + data[at:]
        elif kind == 2:
            data = data[:at] + draw(st.binary(min_size=1, max_size=4)) + data[at + 4 :]
        elif kind == 3:
            data = data[:at] + b"\x00" * draw(st.integers(1, 64)) + data[at + 64 :]
        else:
            data = data[:at] + data[at + draw(st.integers(1, 30)) :]
    return data
