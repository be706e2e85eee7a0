"""Everything but recipes: stations, outlines, racks, shop files, notes, backups, pictures."""

from __future__ import annotations

import io
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st
from PIL import Image

from tests.fuzz.mutations import WEIRD, damaged

Draw = Any
PLACES = ("spine", "edge", "17 mm", "1/2 in", "middle", "heel")
UNITS = ("mm", "mm", "in", "thou", "cm")


def length(draw: Draw, most: float) -> str:
    """A length up to so many millimetres."""
    unit = draw(st.sampled_from(UNITS))
    by = {"mm": 1, "cm": 10, "in": 25.4, "thou": 0.0254}[unit]
    return f"{most * draw(st.integers(0, 100)) / 100 / by:.4g} {unit}"


@st.composite
def stations(draw: Draw) -> str:
    """A table of stations as a smith writes it down."""
    rows = ["position,place,thickness,bow"]
    for _ in range(draw(st.integers(0, 8))):
        bow = draw(st.sampled_from(["", "straight", "0.1 mm left", "4 thou right"]))
        rows.append(f"{length(draw, 200)},{draw(st.sampled_from(PLACES))},{length(draw, 4)},{bow}")
    return "\n".join(rows) + "\n"


@st.composite
def station(draw: Draw) -> str:
    """One station as it is typed."""
    bow = draw(st.sampled_from(["", "straight", "bow 0.1 mm left", "bow 4 thou right"]))
    return f"at {length(draw, 200)} {draw(st.sampled_from(PLACES))} thick {length(draw, 4)} {bow}"


@st.composite
def points(draw: Draw) -> list[tuple[float, float]]:
    """The closed outline of a blade, heel on the left, point on the right [mm]; sometimes nonsense."""
    long, high = draw(st.integers(60, 300)), draw(st.integers(15, 60))
    n = draw(st.integers(2, 9))
    belly = [draw(st.integers(0, 100)) / 100 for _ in range(n)]
    edge = [(long * k / n, 0.4 * high * (k / n) ** 2 * belly[k % n]) for k in range(n)]
    back = [(long * (1 - k / n), high * (1 - 0.5 * (1 - k / n) ** 3)) for k in range(n + 1)]
    return [*edge, *back]


@st.composite
def outlines(draw: Draw) -> tuple[str, str]:
    """The ending and the text of a file with an outline: a table of points, an SVG or a DXF."""
    kind = draw(st.sampled_from(["csv", "svg", "dxf"]))
    ring = draw(points())
    if kind == "csv":
        return kind, "\n".join(["x mm,y mm", *(f"{x:.3f},{y:.3f}" for x, y in ring)]) + "\n"
    if kind == "svg":
        line = " ".join(f"{x:.3f},{-y:.3f}" for x, y in ring)
        body = draw(
            st.sampled_from(
                [f'<polygon points="{line}"/>', f'<path d="M {line} Z"/>', f'<path d="M {line} q 3 3 9 0 Z"/>']
            )
        )
        return (
            kind,
            f'<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="90mm" viewBox="0 -90 300 90">{body}</svg>\n',
        )
    vertices = "".join(f"0\nVERTEX\n8\n0\n10\n{x:.4f}\n20\n{y:.4f}\n" for x, y in ring)
    head = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    return kind, f"{head}0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n{vertices}0\nSEQEND\n0\nENDSEC\n0\nEOF\n"


@st.composite
def racks(draw: Draw) -> str:
    """Bars in hand."""
    text = ""
    for _ in range(draw(st.integers(0, 5))):
        steel = draw(st.sampled_from(["1084", "15N20", "1095", "O1"]))
        text += f'[[bar]]\nsteel = "{steel}"\nthickness = "{draw(st.sampled_from(["3.2 mm", "1/16 in", "1.6 mm", "4 mm"]))}"\n'
        text += f'width = "{draw(st.integers(25, 60))} mm"\nlength = "{draw(st.integers(100, 2000))} mm"\n'
        text += draw(st.sampled_from(["", "count = 3\n", "price = 12.5\n"]))
    return text


