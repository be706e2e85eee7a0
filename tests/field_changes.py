"""A change for every field of a recipe, and where it must be seen.

Steps: the example it is tried on (from `tests/examples.py`) and the new line. Tables: the place in a recipe, the new
value, and the result that must differ.
"""

from __future__ import annotations

from typing import Any

from tests.examples import picture

WARM = {"temperature": '"1130 C"', "soak": '"9 min"', "heats": "4"}

STEPS: dict[tuple[str, str], tuple[str, str]] = {
    ("bulge", "amount"): ("bulge", "0.7"),
    ("bulge", "section"): ("bulge on the bias", '"flat"'),
    ("draw", "thickness"): ("draw", '"5.5 mm"'),
    ("draw", "width"): ("draw", '"38 mm"'),
    ("draw", "hot"): ("draw", "true"),
    ("draw_out", "end"): ("draw_out", '"handle"'),
    ("draw_out", "keep"): ("draw_out", '"24 mm"'),
    ("draw_out", "thickness"): ("draw_out", '"5.5 mm"'),
    ("draw_out", "width"): ("draw_out", '"41 mm"'),
    ("draw_out", "transition"): ("draw_out", '"20 mm"'),
    ("draw_out", "level"): ("draw_out the tang", '"edge"'),
    ("end_grain", "method"): ("end_grain tiles", '"slices"'),
    ("end_grain", "segment"): ("end_grain tiles", '"9 mm"'),
    ("end_grain", "leg"): ("end_grain accordion", '"4 mm"'),
    ("hammer", "thickness_after"): ("hammer", '"5 mm"'),
    ("hammer", "mark"): ("hammer", '"15 mm"'),
    ("hammer", "depth"): ("hammer", '"0.8 mm"'),
    ("hammer", "seed"): ("hammer", "5"),
    ("ladder", "thickness_after"): ("ladder", '"4.5 mm"'),
    ("ladder", "method"): ("ladder hot", '"pressed"'),
    ("ladder", "pitch"): ("ladder", '"13 mm"'),
    ("ladder", "groove"): ("ladder", '"7 mm"'),
    ("ladder", "depth"): ("ladder", '"2 mm"'),
    ("ladder", "faces"): ("ladder on top", '"opposed"'),
    ("miter", "angle"): ("miter", '"40 deg"'),
    ("miter", "kerf"): ("miter", '"3 mm"'),
    ("raindrop", "thickness_after"): ("raindrop", '"5 mm"'),
    ("raindrop", "method"): ("raindrop", '"pressed"'),
    ("raindrop", "across"): ("raindrop", '"7 mm"'),
    ("raindrop", "depth"): ("raindrop", '"2 mm"'),
    ("raindrop", "spacing"): ("raindrop", '"11 mm"'),
    ("raindrop", "faces"): ("raindrop", '"top"'),
    ("raindrop", "seed"): ("raindrop", "2"),
    ("relief", "thickness_after"): ("relief", '"5 mm"'),
    ("relief", "image"): ("relief", f'"{picture(mirrored=True)}"'),
    ("relief", "length"): ("relief", '"50 mm"'),
    ("relief", "width"): ("relief", '"30 mm"'),
    ("relief", "depth"): ("relief", '"1.5 mm"'),
    ("relief", "method"): ("relief", '"pressed"'),
    ("relief", "faces"): ("relief", '"staggered"'),
    ("restack", "pieces"): ("restack", "2"),
    ("restack", "flip"): ("restack", '"alternate"'),
    ("restack", "spacer"): ("restack with spacers", '"15N20 1.2 mm"'),
    ("forge_bevels", "share"): ("forge_bevels", "0.6"),
    ("forge_bevels", "lengthen"): ("forge_bevels", "0.7"),
    ("split", "drag"): ("split", '"3 mm"'),
    ("split", "reach"): ("split", '"9 mm"'),
    ("split", "along"): ("split hot", '"width"'),
    ("surface_grind", "top"): ("surface_grind", '"0.9 mm"'),
    ("surface_grind", "bottom"): ("surface_grind", '"0.3 mm"'),
    ("surface_grind", "edges"): ("surface_grind", '"1 mm"'),
    ("grid_restack", "grid"): ("grid_restack same", "2"),
    ("grid_restack", "order"): ("grid_restack same", '"mirror"'),
    ("trim", "each_end"): ("trim", '"8 mm"'),
    ("roll", "quarters"): ("roll", "2"),
    ("twist", "turns"): ("twist", "2"),
    ("twist", "hand"): ("twist", '"left"'),
    ("twist", "corners"): ("twist", "0.6"),
}

