"""What must hold for every pair the tool designs, whatever the part: tried on families of random outlines.

Nothing of the designer is used to judge: the part, the jaws and the cutter are plain geometry here.
"""

from __future__ import annotations

import math
import os
import sys
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.offset import opening
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.geometry.query import signed_distance
from jawright.hold import resolve, stance
from jawright.hold.view import view
from jawright.hold.walls import NESTS, VEE
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.jaws.model import Jaw
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.proof.facing import wall_points
from jawright.proof.loads import drop_in
from jawright.proof.room import most_air
from jawright.proof.shutting import OPEN
from jawright.shop.model import Shop
from jawright.shop.read import read_shop
from jaws.shapes import outline

DEMO = Path(__file__).parent.parent.parent / "src" / "jawright" / "data" / "demo"
MICRON = 1e-3
SEAT = 0.02
"""A corner this near a seat [mm] is part of it: the seat's chords, and pads that end in a corner's middle."""
BEHIND, WEB, ENDS, LAND = 6.5, 2.5, 6.0, 3.0
"""Least metal behind the pocket, to a bolt or counterbore, at the ends; least seat [mm]."""
APART = (0.02, 0.1, 0.4, 1.0, 3.0, 8.0, 20.0, 60.0)


@cache
def demo() -> tuple[Job, Shop]:
    job = read_job(DEMO / "pawl.toml")
    job = replace(job, datums=(), features=(), tolerances=(), up=(0.0, 0.0, 1.0), thickness=12.0)
    return job, read_shop(DEMO / "shop.toml")


def designed(number: int, least_turns: int = 3) -> list[tuple[Part, Pair]]:
    """Up to ``least_turns`` pairs for the outline of a number, of as many turns that can be designed."""
    profile = outline(number)
    if profile is None:
        return []
    job, shop = demo()
    part = make_plate(Region(profile), "mm", (), file="made.dxf", data=b"", thickness=12.0)
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    rng = np.random.default_rng(number)
    some = stance.turns(seen.outline, seen.up, ask.datums)
    chosen = [*some[:2], *(some[int(k)] for k in rng.integers(0, len(some), 4))]
    found: list[tuple[Part, Pair]] = []
    for turn in chosen:
        draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
        if isinstance(draft, soft.Lost):
            continue
        try:
            found.append((part, design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0])))
        except JawrightError as error:
            assert error.code == "hold-none", f"{number}: {error}"
        if len(found) == least_turns:
            break
    return found


def wrong(pair: Pair, growth: float) -> list[str]:
    """Everything that is not as it must be, in words."""
    hold, jaws = pair.hold, pair.jaws
    out: list[str] = []
    points = np.array(hold.outline.outer.points(0.002))
    for jaw, sign in ((jaws.fixed, 1.0), (jaws.floating, -1.0)):
        inside = (points[:, 1] > jaw.y0 + 1e-9) & (points[:, 1] < jaw.y1 - 1e-9)
        mine = points[inside]
        if not len(mine):
            out.append(f"no part in the {jaw.side} jaw")
            continue
        deep = float(signed_distance(jaws.pocket, mine).max())
        if deep > MICRON:
            out.append(f"the part reaches {deep:.4f} mm into the {jaw.side} jaw")
        for away in APART:
            rest = mine - np.array([0.0, sign * away])
            rest = rest[(rest[:, 1] > jaw.y0) & (rest[:, 1] < jaw.y1)]
            if len(rest) and (hit := float(signed_distance(jaws.pocket, rest).max())) > MICRON:
                out.append(f"the {jaw.side} jaw meets the part by {hit:.4f} mm after {away} mm of opening")
    out += _touching(pair) + _metal(pair) + _corners(pair, growth) + _cuttable(pair)
    return out + _stopped(pair) + _loaded(pair)


def _stopped(pair: Pair) -> list[str]:
    """Something ends the part's way along X: a stop in the pocket or outside, walls that lean, or why not."""
    normals = [c.normal[0] for c in pair.hold.contacts if c.on == "fixed"]
    if any(c.on == "stop" for c in pair.hold.contacts) or (min(normals) < 0.0 < max(normals)):
        return []
    if any(z.reason == NESTS for z in pair.jaws.zones):
        return []  # what a relief leaves of a nest may not stop it: the proof says so
    flanks = [c.normal[0] for c in pair.hold.contacts if c.on == "floating"]
    if any(z.reason == VEE for z in pair.jaws.zones) and min(flanks) < -0.3 and max(flanks) > 0.3:
        return []
    return [] if pair.hold.no_stop else ["nothing stops the part along X, and nothing says why"]


def _loaded(pair: Pair) -> list[str]:
    """The proof that the part drops in finds no wall of the nominal part beyond the pocket's."""
    _, _, gaps = wall_points(pair.hold, pair.jaws, 0.0)
    return [f"*loads* finds a wall {-gaps.min():.3f} mm too big"] if gaps.min() < -2 * MICRON else []


