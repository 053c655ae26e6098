"""Is it gripped evenly? Taper, wall shift, contact over the grip depth, load off the screw line, depth."""

from __future__ import annotations

from dataclasses import dataclass

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import beam
from jawright.part.model import Part
from jawright.proof.body import carrying, jaw_material, modulus, part_material
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most, finite, unknown
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.squeeze import tightest
from jawright.proof.window import Study, study
from jawright.shop.model import Shop
from jawright.units import show

MODEL = "timoshenko-jaw-on-mount-1"


@dataclass(frozen=True, slots=True)
class Pair:
    """Both walls in use against as cut, fixed jaw first."""

    fixed: beam.WallState
    floating: beam.WallState

    @property
    def taper(self) -> float:
        """Opening of both walls together over the grip depth [mm], + opens upward."""
        return self.fixed.taper + self.floating.taper

    @property
    def share(self) -> float:
        return min(self.fixed.share, self.floating.share)

    @property
    def peak(self) -> float:
        return max(self.fixed.peak, self.floating.peak)


def walls(
    hold: Hold, jaws: Jaws | None, job: Job, *, force: float, end: str = "set", cut: beam.Cut | None = None
) -> Pair | None:
    """Both walls at a clamp ``force`` [N], for one end of the mount's stiffness and the local compliance.

    ``cut`` replaces how the jaws were loaded while they were cut, to see what another spacer
    height or torque would do. None when the part's material is not known or a jaw does not touch.
    """
    work = part_material(job.material)
    length = {on: _length(hold, on) for on in ("fixed", "floating")}
    if work is None or min(length.values()) <= 0 or hold.grip_depth <= 0 or force <= 0:
        return None
    jaw = jaw_material(jaws)
    vise = hold.vise
    soft = end == "low"
    mount = beam.Mount(
        tilt=_pick(vise.tilt_stiffness, end),
        push=_pick(vise.push_stiffness, end),
    )
    shape = rule("foundation_shape")
    local = beam.foundation(
        modulus(work, jaw),
        hold.grip_depth,
        shape=shape.low if soft else shape.high if end == "high" else shape.set,
    )
    cut = cut or as_cut(jaws, force)
    states = []
    for on in ("fixed", "floating"):
        b = hold.outline.outer.box
        spread = b[2] - b[0] + 2 * max(0.0, hold.jaw_top - vise.body_height)
        long = jaws.fixed.x1 - jaws.fixed.x0 if jaws else vise.jaw_width
        plate = beam.Plate(
            E=jaw.E,
            nu=jaw.nu,
            base=vise.body_height,
            thickness=jaws.metal_behind if jaws else rule("hard_jaw_thickness_mm").set,
            width=min(long, spread),
        )
        low = middle_of(hold) - hold.grip_depth / 2
        grip = beam.Grip(low, low + hold.grip_depth, length[on], local, force)
        states.append(beam.wall_state(plate, mount, cut=cut, grip=grip))
    return Pair(states[0], states[1])


def middle_of(hold: Hold) -> float:
    """Height of the middle of the gripped walls [mm]."""
    own = [c.point[2] for c in carrying(hold) if c.on in ("fixed", "floating")]
    return sum(own) / len(own) if own else hold.floor + hold.grip_depth / 2


def as_cut(jaws: Jaws | None, force: float) -> beam.Cut:
    """Spacer force and height while the jaws were cut; hard jaws were ground free."""
    if jaws is None:
        return beam.Cut(0.0, 0.0)
    return beam.Cut(force, jaws.stack.height)


def _pick(band: object, end: str) -> float:
    value: float = getattr(band, end)
    return value


