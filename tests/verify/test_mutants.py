"""Programs spoiled at random are caught, or a second judge finds the same metal left safely."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

import samples
from jawright.verify.model import Verification
from verify.mutants import KINDS, Base, judged, outcome
from verify.program import ORIGIN, good, jaws
from verify.test_check import run

USUAL = ("sign of Z", "G0 for G1", "G91 left on", "digits swapped", "line lost", "compensation put in")


def base(**how: bool) -> Base:
    return Base("by hand", good(**how), ORIGIN, False, jaws(), samples.shop(), samples.vise())


BASE = base(spring=False)
COMPENSATED = base(comp=True)
STOPPED = replace(
    BASE, text=BASE.text.replace("M6", "M6\nM0 (ARE THE SPACERS CLAMPED)", 1), frames={}, known={}
)
"""As a writer's program, with a stop before the first cut."""


def test_there_are_kinds_enough():
    assert len(KINDS) >= 20


@pytest.mark.parametrize(
    "kind", [k if k in USUAL else pytest.param(k, marks=pytest.mark.long) for k in KINDS]
)
def test_spoiled_programs_are_caught_or_harmless(kind: str) -> None:
    done = [o for b in (BASE, COMPENSATED, STOPPED) for seed in (1, 2) if (o := outcome(b, kind, seed))]
    assert done
    assert [(o.base, o.why) for o in done if not o.caught and o.why] == []


def test_the_second_judge_can_tell():
    """The good program passes it; a wall 0.1 off, a rapid in metal and a stopped spindle do not."""
    assert judged(BASE, BASE.text) == []
    wall = BASE.text.replace("G1 X-69.5000 Y-29.0000 F800.0000", "G1 X-69.5000 Y-29.4000 F800.0000")
    assert wall != BASE.text
    assert any("less metal" in w for w in judged(BASE, wall))
    rapid = BASE.text.replace("G1 X-33.0000 Z-6.5000", "G0 X-33.0000 Z-6.5000")
    assert rapid != BASE.text
    assert any("rapid through metal" in w for w in judged(BASE, rapid))
    assert any("spindle" in w for w in judged(BASE, BASE.text.replace(" M3\n", " M4\n", 1)))


def test_the_second_judge_has_the_limits_of_the_check() -> None:
    """Metal left on a wall that bears is refused at 0.05 mm; in a well at 0.1 mm, and allowed at 0.03."""
    seat = BASE.text.replace("G1 X-69.5000 Y-29.0000 F800.0000", "G1 X-69.5000 Y-28.9500 F800.0000")
    assert seat != BASE.text
    assert not BASE.check(seat).verified and judged(BASE, seat)

    def well(radius: float) -> str:
        start = f"X{-32.0 + radius:.4f} Y-22.0000"
        text = BASE.text.replace("X-30.0000 Y-22.0000", start)
        return text.replace("I-2.0000 J0.0000", f"I{-radius:.4f} J0.0000")

    assert BASE.check(well(1.97)).verified and judged(BASE, well(1.97)) == []
    assert not BASE.check(well(1.9)).verified
    assert any("more metal" in w for w in judged(BASE, well(1.9)))


def test_the_drill_may_end_where_it_will_but_not_the_bore() -> None:
    drill = BASE.text.replace("Y0.0000 Z-14.7500", "Y0.0000 Z-14.6500")
    assert drill != BASE.text
    assert judged(BASE, drill) == []
    bore = re.sub(r"(G85 .*?Z)-[0-9.]+", r"\g<1>-11.0000", BASE.text)
    assert bore != BASE.text
    short = re.sub(r"(G83 .*?Z)-[0-9.]+", r"\g<1>-11.0000", bore)  # else the drill has made the room already
    assert any("more metal" in w for w in judged(BASE, short))


def faults(v: Verification, first: str) -> list[str]:
    return [f.what for f in v.findings if f.level == "fault" and f.what.startswith(first)]


def test_text_and_edge_break_that_are_other_than_asked():
    text = good(spring=False)
    assert faults(run(text), "text") == faults(run(text), "edge break") == []
    assert faults(run(text.replace("X-113.6667 Y3.0000", "X-113.3667 Y3.0000")), "text")
    lines = text.splitlines()
    k = next(i for i, line in enumerate(lines) if line.startswith("G3 X-69.0000 Y-10.0000"))
    assert faults(run("\n".join([*lines[:k], *lines[k + 1 :], ""])), "edge break")  # the relief's circle


BY_HAND = '(BREAK THE UPPER EDGE BY HAND)\n(STAMP BY)\n(HAND "V" AND "V")\n'


def left_out(remarks: str) -> Verification:
    text = good(spring=False)
    return run(text[: text.index("T5 M6\nS6000")] + remarks + "M5\nM9\nM30\n")


def test_text_and_edge_break_left_to_the_hand_are_noted():
    v = left_out(BY_HAND)
    assert v.verified
    said = [f.what for f in v.findings if f.level == "noted"]
    assert any(w.startswith("edge break: not cut") for w in said)
    assert sum(w.startswith("text: none") for w in said) == 2


def test_text_and_edge_break_left_out_without_a_word_are_faults():
    v = left_out("")
    assert not v.verified
    assert len(faults(v, "edge break")) == 1
    assert len(faults(v, "text")) == 2
    v = left_out(BY_HAND.replace('"V"', '"W"'))
    assert (len(faults(v, "edge break")), len(faults(v, "text"))) == (0, 2)


def test_a_shop_without_the_cutters_is_not_asked():
    shop = samples.shop()
    plain = replace(shop, cutters=tuple(c for c in shop.cutters if c.kind not in ("engraver", "spot drill")))
    text = good(spring=False)
    cut = (
        text[: text.index("T5 M6\nS3000")] + text[text.index("G53 G0 Z0\nT6 M6") : text.index("T5 M6\nS6000")]
    )
    v = run(cut + "M5\nM9\nM30\n", shop=plain)
    assert faults(v, "text") == faults(v, "edge break") == []


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("Y3.0000 F300", "Y3.0400 F300", "not the text asked"),  # one corner of a letter 0.04 off
        ("Z-0.2000", "Z-0.2300", "on the other"),  # one jaw's deeper
        ("all", "Z-0.3500", "mm deep"),  # all too deep
        ("mirror", "", "not the text asked"),
    ],
)
def test_engraved_text_is_compared(old: str, new: str, says: str):
    text = good(spring=False)
    k = text.index("T8 M6")
    head, marks = text[:k], text[k:]
    if old == "all":
        marks = marks.replace("Z-0.2000", new)
    elif old == "mirror":  # the V on the fixed jaw upside down
        marks = marks.replace("Y7.0000", "Y#").replace("Y3.0000", "Y7.0000").replace("Y#", "Y3.0000")
    else:
        marks = marks.replace(old, new, 1)
    assert head + marks != text
    found = faults(run(head + marks), "text")
    assert len(found) == (2 if old == "all" else 1), found
    assert all(says in w for w in found)
