"""Sixty notes as smiths shout them over the hammer: half with typing errors, units given once a line or mixed.

Written from the trade (common practice, no source) before they were ever read by the program. Every figure beside a
note is its number turned into SI by the definitions 1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 oz = lb/16
(international yard and pound agreement, 1959), C = K - 273.15, F = 1.8 K - 459.67 (SI brochure).
"""

from __future__ import annotations

from typing import NamedTuple

INCH, THOU, LB, OZ = 0.0254, 0.0254e-3, 0.45359237, 0.45359237 / 16
MM, MIN, H = 1e-3, 60.0, 3600.0


def celsius(value: float) -> float:
    """Kelvin of a temperature in Celsius."""
    return value + 273.15


def fahrenheit(value: float) -> float:
    """Kelvin of a temperature in Fahrenheit."""
    return (value + 459.67) / 1.8


class Shouted(NamedTuple):
    """A note, the units of the recipe it belongs to, the stage it speaks of, its figures, and a word it must keep."""

    text: str
    units: str
    stage: str
    figures: dict[str, float]
    keeps: str = ""


M, IMP = "metric", "imperial"
NOTES = (
    Shouted("stack 1.45 kg 32 mm high", M, "stack", {"mass": 1.45, "thickness": 32 * MM}),
    Shouted("after stack weight 3 lb 3 oz, 1 1/4 high by 2 in wide", IMP, "stack",
            {"mass": 3 * LB + 3 * OZ, "thickness": 1.25 * INCH, "width": 2 * INCH}),
    Shouted("first weld took 3 heats, middle still cold", IMP, "first weld", {"heats": 3}, "middle"),
    Shouted("after frist weld 2 heats at 2150 F, soak 10 min", IMP, "first weld",
            {"heats": 2, "temperature": fahrenheit(2150), "soak": 10 * MIN}),
    Shouted("WELD 1 EDGE OPENED ON THE HANDLE END, REFLUXED, ONE MORE HEAT", IMP, "first weld", {"heats": 1}, "OPENED"),
    Shouted("after first draw 15.2 x 50.8 x 162 mm", M, "first draw",
            {"thickness": 15.2 * MM, "width": 50.8 * MM, "length": 162 * MM}),
    Shouted("after draw 1 thikness .610 widht 2.02 lenght 6 3/8 in", IMP, "first draw",
            {"thickness": 0.610 * INCH, "width": 2.02 * INCH, "length": 6.375 * INCH}),
    Shouted("first draw: 12.1mm thick 41 wide 380 long", M, "first draw",
            {"thickness": 12.1 * MM, "width": 41 * MM, "length": 380 * MM}),
    Shouted("after 2 wieght 1412 g", M, "first draw", {"mass": 1.412}),
    Shouted("restack 1, faces ground 15 thou each, one still blue", IMP, "first restack", {"thickness": 15 * THOU}, "blue"),
    Shouted("after second weld 4 heats, cold shut at the heel end", M, "second weld", {"heats": 4}, "cold shut"),
    Shouted("2nd weld 1160C soaked 12 minuts, scale like cornflakes", M, "second weld",
            {"temperature": celsius(1160), "soak": 12 * MIN}, "cornflakes"),
    Shouted("after second draw thick 31/64 in, 3 heats, straight", IMP, "second draw",
            {"thickness": 31 / 64 * INCH, "heats": 3}, "straight"),
    Shouted("after 3rd weld delam 8 mm long in the middle, ground it out", M, "third weld", {"delam": 8 * MM}, "delam"),
    Shouted("after last draw thickness heel 4.6 tip 4.2 mm width 58", M, "third draw",
            {"thickness.heel": 4.6 * MM, "thickness.tip": 4.2 * MM, "width": 58 * MM}),
    Shouted("profile took 35 min, pattern runs out at the tip", M, "profile", {"took": 35 * MIN}, "runs out"),
    Shouted("profiling 40 minutes 1 belt", M, "profile", {"took": 40 * MIN, "belts": 1}),
    Shouted("rough grind 2 belts 1 h 20 min spine 3.0 2.6 1.6 mm", M, "rough grind",
            {"belts": 2, "took": 80 * MIN, "spine.heel": 3.0 * MM, "spine.middle": 2.6 * MM, "spine.tip": 1.6 * MM}),
    Shouted("after roughing spine .125 at heel, .100 mid, .060 tip in", IMP, "rough grind",
            {"spine.heel": 0.125 * INCH, "spine.middle": 0.100 * INCH, "spine.tip": 0.060 * INCH}),
    Shouted("ruogh grind edge 0.8 mm heel 0.7 mid 0.7 tip", M, "rough grind",
            {"edge.heel": 0.8 * MM, "edge.middle": 0.7 * MM, "edge.tip": 0.7 * MM}),
    Shouted("after rough grind edge .030 heel .028 middle .026 tip inch, 36 grit", IMP, "rough grind",
            {"edge.heel": 0.030 * INCH, "edge.middle": 0.028 * INCH, "edge.tip": 0.026 * INCH, "grit": 36}),
    Shouted("normalized 3 heats 1600 1500 1400 F", IMP, "normalise", {"heats": 3, "temperature": fahrenheit(1600)}),
    Shouted("normalising 870 C 10 min, bowed 1 mm left at the middle, straightend it hot", M, "normalise",
            {"temperature": celsius(870), "soak": 10 * MIN, "bow.middle": -1 * MM}, "straightend"),
    Shouted("anneal 650 C two hours", M, "anneal", {"temperature": celsius(650), "soak": 2 * H}),
    Shouted("aneal 1200F 1 1/2 hours file bites now", IMP, "anneal",
            {"temperature": fahrenheit(1200), "soak": 1.5 * H}, "file bites"),
    Shouted("quench 1500 F oil 130", IMP, "harden", {"temperature": fahrenheit(1500), "oil": fahrenheit(130)}),
    Shouted("quench oil 55 C blade 805", M, "harden", {"oil": celsius(55), "temperature": celsius(805)}),
    Shouted("QUENHCED OIL 130F BLADE BOWED 1.5MM TO THE LEFT MID", IMP, "harden",
            {"oil": fahrenheit(130), "bow.middle": -1.5 * MM}, "BOWED"),
    Shouted("after quench warp 1/16 in right at the tip", IMP, "harden", {"bow.tip": INCH / 16}, "warp"),
    Shouted("hardening soak 8 min at 810C file skates all along", M, "harden",
            {"soak": 8 * MIN, "temperature": celsius(810)}, "file skates"),
    Shouted("quench: pinged! crack at heel 6mm", M, "harden", {"crack.heel": 6 * MM}, "pinged"),
    Shouted("harden hardnes 64 heel 63 tip", M, "harden", {"hardness.heel": 64, "hardness.tip": 63}),
    Shouted("after quench HRC 65, twist 2 deg", M, "harden", {"hardness": 65, "twist": 0.034906585}),
    Shouted("straightening bow 0.8 mm left, 4 min in the clamps", M, "straighten", {"bow": -0.8 * MM, "took": 4 * MIN}),
    Shouted("after straigthening still 20 thou to the right at 100 mm", M, "straighten", {"bow.100mm": 20 * THOU}, "still"),
    Shouted("first temper 400F 2 h oven showed 412", IMP, "first temper",
            {"temperature": fahrenheit(400), "soak": 2 * H, "oven": fahrenheit(412)}),
    Shouted("temper 1: dial 200 C oven 208, two hours, straw", M, "first temper",
            {"dial": celsius(200), "oven": celsius(208), "soak": 2 * H}, "straw"),
    Shouted("1st temper thermometer says 395 F dial 400 F", IMP, "first temper",
            {"oven": fahrenheit(395), "dial": fahrenheit(400)}),
    Shouted("second temper 400 F 2h HRC 61", IMP, "second temper",
            {"temperature": fahrenheit(400), "soak": 2 * H, "hardness": 61}),
    Shouted("2nd tempr 195 C 2 hours hardness 60.5", M, "second temper",
            {"temperature": celsius(195), "soak": 2 * H, "hardness": 60.5}),
    Shouted("after second temper 61 HRC at the heel 59 at the tip, tip too soft?", M, "second temper",
            {"hardness.heel": 61, "hardness.tip": 59}, "too soft"),
    Shouted("after temper 2 bow .040 in left, no crack", IMP, "second temper", {"bow": -0.040 * INCH}, "no crack"),
    Shouted("thinning 2h10 3 belts", M, "thin", {"took": 130 * MIN, "belts": 3}),
    Shouted("thining spine 2.6 heel 2.1 mid 0.9 tip mm, edge 0.25", M, "thin",
            {"spine.heel": 2.6 * MM, "spine.middle": 2.1 * MM, "spine.tip": 0.9 * MM, "edge": 0.25 * MM}),
    Shouted("after thinning spine 105 85 40 thou edge 10", IMP, "thin",
            {"spine.heel": 105 * THOU, "spine.middle": 85 * THOU, "spine.tip": 40 * THOU, "edge": 10 * THOU}),
    Shouted("thin: blued the tip at 120 grit, dipped late", M, "thin", {"grit": 120}, "blued the tip"),
    Shouted("after thinning bolster 20.3 mm thick, bow 0.3 mm right at 150 mm", M, "thin",
            {"thickness.bolster": 20.3 * MM, "bow.150mm": 0.3 * MM}),
    Shouted("grinding took 3 hours and 4 belts, heat at the edge", M, "thin", {"took": 3 * H, "belts": 4}, "heat"),
    Shouted("finsih 400 grit 45 min, deep scratch left at the plunge", M, "finish",
            {"grit": 400, "took": 45 * MIN}, "scratch"),
    Shouted("hand sanding 5 hours", M, "finish", {"took": 5 * H}),
    Shouted("etch 4 dips 10 minutes each, 15N20 stands proud", M, "etch", {"took": 10 * MIN}, "15N20"),
    Shouted("etching 20 min in ferric, weld line open 3 mm from the edge", M, "etch", {"took": 20 * MIN}, "weld line open"),
    Shouted("etch looks washed out near the spine", M, "etch", {}, "washed out"),
    Shouted("hadnle 4 hours, rosewood, glue up", M, "handle", {"took": 4 * H}, "rosewood"),
    Shouted("sharpen edge 14 deg, 25 min, cuts paper", M, "sharpen", {"edge": 0.244346095, "took": 25 * MIN}, "cuts paper"),
    Shouted("sharpend 15 degrees a side chips at the heel", M, "sharpen", {"edge": 0.261799388}, "chips"),
    Shouted("wrong: edges cold; cure: two more minutes", M, "", {}, "edges cold"),
    Shouted("after second weld wrong flux trapped, cure crown the faces", M, "second weld", {}, "flux trapped"),
    Shouted("next time leave 1 mm more on the spine", M, "", {}, "1 mm more"),
    Shouted("gas bottle ran dry half way, came back monday", M, "", {}, "monday"),
)  # fmt: skip

