"""Does it stay under the cutter? Load factor of each feature, and the torque window.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import replace

from jawright import handbook
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import cone, friction
from jawright.part.model import Part
from jawright.proof import clamp, sliding
from jawright.proof.body import SQUARE_ENOUGH, carrying, part_material
from jawright.proof.cutload import load_at
from jawright.proof.factor import Case
from jawright.proof.fewer import fewer, words
from jawright.proof.judge import Band, Basis, Extra, at_least, finite, unknown
from jawright.proof.metal import gripped
from jawright.proof.model import Harm, Proof
from jawright.proof.remedy import Remedy, remedies
from jawright.proof.rules import rule
from jawright.proof.sliding import Slides
from jawright.proof.window import BEFORE, LEAST, Study, study
from jawright.proof.window import NAME as WINDOW
from jawright.proof.wrench import hit, narrow, width
from jawright.shop.model import Shop
from jawright.units import show

MODEL = "coulomb-cone-2"
CAP = 99.0
"""Factors above this are shown as this: the load is carried without friction."""

CONE_SOURCE = f"{cone.SOURCE}; specific cutting force after Kienzle"


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Load factor of every feature of this operation and the torque window."""
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    missing = _missing(hold, job, s)
    basis = Basis(MODEL, CONE_SOURCE, _assumptions(hold, job, shop, s))
    if missing:
        why, supply = missing
        return (
            unknown("holds", "load factor", why, unit="", supply=supply, basis=basis),
            unknown("holds", WINDOW, why, unit="N·m", supply=supply, basis=basis),
        )
    assert s.cases is not None and s.force is not None
    at_best = Extra(at_best="caution") if job.features_assumed else Extra()
    factors = tuple(
        _factor(c, s, basis, at_best, slides=sliding.slides(hold, jaws, part, job, shop, s=s, case=c))
        for c in s.cases
    )
    return (*factors, _window(hold, jaws, job, shop, s, basis=basis, extra=at_best))


def _missing(hold: Hold, job: Job, s: Study) -> tuple[str, tuple[str, ...]] | None:
    if not hold.features:
        return "No feature of this operation is named, so no cutting load is known.", (
            "what this operation makes: each feature with its kind, place and depth",
        )
    work = part_material(job.material)
    if work is None:
        return f"The handbook does not have the material {job.material}.", (
            "a material of the handbook, or the nearest one to it",
        )
    if work.kc11 is None:
        return f"No specific cutting force is known for {work.name}.", (
            "a material of the handbook with a specific cutting force",
        )
    if s.cases is None:
        return "No wall of both jaws touches the part, so nothing clamps it.", (
            "another stance or a pocket that grips the part between the jaws",
        )
    if s.force is None:
        return "The torque lies beyond what was measured on the vise.", (
            f"a measured clamp force at {s.torque:.0f} N·m, or a lower torque in the job",
        )
    return None


def _assumptions(hold: Hold, job: Job, shop: Shop, s: Study) -> tuple[str, ...]:
    f = shop.friction
    out = [
        f"part on jaw friction {f.low:g} / {f.set:g} / {f.high:g} ({f.basis})",
        "the clamp force does not grow when the cut pushes the floating jaw: conservative with a screw",
        "weight, and friction of the stop and of steep walls, left out",
        f"{s.torque_why}: {clamp.said(hold.vise, s.torque, job.units)}",
    ]
    if s.force is not None:
        out.append(s.force.basis)
    out += [line for c in s.cases or () for line in c.load.basis]
    if job.features_assumed:
        out.append("the job names no feature: the usual second operation stands in")
    if hold.kind == "hard jaws":
        out.append("hard jaws ground and clean; serrated ones hold more and mark")
    return tuple(dict.fromkeys(out))


def _share(force: float, need: float) -> float:
    return CAP if need <= 0 else finite(min(CAP, force / need), CAP)


