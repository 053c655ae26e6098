# ruff: noqa: E501  (one slip a line reads as a table)
"""Seeded faults: each slip a person or a post-processor makes is caught, at its line, as what it is."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from verify.program import good
from verify.test_check import run

Edit = Callable[[str], "str | list[str]"]


@dataclass(frozen=True)
class Slip:
    """The ``nth`` line that has ``find`` in it is edited; ``says`` must be found at one of ``lines`` after it."""

    name: str
    find: str
    edit: Edit
    says: str
    nth: int = 1
    lines: tuple[int, ...] | None = (0,)  # offsets from the edited line; None: any line of the program
    comp: bool = False


def put(old: str, new: str) -> Edit:
    def edit(line: str) -> str:
        assert old in line, (old, line)
        return line.replace(old, new)

    return edit


def drop(line: str) -> list[str]:
    return []


def twice(line: str) -> list[str]:
    return [line, line]


def before(*new: str) -> Edit:
    return lambda line: [*new, line]


ARC = "G3 X-25.0000 Y-28.5000"  # lower right corner of the finishing pass
RIGHT = (
    "G1 X-69.5000 Y-29.0000 F800.0000"  # the finishing pass begins; the next line runs along the lower wall
)
WELL = "G3 X-30.0000 Y-22.0000 I-2.0000"  # the flat circle at the bottom of the well
FINISH = "G1 X-33.0000 Z-6.5000"  # the ramp down to the floor
RELIEF = "G1 Z-6.5000 F200.0000"

SLIPS = [
    # signs and digits
    Slip("sign of X", RIGHT, put("X-69", "X69"), "^gouge"),
    Slip("sign of Y", "Y-33.0000 F600", put("Y-33", "Y33"), "^gouge|^vise"),
    Slip("sign of Z", RELIEF, put("Z-", "Z"), "^rest", lines=None),
    Slip("sign of I", "I-0.5000 J0.0000", put("I-0.5", "I0.5"), "apart$"),
    Slip("sign of J", ARC, put("J0.5", "J-0.5"), "apart$"),
    Slip("I and J swapped", ARC, put("I0.0000 J0.5000", "I0.5000 J0.0000"), "^gouge"),
    Slip("I left out", WELL, put(" I-2.0000 J0.0000", ""), "needs R, I or J"),
    Slip("center from the zero, not the start", ARC, put("I0.0000 J0.5000", "I-25.5000 J-28.5000"), "apart$"),
    Slip("digits swapped", RIGHT, put("29.0000", "92.0000"), "^gouge"),
    Slip("digit lost", "Y-13.5000", put("Y-13.5", "Y-3.5"), "^gouge", nth=5),
    Slip("decimal point lost in X", RIGHT, put("X-69.5000", "X-695000"), "^travel"),
    Slip("decimal point lost in Z", FINISH, put("Z-6.5000", "Z-65.0"), "^spacer"),
    Slip("decimal point lost in Z, through the bed", FINISH, put("Z-6.5000", "Z-65.0"), "^vise.*bed"),
    Slip("letter O for a zero", ARC, put("J0.5", "JO.5"), "not a function"),
    Slip("decimal comma", ARC, put("J0.5", "J0,5"), "',' does not start a word"),
    Slip("two decimal points", ARC, put("J0.5", "J0..5"), "does not start a word"),
    # arcs and planes
    Slip("G2 for G3", ARC, put("G3", "G2"), "^rest", lines=None),
    Slip("G1 for G3", ARC, put("G3", "G1"), "no use on this line"),
    Slip("negative R", ARC, put("I0.0000 J0.5000", "R-0.5000"), "^gouge"),
    Slip("R too small", ARC, put("I0.0000 J0.5000", "R0.3000"), "too far for a radius"),
    Slip("wrong plane", "G17 G40", put("G17", "G18"), "no use for an arc in G18", lines=None),
    Slip("full circle off center", WELL, put("I-2.0000", "I-2.1000"), "^gouge"),
    # modes and units
    Slip("G20 for G21", "G21", put("G21", "G20"), "^travel", lines=None),
    Slip("units not said", "G21", drop, "neither G20 nor G21", lines=None),
    Slip("G90 lost", "G17 G40", put("G90 ", ""), "neither G90 nor G91", lines=None),
    Slip("G91 for G90", "G17 G40", put("G90", "G91"), "G91 X while the place", lines=None),
    Slip("G91 left on", RIGHT, before("G91"), "^gouge|^travel|^vise", lines=(1, 2, 3, 4)),
    Slip("two codes of one group", "G17 G40", put("G90", "G90 G91"), "one modal group"),
    Slip("G92 slipped in", RIGHT, before("G92 X0"), "^gouge|^vise", lines=(1, 2)),
    # offsets
    Slip("wrong work offset", "G17 G40", put("G54", "G55"), "^offset: work offset G55", lines=None),
    Slip("work offset not said", "G17 G40", put(" G54", ""), "no work offset", lines=None),
    Slip("work offset changed on the way", RIGHT, before("G57"), "^offset: work offset G57", lines=(1,)),
    Slip("G43 left out", "G43 H2", put("G43 ", ""), "H word with no G43"),
    Slip("length offset line dropped", "G43 H2", drop, "no tool length offset", lines=(1,)),
    Slip("wrong H", "G43 H2", put("H2", "H3"), "^length offset H3 with tool T2"),
    Slip("G49 on the way", RIGHT, before("G49"), "^height", lines=(1,)),
    # cutters and spindle
    Slip("smaller cutter", "T2 M6", put("T2", "T3"), "^length offset H2 with tool T3", lines=(3,)),
    Slip("cutter not in the shop", "T2 M6", put("T2", "T9"), "^tool: the shop has no cutter number T9"),
    Slip("M6 left out", "T2 M6", put(" M6", ""), "^tool: feed motion with no tool", lines=None),
    Slip("T left out", "T2 M6", put("T2 ", ""), "M6 before any T"),
    Slip("M3 left out", "S8000 M3", put(" M3", ""), "spindle stopped", lines=(5,)),
    Slip("spindle the wrong way", "S8000 M3", put("M3", "M4"), "^spindle: EM10 cuts turning the wrong way", lines=None),
    Slip("speed left out", "S8000 M3", put("S8000 ", ""), "M3 with no spindle speed"),
    Slip("speed ten times", "S8000 M3", put("S8000", "S80000"), "^speed: S80000", lines=None),
    Slip("speed a tenth", "S8000 M3", put("S8000", "S800"), "^feed: .* per tooth", lines=None),
    Slip("feed ten times", RIGHT, put("F800", "F8000"), "^feed: 0.333 mm per tooth"),
    Slip("feed over the machine", RIGHT, put("F800", "F80000"), "^feed: 80000 mm/min is over"),
    Slip("no feed", "F1200.0000", put(" F1200.0000", ""), "no feed set"),
    Slip("drill fed ten times", "G83", put("F350", "F3500"), "^feed: 1.000 mm per turn"),
    # depth
    Slip("floor 10 too deep", FINISH, put("Z-6.5", "Z-16.5"), "^gouge", lines=(0, 1)),
    Slip("floor 0.03 too deep", FINISH, put("Z-6.5000", "Z-6.5300"), "^floor: 0.0300 mm too low", lines=None),
    Slip("floor 0.008 too deep", FINISH, put("Z-6.5000", "Z-6.5080"), "^floor: 0.0080 mm too low", lines=None),
    Slip("floor 0.01 too high", FINISH, put("Z-6.5000", "Z-6.4900"), "^floor: 0.0100 mm too high", lines=None),
    Slip("into the spacer", FINISH, put("Z-6.5", "Z-18.5"), "^spacer"),
    Slip("well into the spacer", WELL, put("Y-22.0000", "Y-22.0000 Z-18.5"), "^spacer"),
    Slip("drill through the bolt", "G83", put("Z-14.75", "Z-40.75"), "^bolt"),
    Slip("drill too deep", "G83", put("Z-14.75", "Z-16.75"), "^gouge"),
    Slip("engraved too deep", "G1 Z-0.2000", put("Z-0.2", "Z-0.9"), "^gouge", lines=(0, 1)),
    Slip("engraved outside its place", "G1 X-113.6667 Y3", put("X-113", "X-13"), "^gouge"),
    Slip("edge break too deep", "G1 Z-1.3000", put("Z-1.3", "Z-2.3"), "^gouge", lines=None),
    # rapids and heights
    Slip("G0 for G1", RIGHT, put("G1", "G0"), "^rapid"),
    Slip("rapid low", "G0 X-73.0000", before("G0 Z-3.0"), "^rapid", lines=(1,)),
    Slip("retract dropped", "G0 Z2.0000", drop, "^rapid", nth=2, lines=(0,)),
    Slip("rapid down into the floor", "G0 Z-5.5000", put("Z-5.5", "Z-7.5"), "^rapid"),
    Slip("R plane in the metal", "G81", put("R2.0000", "R-1.5"), "^rapid"),
    Slip("tool change down in the pocket", "G0 Z2.0000", lambda _: ["G0 Z-6.0", "T5 M6"], "^tool: tool change while", nth=2, lines=(1,)),
    Slip("diagonal approach", "G0 X-62.0000 Y-21.0000", lambda _: ["G43 H2 G0 X-62.0 Y-21.0 Z-2.0"], "^approach"),
    # lines lost, doubled, swapped
    Slip("arc dropped", ARC, drop, "apart$", lines=(1,)),
    Slip("wall dropped", RIGHT, lambda _: ["G1 X-25.5 Y-29.0 F800"], "^rest", lines=None),
    Slip("relief dropped", RELIEF, drop, "^rest", lines=None),
    Slip("well's flat circle dropped", WELL, drop, "^rest", lines=None),
    Slip("boring dropped", "G85", drop, "^rest.*tooling hole", lines=None),
    Slip("drill dropped", "G83", drop, "^plunge: BB6", lines=(7,)),
    Slip("end dropped", "M30", drop, "does not end", lines=None),
    Slip("end too early", RIGHT, before("M30"), "^rest", lines=None),
    Slip("lines swapped", ARC, lambda line: ["G1 Y-13.5", line], "apart$", lines=(1,)),
    # places
    Slip("bore off by 0.05", "G85", put("X0.0000", "X0.0500"), "^gouge: 0.050"),
    Slip("wall 0.01 too far", RIGHT, put("Y-29.0000", "Y-29.0100"), "^gouge|^wall|apart$", lines=(0, 1, 2)),
    Slip("drill goes sideways", "G98 G83", lambda line: [line, "G80", "G1 Z-5.0", "G1 X4.0", "G0 Z10.0"], "^sideways", lines=(3,)),
    # radius compensation
    Slip("comp on the wrong side", "G41", put("G41", "G42"), "^gouge", comp=True, lines=None),
    Slip("comp left out", "G41 D2", put("G41 D2 ", ""), "^gouge", comp=True, lines=None),
    Slip("comp with another cutter's number", "G41 D2", put("D2", "D3"), "^radius offset D3", comp=True),
    Slip("comp on twice", "G41 D2", lambda line: [line, line], "is on already", comp=True, lines=(1,)),
    Slip("comp lead-in too short", "G1 X-51.5000 Y-21.0000", put("Y-21.0", "Y-27.0"), "gouging", comp=True, lines=(1,)),
    Slip("comp never off", "G40 G1", put("G40 ", ""), "under cutter radius comp|concave|^gouge", comp=True, lines=None),
    Slip("comp number missing from the table", "G41 D2", put("D2", "D77"), "no cutter has the number D77", comp=True),
    # words the reader does not know
    Slip("rotation", RIGHT, before("G68 X0 Y0 R45"), "G68 is not a code"),
    Slip("subprogram", RIGHT, before("M98 P1000"), "M98 is not a code"),
    Slip("home by G28 out of the pocket", RIGHT, before("G28 Z0"), "^approach: the cutter leaves"),
    Slip("home by G28 out of the pocket, in steps", RIGHT, before("G91 G28 Z0"), "^approach: the cutter leaves"),
    Slip("home by G28 through the jaws", "G53 G0 Z0", put("G53 G0 Z0", "G28 Z-1.0"), "goes down to Z-1", nth=2),
    Slip("offsets rewritten", RIGHT, before("G10 L2 P1 X0"), "G10 is not run here"),
    Slip("rotary axis", RIGHT, put("F800", "A90 F800"), "A is a rotary axis"),
    Slip("comment not closed", "(SAMPLE", put(")", ""), "not closed"),
    Slip("parameter never set", RELIEF, put("Z-6.5000", "Z#1"), "^rest", lines=None),
]  # fmt: skip


def test_there_are_enough():
    assert len(SLIPS) >= 60
    assert len({s.name for s in SLIPS}) == len(SLIPS)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.name)
def test_slip_is_caught(slip):
    text = good(spring=False, comp=slip.comp).splitlines()
    hits = [n for n, line in enumerate(text) if slip.find in line]
    assert len(hits) >= slip.nth, "the line to edit is gone"
    k = hits[slip.nth - 1]
    new = slip.edit(text[k])
    edited = text[:k] + ([new] if isinstance(new, str) else new) + text[k + 1 :]
    v = run("\n".join(edited) + "\n")
    assert not v.verified
    bad = [f for f in v.findings if f.level in ("refused", "fault") and re.search(slip.says, f.what)]
    said = "\n".join(f"{f.level} {f.line}: {f.what}" for f in v.findings)
    assert bad, said
    where = {f.line for f in bad}
    if slip.lines is None:
        assert any(n > 0 for n in where), said
    else:
        assert where & {k + 1 + d for d in slip.lines}, f"expected near {k + 1}\n{said}"