HEAT = {"temperature": "1140 C", "soak": "6 min", "heats": 2}
SIZES = {"thickness": "9 mm", "width": "44 mm", "temperature": "1080 C", "soak": "3 min"}
OUTLINE = "x mm,y mm\n0,0\n110,0\n190,12\n200,24\n150,41\n80,46\n0,46\n"
CERTIFICATE = {"like": "1084", "C": 0.84}

KNIFE: dict[str, Any] = {
    "version": 2,
    "title": "smokehouse test piece",
    "units": "metric",
    "shop": {"scale_per_heat": "0.04 mm", "end_trim": {"free": "6 mm", "handle": "9 mm"}},
    "steels": {"tool": CERTIFICATE},
    "bar": [
        {
            "name": "billet",
            "width": "46 mm",
            "length": "110 mm",
            "stack": ["tool 3 mm", "15N20 1.5 mm"],
            "repeat": 4,
            "base": "1084 3 mm",
            "cap": "tool 3 mm",
            "uneven": 0.1,
            "seed": 3,
            "step": [
                {"do": "weld", **HEAT},
                {"do": "draw", **SIZES},
                {"do": "restack", "pieces": 2, "weld": HEAT, "draw": SIZES, "times": 1},
                {"do": "fold", "weld": HEAT, "draw": SIZES, "times": 1},
                {"do": "draw", **SIZES, "thickness": "6.5 mm", "width": "50 mm"},
            ],
        }
    ],
    "blade": {
        "length": "200 mm",
        "heel_height": "46 mm",
        "spine": {
            "finished": {"heel": "2.4 mm", "middle": "2 mm", "tip": "0.9 mm"},
            "hardening": {"heel": "2.9 mm", "middle": "2.5 mm", "tip": "1.4 mm"},
        },
        "tang": {"kind": "stick", "length": "90 mm", "width": "13 mm", "thickness": "2.8 mm"},
        "bolster": {"length": "20 mm", "width": "24 mm", "thickness": "4 mm"},
    },
    "hardening": {"quench": {"medium": "fast oil"}, "temper": {"temperature": "200 C"}},
}
JOINED: dict[str, Any] = {
    "title": "clad",
    "bar": [
        {"name": "jacket", "width": "46 mm", "length": "170 mm", "stack": ["1084 2 mm", "15N20 1 mm"],
         "step": [{"do": "weld", **HEAT}]},
        {"name": "core", "width": "46 mm", "length": "75 mm", "stack": ["W2 4 mm"]},
        {"name": "clad", "join": [{"bar": "jacket", "flip": "over"}, "core", "jacket"], "as": "layers",
         "step": [{"do": "weld", **HEAT}]},
    ],
}  # fmt: skip
PLANNED: dict[str, Any] = {
    "title": "planned",
    "units": "metric",
    "shop": {"face_cleanup": "0.3 mm", "end_trim": "6 mm", "fire_length": "400 mm"},
    "blade": {"length": "180 mm", "heel_height": "45 mm"},
    "target": {"layers": 60},
}
RACK = [
    {"steel": "1084", "thickness": "3.2 mm", "width": "50 mm", "length": "1 m", "count": 4, "price": 14.0},
    {"steel": "15N20", "thickness": "1.6 mm", "width": "50 mm", "length": "1 m", "count": 4, "price": 12.0},
]
CLAD_GOAL = {"pattern": "clad", "core": 0.3, "steels": ["1084", "15N20", "W2"]}


class Missing:
    """Takes a key away."""


