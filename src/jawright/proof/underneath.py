"""Does the part sit flush on the floor? Support, lift of the floating jaw, floor corner, chips."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from jawright.geometry.query import moments
from jawright.hold.model import Hold
from jawright.jaws.model import UNDERCUT, Jaws
from jawright.job.model import Job, ToleranceAsk
from jawright.kernel import centroid
from jawright.mechanics.corner import chip_tilt, floor_lift
from jawright.part.model import Part
from jawright.proof import clamp, feet
from jawright.proof.chips import room
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most, unknown
from jawright.proof.model import Proof
from jawright.proof.outcome import PASS_YIELD
from jawright.proof.say import Say
from jawright.shop.model import Shop

Floats = NDArray[np.float64]

LIFT_USUAL = 0.025
"""Rise [mm] of a floating jaw that is usual on a used vise (0.001 in; common practice, no source)."""
OWN_SHAPE = {"size", "diameter", "flatness", "straightness", "roundness", "circularity", "cylindricity"}
CORNER = (
    0.005  # [mm] lift at the root that counts as none: how true a floor is cut (common practice, no source)
)
LEVEL = 0.05
"""Difference of heights [mm] that counts as none (common practice, no source)."""
SHARES = 2000
"""Edge breaks that stand for all."""
CHIP_SMALL, CHIP = 0.05, 0.1
"""Chip under the part [mm]: what air and brush leave behind now and then (common practice, no source)."""


def floor_proofs(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> list[Proof]:
    """Every proof about the part and its floor."""
    say = Say(job.units)
    found = [support(hold, part, say), lift(hold, say)]
    if jaws is not None:
        found.append(root(jaws, job, shop))
    found.append(chips(hold, say))
    found += feet.prove(hold, jaws, part, say)
    return found


def heavy_at(hold: Hold, part: Part | None) -> tuple[tuple[float, float], str]:
    """Plan point [mm] of the part's weight and where that was taken from."""
    if part is not None and part.shape:
        x, y, _ = hold.stance.move.point(centroid(part.shape))
        return (x, y), "center of mass of the finished model"
    return moments(hold.outline).center, "center of the outline's area in place of the center of mass"


def support(hold: Hold, part: Part | None, say: Say) -> Proof:
    """How far the weight lies inside the polygon of floor contacts [mm]."""
    basis = Basis("support-polygon-1", "static equilibrium of a weight on unilateral supports")
    pts = [c.point[:2] for c in hold.contacts if c.on == "floor"]
    name = "floor under the part"
    if len(pts) < 3:
        return unknown(
            "sits",
            name,
            "Fewer than three places of the floor carry the part, so it can rock.",
            unit="mm",
            supply=("a floor, parallels or pads under the part",),
            basis=basis,
        )
    hull = shapely.MultiPoint(pts).convex_hull
    (x, y), words = heavy_at(hold, part)
    p = shapely.Point(x, y)
    inside = hull.distance(p) == 0.0 and hull.area > 0
    depth = shapely.distance(hull.boundary, p) * (1 if inside else -1)
    depth = float(depth)
    sentence = (
        f"The part stands by itself: its weight lies {say.coarse(depth)} inside its supports."
        if depth > 0
        else f"The part tips before it is clamped: its weight lies {say.coarse(-depth)} outside its supports."
    )
    return at_least(
        "sits",
        name,
        sentence,
        band=Band(depth, depth, depth),
        unit="mm",
        limit=0.0,
        basis=Basis(basis.model, basis.source, (words,)),
        extra=Extra(
            where=(x, y, hold.floor),
            detail=(("places that carry", float(len(pts)), ""), ("area they span", float(hull.area), "mm²")),
        ),
    )


def lift(hold: Hold, say: Say) -> Proof:
    """Rise of the floating side as the jaw takes load, before the part is tapped down."""
    b = hold.vise.lift
    _, y0, _, y1 = hold.outline.outer.box
    tilt = math.atan2(b.set, y1 - y0)
    rise = tilt * (hold.part_top - hold.floor)
    over = push_height(hold)
    last = "then close it fully" if clamp.by_force(hold.vise) else "then torque"
    tap = f"snug, tap down until no parallel or paper strip moves, {last}"
    if over > LEVEL:
        sentence = (
            f"The floating wall pushes {say.near(over)} above the fixed one and rolls the part up: {tap}."
        )
    else:
        sentence = (
            f"The floating jaw may lift its side by {say.fine(b.set)}, at most {say.fine(b.high)}: {tap}."
        )
    return at_most(
        "sits",
        "lift of the floating jaw",
        sentence,
        band=Band(b.low, b.set, b.high),
        unit="mm",
        limit=LIFT_USUAL,
        basis=Basis(
            "vise-lift-1",
            "",
            (
                f"lift: {b.basis}",
                f"limit {say.given(LIFT_USUAL)}: usual on a used vise (common practice, no source)",
            ),
        ),
        extra=Extra(
            detail=(
                ("tilt about X", math.degrees(tilt), "deg"),
                ("shift of the top across the jaws", rise, "mm"),
                ("floating wall pushes above the fixed one", over, "mm"),
            ),
            at_best="caution" if over > LEVEL else "pass",
        ),
    )


