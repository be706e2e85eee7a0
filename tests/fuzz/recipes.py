"""Recipes that hold by construction: every step asks for less metal than the bar has left."""

from __future__ import annotations

from typing import Any, NamedTuple

from hypothesis import strategies as st

Draw = Any
STEELS = ("1084", "15N20", "1095", "O1", "52100", "A203E", "80CrV2", "L6", "nickel", "5160")


class Size(NamedTuple):
    """Length, width and thickness of a bar [mm]."""

    length: float
    width: float
    thick: float


def millimetres(draw: Draw, value: float) -> str:
    """A length in one of the ways smiths write it; rounded by less than a hundredth."""
    unit = draw(st.sampled_from(["mm", "mm", "mm", "cm", "in", "thou"]))
    by = {"mm": 1.0, "cm": 10.0, "in": 25.4, "thou": 0.0254}[unit]
    return f"{value / by:.6g} {unit}"


def between(draw: Draw, low: float, high: float) -> float:
    """A number in a range, in steps of a hundredth of it."""
    return low + (high - low) * draw(st.integers(0, 100)) / 100


def heated(draw: Draw, low: int, high: int) -> str:
    """The three keys of a heat."""
    hot = draw(st.integers(low, high))
    text = draw(st.sampled_from([f"{hot} C", f"{hot * 9 / 5 + 32:.0f} F"]))
    soak = draw(st.sampled_from(["2 min", "5 min", "90 s", "0.1 h"]))
    heats = draw(st.integers(1, 3))
    return f'temperature = "{text}"\nsoak = "{soak}"\n' + (f"heats = {heats}\n" if heats > 1 else "")


def weld(draw: Draw) -> str:
    """A weld."""
    return 'do = "weld"\n' + heated(draw, 1120, 1200)


def drawn(draw: Draw, size: Size) -> tuple[str, Size]:
    """A draw to a smaller section."""
    thick, width = size.thick * between(draw, 0.6, 0.85), size.width * between(draw, 0.85, 1.0)
    text = f'do = "draw"\nthickness = "{millimetres(draw, thick)}"\nwidth = "{millimetres(draw, width)}"\n'
    return text + heated(draw, 950, 1150), Size(
        0.9 * size.length * size.thick * size.width / thick / width, width, thick
    )


def square(draw: Draw, size: Size) -> tuple[str, Size]:
    """A draw to a square section."""
    side = (0.75 * size.thick * size.width) ** 0.5
    side = min(side, 0.95 * max(size.thick, size.width))
    text = f'do = "draw"\nthickness = "{side:.5g} mm"\nwidth = "{side:.5g} mm"\n'
    return text + heated(draw, 950, 1150), Size(0.9 * size.length * size.thick * size.width / side**2, side, side)


def restack(draw: Draw, size: Size) -> tuple[str, Size] | None:
    """A restack or a fold with its weld."""
    pieces = draw(st.integers(2, 5))
    length = (size.length - 16 - 2 * pieces) / pieces
    if length < 25 or size.thick * pieces > 70 or size.thick < 4:
        return None
    if draw(st.booleans()) and pieces == 2:
        text = 'do = "fold"\n'
    else:
        text = f'do = "restack"\npieces = {pieces}\nflip = "{draw(st.sampled_from(["none", "alternate"]))}"\n'
        if draw(st.integers(0, 3)) == 0:
            text += 'spacer = "15N20 0.8 mm"\n'
    return text + f"\n[[bar.step]]\n{weld(draw)}", Size(length, size.width, (size.thick - 1) * pieces)


def hollows(draw: Draw, size: Size) -> tuple[str, Size]:
    """A ladder, raindrop or hammering."""
    depth = size.thick * between(draw, 0.05, 0.2)
    wide = max(6.0, 4 * depth)
    kind = draw(st.sampled_from(["ladder", "raindrop", "hammer"]))
    text = f'do = "{kind}"\ndepth = "{depth:.4g} mm"\n'
    if kind == "hammer":
        text += f'mark = "{2 * wide:.4g} mm"\nseed = {draw(st.integers(0, 9))}\n'
    else:
        text += f'method = "{draw(st.sampled_from(["cut", "pressed"]))}"\n'
        text += f'faces = "{draw(st.sampled_from(["staggered", "opposed", "top"]))}"\n'
    if kind == "ladder":
        text += f'pitch = "{1.6 * wide:.4g} mm"\ngroove = "{wide:.4g} mm"\n'
    if kind == "raindrop":
        text += f'spacing = "{1.6 * wide:.4g} mm"\nacross = "{wide:.4g} mm"\n'
    return text, Size(size.length, size.width, size.thick - 2.2 * depth)


