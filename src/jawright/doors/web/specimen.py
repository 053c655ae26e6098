"""The specimen: each component of the pages in each state, to be looked at and photographed by the tests."""

from __future__ import annotations

from typing import Any

from jawright.doors.web.forms import Field
from jawright.doors.web.show import Card
from jawright.papers.show import Fact, Grid, Level, Line

LONG = "a word group that is too long for its place and so has to be broken somewhere in the middle, " * 2
LEVELS: tuple[Level, ...] = ("pass", "caution", "fail", "unknown")


def _line(level: Level) -> Line:
    numbers = (Fact("value", "0.011 mm"), Fact("limit", "0.010 mm"), Fact("margin", "-0.001 mm"))
    return Line(
        "name of a proof",
        level,
        "One sentence a machinist would say.",
        () if level == "unknown" else numbers,
        (Fact("further number", "3.2 kN"),),
        "the friction of 0.12",
        ("another assumption",),
        ("the material of the part",) if level == "unknown" else (),
        "model-1; source",
    )


def _field(name: str, form: str, **more: Any) -> Field:
    count = 3 if form == "three" else 1
    return Field(name, name.capitalize(), f"Help for {name}", form, tuple([""] * count), **more)


def shows() -> dict[str, Any]:
    """Every component in every state."""
    run = {"steps": ["trying stances"], "error": None, "share": 0.1}
    error = {"what": "the part is too wide", "where": "part.step", "todo": "choose a wider vise"}
    return {
        "title": "Specimen",
        "levels": LEVELS,
        "lines": [_line(level) for level in LEVELS],
        "facts": (
            Fact("Label", "value", help="What it means", note="second line"),
            *(Fact(level, "value", level=level) for level in LEVELS),
            Fact("Too long", LONG),
            Fact("Empty", "not given"),
        ),
        "grid": Grid(
            "A table",
            ("Question", "", "Value"),
            (("Does it hold?", "PASS", "1.0"), ("Does it sit?", "UNKNOWN", "–"), (LONG, "FAIL", "9.9")),
            (3.0, 1.0, 1.0),
            right=(2,),
            verdicts=1,
            note="a note below",
        ),
        "fields": (
            _field("empty", "text", stand_in="searched"),
            _field("needed", "number", required=True),
            _field("choice", "words", words=("one", "two")),
            _field("yes", "flag", stand_in="true"),
            _field("band", "three", parts=("low", "set", "high"), stand_in="1 mm / 2 mm / 3 mm", unit="mm"),
            _field("lines", "lines"),
            _field("wrong", "text", problem="This has no unit", todo="Write it like 12.5 mm"),
        ),
        "runs": (
            {"state": "waiting", **run},
            {"state": "running", **run},
            {"state": "stopped", **run},
            {"state": "failed", **run, "error": error},
        ),
        "cards": (
            Card("a", "Named job", "DW-114 revision B", "40 off", "", "planned", "pass", "PASS", "Hard jaw."),
            Card("b", LONG, "", "quantity not given", "", "not planned yet", "", "", ""),
            Card("c", "<script>alert(1)</script>", "", "1 off", "", "planned", "fail", "FAIL", LONG),
        ),
        "problem": {
            "code": "value-bad",
            "what": "What is wrong",
            "where": "where it is",
            "todo": "What to do",
            "field": "",
        },
    }
