"""Does it stay in shape when the vise opens? The part's elastic squeeze, and what it does to bores."""

from __future__ import annotations

from jawright import handbook
from jawright.errors import JawrightError
from jawright.hold.feet import squeezed_together
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import plate
from jawright.part.model import Part
from jawright.proof import clamp, released
from jawright.proof.body import part_material
from jawright.proof.judge import Band, Basis, Extra, at_most, unknown
from jawright.proof.metal import gripped, metal
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.squeeze import FORM, ORIENTATION, Spring, section
from jawright.proof.window import Study, study
from jawright.shop.model import Shop
from jawright.units import show

MODEL = "elastic-block-with-holes-1"
SOLID = "elastic-part-3"
SUPPLY = (
    "the thinnest wall's deflection read with an indicator while tightening",
    "or finish this feature before the part is cut thin",
)


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Spring of every bore made here, or of the part as a block when none is made."""
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    basis = _basis(hold, part, job, s)
    if part_material(job.material) is None:
        why = f"The handbook does not have the material {job.material}."
        return (_unknown("spring", why, ("a material of the handbook",), basis),)
    if s.force is None or s.springs is None:
        why = "The torque lies beyond what was measured on the vise."
        supply = (f"a measured clamp force at {s.torque:.0f} N·m, or a lower torque in the job",)
        return (_unknown("spring", why, supply, basis),)
    bores = [x for x in s.springs if x.feature is not None]
    if not bores:
        return (_block(s.springs[0], s, hold, job, basis),)
    return tuple(_bore(x, s, hold, job, basis) for x in bores)


def _unknown(name: str, why: str, supply: tuple[str, ...], basis: Basis) -> Proof:
    return unknown("grips", name, why, unit="mm", supply=supply, basis=basis)


def _basis(hold: Hold, part: Part, job: Job, s: Study) -> Basis:
    if not any(x.way is not None for x in s.springs or ()):
        return Basis(MODEL, f"Hooke; Kirsch 1898; {plate.SOURCE}", _assumptions(hold, part, job, s))
    out = [
        "the finished part as a solid between both walls, which are taken as even and stiff, their friction "
        "as holding along X and up; moves are against the wall on the fixed jaw; out of round is the larger "
        "of that and of an even pressure, as walls that give press",
        "the band takes in the error by the mesh; stress left by earlier cuts left out",
        rule("spring_share").said("share of the tolerance"),
        f"{s.torque_why}: {clamp.said(hold.vise, s.torque, job.units)}",
    ]
    if s.force is not None:
        out.append(s.force.basis)
    return Basis(SOLID, released.SOURCE, tuple(out))


def _assumptions(hold: Hold, part: Part, job: Job, s: Study) -> tuple[str, ...]:
    try:
        solid = metal(hold, part).solid
    except JawrightError:
        solid = 1.0  # said as the reason why the answer is unknown
    small, mid, large = section(hold, max(solid, 1e-3))
    out = [
        f"{solid:.0%} of the squeezed length is metal right across",
        f"section that carries the clamp force {small:.0f} / {mid:.0f} / {large:.0f} mm² "
        "(gripped wall times depth, to length times height)",
        rule("spring_share").said("share of the tolerance"),
        f"{s.torque_why}: {clamp.said(hold.vise, s.torque, job.units)}",
        "even squeeze along Y; bending of the part and stress left by earlier cuts left out",
    ]
    if s.force is not None:
        out.append(s.force.basis)
    return tuple(out)


def _times(per: tuple[float, float, float], s: Study) -> Band:
    assert s.force is not None
    return Band(per[0] * s.force.low, per[1] * s.force.set, per[2] * s.force.high)


def general_zone(size: float) -> float:
    """Width of the medium general tolerance [mm] of a size; the table's ends stand for sizes beyond it."""
    rows = handbook.table("tolerances")["general"]["linear"]
    first, last = rows["from_mm"], rows["up_to_mm"][-1]
    return 2 * handbook.general_linear("m", min(max(size, first), last))


