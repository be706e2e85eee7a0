"""The customer's card: the knife's picture, what it is made of, and how it is kept."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

from billet.base.errors import InputError
from billet.base.units import Kind, show
from billet.ledger.rows import Ledger
from render.drawing import palette_of, tinted
from render.request import Request
from render.session import session
from render.sheet.blocks import Block, Card, Heading, Picture, Words

# How a carbon-steel kitchen knife is kept: common practice, no source.
CARE = (
    "Rinse it in hot water straight after use and dry it at once, the edge away from your hand. The steel is not "
    "stainless: wet, or left in juice of fruit, onion or fish, it rusts.",
    "Not for the dishwasher, and not for the sink: heat, salt and other cutlery ruin edge, pattern and handle.",
    "Cut on wood or soft plastic, never on glass, stone or a plate. Not for bones, frozen food, nor for prising or twisting.",
    "A grey or blue bloom comes with use and protects the steel. Red rust is rubbed off with a little fine powder "
    "cleanser and oil. For a long rest, a thin film of food-safe oil and a dry place.",
    "Keep it in a block, a sheath or on a magnet, out of the reach of children.",
)
SHARPEN = (
    "On a wet stone of about 1000 grit, then 3000 or finer, at 12 to 15 degrees a side, until a fine wire can be felt "
    "along the whole edge; then take the wire off with light strokes. A ceramic rod between times; no pull-through "
    "sharpener and no dry wheel, which burn and chip a hard edge.",
)
ETCH = (
    "The pattern is etched and grows faint with polishing and sharpening. We etch it again: bring the knife back. "
    "Please do not try it at home; the acid is dangerous and must be neutralised."
)
_WIDE = 1500  # pixels of the picture


def customer_card(book: Ledger) -> Card:
    """The card that goes with the knife."""
    blocks: list[Block] = [*_picture(book), Words(_made_of(book), "lead"), Heading("Care")]
    blocks += [Words(line, "lead") for line in CARE]
    blocks += [Heading("Sharpening"), *(Words(line, "lead") for line in SHARPEN)]
    blocks += [Heading("The pattern"), Words(ETCH, "lead")]
    return Card("customer", book.recipe.tables.title, tuple(blocks))


def _picture(book: Ledger) -> list[Block]:
    """The right face as it will be etched; a sentence where it cannot be drawn."""
    if book.recipe.tables.blade is None:
        return []
    try:
        codes = session(book, Request(view="right", width=_WIDE, bare=True)).codes("right")
    except InputError:
        return []
    image, out = tinted(Image.fromarray(codes)), BytesIO()
    palette_of(image).save(out, "PNG", optimize=True)
    return [
        Picture(
            out.getvalue(),
            image.width,
            image.height,
            "Drawn before it was made: the blade itself is the one to look at.",
        )
    ]


def _made_of(book: Ledger) -> str:
    """Steels, layers and size in a sentence or two."""
    last = book.bars[-1].rows[-1]
    shares = sorted(last.measures.shares.items(), key=lambda pair: -pair[1])
    steels = " and ".join(f"{name} ({100 * share:.0f} %)" for name, share in shares)
    layers = last.bar.layers_counted
    made = f"Forge-welded from {steels}, {layers:,} layers." if layers > 1 else f"Made of {steels}."
    design = book.recipe.tables.blade
    if design is None:
        return made
    units = book.recipe.tables.units
    return f"{made} Blade {show(design.length, Kind.LENGTH, units)} long, {show(design.heel_height, Kind.LENGTH, units)} high at the heel."