def push_height(hold: Hold) -> float:
    """How much higher the floating jaw pushes than the fixed one holds [mm]; positive rolls the part up."""

    def middle(on: str) -> float | None:
        mine = [(c.point[2], c.share) for c in hold.contacts if c.on == on]
        total = sum(w for _, w in mine)
        return sum(z * w for z, w in mine) / total if total > 0 else None

    a, b = middle("floating"), middle("fixed")
    return a - b if a is not None and b is not None else 0.0


def root(jaws: Jaws, job: Job, shop: Shop) -> Proof:
    """Lift by the fillet the finishing cutter leaves between wall and floor."""
    say = Say(job.units)
    edge = job.incoming.edge_break
    source = "plane geometry of a fillet and an edge break"
    cutter = next((c for c in shop.cutters if c.id == jaws.cutter), None)
    name = "root of wall and floor"
    basis = Basis("floor-corner-2", source, (f"edge break at least {say.given(edge.value)} ({edge.basis})",))
    if cutter is None:
        return unknown(
            "sits",
            name,
            f"The cutter {jaws.cutter} that finishes the pocket is not in the shop file.",
            unit="mm",
            supply=(f"cutter {jaws.cutter} with its corner radius, in the shop",),
            basis=basis,
        )
    undercut = any(w.purpose == UNDERCUT for w in jaws.wells)
    r = 0.0 if undercut else cutter.corner_radius
    breaks = edge_breaks(job)
    lifts = np.array([floor_lift(r, edge=c) for c in breaks])
    up, usual = float(lifts.max()), float(np.quantile(lifts, PASS_YIELD))
    lifted = float((lifts > CORNER).mean())
    as_radius = floor_lift(r, edge=edge.value, shape="radius")
    sharp = floor_lift(r)
    allowed = largest_fillet(edge.value)
    many = "" if lifted >= 1.0 else f", {lifted:.0%} of parts by more than {say.given(CORNER)}"
    sentence = (
        f"The root is undercut below the floor: the {say.given(cutter.corner_radius)} corner of {cutter.id} "
        "lifts nothing."
        if undercut
        else f"{cutter.id} is sharp: the root of the pocket lifts nothing."
        if r == 0.0
        else f"The part's edge break of {say.given(edge.value)} clears the {say.given(r)} corner of "
        f"{cutter.id}."
        if up <= CORNER
        else f"The {say.given(r)} corner of {cutter.id} lifts the part by up to {say.fine(up)}{many}: finish "
        f"the root with a sharp cutter, or break the part's edge by {say.given(r)}."
    )
    said = f"edge break {say.given(min(breaks))} to {say.given(max(breaks))} from part to part ({edge.basis}"
    most = job.incoming.edge_break_most
    said += "" if edge.values or most.value <= edge.value else f"; largest: {most.basis}"
    return at_most(
        "sits",
        name,
        sentence,
        band=Band(min(float(lifts.min()), usual), usual, max(up, usual)),
        unit="mm",
        limit=CORNER,
        basis=replace(basis, assumptions=(f"{said})",)),
        extra=Extra(
            detail=(
                ("corner radius of the cutter", r, "mm"),
                ("share of parts it lifts", lifted, ""),
                ("lift of the middle part", float(np.median(lifts)), "mm"),
                ("lift if the edge were sharp", sharp, "mm"),
                ("lift if the edge were rounded as much", as_radius, "mm"),
                ("largest corner radius that lifts nothing", allowed, "mm"),
            )
        ),
    )


def edge_breaks(job: Job) -> Floats:
    """Breaks of the lower edge from part to part, rising (k,) [mm]: of the measured ones all, else shares
    of the law between the smallest and the largest, ends included."""
    i = job.incoming
    low, high = i.edge_break.value, max(i.edge_break.value, i.edge_break_most.value)
    if i.edge_break.values:
        return np.sort(i.edge_break.values)
    shares = (np.arange(SHARES) + 0.5) / SHARES
    if i.edge_break.shape == "uniform":
        inner = low + (high - low) * shares
    else:
        cut = ndtr(-3.0)  # normal, cut at three deviations, which the limits are
        inner = (low + high) / 2 + (high - low) / 6 * ndtri(cut + (1 - 2 * cut) * shares)
    return np.concatenate([[low], inner, [high]])


