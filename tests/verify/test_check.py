"""A hand-written program for the sample pair is verified; so is the same one turned, and in inches."""

import re
from dataclasses import replace

import pytest

import samples
from jawright.shop.model import Parallel
from jawright.verify.check import check
from jawright.verify.model import Verification
from verify.program import ORIGIN, good, jaws


def run(text: str, **how) -> Verification:
    how = {
        "origin": ORIGIN,
        "turned": False,
        "jaws": jaws(),
        "shop": samples.shop(),
        "vise": samples.vise(),
    } | how
    return check(text, **how)


@pytest.mark.parametrize(
    "how",
    [{}, {"turned": True}, {"inch": True}, {"origin": (0.0, 0.0, 50.0)}, {"spring": False}, {"comp": True}],
)
def test_good_program_is_verified(how):
    placed = {k: how[k] for k in ("turned", "origin") if k in how}
    v = run(good(**how), **placed)
    assert [f for f in v.findings if f.level in ("refused", "fault", "caution")] == []
    assert v.verified
    # inch text has 5 decimals: 0.00013 mm; chords add 0.0002
    assert v.wall_error < 0.0005
    assert v.floor_error < 0.0003
    assert v.gouge < 0.0005
    assert v.rest < 0.0005
    assert v.spacer_gap == pytest.approx(3.0, abs=2e-4)  # well bottom 35 above spacer top 32
    assert v.vise_gap is not None and v.vise_gap > 0
    assert v.minutes > 1


def test_wrong_frame_is_not_verified():
    assert not run(good(), turned=True).verified
    assert not run(good(), origin=(45.0, 14.0, 49.0)).verified


def test_empty_text_is_not_verified():
    assert not run("").verified
    assert not run("%\nM30\n%\n").verified


@pytest.mark.parametrize("how", [{}, {"turned": True}, {"origin": (0.0, 0.0, 50.0)}])
def test_a_place_is_told_in_program_axes(how):
    """Whoever reads a finding looks at the program and at the control, not at the vise's middle."""
    text = good(**how)
    line = next(
        n for n in text.splitlines() if re.fullmatch(r"G3 X\S+ Y\S+ I-?2.0000( J-?0.0000)?( F\S+)?", n)
    )  # in the well
    x, y = (float(n[1:]) for n in line.split()[1:3])
    deep = f"{line}\nG1 Z-20.0000"
    v = run(text.replace(line, deep, 1), **{k: how[k] for k in ("turned", "origin") if k in how})
    assert not v.verified and v.gouge_at is not None
    assert v.gouge_at[0] == pytest.approx(x, abs=8.0) and v.gouge_at[1] == pytest.approx(y, abs=8.0)
    assert -20.0 <= v.gouge_at[2] < -6.5
    told = next(f.what for f in v.findings if f.what.startswith("gouge"))
    got = [float(n) for n in re.search(r"X (\S+) mm, Y (\S+) mm, Z (\S+) mm of the program", told).groups()]
    assert got[:2] == [pytest.approx(x, abs=8.0), pytest.approx(y, abs=8.0)] and -20.0 <= got[2] < -6.5


@pytest.mark.parametrize(("risers", "top", "met"), [(1, 34.0, False), (1, 36.0, True), (2, 36.0, False)])
def test_a_riser_that_reaches_from_spacer_to_spacer_is_in_the_cutter_s_way(risers, top, met):
    """The well is cut down to 35 mm; spacers at the jaws' ends stand on one long bar, or on one each."""
    own = jaws()
    x0, _, x1, _ = own.pocket.outer.box
    bar = Parallel("R", top, 3.0, 150.0, 2)
    beside = ((own.fixed.x0, x0 - 4.0), (x1 + 4.0, own.fixed.x1))
    stack = replace(own.stack, risers=(bar,) * risers, x_runs=beside, low=top, high=top + 8.0)
    v = run(good(), jaws=replace(own, stack=stack))
    assert any("riser" in f.what for f in v.findings) == met
