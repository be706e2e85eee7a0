"""A few questions at the bench, one a line; Enter skips one."""

from collections.abc import Callable
from dataclasses import replace

from billet.record.door import Desk, Understood, understand

QUESTIONS = (
    ("after", "After which stage (its number, or what is done)"),
    ("thickness", "Thickness"),
    ("width", "Width"),
    ("length", "Length"),
    ("mass", "Weight"),
    ("heats", "How many heats it took"),
    ("took", "How long it took"),
    ("hardness", "Hardness (59 HRC, or: file skates)"),
    ("wrong", "What went wrong, in a word or two"),
    ("cure", "What cured it, or what to do next time"),
    ("note", "Anything else"),
    ("photo", "Photograph (file)"),
    ("by", "Written by"),
)
_TEXTS = ("wrong", "cure", "note", "by")


def ask_all(ask: Callable[[str], str], tell: Callable[[str], None], desk: Desk) -> Understood:
    """Put every question with ``ask`` until its answer can be read; ``tell`` says what is wrong with an answer."""
    said = Understood()
    for name, question in QUESTIONS:
        said = _answered(said, name, question, ask, tell, desk)
    return said


def _answered(
    said: Understood, name: str, question: str, ask: Callable[[str], str], tell: Callable[[str], None], desk: Desk
) -> Understood:
    while True:
        answer = ask(question).strip()
        if not answer:
            return said
        typed = "\n".join(text for text in (said.typed, f"{name} {answer}") if text)
        if name in _TEXTS:
            return replace(said, **{name: answer}, typed=typed)  # type: ignore[arg-type]
        if name == "photo":
            return replace(said, photos=(answer,), typed=typed)
        one = understand(f"{name} {answer}", desk)
        if name == "hardness" and not one.measures:
            one = understand([f"hardness={answer}", ""], desk)
        if one.place is not None or one.measures:
            if one.doubts:
                tell("; ".join(one.doubts))
            place = one.place or said.place
            return replace(said, place=place, measures=(*said.measures, *one.measures), typed=typed)
        tell("; ".join(one.doubts) or f'"{answer}" cannot be read here; write a number and its unit, or press Enter.')
