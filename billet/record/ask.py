"""A few questions at the bench; Enter skips one."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from billet.base.errors import InputError
from billet.record.entry import Place
from billet.record.note_words import Said, read_words
from billet.record.places import find_place

QUESTIONS = (
    ("after", "After which step (its number, or what it does)"),
    ("thickness", "Thickness"),
    ("width", "Width"),
    ("length", "Length"),
    ("mass", "Weight"),
    ("heats", "How many heats it took"),
    ("hardness", "Hardness (59 HRC, or: file skates)"),
    ("wrong", "What went wrong, in a word or two"),
    ("note", "Anything else"),
    ("photo", "Photograph (file)"),
    ("by", "Written by"),
)


def ask_all(ask: Callable[[str], str], tell: Callable[[str], None], steps: Callable[[], Sequence[Place]]) -> Said:
    """Put every question with ``ask`` until its answer can be read; ``tell`` says what is wrong with an answer."""
    said = Said()
    for name, question in QUESTIONS:
        said = _answered(said, name, question, ask, tell, steps)
    return said


def _answered(
    said: Said,
    name: str,
    question: str,
    ask: Callable[[str], str],
    tell: Callable[[str], None],
    steps: Callable[[], Sequence[Place]],
) -> Said:
    while True:
        answer = ask(question).strip()
        if not answer:
            return said
        try:
            if name == "after":
                find_place(answer, steps())
            return _with(said, read_words([f"{name} {answer}"]))
        except InputError as error:
            tell(str(error))


def _with(said: Said, one: Said) -> Said:
    fields = {name: value for name, value in vars(one).items() if value not in (None, ()) and name != "measures"}
    return replace(said, measures=(*said.measures, *one.measures), **fields)
