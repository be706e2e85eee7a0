"""The stages of a knife, from its recipe and, where it was run, its ledger."""

from __future__ import annotations

from collections.abc import Iterator

from billet.base.messages import Amount, Note, given, note, thin
from billet.base.units import Kind
from billet.blade.design import BladeDesign, State
from billet.ledger.rows import Ledger, Row
from billet.recipe.models import BarTable
from billet.recipe.recipe import Recipe
from billet.recipe.tables import Hardening, Stages
from billet.stages.stage import Stage
from billet.stages.stage_names import BLADE_VERBS, numbered
from billet.stages.step_words import Work
from billet.steps.step import Hot, Step

_PLAINLY = 0.0254  # from an inch up a thickness is told as a length [m]
_HEATING_UP = 5.0  # minutes for one heat beside its soak, with the work done in it: common practice, no source

# Minutes of the blade's stages for a chef's knife in a small shop: common practice, no source.
MINUTES = {
    "profile": 30.0, "rough grind": 90.0, "normalise": 60.0, "anneal": 60.0, "harden": 30.0, "straighten": 15.0,
    "temper": 150.0, "thin": 120.0, "finish": 180.0, "etch": 60.0, "handle": 240.0, "sharpen": 30.0,
}  # fmt: skip

_WHAT = {
    "profile": "saw and grind the outline to the pattern; keep the edge centred on the bar",
    "rough grind": "grind the bevels to the thickness for hardening, both sides alike; leave no deep scratch across the edge",
    "normalise": "heat, let cool in still air until black, each heat lower than the one before",
    "anneal": "soften for the file, below the heat at which the first steel changes",
    "harden": "bring the whole blade to heat, soak, quench in {medium}",
    "straighten": "straighten while the steel is still soft from the quench, then let it cool to the hand",
    "temper": "temper at {heat} for {time}, then cool to room temperature",
    "thin": "grind to the finished thickness, cold and wet, from the middle of the blade outwards",
    "finish": "take the scratches out, one grit after the other, lengthwise at the end",
    "etch": "degrease, etch, rub the black off, neutralise and rinse; look at every weld line",
    "handle": "fit the handle, glue and shape it",
    "sharpen": "sharpen, take the wire off, cut paper and onion",
}
_BEFORE = {
    "rough grind": ("the outline is done and the bar is flat",),
    "harden": ("edge and spine have their thickness for hardening", "no scratch across the edge, corners broken",
               "straight, and no crack at the edge or at a weld line"),
    "temper": ("cold enough to hold in the hand, within the hour after the quench",),
    "thin": ("the file tells that the edge is hard", "the bow is measured and marked"),
    "etch": ("all scratches out, clean of oil and wax",),
    "sharpen": ("the edge is even along its length",),
}  # fmt: skip
_AFTER = {
    "profile": ("the outline fits the pattern",),
    "rough grind": ("edge centred and even", "straight by eye and by rule", "no weld line open"),
    "normalise": ("a magnet holds again when it is black", "straight", "no crack"),
    "anneal": ("a file bites",),
    "harden": ("a file skates along the edge", "bow and twist measured", "no crack at the edge or at a weld line"),
    "straighten": ("straight by rule", "no crack"),
    "temper": ("hardness or file test noted", "bow and twist measured"),
    "thin": ("thickness measured at heel, middle and tip", "no colour anywhere"),
    "finish": ("no deep scratch left",),
    "etch": ("the pattern stands on both faces", "no weld line open, least of all at the edge"),
    "handle": ("no gap, no glue line", "balance noted"),
    "sharpen": ("cuts without a wire edge",),
}
# The gates of a bar's steps: common practice, no source. What cannot be seen is not promised.
_BAR_BEFORE = {
    "stack": ("faces ground bright and flat, wiped clean",), "join": ("faces ground bright and flat, wiped clean",),
    "twist": ("square, corners broken, no seam open",),
}  # fmt: skip
_BAR_AFTER = {
    "stack": ("tacked or wired tight, no gap to see",), "join": ("tacked or wired tight, no gap to see",),
    "weld": ("no seam open at edges or ends; a doubtful one is welded again before anything else",),
    "draw": ("thickness alike at both ends and in the middle", "no seam open at edges or ends"),
    "restack": ("no gap to see between the pieces",), "fold": ("no gap to see between the halves",),
    "grid_restack": ("no gap to see between the pieces",), "twist": ("turns even", "no seam open"),
    "split": ("no seam open along the cut",), "forge_bevels": ("straight, edge centred", "no seam open at the edge"),
    "draw_out": ("no seam open where the block ends",),
}  # fmt: skip


