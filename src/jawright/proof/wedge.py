"""Do leaning walls let the clamp squeeze the part out upward?"""

from __future__ import annotations

import math

from jawright.geometry.frame import dot, unit
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Face, Part
from jawright.proof.body import carrying
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.shop.model import Shop

UPRIGHT = math.radians(0.05)
"""Walls that lean less are upright: 0.01 mm over a usual grip (common practice, no source)."""

STEEPEST = math.radians(30.0)
"""What leans more is a chamfer and no wall."""


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> list[Proof]:  # noqa: ARG001
    """Lift by walls that are wider at the top against friction; none where the touched walls are upright.

    A wall that leans by d and is pressed by N pushes the part up with N sin d, and friction holds it down
    with at most mu N cos d: it stays while tan d is below mu, the angle of friction.
    *Source*: the wedge of any statics text. *Valid for*: walls touched where the grip begins, rigid.
    """
    leans = _leans(hold, part)
    if not leans or max(abs(a) for a in leans) <= UPRIGHT:
        return []
    out = max(leans)  # above 0: wider at the top, lifts
    f = shop.friction
    most = max(leans, key=abs)
    words = f"The touched walls lean {math.degrees(abs(most)):.1f}°"
    if out <= UPRIGHT:
        ratio = Band(0.0, 0.0, 0.0)
        sentence = (
            f"{words} and are wider at the bottom: the clamp does not lift the part, but upright jaws touch "
            "only its lower edge. Cut the walls to their angle, or grip on short pads near the floor."
        )
    else:
        t = math.tan(out)
        ratio = Band(t / f.high, t / f.set, t / f.low)
        sentence = (
            f"{words}, wider at the top: the clamp lifts the part with {t:.0%} of its force at each wall and "
            f"uses up {ratio.set:.0%} of the friction that holds it down ({ratio.high:.0%} with poor "
            "friction). Turn it over, or hold it on an upright run of its walls."
        )
    return [
        at_most(
            "holds",
            "wedging",
            sentence,
            band=ratio,
            unit="",
            limit=1.0,
            basis=Basis(
                "wedge-1",
                "statics of the wedge",
                (f"friction {f.low:g} / {f.set:g} / {f.high:g} ({f.basis})", "walls and jaws rigid"),
            ),
            extra=Extra(at_best="caution"),
        )
    ]


def lean_of(hold: Hold, part: Part | None) -> float:
    """How far the touched walls lean at the most [rad], either way; 0 where they are upright."""
    most = max((abs(a) for a in _leans(hold, part)), default=0.0)
    return most if most > UPRIGHT else 0.0


def _leans(hold: Hold, part: Part | None) -> list[float]:
    """Lean [rad] of the walls the jaws touch, above 0 where the part is wider at the top."""
    if not isinstance(part, Part):
        return []
    up = unit(hold.stance.up)
    faces = {f.index: f for f in part.faces}
    touched = {c.face for c in carrying(hold) if c.on in ("fixed", "floating") and c.face in faces}
    return [lean for i in sorted(touched) if (lean := _lean(faces[i], up)) is not None]


def _lean(face: Face, up: tuple[float, float, float]) -> float | None:
    """Lean of one wall [rad]; None where one angle does not tell it."""
    if face.kind not in ("plane", "cone"):
        return None
    angle = -math.asin(max(-1.0, min(1.0, dot(face.normal, up))))
    return angle if abs(angle) <= STEEPEST else None