def _block(x: Spring, s: Study, hold: Hold, job: Job, basis: Basis) -> Proof:
    if x.why_not:
        why = f"How far the part springs is not known by a closed form: {x.why_not}."
        return _unknown("spring", why, SUPPLY, basis)
    band = _times(x.move, s)
    tight = min((t.zone for t in hold.tolerances if t.kind not in ORIENTATION), default=None)
    of = "the tightest tolerance of place or size"
    if tight is None:
        of = "the general tolerance of its width"
        b = hold.outline.outer.box
        tight = general_zone(b[3] - b[1])
        more = "no tolerance of place or size given: ISO 2768-1 medium of the width across the jaws stands in"
        basis = Basis(basis.model, basis.source, (*basis.assumptions, more))
    limit = rule("spring_share").set * tight
    done, better = "shortens the part", ""
    if squeezed_together(hold.feet):
        done = "bends the feet of the part toward each other and shortens it"
        if band.high > limit:
            better = ": close along the slot, or fill it with a snug packing"
    sentence = (
        f"The clamp {done} by about {show(band.set, 'length', job.units)} between the jaws; "
        f"a tenth of {of} is {show(limit, 'length', job.units)}{better}."
    )
    extra = Extra(detail=tuple(_bulge(s)))
    return at_most("grips", "spring", sentence, band=band, unit="mm", limit=limit, basis=basis, extra=extra)


def _better(x: Spring, s: Study, hold: Hold, job: Job, limit: float) -> str:
    """What to do about a bore that springs too far: a lighter clamp that still holds, else another order."""
    assert x.feature is not None and s.force is not None
    force = s.row.total_for_at_most(limit / max(x.counted[2], 1e-12))
    torque = clamp.torque_for_at_most(hold.vise, force)
    if s.least is not None and s.least <= torque < s.torque:
        return f"; at {clamp.said(hold.vise, torque, job.units)} it stays within and still holds"
    if x.counted[1] * s.force.set <= limit:
        return ""
    return (
        f"; no torque that holds is light enough: finish {x.feature.name} in the first operation, before the "
        "part is cut thin, wrap the part in its nest, or hold it down from above instead of squeezing it"
    )


def _bulge(s: Study) -> list[tuple[str, float, str]]:
    """How far the upper face, milled flat in the vise, is from flat when it opens."""
    if not s.springs or s.springs[0].bulge <= 0 or s.force is None:
        return []
    return [("upper face from flat when the vise opens", s.springs[0].bulge * s.force.set, "mm")]


def _bore(x: Spring, s: Study, hold: Hold, job: Job, basis: Basis) -> Proof:
    assert x.feature is not None
    f = x.feature
    name = f"spring, {f.name}"
    if x.why_not:
        why = f"How far {f.name} springs is not known by a closed form: {x.why_not}."
        return _unknown(name, why, SUPPLY, basis)
    move, oval = _times(x.move, s), _times(x.oval, s)
    said = (
        f"{f.name} moves by about {show(move.set, 'length', job.units)} {'' if x.way else 'along Y '}"
        f"and is out of round by about {show(oval.set, 'length', job.units)}"
    )
    t = x.tolerance
    if t is None:
        zone, kind = general_zone(f.diameter or 0.0), "general"
        assumed = ("no tolerance given: ISO 2768-1 medium of its diameter stands in",)
    else:
        zone, kind = t.zone, t.kind
        assumed = (f"counted: {'out of round' if kind in FORM else 'how far it moves'}",)
    limit = rule("spring_share").set * zone
    used = _times(x.counted, s)
    sentence = (
        f"When the vise opens {said}; at worst {show(used.high, 'length', job.units)} counts, where a tenth "
        f"of its {kind} tolerance is {show(limit, 'length', job.units)}"
        f"{_better(x, s, hold, job, limit) if used.high > limit else ''}."
    )
    sign = s.force.set if s.force is not None else 0.0
    names = ("of that along X", "of that along Y")
    way = [(n, v * sign, "mm") for n, v in zip(names, x.way or (), strict=False)]
    detail = (
        ("move along Y when the vise opens" if x.way is None else "move when the vise opens", move.set, "mm"),
        *way,
        ("out of round when the vise opens", oval.set, "mm"),
        ("tolerance", zone, "mm"),
        *_bulge(s),
    )
    extra = Extra(where=f.center, detail=detail)
    basis = Basis(basis.model, basis.source, (*basis.assumptions, *assumed))
    return at_most("grips", name, sentence, band=used, unit="mm", limit=limit, basis=basis, extra=extra)