def _touching(pair: Pair) -> list[str]:
    out = []
    length = {"locate": 0.0, "grip": 0.0}
    for z in pair.jaws.zones:
        if z.purpose == "clear":
            continue
        for c in z.curves:
            on = np.array([c.at(t) for t in np.linspace(0.0, 1.0, 41)])
            off = float(np.abs(signed_distance(pair.jaws.pocket, on)).max())
            part = float(np.abs(signed_distance(pair.hold.outline.outer, on)).max())
            if off > MICRON or part > MICRON:
                out.append(
                    f"a {z.purpose} wall stands {off:.4f} mm off the pocket, {part:.4f} mm off the part"
                )
            if z.purpose in length:
                length[z.purpose] += c.length
    if length["locate"] < LAND:
        out.append(f"only {length['locate']:.2f} mm of wall locates")
    if length["grip"] <= 0.0:
        out.append("no wall grips")
    return out


def _metal(pair: Pair) -> list[str]:
    """Everything that is cut, against back, ends, bolts and counterbores as solids."""
    jaws, out = pair.jaws, []
    cuts = [(to_polygon(jaws.pocket, 0.005), jaws.floor)]
    cuts += [(shapely.Point(r.center).buffer(r.radius, quad_segs=64), jaws.floor) for r in jaws.reliefs]
    cuts += [(to_polygon(w.region, 0.005), w.bottom) for w in jaws.wells]
    hole = jaws.tooling_hole
    for jaw in (jaws.fixed, jaws.floating):
        block = shapely.box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)
        mine = [(p.intersection(block), z) for p, z in cuts]
        if hole is not None and jaw.side == "fixed":
            tip = hole.top - hole.depth - hole.drill / 2 / math.tan(math.radians(59))
            spot = shapely.Point(hole.center).buffer(hole.diameter / 2, quad_segs=64)
            if not block.buffer(-2.0).contains(spot):
                out.append("the tooling hole breaks out of the jaw")
            mine.append((spot, tip))
        for p, z in mine:
            if p.is_empty:
                continue
            x0, y0, x1, y1 = p.bounds
            back = jaw.y1 - y1 if jaw.side == "fixed" else y0 - jaw.y0
            if z < hole_free(jaws.floor) and back < BEHIND - 0.05 and z == jaws.floor:
                out.append(f"{back:.2f} mm behind the pocket in the {jaw.side} jaw")
            if min(x0 - jaw.x0, jaw.x1 - x1) < 2.0:
                out.append(f"{min(x0 - jaw.x0, jaw.x1 - x1):.2f} mm at the end of the {jaw.side} jaw")
            out += _bolts(jaw, p, z)
    if jaws.metal_behind < WEB - 0.05:
        out.append(f"the record says {jaws.metal_behind:.2f} mm of metal are left")
    return out


def hole_free(floor: float) -> float:
    return floor + 1.0


def _bolts(jaw: Jaw, cut: shapely.Geometry, bottom: float) -> list[str]:
    """Distance of a cut, open above ``bottom``, from each screw's hole and counterbore with their slots."""
    out = []
    b = jaw.blank
    for x, z in jaw.bolts:
        half = b.slot_length / 2
        front = (
            (jaw.y0, jaw.y0 + b.counterbore_depth)
            if jaw.side == "fixed"
            else (jaw.y1 - b.counterbore_depth, jaw.y1)
        )
        for (y0, y1), r in ((front, b.counterbore / 2), ((jaw.y0, jaw.y1), b.bolt_hole / 2)):
            axis = shapely.box(x - half, y0, x + half, y1)
            across, above = float(axis.distance(cut)), max(bottom - z, 0.0)
            left = math.hypot(across, above) - r
            if left < WEB - 0.05:
                out.append(f"{left:.2f} mm between a cut at {bottom:.1f} and the screw at X {x:+.0f}")
    return out


def _side(c: Curve, gap: float) -> int:
    """1 for a wall in the fixed jaw, -1 for one in the floating jaw, 0 between them."""
    y = c.at(0.5)[1]
    return (y > 0.0) - (y < -gap)