@st.composite
def shops(draw: Draw) -> str:
    """A shop's habits."""
    lines = [
        f'atmosphere = "{draw(st.sampled_from(["oxidising", "neutral", "rich"]))}"', f'kerf = "{length(draw, 3)}"',
        f'face_cleanup = "{length(draw, 1)}"', f'end_trim = "{length(draw, 10)}"', 'end_trim = { free = "4 mm", handle = "9 mm" }',
        f'scale_per_heat = "{length(draw, 0.2)}"', f"spread = {draw(st.integers(0, 10)) / 10}", 'fire_length = "12 in"', "two_halves = true",
        'hand = "press"', f"hand_strength = {draw(st.integers(0, 15)) / 10}", "prices = { hour = 40, steel_kg = 9 }", "most_welds = 9",
    ]  # fmt: skip
    kept = draw(st.lists(st.sampled_from(lines), max_size=6, unique_by=lambda text: text.split("=")[0]))
    return draw(st.sampled_from(["", "[shop]\n"])) + "\n".join(kept) + "\n"


WORDS = (
    "after", "2", "quench", "weld", "second", "temper", "thickness", "width", "length", "weight", "12.1 mm", "1/2 in", "1412 g", "3 lb 2 oz",
    "bow", "1.5 mm", "left", "right", "middle", "wrong", "edges cold", "cure", "two more minutes", "note", "heats", "3", "1150 C", "2100F",
    "spine", "at", "50 mm", "photo", "front.jpg", "by", "hardness", "61 HRC", "none", ",", ";", "=", "10 min", "quarter to nine", "-", "--",
    "draw", "step", "restack", "0.26", "thou", "105 thou", "schlacke", "zu kalt", "??", "1,5 mm", "minus 3", "%", "carbon", "scale",
)  # fmt: skip


@st.composite
def notes(draw: Draw) -> list[str]:
    """The words of a note, as spoken, shouted or mistyped."""
    words = draw(st.lists(st.sampled_from(WORDS) | st.sampled_from(WEIRD) | st.text(max_size=12), max_size=14))
    return (
        [w for word in words for w in word.replace("\x00", "").split(" ")]
        if draw(st.booleans())
        else [word.replace("\x00", "") for word in words]
    )


@lru_cache(maxsize=1)
def _old_backups() -> tuple[str, ...]:
    folder = Path(__file__).parents[1] / "old_records"
    return tuple(path.read_text() for path in sorted(folder.glob("*.jsonl")))


@st.composite
def backups(draw: Draw) -> str:
    """A backup of the bench record, old or new, sometimes with a value of another kind in it."""
    lines = [json.loads(line) for line in draw(st.sampled_from(_old_backups())).splitlines()]
    for _ in range(draw(st.integers(0, 2))):
        one = lines[draw(st.integers(0, len(lines) - 1))]
        inner = one.get("note", one)
        key = draw(st.sampled_from(sorted(inner)))
        inner[key] = draw(
            st.none()
            | st.booleans()
            | st.integers()
            | st.floats()
            | st.text(max_size=9)
            | st.lists(st.integers(), max_size=2)
        )
    return "\n".join(json.dumps(line) for line in lines) + "\n"


@lru_cache(maxsize=64)
def _picture(kind: str, mode: str, wide: int, high: int, layers: int) -> bytes:
    y = np.linspace(0, np.pi * layers, high)[:, None]
    grey = np.uint8(127 + 100 * np.sign(np.sin(y)) * np.ones((1, wide)))
    image = Image.fromarray(grey).convert("RGB").convert(mode)
    out = io.BytesIO()
    image.save(out, kind)
    return out.getvalue()


@st.composite
def pictures(draw: Draw) -> tuple[str, bytes]:
    """The ending and the bytes of a picture, most of them damaged."""
    kind, modes = draw(
        st.sampled_from([("png", ("L", "RGB", "RGBA", "P", "1")), ("jpeg", ("L", "RGB")), ("tiff", ("L", "RGB"))])
    )
    size = draw(st.sampled_from([(1, 1), (40, 30), (200, 160), (3, 400)]))
    data = _picture(kind, draw(st.sampled_from(modes)), *size, draw(st.sampled_from([1, 9, 25])))
    return kind, data if draw(st.integers(0, 4)) == 0 else damaged(draw, data)