def working(draw: Draw, size: Size) -> tuple[str, Size] | None:
    """A twist drawn square again, a bulge, a split, a roll, a grinding or a trim."""
    kind = draw(st.sampled_from(["twist", "bulge", "split", "roll", "surface_grind", "trim", "heat"]))
    if kind == "twist":
        first, side = square(draw, size)
        turns = between(draw, 0.2, 4)
        again = side.thick * 0.8
        text = f'{first}\n[[bar.step]]\ndo = "twist"\nturns = {turns:.3g}\nhand = "{draw(st.sampled_from(["left", "right"]))}"\n'
        text += f'\n[[bar.step]]\ndo = "draw"\nthickness = "{again:.4g} mm"\nwidth = "{again:.4g} mm"\n'
        return text + heated(draw, 950, 1150), Size(side.length * 1.2, again, again)
    if kind == "bulge":
        return f'do = "bulge"\namount = {between(draw, -1.5, 1.5):.3g}\n', size
    if kind == "split":
        drag = size.thick * between(draw, 0.1, 0.4)
        text = f'do = "split"\ndrag = "{drag:.4g} mm"\nreach = "{between(draw, 3, 15):.3g} mm"\n'
        return f"{text}\n[[bar.step]]\n{weld(draw)}", Size(size.length, size.width - 1, size.thick - drag)
    if kind == "roll":
        quarters = draw(st.integers(-3, 3))
        odd = Size(size.length, size.thick, size.width)
        return f'do = "roll"\nquarters = {quarters}\n', odd if quarters % 2 else size
    if kind == "surface_grind":
        return 'do = "surface_grind"\ntop = "0.2 mm"\nbottom = "8 thou"\n', size._replace(thick=size.thick - 0.5)
    if kind == "trim":
        return 'do = "trim"\neach_end = "4 mm"\n', size._replace(length=size.length - 8)
    return 'do = "heat"\n' + heated(draw, 800, 1100), size


KINDS = (lambda d, s: drawn(d, s), restack, hollows, working)


def bar(draw: Draw, name: str) -> str:
    """One bar from its stack to its last draw."""
    steels = draw(st.lists(st.sampled_from(STEELS), min_size=2, max_size=4, unique=True))
    plates = [f"{s} {millimetres(draw, between(draw, 1.5, 4))}" for s in steels]
    repeat = draw(st.integers(1, 5))
    size = Size(between(draw, 80, 200), between(draw, 28, 55), 1.5 * len(plates) * repeat)
    text = f'[[bar]]\nname = "{name}"\nwidth = "{millimetres(draw, size.width)}"\nlength = "{millimetres(draw, size.length)}"\n'
    text += "stack = [" + ", ".join(f'"{p}"' for p in plates) + f"]\nrepeat = {repeat}\n"
    if draw(st.integers(0, 3)) == 0:
        text += f"uneven = {between(draw, 0, 0.1):.3g}\nseed = {draw(st.integers(0, 99))}\n"
    text += f"\n[[bar.step]]\n{weld(draw)}"
    for _ in range(draw(st.integers(0, 4))):
        if min(size.thick, size.width) < 5 or size.length < 40:
            break
        found = draw(st.sampled_from(KINDS))(draw, size)
        if found is not None:
            text, size = f"{text}\n[[bar.step]]\n{found[0]}", found[1]
    return text + "\n"


BEVELS = (
    '"full flat"',
    '"convex"',
    '{ left = { kind = "flat" }, right = { kind = "convex" } }',
    '"hollow"',
    '"sabre"',
    '"compound"',
)


def blade(draw: Draw) -> str:
    """A knife of any size a kitchen has."""
    length = between(draw, 80, 300)
    height = length * between(draw, 0.15, 0.28)
    heel = between(draw, 1.8, 3.5)
    text = f'[blade]\nlength = "{millimetres(draw, length)}"\nheel_height = "{millimetres(draw, height)}"\n'
    text += f'spine = {{ heel = "{heel:.3g} mm", middle = "{0.8 * heel:.3g} mm", tip = "{0.4 * heel:.3g} mm" }}\n'
    text += f'shape = "{draw(st.sampled_from(["chef", "santoku", "petty", "sujihiki", "bread"]))}"\n'
    if draw(st.booleans()):
        text += f'offset = "{between(draw, -0.5, 0.5):.2g} mm"\n'
    if draw(st.booleans()):
        text += f"bevel = {draw(st.sampled_from(BEVELS[:2]))}\n"
    return text


@st.composite
def recipes(draw: Draw) -> str:
    """A whole recipe as text."""
    text = f'title = "{draw(st.sampled_from(["smokehouse slicer", "petty", "Räuchermesser", "knife 3"]))}"\n'
    text += draw(st.sampled_from(["", "version = 2\n"])) + draw(
        st.sampled_from(["", 'units = "imperial"\n', 'units = "metric"\n'])
    )
    if draw(st.booleans()):
        text += f'\n[shop]\natmosphere = "{draw(st.sampled_from(["rich", "neutral"]))}"\n'
        text += draw(st.sampled_from(["", 'scale_per_heat = "0.05 mm"\n', 'hand = "hammer"\n', "spread = 0.2\n"]))
    text += "\n" + bar(draw, "billet")
    if draw(st.integers(0, 2)):
        text += "\n" + blade(draw)
    if draw(st.integers(0, 3)) == 0:
        text += '\n[hardening]\nhardness = 61\ntemper = { temperature = "200 C", soak = "2 h", cycles = 2 }\n'
    if draw(st.integers(0, 3)) == 0:
        text += f"\n[target]\nlayers = {draw(st.integers(10, 300))}\n"
    return text
