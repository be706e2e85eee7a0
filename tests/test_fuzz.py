"""Two thousand cases of everything a hand can write or a disk can spoil; a hundred thousand are in benchmarks/fuzz.py.

Every call ends with code 0, 1 or 2 within ten seconds and a gigabyte, without a traceback, leaves the files it was given
as they were, and says where and what to do when it refuses.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from tests.fuzz.cases import KINDS, STEADY, Case
from tests.fuzz.judge import Ended, fault, run

IN_SUITE = 2000


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_that_is_written_brings_it_down(kind: str) -> None:
    @settings(
        max_examples=IN_SUITE * KINDS[kind][1] // 100,
        derandomize=True,  # a gate shows the same cases every time; the script looks for new ones
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate],
    )
    @given(KINDS[kind][0]())
    def each(case: Case) -> None:
        ended, wrong = run(case)
        assert not wrong, f"{wrong}: billet {case.words}\n{ended.trace or ended.said}\n{case.files}"

    each()


def test_a_hundred_of_a_hundred_cases_are_given_out() -> None:
    assert sum(share for _, share in KINDS.values()) == 100


SAID = 'billet: knife.toml line 3: width: found 40, wanted a length with its unit, such as "40 mm"\n'
FILES = {"knife.toml": b"a"}


@pytest.mark.parametrize(
    ("ended", "left", "wrong"),
    [
        pytest.param(Ended(1, "", SAID, 0.1), FILES, "", id="as it should be"),
        pytest.param(Ended(99, "", "", 0.1, "Traceback"), FILES, "traceback", id="a traceback"),
        pytest.param(Ended(3, "", SAID, 0.1), FILES, "code 3", id="a code of its own"),
        pytest.param(Ended(1, "", SAID, 11.0), FILES, "slow", id="slow"),
        pytest.param(Ended(1, "", "billet: it did not work\n", 0.1), FILES, "no place", id="no place"),
        pytest.param(Ended(1, "", "billet: knife.toml: bad\n", 0.1), FILES, "no remedy", id="no remedy"),
        pytest.param(Ended(1, "", SAID, 0.1), {"knife.toml": b"b"}, "a file was changed", id="a file changed"),
        pytest.param(Ended(1, "", SAID, 0.1), {}, "a file was changed", id="a file gone"),
        pytest.param(Ended(1, "", SAID, 0.1), {**FILES, "x.png": b""}, "a file was left", id="a file left"),
        pytest.param(Ended(1, "", "", 0.1), FILES, "refused in silence", id="in silence"),
    ],
)
def test_the_judge_sees_what_is_wrong(ended: Ended, left: dict[str, bytes], wrong: str) -> None:
    """The check can fail: each fault it looks for, told by hand."""
    assert fault(Case("any", ("check", "knife.toml"), FILES), ended, left) == wrong


TORN = b"II*\x00\x08\x00\x00\x00\n\x00\x00\x01\x04\x00\x01\x00\x00\x00\x01\x00\x00\x00\x06\x01\x03\x00\x01\x00\x00\x16"
HEAD = b"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n0\n4\n0\nENDSEC\n0\nEOF\n"
DRAWN = STEADY.replace("[blade]", '[blade]\npoints = "blade.dxf"').encode()
REGRESSIONS = {
    "a DXF whose head is damaged": (
        ("check", "knife.toml"),
        {"knife.toml": DRAWN, "blade.dxf": HEAD},
        "is not a DXF drawing that can be read",
    ),
    "a steel as long as a book": (
        ("check", "knife.toml"),
        {"knife.toml": STEADY.replace("15N20", "x" * 3000).encode()},
        "I do not know the steel",
    ),
    "a draw to less than an atom": (
        ("check", "knife.toml"),
        {"knife.toml": STEADY.replace("5 mm", "1e-320 cm").encode()},
        "more than nothing",
    ),
    "a column as long as a book": (
        ("grind", "knife.toml", "s.csv"),
        {"s.csv": b"position," + b"a" * 3000 + b"\n"},
        "known are position",
    ),
    "nobody answers the questions": (("record", "add", "knife.toml"), {}, "broken off and nothing was written"),
    "a station as long as a book": (("grind", "knife.toml", "--at", "a" * 3000), {}, "found 3,000 letters"),
    "a stage as long as a book": (("next", "knife.toml", "a" * 3000), {}, "There is no stage"),
    "a torn TIFF for a picture": (
        ("where", "knife.toml", "--picture", "p.tiff", "--pixel", "8, 9"),
        {"p.tiff": TORN},
        "this is no picture that can be read",
    ),
}


@pytest.mark.parametrize("name", REGRESSIONS)
def test_what_was_found_is_one_sentence_now(name: str) -> None:
    words, files, expected = REGRESSIONS[name]
    ended, wrong = run(Case(name, words, {"knife.toml": STEADY.encode(), **files}))
    assert (ended.code, wrong) == (1, "")
    assert expected in ended.said
    assert len(ended.said) < 1200


def test_a_thick_bar_of_few_plates_is_drawn_within_its_memory() -> None:
    """The table of a bar that was never restacked: a sheet took 1.3 GB, and takes half of that."""
    bar = 'stack = ["L6 2 mm", "nickel 1.8 mm", "52100 4 mm", "80CrV2 3.6 mm"]'
    text = STEADY.replace('stack = ["1084 3 mm", "15N20 2 mm"]\nrepeat = 4', bar)
    blade = (
        '[blade]\nlength = "148 mm"\nheel_height = "27 mm"\nbevel = "convex"\nshape = "santoku"\n'
        'spine = { heel = "1.9 mm", middle = "1.5 mm", tip = "0.8 mm" }\n'
    )
    text = text[: text.index('[[bar.step]]\ndo = "draw"')] + blade
    ended, wrong = run(Case("sheet", ("sheet", "knife.toml", "--html"), {"knife.toml": text.encode()}))
    assert (ended.code, wrong) == (0, "")