def at(base: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A recipe with some tables laid over it."""
    return {**base, **more}


Change = tuple[dict[str, Any], tuple[str | int, ...], Any, str]
"""A recipe, the place in it, the new value, and the result that must differ."""

PRICES = ("hour", "steel_kg", "gas_hour", "kwh", "kiln_kw", "belt", "grams_a_belt", "acid", "handle")
BLADE, BAR = KNIFE["blade"], ("bar", 0)
TWO = at(
    KNIFE,
    bar=[{**KNIFE["bar"][0], "length": "230 mm"}],
    blade=[
        {"name": "petty", "length": "120 mm", "heel_height": "28 mm"},
        {"name": "butter", "length": "90 mm", "heel_height": "24 mm"},
    ],
)
CONVEX = at(KNIFE, blade={**BLADE, "bevel": {"kind": "convex", "amount": "0.2 mm"}})
COMPOUND = {"kind": "compound", "wheel": "1800 mm", "height": "32 mm", "lower": "14 mm"}
SABRE = {"left": {"kind": "sabre", "height": "25 mm"}, "right": {"kind": "sabre", "height": "25 mm"}}
TABLES: dict[tuple[str, str], Change] = {
    ("Recipe", "title"): (KNIFE, ("title",), "another", "ledger"),
    ("Recipe", "units"): (KNIFE, ("units",), "imperial", "words"),
    ("Recipe", "steels"): (KNIFE, ("steels", "tool", "C"), 0.78, "ledger"),
    ("Shop", "atmosphere"): (at(KNIFE, shop={}), ("shop", "atmosphere"), "oxidising", "ledger"),
    ("Shop", "kerf"): (KNIFE, ("shop", "kerf"), "3 mm", "ledger"),
    ("Shop", "scale_per_heat"): (KNIFE, ("shop", "scale_per_heat"), "0.06 mm", "ledger"),
    ("Shop", "face_cleanup"): (KNIFE, ("shop", "face_cleanup"), "0.2 mm", "ledger"),
    ("Shop", "end_trim"): (KNIFE, ("shop", "end_trim"), "5 mm", "ledger"),
    ("EndTrim", "free"): (KNIFE, ("shop", "end_trim", "free"), "5 mm", "ledger"),
    ("EndTrim", "handle"): (KNIFE, ("shop", "end_trim", "handle"), "12 mm", "ledger"),
    ("Shop", "spread"): (PLANNED, ("shop", "spread"), 0.02, "plan"),
    ("Shop", "press_opening"): (KNIFE, ("shop", "press_opening"), "20 mm", "ledger"),
    ("Shop", "press_force"): (PLANNED, ("shop", "press_force"), "60 kN", "plan"),
    ("Shop", "fire_length"): (KNIFE, ("shop", "fire_length"), "100 mm", "ledger"),
    ("Shop", "fewest_pieces"): (PLANNED, ("shop", "fewest_pieces"), 5, "plan"),
    ("Shop", "thinnest_piece"): (PLANNED, ("shop", "thinnest_piece"), "14 mm", "plan"),
    ("Shop", "stack_ratio"): (PLANNED, ("shop", "stack_ratio"), 0.5, "plan"),
    ("Shop", "two_halves"): (at(KNIFE, shop={"fire_length": "140 mm"}), ("shop", "two_halves"), True, "ledger"),
    ("Shop", "hand"): (KNIFE, ("shop", "hand"), "hammer", "picture"),
    ("Shop", "hand_strength"): (at(KNIFE, shop={"hand": "hammer"}), ("shop", "hand_strength"), 0.3, "picture"),
    **{("Prices", key): (KNIFE, ("shop", "prices", key), 77.0, "quote") for key in PRICES},
    ("Prices", "money"): (KNIFE, ("shop", "prices", "money"), "EUR", "quote"),
    ("Shop", "most_pieces"): (PLANNED, ("shop", "most_pieces"), 2, "plan"),
    ("Shop", "most_welds"): (PLANNED, ("shop", "most_welds"), 2, "plan"),
    ("Shop", "forge_tool"): (PLANNED, ("shop", "forge_tool"), "hand", "plan"),
    ("Shop", "fitted"): (PLANNED, ("shop", "fitted"), "12 notes of the bench record", "plan"),
    ("BarTable", "name"): (KNIFE, (*BAR, "name"), "stock", "ledger"),
    ("BarTable", "width"): (KNIFE, (*BAR, "width"), "48 mm", "ledger"),
    ("BarTable", "length"): (KNIFE, (*BAR, "length"), "115 mm", "ledger"),
    ("BarTable", "stack"): (KNIFE, (*BAR, "stack", 1), "15N20 1.2 mm", "ledger"),
    ("BarTable", "repeat"): (KNIFE, (*BAR, "repeat"), 5, "ledger"),
    ("BarTable", "base"): (KNIFE, (*BAR, "base"), "1084 4 mm", "ledger"),
    ("BarTable", "cap"): (KNIFE, (*BAR, "cap"), "15N20 3 mm", "ledger"),
    ("BarTable", "uneven"): (KNIFE, (*BAR, "uneven"), 0.2, "ledger"),
    ("BarTable", "seed"): (KNIFE, (*BAR, "seed"), 4, "ledger"),
    ("BarTable", "join"): (JOINED, ("bar", 2, "join"), ["jacket", "core", "core"], "ledger"),
    ("BarTable", "as_"): (JOINED, ("bar", 2, "as"), "side by side", "ledger"),
    ("JoinItem", "bar"): (JOINED, ("bar", 2, "join", 0, "bar"), "core", "ledger"),
    ("JoinItem", "flip"): (JOINED, ("bar", 2, "join", 0, "flip"), Missing, "ledger"),
    ("Restack", "weld"): (KNIFE, (*BAR, "step", 2, "weld", "heats"), 4, "ledger"),
    ("Restack", "draw"): (KNIFE, (*BAR, "step", 2, "draw", "thickness"), "10 mm", "ledger"),
    ("Restack", "times"): (KNIFE, (*BAR, "step", 2, "times"), 2, "ledger"),
    ("Fold", "weld"): (KNIFE, (*BAR, "step", 3, "weld", "heats"), 3, "ledger"),
    ("Fold", "draw"): (KNIFE, (*BAR, "step", 3, "draw", "width"), "42 mm", "ledger"),
    ("Fold", "times"): (KNIFE, (*BAR, "step", 3, "times"), 2, "ledger"),
    ("Draw", "length"): (
        at(
            KNIFE,
            bar=[
                {
                    **KNIFE["bar"][0],
                    "step": [
                        {"do": "weld", **HEAT},
                        {
                            "do": "draw",
                            "length": "260 mm",
                            "thickness": "8 mm",
                            "temperature": "1080 C",
                            "soak": "3 min",
                        },
                    ],
                }
            ],
        ),
        (*BAR, "step", 1, "length"),
        "280 mm",
        "ledger",
    ),
    ("BladeDesign", "name"): (TWO, ("blade", 0, "name"), "paring", "chosen"),
    ("BladeDesign", "length"): (KNIFE, ("blade", "length"), "205 mm", "blade"),
    ("BladeDesign", "heel_height"): (KNIFE, ("blade", "heel_height"), "47 mm", "blade"),
    ("BladeDesign", "shape"): (KNIFE, ("blade", "shape"), "nakiri", "blade"),
    ("BladeDesign", "points"): (KNIFE, ("blade", "points"), "outline.csv", "blade"),
    ("BladeDesign", "tip_at"): (KNIFE, ("blade", "tip_at"), "15 mm", "blade"),
    ("BladeDesign", "heel_at"): (KNIFE, ("blade", "heel_at"), "120 mm", "blade"),
    ("BladeDesign", "edge_at"): (KNIFE, ("blade", "edge_at"), "2 mm", "blade"),
    ("BladeDesign", "offset"): (KNIFE, ("blade", "offset"), "0.2 mm", "blade"),
    ("BladeDesign", "reserve"): (PLANNED, ("blade", "reserve"), 0.4, "plan"),
    ("Spine", "finished"): (KNIFE, ("blade", "spine", "finished", "heel"), "2.5 mm", "blade"),
    ("Spine", "hardening"): (KNIFE, ("blade", "spine", "hardening", "heel"), "3.1 mm", "blade"),
    ("SpineSet", "heel"): (KNIFE, ("blade", "spine", "finished", "heel"), "2.6 mm", "blade"),
    ("SpineSet", "middle"): (KNIFE, ("blade", "spine", "finished", "middle"), "1.8 mm", "blade"),
    ("SpineSet", "tip"): (KNIFE, ("blade", "spine", "finished", "tip"), "1.0 mm", "blade"),
    ("Edge", "hardening"): (KNIFE, ("blade", "edge"), {"hardening": "0.9 mm"}, "blade"),
    ("Edge", "finished"): (KNIFE, ("blade", "edge"), {"finished": "0.4 mm"}, "blade"),
    ("Bevel", "left"): (
        at(KNIFE, blade={**BLADE, "bevel": SABRE}),
        ("blade", "bevel", "left", "height"),
        "20 mm",
        "blade",
    ),
    ("Bevel", "right"): (
        at(KNIFE, blade={**BLADE, "bevel": SABRE}),
        ("blade", "bevel", "right", "height"),
        "20 mm",
        "blade",
    ),
    ("Face", "kind"): (KNIFE, ("blade", "bevel"), "convex", "blade"),
    ("Face", "height"): (
        at(KNIFE, blade={**BLADE, "bevel": SABRE}),
        ("blade", "bevel", "left", "height"),
        "22 mm",
        "blade",
    ),
    ("Face", "lower"): (at(KNIFE, blade={**BLADE, "bevel": COMPOUND}), ("blade", "bevel", "lower"), "10 mm", "blade"),
    ("Face", "wheel"): (at(KNIFE, blade={**BLADE, "bevel": COMPOUND}), ("blade", "bevel", "wheel"), "2200 mm", "blade"),
    ("Face", "amount"): (CONVEX, ("blade", "bevel", "amount"), "0.1 mm", "blade"),
    ("Face", "radius"): (CONVEX, ("blade", "bevel"), {"kind": "convex", "radius": "3 m"}, "blade"),
    ("Tang", "kind"): (KNIFE, ("blade", "tang"), {"kind": "full"}, "blade"),
    ("Tang", "length"): (KNIFE, ("blade", "tang", "length"), "95 mm", "blade"),
    ("Tang", "width"): (KNIFE, ("blade", "tang", "width"), "16 mm", "blade"),
    ("Tang", "thickness"): (KNIFE, ("blade", "tang", "thickness"), "4.6 mm", "blade"),
    ("Bolster", "length"): (KNIFE, ("blade", "bolster", "length"), "25 mm", "blade"),
    ("Bolster", "width"): (KNIFE, ("blade", "bolster", "width"), "28 mm", "blade"),
    ("Bolster", "thickness"): (KNIFE, ("blade", "bolster", "thickness"), "6 mm", "blade"),
    ("Heel", "radius"): (KNIFE, ("blade", "heel"), {"radius": "4 mm"}, "picture"),
    ("Heel", "choil"): (KNIFE, ("blade", "heel"), {"choil": "6 mm"}, "picture"),
    ("Heel", "drop"): (
        at(KNIFE, blade={**BLADE, "bolster": None, "heel": {"choil": "6 mm"}}),
        ("blade", "heel", "drop"),
        "12 mm",
        "picture",
    ),
    ("Plunge", "wheel"): (KNIFE, ("blade", "plunge"), {"wheel": "50 mm"}, "picture"),
    ("Plunge", "at"): (
        at(KNIFE, blade={**BLADE, "bolster": None, "plunge": {"wheel": "50 mm"}}),
        ("blade", "plunge", "at"),
        "8 mm",
        "blade",
    ),
    ("Allow", "face"): (KNIFE, ("blade", "allow"), {"face": "0.3 mm"}, "blade"),
    ("Target", "layers"): (PLANNED, ("target", "layers"), 90, "plan"),
    ("Target", "distinct"): (PLANNED, ("target"), {"distinct": 70}, "plan"),
    ("Target", "line"): (PLANNED, ("target", "line"), "1.5 mm", "plan"),
    ("Target", "carbon"): (PLANNED, ("target", "carbon"), 0.78, "plan"),
    ("Target", "dark"): (PLANNED, ("target", "dark"), 0.8, "plan"),
    ("Target", "pattern"): (PLANNED, ("target", "pattern"), "twist", "plan"),
    ("Target", "plates"): (PLANNED, ("target", "plates"), "even", "plan"),
    ("Target", "outside"): (PLANNED, ("target", "outside"), "bright", "plan"),
    ("Target", "spacers"): (PLANNED, ("target", "spacers"), True, "plan"),
    ("Target", "widest"): (PLANNED, ("target", "widest"), 1.1, "plan"),
    ("Target", "core"): (at(PLANNED, target=CLAD_GOAL), ("target", "core"), 0.4, "plan"),
    ("Target", "steels"): (PLANNED, ("target", "steels"), ["O1", "15N20"], "plan"),
    ("Hardening", "temperature"): (KNIFE, ("hardening", "temperature"), "830 C", "harden"),
    ("Hardening", "soak"): (KNIFE, ("hardening", "soak"), "20 min", "harden"),
    ("Hardening", "hardness"): (KNIFE, ("hardening", "hardness"), 58.0, "harden"),
    ("Quench", "medium"): (KNIFE, ("hardening", "quench", "medium"), "water", "harden"),
    ("Quench", "temperature"): (
        at(
            KNIFE,
            hardening={
                "quench": {"medium": "fast oil", "temperature": "50 C", "volume": "8 l", "flash_point": "130 C"}
            },
        ),
        ("hardening", "quench", "temperature"),
        "110 C",
        "harden",
    ),
    ("Quench", "volume"): (
        at(
            KNIFE,
            hardening={
                "quench": {"medium": "fast oil", "temperature": "50 C", "volume": "8 l", "flash_point": "130 C"}
            },
        ),
        ("hardening", "quench", "volume"),
        "0.1 l",
        "harden",
    ),
    ("Quench", "flash_point"): (
        at(KNIFE, hardening={"quench": {"medium": "fast oil", "temperature": "60 C"}}),
        ("hardening", "quench", "flash_point"),
        "80 C",
        "harden",
    ),
    ("Temper", "temperature"): (KNIFE, ("hardening", "temper", "temperature"), "220 C", "harden"),
    ("Temper", "soak"): (KNIFE, ("hardening", "temper", "soak"), "4 h", "harden"),
    ("Temper", "cycles"): (KNIFE, ("hardening", "temper", "cycles"), 3, "harden"),
    ("Stages", "skip"): (KNIFE, ("stages", "skip"), ["anneal"], "stages"),
    ("Stages", "time"): (KNIFE, ("stages", "time"), {"handle": "9 h"}, "stages"),
    ("Etch", "finish"): (KNIFE, ("etch", "finish"), "deep etch", "picture"),
    ("Etch", "strength"): (KNIFE, ("etch", "strength"), 0.5, "picture"),
    ("Etch", "depth"): (KNIFE, ("etch", "depth"), "0.05 mm", "picture"),
    ("Etch", "light"): (KNIFE, ("etch", "light"), "40 deg", "picture"),
    ("Etch", "seams"): (KNIFE, ("etch", "seams"), 1.0, "picture"),
    ("Rack", "bar"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 1, "thickness"), "1.2 mm", "plan"),
    ("Rack", "bars"): (
        at(PLANNED, rack={"bars": ["4 of 1084 3.2 x 50 x 1000 mm", "4 of 15N20 1.6 x 50 x 1000 mm"]}),
        ("rack", "bars", 1),
        "4 of 15N20 1.2 x 50 x 1000 mm",
        "plan",
    ),
    ("RackBar", "steel"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "steel"), "1095", "plan"),
    ("RackBar", "thickness"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "thickness"), "4 mm", "plan"),
    ("RackBar", "width"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "width"), "38 mm", "plan"),
    ("RackBar", "length"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "length"), "0.3 m", "plan"),
    ("RackBar", "count"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "count"), 1, "plan"),
    ("RackBar", "price"): (at(PLANNED, rack={"bar": RACK}), ("rack", "bar", 0, "price"), 30.0, "plan"),
}
TOLD_ELSEWHERE = {
    ("Recipe", "version"), ("Recipe", "shop"), ("Recipe", "bar"), ("Recipe", "blade"), ("Recipe", "target"),
    ("Recipe", "hardening"), ("Recipe", "stages"), ("Shop", "prices"), ("Recipe", "etch"), ("Recipe", "rack"), ("BarTable", "step"),
    ("BladeDesign", "spine"), ("BladeDesign", "edge"), ("BladeDesign", "bevel"), ("BladeDesign", "tang"),
    ("BladeDesign", "bolster"), ("BladeDesign", "allow"), ("BladeDesign", "heel"), ("BladeDesign", "plunge"),
    ("Hardening", "quench"), ("Hardening", "temper"),
}  # fmt: skip
"""Tables whose own fields stand above, and the version, which says how to read the rest."""