def _factor(c: Case, s: Study, basis: Basis, extra: Extra, *, slides: Slides | None) -> Proof:
    assert s.force is not None
    band = Band(
        _share(s.force.low, c.clamp[0]), _share(s.force.set, c.clamp[1]), _share(s.force.high, c.clamp[2])
    )
    name = c.feature.name
    if math.isinf(c.clamp[0]):
        sentence = (
            f"No clamp force holds the part while {name} is cut: it {c.mode}; grip it where the cut pulls."
        )
    elif band.low >= CAP:
        sentence = f"While {name} is cut the load goes into jaw, stop and floor and needs no friction."
    else:
        sentence = (
            f"While {name} is cut the part {c.mode} first: at {band.low:.1f} times the usual load "
            f"with poor friction and {band.set:.1f} times with usual; {c.required:.2g} is asked for."
        )
    first = [] if slides is None else [
        ("first slip with elastic forces, without the floor, factor", min(CAP, slides.first), ""),
        ("goes on in a turn of that load, share of its give", min(CAP, slides.walks), ""),
    ]  # fmt: skip
    at_best = extra.at_best
    if slides is not None and slides.first < 1.0 and band.set >= c.required:
        sentence += f" By the elastic forces a first wall slides a little at {slides.first:.2f} times already"
        if slides.creeps:
            at_best = "caution"
            sentence += (
                ", and goes on as the cutter goes round, so the part may creep: watch it with an indicator "
                "on the first part."
            )
        else:
            sentence += ", beds in within a few turns and stays."
    detail = (
        ("side load", math.hypot(c.force[0], c.force[1]), "N"),
        ("load upward", c.force[2], "N"),
        ("spin", c.load.set.spin, "N·m"),
        ("load of a soft batch and sharp edge over the usual", _scale(c, "low"), ""),
        ("load of a hard batch and worn edge over the usual", _scale(c, "high"), ""),
        ("clamp force needed", finite(c.need), "N"),
        ("clamp force at the bad end", s.force.low, "N"),
        ("load cases tried", float(c.count), ""),
        *first,
    )
    more = Extra(where=c.point, detail=detail, at_best=at_best)
    return at_least(
        "holds",
        f"load factor, {name}",
        sentence,
        band=band,
        unit="",
        limit=c.required,
        basis=basis,
        extra=more,
    )


def _scale(c: Case, end: str) -> float:
    """Size of the load at one end over the usual one."""
    other, usual = (c.load.low if end == "low" else c.load.high), c.load.set
    sizes = [math.hypot(x.side, max(x.up, x.down)) for x in (other, usual)]
    return sizes[0] / sizes[1] if sizes[1] > 0 else 1.0


def _window(
    hold: Hold, jaws: Jaws | None, job: Job, shop: Shop, s: Study, *, basis: Basis, extra: Extra
) -> Proof:
    assert s.least is not None and s.most is not None
    unit = clamp.unit(hold.vise)
    least, most = (clamp.said(hold.vise, v, job.units) for v in (s.least, s.most))
    detail = [(LEAST, finite(s.least), unit), ("most before harm", finite(s.most), unit)]
    detail += [(f"{BEFORE}{why}", finite(t), unit) for t, why in s.ends if math.isfinite(t)]
    if math.isfinite(s.sure):
        detail.append(("most before spring, with the best friction", s.sure, unit))
    if s.least > s.most:
        found = remedies(hold, jaws, job, shop, s)
        detail += [(r.name, r.value, r.unit) for r in found]
        needed = f"{least} is needed" if math.isfinite(s.least) else "none is enough"
        sentence = f"No torque serves: {needed} ({s.least_why}) and {most} is allowed ({s.most_why}). "
        sentence += _said(found, hold, job, s) + words(fewer(hold, jaws, job, s), hold, job)
        return Proof(
            "holds", WINDOW, "fail", sentence, s.torque, unit,
            limit=finite(s.most), margin=finite(s.most - s.least), low=finite(s.least), set=s.torque,
            high=finite(s.most), assumptions=basis.assumptions, model=basis.model, source=basis.source,
            detail=tuple(detail), harm=_harm(hold, s),
        )  # fmt: skip
    margin = min(s.torque - s.least, s.most - s.torque)
    inside = margin >= 0
    at = clamp.said(hold.vise, s.torque, job.units)
    if clamp.by_force(hold.vise):
        sentence = f"The vise closes with {at}: from {least} it holds ({s.least_why})" + (
            "." if math.isinf(s.most) else f", above {most} comes {s.most_why}."
        )
        if not inside:
            sentence += " Set it within that."
    elif inside:
        sentence = f"Tighten to {at}: from {least} it holds ({s.least_why}), above {most} comes {s.most_why}."
    else:
        sentence = f"The torque of {at} lies outside the window {least} to {most}."
    tight = _tight(hold, jaws, job, shop, s) if inside else ""
    sentence += tight
    sentence += words(fewer(hold, jaws, job, s), hold, job)
    beyond = inside and s.torque > s.sure
    if beyond and not clamp.by_force(hold.vise):
        sure = clamp.said(hold.vise, s.sure, job.units)
        sentence += f" Should the screw run easily, a feature springs beyond its share from {sure} on."
    verdict = "fail" if not inside else "caution" if beyond or tight else extra.at_best
    return Proof(
        "holds", WINDOW, verdict, sentence, s.torque, unit,
        limit=s.least if s.torque - s.least <= s.most - s.torque else s.most,
        margin=finite(margin), low=s.least, set=s.torque, high=finite(s.most),
        assumptions=basis.assumptions, model=basis.model, source=basis.source, detail=tuple(detail),
        harm=_harm(hold, s) if verdict == "fail" else "",
    )  # fmt: skip