def _corners(pair: Pair, growth: float) -> list[str]:
    """No corner of a part whose perimeter is small is pinched: its radius shrinks with its walls.

    With its walls flush, the nose of a corner of radius r reaches min(growth, r) (1/sin(half) - 1) further
    out than that of the nominal part: plane geometry of two circles tangent to the same two lines.
    """
    out, curves = [], pair.hold.outline.outer.curves
    gap = pair.jaws.gap
    seats = [c for z in pair.jaws.zones if z.purpose != "clear" for c in z.curves]
    bears = shapely.MultiLineString([[c.at(k / 200) for k in range(201)] for c in seats])
    for i, c in enumerate(curves):
        after = curves[(i + 1) % len(curves)]
        spots = [(np.array(c.end), np.array(c.tangent(1.0)), np.array(after.tangent(0.0)), 0.0)]
        flat = isinstance(curves[i - 1], Line) and isinstance(after, Line)
        if isinstance(c, Arc) and c.ccw and flat and c.sweep < math.radians(150.0):
            spots.append((np.array(c.at(0.5)), np.array(c.tangent(0.0)), np.array(c.tangent(1.0)), c.radius))
        for at, u, v, r in spots:
            turn = math.atan2(u[0] * v[1] - u[1] * v[0], float(u @ v))
            if not math.radians(3.0) < turn < math.radians(150.0) or -gap <= at[1] <= 0.0:
                continue
            arc = shapely.LineString([c.at(k / 200) for k in range(201)]) if r else shapely.Point(at)
            mine = any(arc.distance(shapely.Point(s.at(0.5))) < SEAT for s in seats)
            if mine or bears.distance(shapely.Point(at)) < SEAT:
                continue  # the corner itself, or a run of it, is the seat: nothing holds both its walls flush
            if r and _side(curves[i - 1], gap) * _side(after, gap) <= 0:
                continue  # its walls bear in different jaws: a small part lets them close on it
            outward = (u - v) / np.linalg.norm(u - v)
            if outward[1] * at[1] < 0:
                continue  # turned away from the jaw it stands in: the shadow clears it
            nose = min(growth, r) * (1.0 / math.sin((math.pi - turn) / 2) - 1.0)
            tip = at + nose * outward
            if (d := float(signed_distance(pair.jaws.pocket, tip[None, :])[0])) > 2 * MICRON:
                out.append(
                    f"the corner at ({at[0]:.2f}, {at[1]:.2f}) of a small part is pinched by {d:.3f} mm"
                )
    return out


def _cuttable(pair: Pair) -> list[str]:
    again = opening(pair.jaws.pocket, pair.jaws.cutter_radius)
    if len(again) != 1 or abs(again[0].area - pair.jaws.pocket.area) > 1e-6 * pair.jaws.pocket.area:
        return ["the pocket cannot be cut with its cutter"]
    return []


def run(numbers: range) -> tuple[Counter[str], list[str]]:
    job, _ = demo()
    growth = job.incoming.growth
    seen: Counter[str] = Counter()
    bad = []
    for n in numbers:
        pairs = designed(n)
        seen["pairs"] += len(pairs)
        seen["held"] += bool(pairs)
        seen["parts"] += outline(n) is not None
        bad += [f"{n}: {w}" for _, pair in pairs for w in wrong(pair, growth)]
    return seen, bad


def test_every_pair_is_as_it_must_be() -> None:
    seen, bad = run(range(54))
    assert not bad, "\n".join(bad[:20])
    assert seen["held"] >= 0.7 * seen["parts"], seen


def test_the_largest_part_lies_free_where_the_proof_of_its_room_puts_it() -> None:
    """Plain polygons: the outline grown by all of its room, moved there, against the opened jaws' metal.

    A single linear program over the walls seen from home put two of 478 into a jaw, by up to 0.3 mm, and
    told two in five more room than its place leaves.
    """
    job, _ = demo()
    growth, far, seen = job.incoming.growth, 1e3, 0
    for n in range(54):
        for _, pair in designed(n):
            place = most_air(pair.hold, pair.jaws)
            assert place is not None and place.air >= growth, f"{n}: the largest part does not go in"
            dx, dy, turn = place.move
            grown = to_polygon(pair.hold.outline, 0.001).buffer(place.air - 0.003, quad_segs=64)
            part = translate(rotate(grown, turn, origin=(0.0, 0.0), use_radians=True), dx, dy)
            air = to_polygon(pair.jaws.pocket, 0.001)
            fixed = shapely.box(-far, 0.0, far, far).difference(air)
            floating = shapely.box(-far, -far, far, -pair.jaws.gap).difference(air)
            for metal in (fixed, translate(floating, 0.0, -OPEN)):
                assert part.intersection(metal).area < 1e-6, f"{n}: it lies in a jaw"
            seen += 1
    assert seen > 100


def test_without_a_wall_that_faces_the_part_its_room_is_unknown() -> None:
    """It was told as 10 mm of room, which nobody had measured."""
    (_, pair), (job, shop) = designed(7)[0], demo()
    nowhere = Region(rectangle(5000.0, 5000.0, 5001.0, 5001.0))
    away = replace(pair.hold, outline=Region(rectangle(-3.0, -3.0, 3.0, -2.0)))
    said = drop_in(away, replace(pair.jaws, pocket=nowhere, gap=20.0), job, shop)
    assert said.verdict == "unknown" and said.value is None


@pytest.mark.long
def test_every_pair_of_many_is_as_it_must_be() -> None:
    seen, bad = run(range(1000, 1000 + int(os.environ.get("JAWRIGHT_SHAPES", "450"))))
    assert not bad, "\n".join(bad[:40])
    assert seen["held"] >= 0.7 * seen["parts"], seen


if __name__ == "__main__":
    a, b = int(sys.argv[1]), int(sys.argv[2])
    counted, broken = run(range(a, b))
    print(counted, *broken, sep="\n")
