"""Pockets of many shapes for the tests of the writer, all invented."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import samples
from jawright.geometry.boolean import difference, union
from jawright.geometry.curve import Arc, Line
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.jaws.model import Jaws, Relief, Well
from jawright.job.model import Given, HoldAsk, Incoming, Job
from jawright.shop.model import Cutter, Shop


def job(**changes: object) -> Job:
    g = Given(0.1, "test")
    base = Job(
        name="pawl",
        part_number="DW-114",
        revision="B",
        operation="op 20",
        quantity=40,
        units="mm",
        part_file=Path("pawl.step"),
        part_unit="",
        thickness=None,
        body=None,
        material="6061-T6",
        up=None,
        datums=(),
        features=(),
        features_assumed=False,
        tolerances=(),
        incoming=Incoming(g, g, g, g),
        hold=HoldAsk(),
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def one(regions: tuple[Region, ...]) -> Region:
    assert len(regions) == 1
    return regions[0]


def opened(shape: Region, r: float = 5.0) -> Region:
    """The shape with inside corners rounded as a cutter of radius ``r`` leaves them."""
    return one(opening(shape, r))


def with_reliefs(shape: Region, radius: float, past: float = 0.0) -> tuple[Region, tuple[Relief, ...]]:
    """An upright box with a relief circle through each of its four corners, or ``past`` them."""
    x0, y0, x1, y1 = shape.outer.box
    reliefs = []
    for x, sx in ((x0, 1), (x1, -1)):
        for y, sy in ((y0, 1), (y1, -1)):
            d = (radius - past) / math.sqrt(2)
            reliefs.append(Relief((x + sx * d, y + sy * d), radius, (x, y), 0.0, 1.0))
    full = union([shape], [Region(circle(r.center, r.radius)) for r in reliefs])
    return one(full), tuple(reliefs)


def slanted() -> Region:
    """The pawl's own outline, opened for the cutter."""
    return opened(Region(samples.pawl_outline()))


def polygon(*points: tuple[float, float]) -> Region:
    n = len(points)
    return Region(Profile(tuple(Line(points[i], points[(i + 1) % n]) for i in range(n))))


def sample() -> Jaws:
    """The shared pair without its relief, which lies outside its pocket and can only be plunged."""
    return replace(samples.jaws(), reliefs=())


def jaws(pocket: Region, **changes: object) -> Jaws:
    base = replace(samples.jaws(), pocket=pocket, wells=(), reliefs=())
    return replace(base, **changes)  # type: ignore[arg-type]


