"""Text that came from outside, made fit to be shown: what steers a terminal is shown as a sign and never obeyed."""

import re

# C0 but tab and line feed, DEL, C1 (ECMA-48 sections 5.2 and 5.3), and the marks that turn the direction of writing
# (Unicode Standard Annex 9, section 2); separators that end a line.
_STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")

_QUOTED = re.compile(r'"([^"\n]*)"')
_RUN = re.compile(r"\S+")
_LONGEST, _KEPT = 300, 100  # letters of a quotation or a word that is shown whole, and of one that is not


def visible(text: str) -> str:
    """The text with every steering character shown as a sign: ESC as ``␛``, others as ``<9b>``; lines and tabs stay."""
    return _STEERING.sub(_sign, text.replace("\r\n", "\n"))


def complaint(text: str) -> str:
    """The same of what is told of a mistake: what was typed is quoted to be known again, not in full."""

    def short(found: re.Match[str]) -> str:
        return found[0] if len(found[1]) <= _LONGEST else f'"{found[1][:_KEPT]} ..."'

    def cut(found: re.Match[str]) -> str:
        return found[0] if len(found[0]) <= _LONGEST else f"{found[0][:_KEPT]} ..."

    return _RUN.sub(cut, _QUOTED.sub(short, visible(text)))


def _sign(found: re.Match[str]) -> str:
    code = ord(found[0])
    if code < 0x20:
        return chr(0x2400 + code)  # Unicode block "Control Pictures"
    return "␡" if code == 0x7F else f"<{code:x}>"


def one_line(text: str) -> str:
    """The same on one line."""
    return " ".join(visible(text).split())
