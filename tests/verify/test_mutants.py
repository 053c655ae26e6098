"""Programs spoiled at random are caught, or a second judge finds the same metal left safely."""

from __future__ import annotations

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


def test_there_are_kinds_enough():
    assert len(KINDS) >= 20


@pytest.mark.parametrize(
    "kind", [k if k in USUAL else pytest.param(k, marks=pytest.mark.long) for k in KINDS]
)
def test_spoiled_programs_are_caught_or_harmless(kind: str) -> None:
    done = [o for b in (BASE, COMPENSATED) for seed in (1, 2) if (o := outcome(b, kind, seed))]
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


def faults(v: Verification, first: str) -> list[str]:
    return [f.what for f in v.findings if f.level == "fault" and f.what.startswith(first)]


def test_text_and_edge_break_that_are_other_than_asked():
    text = good(spring=False)
    assert faults(run(text), "text") == faults(run(text), "edge break") == []
    assert faults(run(text.replace("X-113.6667 Y3.0000", "X-113.3667 Y3.0000")), "text")
    lines = text.splitlines()
    k = next(i for i, line in enumerate(lines) if line.startswith("G3 X-69.0000 Y-10.0000"))
    assert faults(run("\n".join([*lines[:k], *lines[k + 1 :], ""])), "edge break")  # the relief's circle


def test_text_and_edge_break_left_to_the_hand_are_noted():
    text = good(spring=False)
    v = run(text[: text.index("T5 M6\nS6000")] + "M5\nM9\nM30\n")
    assert v.verified
    said = [f.what for f in v.findings if f.level == "noted"]
    assert any(w.startswith("edge break: not cut") for w in said)
    assert sum(w.startswith("text: none") for w in said) == 2