def mill(name: str, number: int, diameter: float, **changes: object) -> Cutter:
    base = Cutter(
        name, number, "end mill", diameter, 0.0, 3, 2.2 * diameter, 4 * diameter, 32.0, 0.0, 0.6, True
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def shop_with(*more: Cutter) -> Shop:
    s = samples.shop()
    return replace(s, cutters=(*s.cutters, *more))


def big_shop() -> Shop:
    """The test shop with a roughing cutter of 16 mm."""
    return shop_with(mill("EM16", 20, 16.0))


def cases() -> dict[str, tuple[Jaws, Shop]]:
    s = samples.shop()
    box = Region(rectangle(-30.0, -20.0, 25.0, 6.0))
    loose, loose_reliefs = with_reliefs(box, 5.5)
    tight, tight_reliefs = with_reliefs(box, 5.0)
    past, past_reliefs = with_reliefs(box, 5.25, 0.25)
    ell = opened(polygon((-30, -22), (30, -22), (30, -8), (-6, -8), (-6, 16), (-30, 16)))
    neck = one(
        union([Region(rectangle(-45.0, -20.0, -12.0, 12.0)), Region(rectangle(-13.0, -9.0, 13.0, 3.0))])
    )
    neck = opened(one(union([neck], [Region(rectangle(12.0, -20.0, 45.0, 12.0))])))
    tee = opened(
        one(union([Region(rectangle(-10.0, -16.0, 10.0, 10.0)), Region(rectangle(-30.0, 8.0, 30.0, 21.0))]))
    )
    island = one(
        difference([opened(Region(rectangle(-40.0, -24.0, 40.0, 18.0)))], [Region(circle((0, -1), 4))])
    )
    bumps = difference(
        [opened(Region(rectangle(-40.0, -20.0, 40.0, 12.0)))],
        [Region(circle((-12.0, 14.0), 6.0)), Region(circle((14.0, -24.0), 7.0))],
    )
    round_ = Region(circle((5.0, -3.0), 16.0))
    fixed_only = opened(Region(rectangle(-20.0, 2.0, 25.0, 18.0)))
    groove = Well(opened(Region(rectangle(-32.0, -21.0, -16.0, 8.0)), 4.0), 41.0, 50.0, "finger notch")
    return {
        "sample": (sample(), s),
        "sample, big cutter": (sample(), big_shop()),
        "slanted": (jaws(slanted()), s),
        "ell": (jaws(ell), s),
        "ell, big cutter": (jaws(ell), big_shop()),
        "loose reliefs": (jaws(loose, reliefs=loose_reliefs), s),
        "tight reliefs": (jaws(tight, reliefs=tight_reliefs), s),
        "tight reliefs, big cutter": (jaws(tight, reliefs=tight_reliefs), big_shop()),
        "deep reliefs": (jaws(opened(past), reliefs=past_reliefs), s),
        "narrow neck": (jaws(neck), s),
        "narrow neck, big cutter": (jaws(neck), big_shop()),
        "tee": (jaws(tee), s),
        "island": (jaws(island), s),
        "bumps": (jaws(opened(one(bumps)), tooling_hole=None), s),
        "round": (jaws(round_), s),
        "fixed jaw only": (jaws(fixed_only, tooling_hole=None), s),
        "deep": (jaws(slanted(), floor=34.0, stack=replace(samples.jaws().stack, high=30.0)), s),
        "neck, deep, steel, big cutter": (
            steel(jaws(neck, floor=33.5, stack=replace(samples.jaws().stack, high=30.0))),
            big_shop(),
        ),
        "wide gap": (wide(), s),
        "slot under a relief": gusset(),
        "wells": (
            jaws(samples.jaws().pocket, wells=(*samples.jaws().wells, groove)),
            s,
        ),
    }


def gusset() -> tuple[Jaws, Shop]:
    """A gusset on its stop: the slot for chips begins under a corner that roughing left standing."""
    data = json.loads((Path(__file__).parent / "gusset.json").read_text(encoding="utf-8"))

    def region(curves: list[list[object]]) -> Region:
        made = [
            Line(tuple(c[0]), tuple(c[1])) if len(c) == 2 else Arc(*(tuple(p) for p in c[:3]), c[3])
            for c in curves
        ]
        return Region(Profile(tuple(made)))

    base = samples.jaws()
    thick = replace(samples.blank(), thickness=40.0)
    pair = replace(
        base,
        fixed=replace(base.fixed, blank=thick, y1=40.0),
        floating=replace(base.floating, blank=thick, y0=-46.0),
        pocket=region(data["pocket"]),
        reliefs=tuple(
            Relief(tuple(c), data["relief_radius"], tuple(at), 0.0, 1.0) for c, at in data["reliefs"]
        ),
        wells=(Well(region(data["slot"]), 42.0, 43.5, "slot for chips"),),
        cutter="EM4",
        cutter_radius=2.0,
        tooling_hole=None,
        text=("", ""),
    )
    small = mill("EM4", 21, 4.0, reach=25.0, flute_length=12.0)
    return pair, shop_with(small, mill("EM6", 22, 6.0), mill("EM12", 20, 12.0))


def steel(pair: Jaws) -> Jaws:
    """The same pair in steel blanks."""
    blank = replace(pair.fixed.blank, material="1018 cold drawn")
    return replace(pair, fixed=replace(pair.fixed, blank=blank), floating=replace(pair.floating, blank=blank))


def wide() -> Jaws:
    """A pair cut 14 apart: the cutter fits into the open gap."""
    base = sample()
    floating = replace(base.floating, y0=-39.0, y1=-14.0)
    pocket = Region(samples.rounded_pocket(-30.0, -28.0, 25.0, 6.0, 5.5))
    return replace(
        base,
        gap=14.0,
        floating=floating,
        pocket=pocket,
        text_at=((-70.0, 17.0), (-70.0, -36.0)),
        stack=replace(base.stack, width=14.0),
    )


__all__ = ["Arc", "Shop", "cases", "circle", "job", "offset"]