def stages(recipe: Recipe, ledger: Ledger | None = None) -> tuple[Stage, ...]:
    """Every stage of a knife in the order of the work; with the ``ledger`` the bars' sizes are known too."""
    bars = [stage for bar in range(len(recipe.tables.bar)) for stage in _of_bar(recipe, bar, ledger)]
    return (*bars, *_of_blade(recipe, bars[-1].number if bars else 0))


def _of_bar(recipe: Recipe, bar: int, ledger: Ledger | None) -> Iterator[Stage]:
    table = recipe.tables.bar[bar]
    steps: list[Step] = [step for _, step in recipe.steps(bar)]
    verbs = ["stack" if table.join is None else "join", *(step.verb for step in steps)]
    rows = () if ledger is None else ledger.bars[bar].rows
    for number, (verb, name) in enumerate(zip(verbs, numbered(verbs), strict=True)):
        step = steps[number - 1] if number else None
        yield Stage(
            number, name, verb, "bar", _done(verb, step, rows[number] if rows else None, table), table.name,
            before=tuple(note(gate) for gate in _BAR_BEFORE.get(verb, ())),
            after=tuple(note(gate) for gate in _BAR_AFTER.get(verb, ())),
            sizes=_sizes(ledger, bar, number), minutes=_minutes(step),
        )  # fmt: skip


def _done(verb: str, step: Step | None, row: Row | None, table: BarTable) -> Note:
    """What to do: with sizes where the bar was run, else what the step itself says."""
    if row is not None:
        return Work(verb, row=row, table=table)
    if isinstance(step, Hot):
        return note(
            "{verb} at {heat}, {time} of soak, {count} heat{s}",
            verb=verb, heat=given(step.temperature), time=Amount(step.soak, Kind.TIME), count=step.heats,
            s="" if step.heats == 1 else "s",
        )  # fmt: skip
    return note(verb)


def _minutes(step: Step | None) -> float | None:
    return step.heats * (_HEATING_UP + step.soak / 60) if isinstance(step, Hot) else None


def _sizes(ledger: Ledger | None, bar: int, number: int) -> tuple[tuple[str, float], ...]:
    if ledger is None:
        return ()
    piece = ledger.bars[bar].rows[number].bar
    return (
        ("length", piece.length),
        ("width", piece.width),
        ("thickness", piece.thickness),
        ("mass", piece.volume * piece.mean_density),
    )


def _of_blade(recipe: Recipe, last: int) -> Iterator[Stage]:
    hardening, own = recipe.tables.hardening, recipe.tables.stages
    kept = [verb for verb in BLADE_VERBS if verb not in own.skip]
    verbs = [verb for verb in kept for _ in range(hardening.temper.cycles if verb == "temper" else 1)]
    for turn, (verb, name) in enumerate(zip(verbs, numbered(verbs), strict=True), 1):
        yield Stage(
            last + turn, name, verb, "blade", _asked(verb, hardening),
            before=tuple(map(note, _BEFORE.get(verb, ()))), after=tuple(map(note, _AFTER.get(verb, ()))),
            sizes=_of_design(recipe.tables.blade, verb), minutes=_takes(own, verb),
        )  # fmt: skip


def _takes(own: Stages, verb: str) -> float:
    """Minutes of a blade's stage: the shop's own, else the usual."""
    told: dict[str, float] = {k: v for k, v in own.time.items()}
    return told[verb] / 60 if verb in told else MINUTES[verb]


def _asked(verb: str, hardening: Hardening) -> Note:
    temper = hardening.temper
    words: dict[str, Amount | str | int] = {}
    if verb == "harden":
        words = {"medium": hardening.quench.medium}
    if verb == "temper":
        words = {"heat": given(temper.temperature), "time": Amount(temper.soak, Kind.TIME)}
    return note(_WHAT[verb], **words)


def _of_design(design: BladeDesign | None, verb: str) -> tuple[tuple[str, float], ...]:
    """What the blade should measure after a stage [m]: at hardening up to the tempers, finished from the thinning on."""
    if design is None or verb == "profile":
        return ()
    late = BLADE_VERBS.index(verb) >= BLADE_VERBS.index("thin")
    state: State = "finished" if late else "hardening"
    spine = design.spine.at(state)
    return (
        ("spine.heel", spine.heel),
        ("spine.middle", spine.middle),
        ("spine.tip", spine.tip),
        ("edge", design.edge.at(state)),
    )


def shown_sizes(stage: Stage) -> tuple[tuple[str, Amount], ...]:
    """The sizes of a stage as amounts to be printed: thicknesses finely, weights as weights."""
    return tuple(
        (
            name,
            Amount(value, Kind.MASS)
            if name == "mass"
            else Amount(value)
            if name in ("length", "width") or value >= _PLAINLY
            else thin(value),
        )
        for name, value in stage.sizes
    )
