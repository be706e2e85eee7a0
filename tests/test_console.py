"""Consoles with a code page of their own show the nearest of what they lack: nothing breaks off, no number changes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from billet.base.console import nearest
from render.page import serve

DEMO = Path(__file__).parent.parent / "demo_billets" / "slicer.toml"


def console(encoding: str, *words: str, cwd: Path | None = None) -> tuple[int, bytes, bytes]:
    """Exit code and the bytes of both streams on a console with a code page, as Python takes it from its surroundings."""
    run = subprocess.run(
        [sys.executable, "-m", "billet.cli", *words],
        env={**os.environ, "PYTHONIOENCODING": encoding, "PYTHONPATH": str(DEMO.parents[1])},
        capture_output=True,
        cwd=cwd,
        check=False,
    )
    return run.returncode, run.stdout, run.stderr


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "cp850"])
@pytest.mark.parametrize(
    "words", [("ledger", str(DEMO), "--full"), ("harden", str(DEMO), "--full"), ("carbon", str(DEMO), "--full")]
)
def test_an_answer_is_whole_on_every_console(encoding: str, words: tuple[str, ...]) -> None:
    code, shown, told = console(encoding, *words)
    whole = console("utf-8", *words)[1].decode()
    assert (code, told) == (0, b"")
    assert "µm" in whole
    lacks = encoding == "ascii"
    assert shown.decode(encoding) == (whole.replace("µ", "u") if lacks else whole)


@pytest.mark.parametrize(
    ("letter", "plain"),
    [("°", " deg "), ("×", "x"), ("µ", "u"), ("±", "+/-"), ("″", '"'), ("−", "-"), ("½", " 1/2"), ("⅞", " 7/8"), ("²", "2"),
     ("ü", "u"), ("ß", "ss"), ("ł", "l"), ("…", "..."), ("刀", "?"), ("\u0301", "?")],
)  # fmt: skip
def test_the_nearest_letter_keeps_the_number(letter: str, plain: str) -> None:
    assert nearest(letter) == plain


def test_a_title_and_a_refusal_in_any_letters_break_nothing_off(tmp_path: Path) -> None:
    text = DEMO.read_text("utf-8")
    (tmp_path / "k.toml").write_text(text.replace("Smokehouse slicer", "Räucherei 刀 ½"), "utf-8")
    code, shown, _ = console("cp1252", "check", "k.toml", cwd=tmp_path)
    assert code == 0 and shown.decode("cp1252").startswith("Räucherei ? ½")
    code, _, told = console("ascii", "check", "Übung刀.toml", cwd=tmp_path)
    assert code == 1 and told.decode("ascii").startswith("billet: Ubung?.toml: there is no such file")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_json_sent_to_a_file_is_utf_8_on_every_console(encoding: str, tmp_path: Path) -> None:
    """RFC 8259, section 8.1: JSON passed on is UTF-8."""
    words = (
        "record",
        "add",
        str(DEMO),
        "after",
        "2",
        "note",
        "kalte Ränder × 刀",
        "--bench",
        str(tmp_path / "b.sqlite"),
    )
    assert console("utf-8", *words)[0] == 0
    code, shown, _ = console(encoding, "record", "list", "--bench", str(tmp_path / "b.sqlite"), "--json")
    assert code == 0
    assert "kalte Ränder × 刀" in json.dumps(json.loads(shown.decode("utf-8")), ensure_ascii=False)


def test_a_console_without_blocks_is_given_the_address_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    monkeypatch.setattr(serve, "shows", str.isascii)
    serve._show_code("http://192.0.2.7:8000/?pair=abc", said.append)
    assert "".join(said).isascii() and said[-1].endswith("http://192.0.2.7:8000/?pair=abc")
