"""How the walls stand in use against how they were cut, by the elastic jaws or in closed form.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import beam
from jawright.part.model import Part
from jawright.proof import elastic
from jawright.proof.body import carrying, jaw_material, modulus, part_material
from jawright.proof.elastic_body import COARSE
from jawright.proof.elastic_join import Model
from jawright.proof.rules import rule

BEAM = "timoshenko-jaw-on-mount-1"


@dataclass(frozen=True, slots=True)
class Pair:
    """Both walls in use against as cut, fixed jaw first."""

    fixed: beam.WallState | elastic.WallState
    floating: beam.WallState | elastic.WallState
    pull: float | None = None  # of the jaw screw that pulls hardest in use [N]; None in closed form
    preload: float | None = None  # it was tightened to [N]

    @property
    def taper(self) -> float:
        """Opening of both walls together over the grip depth [mm], + opens upward."""
        return self.fixed.taper + self.floating.taper

    @property
    def elastic(self) -> bool:
        """True when the elastic jaws gave it, False for the closed form."""
        return isinstance(self.fixed, elastic.WallState)

    @property
    def give(self) -> float:
        """The walls' own give over the grip depth under an even pressure [mm], 0 in closed form."""
        both = (self.fixed, self.floating)
        return sum(w.give for w in both if isinstance(w, elastic.WallState))

    @property
    def share(self) -> float:
        """Share of the grip depth in contact, of the jaw that has less."""
        return min(self.fixed.share, self.floating.share)

    @property
    def deep(self) -> float:
        """Share of the grip depth that bears where the load goes through, the worse wall's."""
        return min(
            w.deep if isinstance(w, elastic.WallState) else w.share for w in (self.fixed, self.floating)
        )

    @property
    def peak(self) -> float:
        """Highest pressure of both jaws [MPa]."""
        return max(self.fixed.peak, self.floating.peak)


def walls(
    hold: Hold,
    jaws: Jaws | None,
    job: Job,
    *,
    force: float,
    end: str = "set",
    cut: beam.Cut | None = None,
    part: Part | None = None,
) -> Pair | None:
    """Both walls at a clamp ``force`` [N], for one end of the mount's stiffness and the local compliance.

    ``cut`` replaces how the jaws were loaded while they were cut, to see what another spacer
    height or torque would do. By the elastic jaws where there is metal behind walls and
    spacers, else in closed form. None when the part's material is not known or a jaw does not touch.
    """
    if force <= 0:
        return None
    m = elastic.model(hold, jaws, part, job.material)
    got = None if m is None else _elastic_walls(m, hold, jaws, force=force, end=end, cut=cut)
    return got or beam_walls(hold, jaws, job, force=force, end=end, cut=cut)


def _elastic_walls(
    m: Model, hold: Hold, jaws: Jaws | None, *, force: float, end: str, cut: beam.Cut | None
) -> Pair | None:
    stack = None if jaws is None else jaws.stack
    if jaws is not None and cut is not None:
        stack = elastic.at_height(jaws.stack, cut.height, jaws.top)
    mounts = elastic.ends(hold.vise, end)
    with one_thread():
        shape = elastic.cut_state(m, mounts, stack, force if cut is None else cut.force)
        if shape is None:
            return None
        got, held = elastic.states(m, mounts, force=force, cut=shape)
    pull = max((float(p.max()) for p in held.screws.values() if len(p)), default=None)
    return Pair(got["fixed"], got["floating"], pull, m.jaws["fixed"].screw_preload[mounts.end])


def beam_walls(
    hold: Hold, jaws: Jaws | None, job: Job, *, force: float, end: str = "set", cut: beam.Cut | None = None
) -> Pair | None:
    """As ``walls``, in closed form: a plate that bends above the vise on a sprung mount."""
    work = part_material(job.material)
    length = {on: wall_length(hold, on) for on in ("fixed", "floating")}
    if work is None or min(length.values()) <= 0 or hold.grip_depth <= 0 or force <= 0:
        return None
    jaw = jaw_material(jaws)
    vise = hold.vise
    mount = beam.Mount(
        tilt=_pick(vise.tilt_stiffness, end),
        push=_pick(vise.push_stiffness, end),
    )
    shape = rule("foundation_shape")
    local = beam.foundation(
        modulus(work, jaw),
        hold.grip_depth,
        shape={"low": shape.low, "set": shape.set, "high": shape.high}[end],
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


def wall_length(hold: Hold, on: str) -> float:
    """Wall length a jaw pushes with, as seen along the closing direction [mm]."""
    return sum(c.share * abs(c.normal[1]) for c in carrying(hold) if c.on == on)


def mesh_error(hold: Hold, jaws: Jaws | None, job: Job, *, force: float, part: Part | None) -> float | None:
    """Error [mm] of the set taper by the mesh; None in closed form.

    ``|fine − coarse|/(r − 1)``: first order, as corners and edges of contact leave it.
    Source: Richardson extrapolation; order one observed on a third mesh.
    """
    fine = elastic.model(hold, jaws, part, job.material)
    coarse = elastic.model(hold, jaws, part, job.material, COARSE)
    if fine is None or coarse is None:
        return None
    pairs = [_elastic_walls(m, hold, jaws, force=force, end="set", cut=None) for m in (fine, coarse)]
    if pairs[0] is None or pairs[1] is None:
        return None
    return abs(pairs[0].taper - pairs[1].taper) / (COARSE - 1)
