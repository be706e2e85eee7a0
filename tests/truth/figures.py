"""Every kind of figure the commands print, and the keys of their JSON that it stands for.

`tests/test_truth.py` runs the commands and finds each number in their JSON again here: a new figure needs its line, and
stands on the page as unchecked until somebody checks it. Kinds told in words only have no keys.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """A kind of figure in a smith's words, where it is told, and the keys (command:path, with stars) that hold it.

    `why_not` says, where nothing outside can check it, why.
    """

    name: str
    told: str
    keys: tuple[str, ...] = ()
    why_not: str = ""


BAR = (
    Figure(
        "length, width and thickness after each step",
        "ledger, stages, next",
        ("ledger:bars.*.steps.*.length_m", "ledger:bars.*.steps.*.width_m", "ledger:bars.*.steps.*.thickness_m",
         "next:sizes.*", "stages:stages.*.sizes.length", "stages:stages.*.sizes.width", "stages:stages.*.sizes.thickness",
         "where:way_back.*_m"),
    ),
    Figure(
        "weight of the bar",
        "ledger, check, plan, next",
        ("ledger:bars.*.mass_kg", "stages:stages.*.mass_kg", "stages:stages.*.sizes.mass", "next:sizes.mass_kg",
         "plan:candidates.*_mass_kg", "plan:candidates.*.yield", "ledger:bars.*.added_kg"),
    ),
    Figure("steel lost to scale", "ledger, plan", ("*.lost_kg.scale",)),
    Figure(
        "steel lost to saw, grinder and crop",
        "ledger, plan",
        ("*.lost_kg.kerf", "*.lost_kg.cleanup", "*.lost_kg.trim", "*.lost_kg.grinding", "stages:stages.*.lost_kg"),
    ),
    Figure(
        "layer count",
        "ledger, plan, preview",
        ("*.layers_counted", "*.layers_distinct", "ledger:*.layers_distinct_range.*"),
    ),
    Figure(
        "thickness of the layers",
        "ledger, plan",
        ("*.mean_layer_m", "ledger:*.thinnest_layer_m", "ledger:*.layers_per_m", "ledger:*.left_m"),
    ),
    Figure("share of each steel", "ledger, plan", ("*.steel_shares.*", "plan:*.dark", "harden:layers.*.share")),
    Figure("time a bar takes to heat through", "next, harden, warnings", ("harden:bolster.*",)),
    Figure("hottest a stack may be forged", "ledger and check, as a warning"),
)  # fmt: skip
CARBON = (
    Figure(
        "carbon of the mixed steel after the heats",
        "ledger, carbon, plan",
        ("*.carbon_wt_percent", "carbon:carbon_wt_percent"),
    ),
    Figure(
        "carbon contrast left between layers", "ledger, carbon, plan", ("*.carbon_contrast", "carbon:carbon_contrast")
    ),
    Figure(
        "etching contrast left between layers", "ledger, carbon, plan", ("*.alloy_contrast", "carbon:alloy_contrast")
    ),
    Figure(
        "soft skin, and how much of it to grind off",
        "ledger, carbon, grind",
        (
            "*.soft_skin_m",
            "*.half_carbon_m",
            "carbon:soft_skin_m",
            "carbon:half_carbon_m",
            "carbon:functional_skin_m.*",
            "grind:least_per_face_m",
        ),
    ),
    Figure("soft ferrite on a face left bare", "carbon, harden", ("harden:bare_ferrite_m.*",)),
    Figure("carbon through the bar and at the edge", "carbon, check", ("carbon:profile.*", "carbon:edge.*")),
    Figure("carbon a core loses to stainless jackets", "ledger and carbon, in their figures"),
)
HARDENING = (
    Figure("heat at which austenite begins (Ac1)", "harden", ("harden:layers.*.ac1_K.*", "harden:layers.*.ac3_K.*")),
    Figure("heat at which the last carbide dissolves (Acm)", "harden", ("harden:layers.*.acm_K.*",)),
    Figure("hardening heat", "harden, next, sheet", ("harden:harden_K.*", "steels:steels.*.harden_K.*")),
    Figure("soak before the quench", "harden, next, sheet", ("harden:soak_s.*",)),
    Figure("carbon in solution at the hardening heat", "harden", ("harden:layers.*.carbon_in_solution_wt_percent",)),
    Figure("grain grown in the hardening heat", "harden", ("harden:grain_m.*",)),
    Figure("heat at which martensite begins (Ms)", "harden", ("harden:layers.*.ms_K.*",)),
    Figure("heat at which it is nine tenths martensite", "harden", ("harden:layers.*.nine_tenths_martensite_K.*",)),
    Figure("austenite left after the quench", "harden", ("harden:*retained_austenite.*",)),
    Figure("hardness as quenched", "harden", ("harden:*as_quenched_hrc.*",)),
    Figure(
        "thickness each quench hardens through",
        "harden",
        ("harden:layers.*.ideal_diameter_m.*", "harden:stations.*.full_to_m.*"),
    ),
    Figure("seconds before pearlite begins", "harden", ("harden:layers.*.pearlite_nose_s.*",)),
    Figure(
        "hardness after the temper",
        "harden, next, sheet",
        ("harden:tempered_hrc.*", "harden:oven_hrc.*", "harden:temper_table.*.hrc.*", "harden:temper_table.*.oven_hrc.*"),
    ),
    Figure("hottest sub-critical anneal", "harden", ("harden:anneal_max_K",)),
    Figure("normalising heats", "harden, steels", ("harden:normalise_K.*",)),
    Figure("where a warped blade is straightened", "harden", ("harden:straighten_K.*",)),
    Figure("how long that lasts in still air", "harden", ("harden:straighten_s.*",)),
    Figure("how much a hard core outgrows a soft jacket", "harden, as a risk"),
    Figure("heat colour", "harden, next"),
)  # fmt: skip
PICTURE = (
    Figure("where each steel shows on the knife", "preview, open, solid", ("preview:faces.*.grey_share",)),
    Figure("lines on each face", "preview, plan", ("preview:lines_per_face", "preview:faces.*.lines", "plan:*.lines", "plan:*.lines_per_m", "plan:*.bands")),
    Figure("width of a line on the bevel", "preview, plan", ("*.median_line_m", "preview:median_line_m", "plan:*.widest")),
    Figure("height of a bared core", "preview", ("preview:faces.*.core_line_m",)),
    Figure(
        "which plate and which weld show at a spot",
        "where",
        ("where:plate.*", "where:below.*", "where:weld.number", "where:weld.between.*", "where:weld.distance_m", "where:goes_deeper_m"),
    ),
    Figure(
        "how far a line moves as the face is ground", "where, grind", ("where:weld.moves_*", "grind:line_shift.*")
    ),
)  # fmt: skip
KNIFE = (
    Figure(
        "what the bar must hold and what is to spare",
        "check, plan",
        ("check:answers.*", "plan:need.*", "plan:candidates.*.surplus.*"),
    ),
    Figure(
        "thickness at a station",
        "grind, sheet, harden, where",
        ("grind:stations.*.target_m", "grind:stations.*.final_m", "harden:stations.*.thickness_m", "where:thickness_m"),
    ),
    Figure(
        "what to take off left and right",
        "grind",
        ("grind:stations.*.remove_*", "grind:stations.*.scribe_m.*", "grind:plane.*", "grind:stations.*.plane_m",
         "grind:shortfall_m", "grind:cost_m"),
    ),
    Figure("how far to bend a warped blade", "grind", ("grind:stations.*.straighten_m",)),
    Figure("where to measure next", "grind", ("grind:next_reading.*",)),
    Figure("weight of the knife at each stage", "stages, ledger, check", ("ledger:blade.*.mass_kg", "ledger:blade.*.lost_kg")),
    Figure("volume and size of the solid", "solid"),
    Figure("lengths on paper", "sheet"),
)  # fmt: skip
PLANNING = (
    Figure("bar a plan ends in", "plan", ("plan:candidates.*.final.*",)),
    Figure("which plan comes first", "plan", ("plan:candidates.*.score.*", "plan:candidates.*.missed.*")),
    Figure("force at the press", "plan", ("plan:candidates.*.press.*",)),
    Figure(
        "time a stage takes", "stages, quote",
        ("stages:stages.*.minutes", "ledger:blade.*.minutes", "quote:hours.*"),
        "usual times by guess until [stages] or your record says yours; no outside figures were found",
    ),
    Figure("cost of the knife", "quote", ("quote:total.*", "quote:lines.*")),
    Figure("losses learnt from the record", "record learn", ("record learn:*",)),
    Figure("foreseen against measured", "record compare", ("record compare:differences.*",)),
    Figure("layers in a photograph", "count", ("count:*",)),
    Figure("units turned into one another", "everywhere"),
    Figure(
        "a steel's analysis and forging limit", "steels",
        ("steels:steels.*.composition_wt_percent.*", "steels:steels.*.density_kg_m3", "steels:steels.*.forging_max_K*"),
    ),
    Figure(
        "which steel etches darker", "preview, steels", ("steels:steels.*.etch_rank",),
        "an order by the trade's experience; no measured brightness of etched steels was found",
    ),
)  # fmt: skip
SECTIONS: tuple[tuple[str, tuple[Figure, ...]], ...] = (
    ("At the fire", BAR),
    ("Carbon", CARBON),
    ("Heat treatment", HARDENING),
    ("The pattern", PICTURE),
    ("At the grinder and on paper", KNIFE),
    ("Plans, prices and the record", PLANNING),
)
FIGURES = tuple(figure for _, figures in SECTIONS for figure in figures)

#: Numbers that are counts, names or what was typed, said back.
SAID_BACK = (
    "*.number", "*.of", "*.piece", "*.x_m", "*.y_m", "*.z_m", "where:x_m", "where:y_m", "*.position_m", "*.height_m",
    "*.measured_m", "*.bow_m", "*.sizes.spine.*", "*.sizes.edge", "*.sizes.edge_m", "carbon:step", "carbon:carbon_either_way_wt_percent",
    "harden:reckoned_*", "harden:temper_table.*.temperature_K", "harden:temper_table.*.cycles", "preview:width_px",
    "preview:height_px", "preview:pixel_m", "preview:station_m", "plan:target.*", "plan:weighed", "plan:candidates.*.place",
    "plan:candidates.*.repeat", "plan:candidates.*.length_m", "plan:candidates.*.width_m", "plan:candidates.*.height_m",
    "plan:candidates.*.restacks.*", "plan:candidates.*.weld_heats", "plan:candidates.*.heats", "plan:candidates.*.face.stations.*.height_m",
    "record compare:notes_left_out", "plan:candidates.*.missed.*",
)  # fmt: skip
