"""Invented extremes: every answer is a number that makes sense, or says what is missing; never nonsense."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

import samples
from jawright import handbook
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.proof import bruise, grips, holds, spring
from jawright.proof.cutload import feature_load
from jawright.proof.model import Proof
from jawright.shop.model import Cutter
from proof.sample_job import job
from proof.test_holds import block_hold

MATERIALS = ("6061-T6", "1018", "304", "Ti-6Al-4V", "PEEK", "acetal homopolymer", "gray iron class 30")


def cutter(
    kind: str, diameter: float, *, flutes: int = 3, helix: float = 30.0, runout: float = 0.01
) -> Cutter:
    return Cutter(
        "C", 1, kind, diameter, 0.0, flutes, 2.5 * diameter, 3 * diameter + 15, diameter + 22,  # type: ignore[arg-type]
        math.radians(118.0) if kind == "drill" else 0.0, math.radians(helix), True, runout=runout,
    )  # fmt: skip


CUTTERS = {
    "tiny end mill": cutter("end mill", 2.0),
    "end mill that runs out": cutter("end mill", 6.0, runout=0.1),
    "face mill": cutter("face mill", 80.0, flutes=6, helix=0.0),
    "drill": cutter("drill", 10.0, flutes=2),
    "tiny drill": cutter("drill", 0.5, flutes=2),
}


def known() -> set[str]:
    return {n for n in MATERIALS if _has(n)}


def _has(name: str) -> bool:
    try:
        handbook.material(name)
    except Exception:  # a name the handbook does not have
        return False
    return True


def sized(long: float, wide: float, tall: float, *, depth: float, wall: float, tool: Cutter) -> Hold:
    """A block in flat jaws, gripped ``depth`` deep, one cut on top of it."""
    h = block_hold(mill=tool, z=tall, g=depth)
    half, z = long / 2, 40.0 + depth / 2
    contacts = [
        Contact(f"{on}{i}", on, (x, y, z), (0.0, n, 0.0), 0.0, wall, 0, on == "fixed")  # type: ignore[arg-type]
        for on, y, n in (("fixed", 0.0, -1.0), ("floating", -wide, 1.0))
        for i, x in enumerate((-half + wall / 2, half - wall / 2))
    ]
    contacts += [
        Contact(f"floor{i}", "floor", (x, y, 40.0), (0.0, 0.0, 1.0), 0.0, wall, 0, True)
        for i, (x, y) in enumerate([(-half, -wide), (half, -wide), (half, 0.0), (-half, 0.0)])
    ]
    kind = "drill" if tool.kind == "drill" else "face" if tool.kind == "face mill" else "profile"
    size = tool.diameter if kind == "drill" else None
    f = MadeFeature(
        "top", kind, (0.0, -wide / 2, 40.0 + tall), (0.0, 0.0, 1.0), size, 40.0 + 0.2 * tall,
        kind == "drill", (), tool, 3000.0, 0.05, min(1.0, 0.2 * tall), min(tool.diameter, wide) / 2,
        tuple((x, y, 40.0 + tall) for x in (-half, half) for y in (-wide, 0.0)), None, (),
    )  # fmt: skip
    return replace(
        h, contacts=tuple(contacts), features=(f,), grip_depth=depth, jaw_top=40.0 + depth,
        part_top=40.0 + tall, gap=wide,
    )  # fmt: skip


SIZES = {
    "5 mm cube": (5.0, 5.0, 5.0, 2.5, 2.0),
    "300 mm plate": (300.0, 140.0, 8.0, 5.0, 60.0),
    "tall plate": (60.0, 6.0, 120.0, 6.0, 25.0),
    "half millimeter foil": (40.0, 40.0, 0.5, 0.3, 15.0),
    "usual": (60.0, 40.0, 12.0, 6.0, 25.0),
}


def sane(p: Proof) -> None:
    """No nonsense in any number or word."""
    numbers = [v for v in (p.value, p.limit, p.margin, p.low, p.set, p.high) if v is not None]
    numbers += [v for _, v, _ in p.detail]
    assert all(math.isfinite(v) for v in numbers), p
    assert p.sentence.endswith(".") and "nan" not in p.sentence.lower() and "inf " not in p.sentence.lower()
    if p.verdict == "unknown":
        assert p.value is None and p.supply, p
        return
    assert p.low is not None and p.set is not None and p.high is not None
    if p.name != "torque window":  # an empty window has its least above its most
        assert p.low <= p.set + 1e-9 and p.set <= p.high + 1e-9, p
    if p.name.startswith("load factor"):
        assert 0.0 <= p.low <= p.high <= holds.CAP
    if p.name == "torque window":
        assert p.low > 0 and p.high > 0 and p.set > 0


@pytest.mark.parametrize(("size", "tool"), list(itertools.product(SIZES, CUTTERS)))
def test_answers_make_sense(size: str, tool: str) -> None:
    long, wide, tall, depth, wall = SIZES[size]
    h = sized(long, wide, tall, depth=depth, wall=wall, tool=CUTTERS[tool])
    for material in ("6061-T6", "Ti-6Al-4V") if size != "usual" else sorted(known()):
        j = replace(job(), material=material)
        for room in (holds, bruise, spring):
            for p in room.prove(h, None, None, j, samples.shop()):  # type: ignore[attr-defined]
                sane(p)


def test_grip_of_odd_sizes_makes_sense() -> None:
    for size in ("5 mm cube", "half millimeter foil"):
        long, wide, tall, depth, wall = SIZES[size]
        h = sized(long, wide, tall, depth=depth, wall=wall, tool=CUTTERS["tiny end mill"])
        for p in grips.prove(h, samples.jaws(), None, job(), samples.shop()):  # type: ignore[arg-type]
            sane(p)


@pytest.mark.parametrize("tool", CUTTERS)
def test_load_grows_with_what_makes_it_grow(tool: str) -> None:
    """Harder metal, more feed, more depth, more runout: never a smaller load; low, set, high in order."""
    f = sized(60.0, 40.0, 12.0, depth=6.0, wall=25.0, tool=CUTTERS[tool]).features[0]
    size = math.hypot

    def load(g: MadeFeature, name: str = "6061-T6") -> float:
        got = feature_load(g, handbook.material(name))
        assert got is not None
        ends = [size(x.side, max(x.up, x.down)) for x in (got.low, got.set, got.high)]
        assert ends == sorted(ends) and ends[0] > 0
        return ends[1]

    base = load(f)
    assert load(f, "Ti-6Al-4V") > base
    assert load(replace(f, feed_per_tooth=2 * f.feed_per_tooth)) > base
    if f.kind != "drill":
        assert load(replace(f, axial=2 * f.axial)) > base
        assert load(replace(f, cutter=replace(f.cutter, runout=f.cutter.runout + 0.05))) > base
        helix = feature_load(
            replace(f, cutter=replace(f.cutter, helix=math.radians(45.0))), handbook.material("1018")
        )
        assert helix is not None and helix.set.up > 0 and helix.set.down == 0  # a helix pulls up
    else:
        got = feature_load(f, handbook.material("1018"))
        assert got is not None and got.set.spin > 0 and got.set.down > got.set.up > 0 and got.set.side == 0


def test_material_without_cutting_force_says_what_to_give() -> None:
    h = sized(60.0, 40.0, 12.0, depth=6.0, wall=25.0, tool=CUTTERS["drill"])
    for p in holds.prove(h, None, None, replace(job(), material="acetal homopolymer"), samples.shop()):  # type: ignore[arg-type]
        assert p.verdict == "unknown" and "specific cutting force" in p.sentence and p.supply


def test_worst_case_is_named_in_one_sentence() -> None:
    h = sized(60.0, 40.0, 12.0, depth=6.0, wall=25.0, tool=CUTTERS["face mill"])
    got = holds.prove(h, None, None, job(), samples.shop())[0]  # type: ignore[arg-type]
    assert got.sentence.count(". ") <= 1 and "top" in got.sentence
    assert any(
        w in got.sentence for w in ("slips", "tips", "spins", "pulled up", "pressed down", "No clamp force")
    )
    assert got.where in h.features[0].path