def largest_fillet(edge: float) -> float:
    """Largest corner radius of a cutter [mm] that lifts a part with its edge broken by ``edge`` by no more
    than ``CORNER``, chamfered or rounded, whichever lifts more."""

    def lifts(r: float) -> float:
        return max(floor_lift(r, edge=edge), floor_lift(r, edge=edge, shape="radius"))

    low, high = 0.0, edge + 10.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if lifts(middle) <= CORNER else (low, middle)
    return low


def chips(hold: Hold, say: Say) -> Proof:
    """What a chip at the worst place under the part does, and which tolerance it breaks first."""
    pts = [c.point[:2] for c in hold.contacts if c.on == "floor"]
    name = "chip under the part"
    basis = Basis(
        "chip-tilt-1", "plane geometry", (f"a chip of {say.given(CHIP)} (common practice, no source)",)
    )
    if len(pts) < 3 or shapely.MultiPoint(pts).convex_hull.area == 0:
        return unknown(
            "sits",
            name,
            "Fewer than three places of the floor carry the part, so a chip cannot be judged.",
            unit="mm",
            supply=("a floor, parallels or pads under the part",),
            basis=basis,
        )
    span = least_width(pts)
    tilt = chip_tilt(CHIP, span)
    shift = (hold.part_top - hold.floor) * math.tan(tilt)
    x0, y0, x1, y1 = hold.outline.outer.box
    rise = math.hypot(x1 - x0, y1 - y0) * math.tan(tilt)
    asked = [t for t in hold.tolerances if t.kind not in OWN_SHAPE]  # no tilt changes a feature's own shape
    effects = [(tilt_costs(hold, t, math.tan(tilt)), t) for t in asked]
    first = max(effects, key=lambda e: e[0] / room(e[1], hold.tolerances), default=None)
    ends = "blow off and wipe for every part"
    chip = f"A {say.given(CHIP)} chip under the part"
    off, zone = (first[0], room(first[1], hold.tolerances)) if first is not None else (shift, CHIP)
    if first is None or off == 0.0:
        sentence = (
            f"{chip} moves its top {say.fine(shift)} sideways and leaves a face {say.fine(rise)} "
            f"out of true: {ends}."
        )
    else:
        t = first[1]
        verb = "breaks" if off > zone else f"uses up {100 * off / zone:.0f} % of"
        sentence = f"{chip} {verb} {t.kind} {say.given(t.zone)} of {t.feature} first: {ends}."
    return at_most(
        "sits",
        name,
        sentence,
        band=Band(off * CHIP_SMALL / CHIP, off, off),
        unit="mm",
        limit=zone,
        basis=basis,
        extra=Extra(
            at_worst="caution",
            detail=(
                ("distance across the supports", span, "mm"),
                ("top moves sideways", shift, "mm"),
                ("out of true over the part", rise, "mm"),
            ),
        ),
    )


def tilt_costs(hold: Hold, tolerance: ToleranceAsk, slope: float) -> float:
    """What a tilt of the whole part uses up of one tolerance, in the measure of its zone [mm].

    A hole's axis leans over its length, or stands off at its mouth (twice that as a position);
    a face leans over its own extent.
    """
    f = next((q for q in hold.features if q.name == tolerance.feature), None)
    if f is None:
        return 0.0
    if f.region is not None or f.kind == "face":
        region = f.region or hold.outline
        x0, y0, x1, y1 = region.outer.box
        return slope * math.hypot(x1 - x0, y1 - y0)
    if tolerance.kind in ("perpendicularity", "parallelism", "angularity"):
        return slope * (f.center[2] - f.bottom)
    return 2 * slope * (f.center[2] - hold.floor)


def least_width(points: list[tuple[float, float]]) -> float:
    """Smallest distance between parallel lines that hold all points between them [mm]."""
    ring = list(shapely.MultiPoint(points).convex_hull.exterior.coords)
    best = math.inf
    for (ax, ay), (bx, by) in pairwise(ring):
        size = math.hypot(bx - ax, by - ay)
        if size < 1e-9:
            continue
        best = min(best, max(abs((px - ax) * (by - ay) - (py - ay) * (bx - ax)) for px, py in points) / size)
    return best