def _tight(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop, s: Study) -> str:
    """What to know where a wrench set to the torque may miss the window; "" where it hits."""
    assert s.least is not None and s.most is not None
    acts = hit(s.torque)
    if clamp.by_force(hold.vise) or s.least <= 0 or acts.within(s.least, s.most):
        return ""
    low, high = (clamp.said(hold.vise, v, job.units) for v in (acts.low, acts.high))
    text = f" A torque wrench within ± {acts.share:.0%} gives anything from {low} to {high}: "
    if not narrow(s.least, s.most):
        return f"{text}set it nearer to the middle of the window."
    wide = width(s.least)
    asked = replace(s, least=s.least * wide, most=s.most / wide)
    said = _said(remedies(hold, jaws, job, shop, asked), hold, job, asked)
    said = said[0].lower() + said[1:]
    return f"{text}the window is too narrow for one. Check it at that torque; to widen the window: {said}"


def _harm(hold: Hold, s: Study) -> Harm:
    """What closing with the torque of a failed window does: too little lets go, too much marks the part."""
    assert s.least is not None
    beyond = not clamp.by_force(hold.vise) and s.torque > clamp.torque_limit(hold.vise)
    return "hurts" if s.torque < s.least or beyond else "spoils"


def _said(found: tuple[Remedy, ...], hold: Hold, job: Job, s: Study) -> str:
    """What to change when no torque serves, with its number; each alone is enough."""
    words = [r.words for r in found]
    if words:
        text = "; or ".join(words)
        return text[0].upper() + text[1:] + "."
    if math.isinf(s.least or 0.0):
        return "Grip more of the part, or add a stop against the cut."
    depth = show(hold.grip_depth, "length", job.units)
    return f"No one change is enough: grip deeper than {depth} or over more wall, and take lighter cuts."


def quick_margin(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop) -> float | None:  # noqa: ARG001
    """One conservative closed-form figure of how well a hold holds, for ranking many stances.

    The clamp force at hand over the one needed, worst feature. Needed are the sum of what sliding,
    turning about Z, tipping and the cutter's spin ask for each by itself (the need of a sum of loads is
    at most the sum of their needs), times the slip factor, with the worst friction and clamp force at
    the job's torque or the usual one. 1 is just enough; 0 when the walls squeeze the part out.
    Returns None when a load is not known. Valid for: ranking; the full proof decides.
    """
    work = part_material(job.material)
    if work is None or not hold.features or hold.grip_depth <= 0:
        return None
    top = clamp.torque_limit(hold.vise)
    torque = top if clamp.by_force(hold.vise) else job.hold.torque or min(rule("usual_torque_n_m").set, top)
    force = clamp.clamp_force(hold.vise, torque)
    fixed = [c for c in carrying(hold) if c.on == "fixed" and -c.normal[1] >= SQUARE_ENOUGH]
    moving = [c for c in carrying(hold) if c.on == "floating" and c.normal[1] >= SQUARE_ENOUGH]
    if force is None or not fixed or not moving:
        return None
    stops = [c for c in carrying(hold) if c.on == "stop"]
    mu = 2 * shop.friction.low - _squeeze_out(fixed, moving, stops)
    if mu <= 0:
        return 0.0
    reach = [_reach(own) for own in (fixed, moving)]
    span = max(min(b for _, b in reach) - max(a for a, _ in reach), 1.0)
    middle = (max(a for a, _ in reach) + min(b for _, b in reach)) / 2
    needs = [_need(f, work, hold, mu=mu, span=span, middle=middle) for f in hold.features]
    if any(n is None for n in needs):
        return None
    most = max(n for n in needs if n is not None) * rule("slip_factor").set
    on_each = force.low * hold.vise.in_line / (1 + len(hold.beside))
    return CAP if most <= 0 else min(CAP, on_each / most)


def _squeeze_out(fixed: list[Contact], moving: list[Contact], stops: list[Contact]) -> float:
    """Least net push along X of the jaw walls per newton of clamp that no stop takes up."""
    a = [c.normal[0] / -c.normal[1] for c in fixed]
    b = [c.normal[0] / c.normal[1] for c in moving]
    low, high = min(a) + min(b), max(a) + max(b)
    if low <= 0 <= high:
        return 0.0
    net = high if high < 0 else low
    return 0.0 if any(c.normal[0] * net < 0 for c in stops) else abs(net)


def _reach(own: list[Contact]) -> tuple[float, float]:
    return min(c.point[0] - c.share / 2 for c in own), max(c.point[0] + c.share / 2 for c in own)


def _need(
    f: MadeFeature, work: handbook.Material, hold: Hold, *, mu: float, span: float, middle: float
) -> float | None:
    """Clamp force [N] one feature needs; ``mu`` counts both jaws."""
    if work.kc11 is None or work.mc is None:
        return None
    load = load_at(f, work, "set")
    g = hold.grip_depth
    patch = friction.patch_radius(span, g)
    height = max(max(p[2] for p in f.path) - hold.floor - g / 2, 0.0)
    away = max(abs(p[0] - middle) for p in f.path)
    out = math.hypot(load.side, load.up) / mu
    out += load.side * away / (span / 2)
    out += load.side * height * max(2 / g, 1 / (mu * patch))
    return out + load.spin * 1000.0 / (mu * patch)
