"""Rules one at a time: holder, shank, vise, cutters, compensation tables, block delete, strange text."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import samples
from jawright.verify.reader import read
from verify import program
from verify.program import Text, footer, good, header, tool
from verify.test_check import run


def faults(v) -> list[str]:
    return [f.what for f in v.findings if f.level in ("refused", "fault")]


def shop(**changes):
    """The sample shop with the 10 mm end mill changed."""
    s = samples.shop()
    return replace(s, cutters=tuple(replace(c, **changes) if c.id == "EM10" else c for c in s.cutters))


def test_short_flutes_rub():
    assert any(w.startswith("shank") for w in faults(run(good(), shop=shop(flute_length=4.0))))
    assert faults(run(good(), shop=shop(flute_length=15.5))) == []


def test_short_reach_brings_the_holder_down():
    assert any(w.startswith("holder") for w in faults(run(good(), shop=shop(reach=5.0, flute_length=5.0))))


def test_cutter_that_cannot_plunge():
    v = run(good(), shop=shop(center_cutting=False))
    assert any(w.startswith("plunge: EM10") for w in faults(v))  # the relief is plunged


def test_a_corner_radius_is_seen():
    v = run(good(), shop=shop(corner_radius=0.5))
    assert v.verified is False or v.rest == 0.0
    jaws = replace(program.jaws(), wells=())
    v = run(good(), shop=shop(corner_radius=0.5), jaws=jaws)
    # the design itself names this cutter, so its fillet on the pocket's floor belongs to the design
    assert not any("floor" in w and w.startswith("rest") for w in faults(v))
    other = replace(program.jaws(), cutter="EM8")
    v = run(good(), shop=shop(corner_radius=0.5), jaws=other)
    fillet = [w for w in faults(v) if w.startswith("rest")]
    assert fillet
    assert v.rest == pytest.approx(0.5 * (2**0.5 - 1), abs=0.02)  # nearest air to the sharp corner


def test_no_vise_named():
    v = run(good(), vise=None, shop=replace(samples.shop(), vises=()))
    assert v.vise_gap is None
    assert any("no vise was named" in f.what for f in v.findings)
    assert run(good(), vise=None).vise_gap is not None  # the shop has only one


def test_tall_vise():
    v = run(good(), vise=replace(samples.vise(), body_height=49.9))
    assert not any(w.startswith("vise") for w in faults(v))
    face = Text()
    header(face)
    tool(face, 2, 8000, 0, 24)
    face.add(f"G1 {face.z(49.0)} F500")
    footer(face)
    v = run(face.text(), vise=replace(samples.vise(), body_height=49.9))
    assert any(w.startswith("vise") for w in faults(v))


def test_compensation_by_a_wear_table():
    """A table of wear offsets leaves a plain path alone; a wrong entry moves the wall by half of itself."""
    assert run(good(), diameters=dict.fromkeys(range(1, 9), 0.0)).verified
    wrong = run(good(comp=True), diameters={2: 10.04})
    assert wrong.wall_error == pytest.approx(0.02, abs=1e-3)
    assert not wrong.verified


def test_block_delete_must_hold_both_ways():
    text = good().splitlines()
    k = next(n for n, line in enumerate(text) if "G85" in line)
    v = run("\n".join([*text[:k], "/" + text[k], *text[k + 1 :]]))
    assert not v.verified
    assert any("block delete" in f.what for f in v.findings)
    harmless = run("\n".join(["/(NOTE)", *text]))
    assert harmless.verified


def test_missing_relief_is_named():
    v = run("\n".join(line for line in good().splitlines() if "X-73.0" not in line))
    assert not v.verified


def test_same_text_same_answer():
    assert run(good()) == run(good())


def test_points_without_a_decimal_are_cautioned():
    v = run(good().replace("X-62.0000 Y-21.0000 F1200", "X-62 Y-21 F1200"))
    assert any("no decimal point" in f.what for f in v.findings if f.level == "caution")
    assert v.verified


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.text(alphabet="GXYZIJKRFSTMHDNPQL0123456789.-+[]#=()/%* \n", max_size=120))
def test_any_text_is_read_or_refused(text):
    read(text)


def test_random_cuts_of_a_good_program_never_crash_and_never_pass_falsely():
    """Lines lost at random: whatever is verified leaves the metal of the design."""
    rng = random.Random(11)
    lines = good(spring=False).splitlines()
    for _ in range(4):
        lost = rng.randrange(10, len(lines) - 5)
        v = run("\n".join(lines[:lost] + lines[lost + 1 :]))
        if v.verified:
            assert v.gouge < 0.02
            assert v.rest < 0.05
            assert v.wall_error < 0.005
            assert v.floor_error < 0.005
