"""Is it left unmarked? Contact pressure against the minimum yield of the softer body."""

from __future__ import annotations

import math

from jawright import handbook
from jawright.hold.leaning import MARK
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import hertz
from jawright.part.model import Part
from jawright.proof import clamp, pressure
from jawright.proof.body import jaw_material, part_material
from jawright.proof.judge import Band, Basis, Extra, at_most, unknown
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.taper import walls
from jawright.proof.window import Study, study
from jawright.shop.model import Shop
from jawright.units import show

MODEL = "wall-pressure-1"


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Pressure at the wall contact nearest to its limit."""
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    work = part_material(job.material)
    if work is None or s.walls is None or s.force is None:
        return (_unknown(job, s),)
    jaw = jaw_material(jaws)
    soft = handbook.softer(work, jaw)
    got = []
    for end, force in (("high", s.force.low), ("set", s.force.set), ("low", s.force.high)):
        pair = walls(hold, jaws, job, force=force, end=end, part=part)
        one = pressure.worst_pressure(
            s.walls,
            hold=hold,
            jaws=jaws,
            material=job.material,
            force=force,
            share=pair.share if pair else 1.0,
            marks=job.marks_allowed,
        )
        assert one is not None
        got.append(one)
    worst = got[2]
    band = Band(got[0].value, got[1].value, max(g.value for g in got))
    what = "line contact, first yield" if worst.line else "mean pressure"
    usual, most, allowed = (show(v, "pressure", job.units) for v in (band.set, band.high, worst.limit))
    leans = 0.0 if worst.line else abs(worst.contact.lean)
    sentence = (
        f"The wall presses {worst.contact.name} with {usual} ({most} at the most) "
        f"against {allowed} allowed on {soft.name}."
    )
    if leans:
        sentence += _marked(leans, (band.set, band.high), soft, job)
    share = rule("crush_share" if job.marks_allowed else "cosmetic_share")
    assumptions = [
        f"{soft.name} is the softer body: {soft.bruise_stress:g} MPa, "
        f"{soft.yield_basis} yield ({soft.source})",
        share.said("share of the yield allowed as mean pressure"),
        _against(worst),
        f"{s.torque_why}: {clamp.said(hold.vise, s.torque, job.units)}",
        s.force.basis,
        "no chip or burr between wall and part",
    ]
    detail = (
        ("share of the clamp force there", _share(s, worst.contact.name), ""),
        ("grip depth", hold.grip_depth, "mm"),
        ("wall length there", worst.contact.share, "mm"),
        ("clamp force, share of what bruises", worst.use, ""),
    )
    extra = Extra(where=worst.contact.point, detail=detail)
    basis = Basis(
        f"{MODEL}, {what}", f"{hertz.SOURCE}; mean pressure rule: {share.basis}", tuple(assumptions)
    )
    return (
        at_most(
            "grips", "bruise", sentence, band=band, unit="MPa", limit=worst.limit, basis=basis, extra=extra
        ),
    )


def _marked(lean: float, pressure: tuple[float, float], soft: handbook.Material, job: Job) -> str:
    """How deep the line on which a leaning wall touches is pressed in."""
    usual, most = (show(MARK * p / soft.bruise_stress, "length", job.units) for p in pressure)
    allowed = show(MARK * (1.0 if job.marks_allowed else rule("cosmetic_share").set), "length", job.units)
    return (
        f" It leans {math.degrees(lean):.1f}° and touches on a line, which is pressed in by {usual} "
        f"({most} at the most, {allowed} allowed)."
    )


def _against(worst: pressure.Pressure) -> str:
    """What the pressure is taken to do, in words."""
    if worst.line:
        return "line contact where curvatures differ, against first yield"
    if worst.contact.lean:
        return "a leaning wall yields along its line until the band carries the load"
    return "walls wrap the part"


def _share(s: Study, name: str) -> float:
    return next(w.share for w in s.walls or () if w.contact.name == name)


def _unknown(job: Job, s: Study) -> Proof:
    basis = Basis(MODEL, hertz.SOURCE)
    if part_material(job.material) is None:
        why = f"The handbook does not have the material {job.material}."
        supply = ("a material of the handbook",)
    elif s.force is None:
        why = "The torque lies beyond what was measured on the vise."
        supply = (f"a measured clamp force at {s.torque:.0f} N·m, or a lower torque in the job",)
    else:
        why = "The clamp alone cannot hold the part in balance, so the pressure on its walls is not known."
        supply = ("a pocket or stance whose walls face each other across the jaws",)
    return unknown("grips", "bruise", why, unit="MPa", supply=supply, basis=basis)
