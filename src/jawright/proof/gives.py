"""How far what is cut here moves on the part when the vise opens: a source of scatter, and a mean.

The part is cut squeezed. A point cut at ``p`` in the vise is, on the free part, at ``p + u``: the metal
between it and the fixed jaw grows back. Walls of the first side were measured free and keep their places.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import clamp
from jawright.proof.metal import gripped
from jawright.proof.released import releases
from jawright.proof.rules import rule
from jawright.proof.window import study
from jawright.shop.model import Shop

KEY, LABEL = "clamp force", "spring when the vise opens"


@dataclass(frozen=True)
class Gives:
    """Clamp force low / set / high [N], its scatter from part to part (share), and moves per newton [mm/N].

    ``moves`` of bores by name along X and Y; all else shrinks evenly by ``width`` from ``top`` over ``span``.
    ``faces`` by name: how much higher over the underside and how far from parallel to it [mm/N].
    ``flat`` how far a face is from flat, ``oval`` the difference of a bore's diameters [mm/N].
    ``against`` is where the part stands still: 0 at the fixed jaw, 1 at the floating one. ``unread`` says by
    name why the move of a feature is not known.
    """

    force: tuple[float, float, float]
    scatter: float
    moves: dict[str, tuple[float, float]]
    width: float
    top: float
    span: float
    basis: str
    against: float = 0.0
    faces: dict[str, tuple[float, float]] = field(default_factory=dict)
    flat: dict[str, float] = field(default_factory=dict)
    oval: dict[str, float] = field(default_factory=dict)
    unread: dict[str, str] = field(default_factory=dict)

    def at(self, name: str, y: float) -> tuple[float, float]:
        """Move of the middle of a feature, at Y, per newton (x, y) [mm/N]."""
        own = self.moves.get(name, (0.0, -self.width * max(0.0, self.top - y) / self.span))
        return own[0], own[1] + self.against * self.width

    @property
    def stretch(self) -> float:
        """Growth along Y per millimeter and newton [1/N]."""
        return self.width / self.span


def of(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> Gives | str:
    """What the spring proof found, or why nothing is counted; "" without a solid, where nothing is said."""
    if not isinstance(part, Part) or not part.shape:
        return ""
    held = gripped(hold, part)
    s = study(held, jaws, part, job, shop)
    if s.force is None or not s.springs:
        return "the clamp force or the part's stiffness is not known"
    block = s.springs[0]
    if block.why_not:
        return block.why_not
    moves: dict[str, tuple[float, float]] = {}
    unread: dict[str, str] = {}
    for x in s.springs[1:]:
        if x.feature is None:
            continue
        if x.why_not:
            unread[x.feature.name] = x.why_not
            continue
        moves[x.feature.name] = x.way if x.way is not None else (0.0, -x.move[1])
    faces: dict[str, tuple[float, float]] = {}
    flat: dict[str, float] = {}
    oval = {x.feature.name: x.oval[1] for x in s.springs[1:] if x.feature is not None and not x.why_not}
    for r in releases(held, jaws, part, job.material) or ():
        f = next((f for f in hold.features if f.name == r.feature), None)
        if f is not None and f.kind == "face":
            faces[f.name] = (r.rise, r.slant)
            flat[f.name] = r.bulge
        elif f is not None:
            moves.setdefault(f.name, r.move)
    _, y0, _, y1 = hold.outline.outer.box
    around = rule("table_scatter")
    scatter, why = around.set, around.basis
    if clamp.by_force(hold.vise):  # it is set, not pulled by hand: its own band is all there is
        band = hold.vise.force
        assert band is not None
        scatter, why = (band.high - band.low) / (2 * band.set), f"clamp force as it is set: {band.basis}"
    force = (s.force.low, s.force.set, s.force.high)
    if not all(math.isfinite(f) for f in force):
        return "the clamp force is not known"
    width = block.way[1] if block.way is not None else block.move[1]
    basis = f"{force[1]:.0f} N (low {force[0]:.0f}, high {force[2]:.0f}) ± {scatter:.0%}: {why}"
    return Gives(
        force,
        scatter,
        moves,
        width,
        y1,
        max(y1 - y0, 1e-6),
        basis,
        faces=faces,
        flat=flat,
        oval=oval,
        unread=unread,
    )