def _length(hold: Hold, on: str) -> float:
    """Wall length a jaw pushes with, as seen along the closing direction [mm]."""
    return sum(c.share * abs(c.normal[1]) for c in carrying(hold) if c.on == on)


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Taper, wall shift, contact share, load off the screw line, grip depth."""
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    depth = _grip_depth(hold, job)
    basis = Basis(MODEL, beam.SOURCE, _assumptions(hold, jaws, job, s))
    pairs = None if s.force is None else _three(hold, jaws, job, s)
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
        _taper(hold, jaws, job, s, pairs=pairs, basis=basis),
        _shift(hold, jaws, job, pairs, basis),
        _contact(hold, job, s, pairs, basis),
        _off_center(hold, s, job),
        depth,
    )


def _three(hold: Hold, jaws: Jaws | None, job: Job, s: Study) -> tuple[Pair, Pair, Pair] | None:
    """Bad (soft mount, high force), set and good end."""
    assert s.force is not None
    ends = (("low", s.force.high), ("set", s.force.set), ("high", s.force.low))
    got = [walls(hold, jaws, job, force=f, end=e) for e, f in ends]
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


def _assumptions(hold: Hold, jaws: Jaws | None, job: Job, s: Study) -> tuple[str, ...]:
    v = hold.vise
    out = [
        f"jaw mount tilts about the bed with {v.tilt_stiffness.low:.2g} / {v.tilt_stiffness.set:.2g} / "
        f"{v.tilt_stiffness.high:.2g} N·mm/rad ({v.tilt_stiffness.basis})",
        f"jaw mount shifts with {v.push_stiffness.low:.2g} / {v.push_stiffness.set:.2g} / "
        f"{v.push_stiffness.high:.2g} N/mm ({v.push_stiffness.basis})",
        rule("foundation_shape").said("local compliance, shape factor"),
        f"{s.torque_why}: {show(s.torque, 'torque', job.units)}",
        "part upright and stiff; friction on the walls left out of the taper",
    ]
    if jaws is not None:
        out.append("the jaws are cut with the spacers clamped at the torque of the run")
    else:
        out.append(
            "hard jaws ground true and free of load; " + rule("hard_jaw_thickness_mm").said("thickness")
        )
    if s.force is not None:
        out.append(s.force.basis)
    return tuple(out)


def _sorted(values: tuple[float, ...]) -> Band:
    a, b, c = values
    return Band(min(values), b, max(a, b, c))


def _taper(
    hold: Hold, jaws: Jaws | None, job: Job, s: Study, *, pairs: tuple[Pair, Pair, Pair], basis: Basis
) -> Proof:
    assert s.force is not None
    limit = rule("taper_mm")
    opening = tuple(abs(p.taper) for p in pairs)
    mid = pairs[1]
    detail = [
        ("fixed wall leans back over the grip", mid.fixed.taper, "mm"),
        ("floating wall leans back over the grip", mid.floating.taper, "mm"),
        ("height of the middle of the grip", middle_of(hold), "mm"),
    ]
    lengthy = show(opening[1], "length", job.units)
    way = "open" if mid.taper >= 0 else "close"
    closed = mid.share >= rule("contact_share").set  # the squeeze takes it up: a flaw, not a failure
    if jaws is None:
        sentence = (
            f"Under the clamp the hard jaws {way} by {lengthy} over the grip: seat the part with a tap."
        )
    else:
        h, wanted = jaws.stack.height, middle_of(hold)
        detail += [("spacer height", h, "mm"), ("spacer height without taper", wanted, "mm")]
        detail += _what_if(hold, jaws, job, s.force.set)
        sentence = (
            f"With the spacers at {show(h, 'length', job.units)} the walls {way} by {lengthy} over the grip "
            f"in use; at {show(wanted, 'length', job.units)}, the middle of the grip, they would leave none."
        )
    extra = Extra(
        where=(0.0, 0.0, hold.floor + hold.grip_depth),
        detail=tuple(detail),
        at_worst="caution" if jaws is None or closed else "fail",
    )
    basis = Basis(basis.model, basis.source, (*basis.assumptions, limit.said("limit [mm]")))
    return at_most(
        "grips",
        "taper",
        sentence,
        band=_sorted(opening),
        unit="mm",
        limit=limit.set,
        basis=basis,
        extra=extra,
    )


def _what_if(hold: Hold, jaws: Jaws, job: Job, force: float) -> list[tuple[str, float, str]]:
    """What other spacers or another torque at the cutting would leave, set values."""
    h = jaws.stack.height
    tries = (
        ("taper if the spacers were 5 mm higher", beam.Cut(force, h + 5.0)),
        ("taper if the spacers were 5 mm lower", beam.Cut(force, max(0.0, h - 5.0))),
        ("taper if the jaws were cut at half the torque", beam.Cut(force / 2, h)),
        ("taper if the jaws were cut free", beam.Cut(0.0, h)),
    )
    out = []
    for name, cut in tries:
        got = walls(hold, jaws, job, force=force, cut=cut)
        assert got is not None
        out.append((name, got.taper, "mm"))
    return out


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
    how = "picked up with a part clamped at the torque of the run"
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
    shares = tuple(p.share for p in pairs)
    mean = s.force.set / (min(_length(hold, "fixed"), _length(hold, "floating")) * hold.grip_depth)
    loads = tuple((f"share of the clamp force at {w.contact.name}", w.share, "") for w in s.walls or ())
    detail = (
        ("mean pressure on the shorter wall", mean, "MPa"),
        ("highest pressure by taper", pairs[1].peak, "MPa"),
        ("resultant above the floor, fixed jaw", pairs[1].fixed.center - hold.floor, "mm"),
        *loads,
    )
    where = "bottom" if pairs[1].taper >= 0 else "top"
    sentence = (
        f"At {show(s.force.set, 'force', job.units)} the walls bear on {shares[1]:.0%} of the grip depth, "
        f"heaviest at the {where}."
    )
    extra = Extra(
        where=(0.0, 0.0, hold.floor),
        detail=detail,
        at_worst="caution" if hold.kind == "hard jaws" else "fail",
    )
    basis = Basis(basis.model, basis.source, (*basis.assumptions, limit.said("limit")))
    return at_least(
        "grips", "contact over the grip depth", sentence,
        band=Band(min(shares), shares[1], max(shares)), unit="", limit=limit.set, basis=basis, extra=extra,
    )  # fmt: skip


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


def _grip_depth(hold: Hold, job: Job) -> Proof:
    """Fail below the least, caution below the usual or a quarter of the height."""
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
    extra = Extra(
        where=(0.0, 0.0, hold.floor),
        detail=(("part height above the floor", height, "mm"),),
        at_worst="caution" if g >= least.set else "fail",
    )
    return at_least(
        "grips", "grip depth", sentence, band=Band(g, g, g), unit="mm", limit=want, basis=basis, extra=extra
    )
