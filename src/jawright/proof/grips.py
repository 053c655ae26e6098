"""Is it gripped evenly? Taper, wall shift, contact over the grip depth, load off the screw line, depth."""

from __future__ import annotations

import math

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import beam
from jawright.part.model import Part
from jawright.proof import advice, clamp, elastic, whatif
from jawright.proof.body import part_material
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most, finite, unknown
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.say import small
from jawright.proof.squeeze import tightest
from jawright.proof.taper import BEAM, Pair, mesh_error, middle_of, wall_length, walls
from jawright.proof.wedge import lean_of, on_a_line
from jawright.proof.window import Study, study
from jawright.shop.model import Band3, Shop
from jawright.units import show

WORTH = 0.0005
"""A gain in taper [mm] below this is not worth other spacers."""


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Taper, wall shift, contact share, load off the screw line, grip depth."""
    reach = hold.grip_depth
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    depth = _grip_depth(hold, job, reach=reach, lean=lean_of(hold, part))
    pairs = None if s.force is None else _three(hold, jaws, job, s, part)
    basis = _basis(hold, jaws, job, s, part=part, pairs=pairs)
    if pairs is None:
        why, supply = _missing(job, s)
        names = ("taper", "wall shift", "contact over the grip depth")
        unit = {"taper": "mm", "wall shift": "mm"}
        return (
            *(unknown("grips", n, why, unit=unit.get(n, ""), supply=supply, basis=basis) for n in names),
            _off_center(hold, s, job),
            depth,
        )
    return (
        _taper(hold, jaws, job, s, part=part, shop=shop, pairs=pairs, basis=basis),
        _shift(hold, jaws, job, pairs, basis),
        _contact(hold, job, s, pairs, basis),
        _off_center(hold, s, job),
        depth,
    )


def _three(hold: Hold, jaws: Jaws | None, job: Job, s: Study, part: Part) -> tuple[Pair, Pair, Pair] | None:
    """Bad (soft mount, high force), set and good end."""
    assert s.force is not None
    ends = (("low", s.force.high), ("set", s.force.set), ("high", s.force.low))
    got = [walls(hold, jaws, job, force=f, end=e, part=part) for e, f in ends]
    if any(g is None for g in got):
        return None
    return (got[0], got[1], got[2])  # type: ignore[return-value]


def _missing(job: Job, s: Study) -> tuple[str, tuple[str, ...]]:
    if part_material(job.material) is None:
        return f"The handbook does not have the material {job.material}.", ("a material of the handbook",)
    if s.force is None:
        return "The torque lies beyond what was measured on the vise.", (
            f"a measured clamp force at {s.torque:.0f} N·m, or a lower torque in the job",
        )
    return "A jaw does not touch the part with any wall.", ("another stance or a pocket that grips the part",)


def _part_as(hold: Hold, jaws: Jaws | None, job: Job, part: Part) -> str:
    """How the part is taken between the jaws, in words."""
    m = elastic.model(hold, jaws, part, job.material)
    if m is not None and m.solid:
        return "the part as its own solid before this operation's cuts, free to lean"
    return "the part as a prism of its section in the grip, free to lean: its solid could not be meshed"


def _over(load: float, stiffness: Band3) -> str:
    """What a load does to a mount whose stiffness is a band: at its low end, as set, at its high end."""
    return " / ".join(f"{load / k:.3g}" for k in (stiffness.low, stiffness.set, stiffness.high))


def _basis(
    hold: Hold, jaws: Jaws | None, job: Job, s: Study, *, part: Part, pairs: tuple[Pair, Pair, Pair] | None
) -> Basis:
    v = hold.vise
    solid = pairs is not None and pairs[1].elastic
    out = [
        f"100 N·m lean the jaw mount by {_over(1e9, v.tilt_stiffness)} µm over 10 mm of height "
        f"({v.tilt_stiffness.basis})",
        f"1 kN pushes the jaw mount back by {_over(1e6, v.push_stiffness)} µm ({v.push_stiffness.basis})",
        f"{s.torque_why}: {clamp.said(hold.vise, s.torque, job.units)}",
    ]
    if solid:
        out += [
            rule("jaw_screw_stress_mpa").said("stress in the jaw screws [MPa]"),
            "jaws as elastic solids with their pocket, screws and one-sided backing; "
            f"{_part_as(hold, jaws, job, part)}; friction left out",
        ]
    else:
        out += [
            rule("foundation_shape").said("local compliance, shape factor"),
            "jaws in closed form: the walls or spacers named have no metal behind them, or the part falls "
            "apart where it is sliced",
            "part upright and stiff; friction on the walls left out of the taper",
        ]
    if jaws is not None:
        out.append(
            f"the jaws are cut with the spacers clamped at the {clamp.what(hold.vise)} of the run; without "
            "spacers they would be free to chatter, which is refused"
        )
    else:
        out.append(
            "hard jaws ground true and free of load; " + rule("hard_jaw_thickness_mm").said("thickness")
        )
    if s.force is not None:
        out.append(s.force.basis)
    if solid:
        return Basis(elastic.MODEL, elastic.SOURCE, tuple(out))
    return Basis(BEAM, beam.SOURCE, tuple(out))


def _sorted(values: tuple[float, ...]) -> Band:
    a, b, c = values
    return Band(min(values), b, max(a, b, c))


def _taper(
    hold: Hold, jaws: Jaws | None, job: Job, s: Study, *, part: Part, shop: Shop,
    pairs: tuple[Pair, Pair, Pair], basis: Basis,
) -> Proof:  # fmt: skip
    assert s.force is not None
    limit = rule("taper_mm")
    opening = tuple(abs(p.taper) for p in pairs)
    mid = pairs[1]
    detail = [
        ("fixed wall leans back over the grip", mid.fixed.taper, "mm"),
        ("floating wall leans back over the grip", mid.floating.taper, "mm"),
        ("height of the middle of the grip", middle_of(hold), "mm"),
    ]
    band = _sorted(opening)
    if mid.elastic:
        detail.append(("the walls' own give over the grip, not counted as taper", mid.give, "mm"))
    error = mesh_error(hold, jaws, job, force=s.force.set, part=part)
    if error is not None:
        detail.append(("of that by the mesh, ±", error, "mm"))
        band = Band(max(0.0, band.low - error), band.set, band.high + error)
    lengthy = small(opening[1], job.units)
    by_mesh = "" if error is None else f" (± {small(error, job.units)} by the mesh)"
    way = "open" if mid.taper >= 0 else "close"
    closed = mid.deep >= rule("contact_share").set  # the squeeze takes it up: a flaw, not a failure
    if jaws is None:
        sentence = (
            f"Under the clamp the hard jaws {way} by {lengthy} over the grip: seat the part with a tap."
        )
    else:
        h = jaws.stack.height
        best, more = _best(hold, jaws, job, part, shop=shop, force=s.force.set, mid=mid)
        detail += [("spacer height", h, "mm"), *more]
        detail += whatif.spacers(hold, jaws, job, s.force.set, part)
        if mid.elastic:
            detail += whatif.stacks(hold, jaws, job, s.force.set, part)
            lower = whatif.lower_jaws(hold, jaws, job, s.force.set, part)
            if lower is not None:
                detail.append((f"change of the taper by jaws {whatif.LOWER:g} mm lower", lower, "mm"))
        detail.append(("gap between the cutter and the spacers", jaws.stack.cutter_gap, "mm"))
        sentence = (
            f"With the spacers at {show(h, 'length', job.units)} the walls {way} by {lengthy} over the grip "
            f"in use{by_mesh}; {best}."
        )
    extra = Extra(
        where=(0.0, 0.0, hold.floor + hold.grip_depth),
        detail=tuple(detail),
        at_worst="caution" if jaws is None or closed else "fail",
    )
    basis = Basis(basis.model, basis.source, (*basis.assumptions, limit.said("limit [mm]")))
    return at_most(
        "grips", "taper", sentence, band=band, unit="mm", limit=limit.set, basis=basis, extra=extra
    )


def _best(
    hold: Hold, jaws: Jaws, job: Job, part: Part, *, shop: Shop, force: float, mid: Pair
) -> tuple[str, list[tuple[str, float, str]]]:
    """Where spacers would leave the least taper, in words and numbers."""
    m = elastic.model(hold, jaws, part, job.material)
    if m is None or not mid.elastic:
        wanted = middle_of(hold)
        return (
            f"at {show(wanted, 'length', job.units)}, the middle of the grip, they would leave none",
            [("spacer height of least taper", wanted, "mm")],
        )
    mounts = elastic.ends(hold.vise, "set")
    with one_thread():
        got = advice.advise(m, mounts, jaws, shop.parallels, force=force)
    assert got is not None  # the walls could be worked out with these spacers
    high = got.best.stack.height
    detail = [
        ("height at which the spacers bear", got.now.bears or 0.0, "mm"),
        ("spacer height of least taper", high, "mm"),
        ("taper at that height", got.best.taper, "mm"),
        ("taper with the best stack of owned parallels", got.owned.taper, "mm"),
        ("spacer height of the best stack of owned parallels", got.owned.stack.height, "mm"),
    ]
    left = small(abs(got.best.taper), job.units)
    same = left == small(abs(got.now.taper), job.units)
    here = got.now.stack.height == high or same or abs(got.now.taper) - abs(got.best.taper) < WORTH
    text = (
        "no other height of theirs does better"
        if here
        else f"at {show(high, 'length', job.units)} they would leave {left}"
    )
    gain = abs(got.now.taper) - abs(got.owned.taper)
    if got.owned.stack == jaws.stack or gain < WORTH:
        others = "nor do other owned parallels" if here else "no other owned parallels do better"
        return f"{text}{', ' if here else '; '}{others} ({got.count} stacks tried)", detail
    return (
        f"{text}; of the owned parallels {advice.words(got.owned.stack)} at "
        f"{show(got.owned.stack.height, 'length', job.units)} would leave "
        f"{small(abs(got.owned.taper), job.units)}",
        detail,
    )


def _shift(hold: Hold, jaws: Jaws | None, job: Job, pairs: tuple[Pair, Pair, Pair], basis: Basis) -> Proof:
    """How far the fixed wall stands from where it was cut: a correction, or a zero on a clamped part."""
    ask = tightest(hold)
    if ask is not None:
        share = rule("shift_share")
        limit, why = share.set * ask.zone, f"{share.set:g} of the tightest tolerance ({share.basis})"
    else:
        limit, why = rule("shift_mm").set, rule("shift_mm").basis
    values = tuple(p.fixed.shift for p in pairs)
    size = tuple(abs(v) for v in values)
    mid = f"{show(abs(values[1]), 'length', job.units)} along {'+Y' if values[1] >= 0 else '-Y'}"
    how = f"picked up with a part clamped at the {clamp.what(hold.vise)} of the run"
    subject = "stands" if jaws is not None else "gives"
    sentence = (
        f"In use the fixed wall {subject} {mid} from where it was {'cut' if jaws else 'free'}: "
        f"add that to the work offset in Y, or better, take the zero {how}."
    )
    detail = (
        ("correction of the work offset along Y", values[1], "mm"),
        ("left after that correction by the band, ±", (max(values) - min(values)) / 2, "mm"),
        ("floating wall, away from the part", pairs[1].floating.shift, "mm"),
    )
    extra = Extra(where=(0.0, 0.0, hold.floor + hold.grip_depth / 2), detail=detail, at_worst="caution")
    basis = Basis(basis.model, basis.source, (*basis.assumptions, f"limit: {why}"))
    return at_most(
        "grips", "wall shift", sentence, band=_sorted(size), unit="mm", limit=limit, basis=basis, extra=extra
    )


def _contact(hold: Hold, job: Job, s: Study, pairs: tuple[Pair, Pair, Pair], basis: Basis) -> Proof:
    assert s.force is not None
    limit = rule("contact_share")
    shares = tuple(p.deep for p in pairs)
    mean = s.force.set / (min(wall_length(hold, "fixed"), wall_length(hold, "floating")) * hold.grip_depth)
    loads = tuple((f"share of the clamp force at {w.contact.name}", w.share, "") for w in s.walls or ())
    detail = (
        ("mean pressure on the shorter wall", mean, "MPa"),
        ("share of the walls' area that bears", pairs[1].share, ""),
        ("highest pressure by taper", pairs[1].peak, "MPa"),
        ("resultant above the floor, fixed jaw", pairs[1].fixed.center - hold.floor, "mm"),
        ("resultant above the floor, floating jaw", pairs[1].floating.center - hold.floor, "mm"),
        (
            "of that lower on the floating jaw: + seats the part",
            pairs[1].fixed.center - pairs[1].floating.center,
            "mm",
        ),
        *loads,
        *_screws(pairs[1]),
    )
    centers = (pairs[1].fixed.center, pairs[1].floating.center)
    where = "bottom" if sum(centers) / 2 <= middle_of(hold) else "top"
    over = "grip depth"
    if on_a_line(hold):
        over = f"{show(hold.grip_depth, 'length', job.units)} they may be pressed in over"
    sentence = (
        f"At {show(s.force.set, 'force', job.units)} the walls bear on {shares[1]:.0%} of the {over}, "
        f"heaviest at the {where}."
    )
    extra = Extra(
        where=(0.0, 0.0, hold.floor),
        detail=detail,
        at_worst="caution" if hold.kind == "hard jaws" or on_a_line(hold) else "fail",
    )
    basis = Basis(basis.model, basis.source, (*basis.assumptions, limit.said("limit")))
    return at_least(
        "grips", "contact over the grip depth", sentence,
        band=Band(min(shares), shares[1], max(shares)), unit="", limit=limit.set, basis=basis, extra=extra,
    )  # fmt: skip


def _screws(pair: Pair) -> list[tuple[str, float, str]]:
    """What the jaw screws pull while the part is clamped: backing and preload keep it near what it was."""
    if pair.pull is None or pair.preload is None:
        return []
    return [
        ("pull of the hardest pulled jaw screw in use", pair.pull, "N"),
        ("its preload, as the jaw was screwed on", pair.preload, "N"),
    ]


def _off_center(hold: Hold, s: Study, job: Job) -> Proof:
    third = rule("middle_third")
    basis = Basis(
        "statics-1", "statics", (third.said("share of the jaw width"), "screw line at the middle of the jaws")
    )
    moving = [w for w in s.walls or () if w.contact.on == "floating"]
    pull = sum(w.share * w.contact.normal[1] for w in moving)
    if not moving or pull <= 0:
        return unknown(
            "grips", "load off the screw line",
            "The clamp alone cannot hold the part in balance, so where its force acts is not known.",
            unit="mm", supply=("a pocket or stance whose walls face each other across the jaws",),
            basis=basis,
        )  # fmt: skip
    x = sum(w.share * w.contact.normal[1] * w.contact.point[0] for w in moving) / pull
    if hold.beside:  # alike parts push alike: the row's middle counts
        at = s.row.x
        x += sum(at) / len(at) - at[0]
    limit = hold.vise.jaw_width * third.set / 2
    b = hold.outline.outer.box
    yaw = hold.vise.yaw
    digits = 1 if job.units == "mm" else 2
    spans = tuple(v * (b[2] - b[0]) for v in (yaw.low, yaw.set, yaw.high))
    sentence = (
        f"The clamp force acts {show(abs(x), 'length', job.units, digits=digits)} off the screw line; beyond "
        f"{show(limit, 'length', job.units, digits=digits)} put a dummy of the same size at the other end."
    )
    extra = Extra(
        where=(x, -hold.gap, hold.floor + hold.grip_depth / 2),
        detail=(
            ("resultant along the jaws", x, "mm"),
            ("floating jaw can open at one end of the part by its yaw play", finite(spans[1]), "mm"),
            ("floating jaw can rise", hold.vise.lift.set, "mm"),
            ("floating jaw can rise, at most", hold.vise.lift.high, "mm"),
        ),
        at_worst="caution",
    )
    band = Band(abs(x), abs(x), abs(x))
    return at_most(
        "grips",
        "load off the screw line",
        sentence,
        band=band,
        unit="mm",
        limit=limit,
        basis=basis,
        extra=extra,
    )


def _grip_depth(hold: Hold, job: Job, *, reach: float, lean: float) -> Proof:
    """Fail below the least, caution below the usual or a quarter of the height.

    ``reach`` is what the jaws reach over [mm], of which the part may meet less; ``lean`` how far its touched
    walls lean [rad].
    """
    least, usual, share = rule("grip_depth_least_mm"), rule("grip_depth_usual_mm"), rule("grip_depth_share")
    height = hold.part_top - hold.floor
    want = min(usual.set, max(least.set, share.set * height)) if hold.kind == "soft jaws" else usual.set
    g = hold.grip_depth
    basis = Basis(
        "rule-of-thumb-1", "common practice, no source", (least.said("least [mm]"), usual.said("usual [mm]"))
    )
    digits = 1 if job.units == "mm" else 2
    deep, tall, usually = (show(v, "length", job.units, digits=digits) for v in (g, height, want))
    sentence = f"The jaws grip {deep} of {tall} height; {usually} is usual."
    by_line = on_a_line(hold)
    if by_line:
        sentence = (
            f"The walls lean {math.degrees(lean):.1f}°: upright jaws touch them on one line, and a band of "
            f"{show(g, 'length', job.units)} bears where that is pressed in as far as it may. The part is "
            "held by the clamp and the floor, not by the depth of the grip: jaws cut to the angle with a "
            "tapered cutter or on a sine plate would grip it deeper."
        )
    elif lean and g < reach:
        sentence += (
            f" The walls lean {math.degrees(lean):.1f}°, so upright jaws touch no more of them: cut the jaws "
            "to that angle with a tapered cutter or on a sine plate, or hold the part on a plate with screws."
        )
    elif g < reach:
        sentence += " Higher up the part has no wall for both jaws."
    extra = Extra(
        where=(0.0, 0.0, hold.floor),
        detail=(("part height above the floor", height, "mm"),),
        at_worst="caution" if g >= least.set or by_line else "fail",
    )
    return at_least(
        "grips", "grip depth", sentence, band=Band(g, g, g), unit="mm", limit=want, basis=basis, extra=extra
    )