# Fifteen more, written after the reader stood.
LATER = (
    Shouted("4 heats second weld, handle end shut cold", M, "second weld", {"heats": 4}, "shut cold"),
    Shouted("after draw no 1 0.605 thk 2.0 wide 6.5 long inches", IMP, "first draw",
            {"thickness": 0.605 * INCH, "width": 2.0 * INCH, "length": 6.5 * INCH}),
    Shouted("tempred twice 200C 2h each, 60 HRC heel 60 mid 58 tip", M, "first temper",
            {"temperature": celsius(200), "soak": 2 * H, "hardness.heel": 60, "hardness.middle": 60, "hardness.tip": 58},
            "twice"),
    Shouted("after thinnig .098 heel .080 middle .036 tip inch behind edge .010", IMP, "thin",
            {"spine.heel": 0.098 * INCH, "spine.middle": 0.080 * INCH, "spine.tip": 0.036 * INCH, "edge": 0.010 * INCH}),
    Shouted("spine heel 2.5mm tip .9", M, "", {"spine.heel": 2.5 * MM, "spine.tip": 0.9 * MM}),
    Shouted("quenched at 815C in 60C oil, came out straight", M, "harden",
            {"temperature": celsius(815), "oil": celsius(60)}, "came out straight"),
    Shouted("bow 3/64 in right after quench 4 in from the heel", IMP, "harden", {"bow.101.6mm": 3 / 64 * INCH}),
    Shouted("etched 15 mins twice, 1200 grit between", M, "etch", {"took": 15 * MIN, "grit": 1200}, "twice"),
    Shouted("profiled, 25 minutes, tip 2 mm short", M, "profile", {"took": 25 * MIN, "short.tip": 2 * MM}, "short"),
    Shouted("handle 3.5 hrs epoxy still soft", M, "handle", {"took": 3.5 * H}, "epoxy still soft"),
    Shouted("2 lb 10 oz after first weld", IMP, "first weld", {"mass": 2 * LB + 10 * OZ}),
    Shouted("belts: 4 on the rough grind, 95 min", M, "rough grind", {"belts": 4, "took": 95 * MIN}),
    Shouted("sharpened at 12 deg hardly any burr", M, "sharpen", {"edge": 0.209439510}, "hardly any burr"),
    Shouted("took 1/2 hr to straighten, 0.4 mm left at the tip", M, "", {"took": 30 * MIN, "bow.tip": -0.4 * MM}, "straighten"),
    Shouted("anneal 3x 680 650 C", M, "anneal", {"temperature": celsius(680)}, "3x"),
)  # fmt: skip
