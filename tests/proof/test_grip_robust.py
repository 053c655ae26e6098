"""Whatever a hold looks like, the grip and hold proofs answer with a verdict, finite numbers and a basis."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import samples
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold, MadeFeature
from jawright.job.model import HoldAsk
from jawright.proof import bruise, clears, grips, holds, spring
from jawright.proof.model import Proof
from jawright.proof.window import window
from jawright.shop.model import Cutter
from proof.sample_job import job

KINDS = ("face", "drill", "bore", "ream", "profile", "pocket", "slot", "chamfer")
CUTTERS = (*samples.cutters(), Cutter("R6", 9, "reamer", 6.0, 0.0, 6, 25.0, 60.0, 25.0, 0.0, 0.0, False))


def random_feature(rng: np.random.Generator, k: int) -> MadeFeature:
    kind = KINDS[k % len(KINDS)]
    hole = kind in ("drill", "bore", "ream")
    x, y = (float(v) for v in rng.uniform((-40, -30), (40, 15)))
    bottom = float(rng.choice([43.5, 48.0, 55.5, 40.0]))
    count = 1 if hole else int(rng.integers(1, 9))
    path = tuple((x + float(dx), y + float(dy), bottom) for dx, dy in rng.uniform(-20, 20, (count, 2)))
    if hole:
        path = ((x, y, 55.5), (x, y, bottom))
    region = (
        Region(rectangle(x - 5, y - 4, x + 6, y + 3)) if kind == "pocket" and rng.random() < 0.5 else None
    )
    return MadeFeature(
        name=f"{kind} {k}",
        kind=kind,  # type: ignore[arg-type]
        center=(x, y, 55.5),
        axis=(0.0, 0.0, 1.0),
        diameter=float(rng.uniform(1, 25)) if hole and rng.random() < 0.9 else None,
        bottom=bottom,
        through=bool(rng.random() < 0.6),
        faces=(),
        cutter=CUTTERS[int(rng.integers(len(CUTTERS)))],
        spindle=3000.0,
        feed_per_tooth=float(rng.choice([0.0, 0.02, 0.2])),
        radial=float(rng.choice([0.0, 0.2, 5.0, 100.0])),
        axial=float(rng.choice([0.0, 0.5, 12.0])),
        path=path,
        region=region,
        assumed=(),
    )


def random_hold(rng: np.random.Generator) -> Hold:
    h = samples.hold()
    features = tuple(random_feature(rng, int(k)) for k in rng.integers(0, 1000, int(rng.integers(1, 5))))
    contacts = []
    for c in h.contacts:
        if rng.random() < 0.1:
            continue
        a = float(rng.normal()) * 0.3
        n = (
            c.normal
            if c.on == "floor"
            else (
                c.normal[0] * math.cos(a) - c.normal[1] * math.sin(a),
                c.normal[0] * math.sin(a) + c.normal[1] * math.cos(a),
                0.0,
            )
        )
        contacts.append(replace(c, normal=n, share=float(rng.choice([0.0, 0.5, 20.0, 80.0]))))
    return replace(
        h,
        contacts=tuple(contacts),
        features=features,
        grip_depth=float(rng.choice([0.5, 3.0, 6.5, 20.0])),
        tolerances=h.tolerances if rng.random() < 0.5 else (),
        parallels=samples.parallels()[:1],
        kind="hard jaws" if rng.random() < 0.3 else "soft jaws",
    )


def check(p: Proof) -> None:
    assert p.verdict in ("pass", "caution", "fail", "unknown")
    assert p.sentence and p.model and p.source
    numbers = [p.value, p.limit, p.margin, p.low, p.set, p.high, *(v for _, v, _ in p.detail)]
    assert all(v is None or math.isfinite(v) for v in numbers), p
    if p.verdict == "unknown":
        assert p.value is None and p.supply
        return
    assert p.value is not None and p.limit is not None and p.margin is not None
    assert p.low is not None and p.set is not None and p.high is not None
    if p.name != "torque window":
        assert p.low <= p.set <= p.high, p
    assert p.assumptions
    assert "nan" not in p.sentence and "inf " not in p.sentence


@pytest.mark.parametrize("seed", range(24))
def test_any_hold_is_answered(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(2):
        h = random_hold(rng)
        jaws = None if h.kind == "hard jaws" else samples.jaws()
        ask = replace(
            job(),
            material=str(rng.choice(["6061-T6", "304 annealed", "acetal copolymer", "gray iron class 30"])),
            hold=HoldAsk(torque=float(rng.choice([0.5, 30.0, 80.0])) if rng.random() < 0.5 else None),
            marks_allowed=bool(rng.random() < 0.5),
            units="inch" if rng.random() < 0.3 else "mm",
        )
        shop = samples.shop()
        for room in (grips, bruise, spring, holds, clears):
            got = room.prove(h, jaws, None, ask, shop)  # type: ignore[arg-type]
            assert got
            for p in got:
                check(p)
        win = window(h, jaws, None, ask, shop)  # type: ignore[arg-type]
        assert win is None or (win[0] <= win[2] and all(math.isfinite(v) for v in win))
        quick = holds.quick_margin(h, jaws, ask, shop)
        assert quick is None or 0 <= quick <= 99.0
