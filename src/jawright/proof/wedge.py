"""Do leaning walls let the clamp squeeze the part out upward?"""

from __future__ import annotations

import math

from jawright.geometry.frame import unit
from jawright.hold.leaning import UPRIGHT, lean
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.job.pinned import other_face
from jawright.part.model import Part
from jawright.proof.body import carrying
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.shop.model import Shop


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
            f"{words} and are wider at the bottom: upright jaws touch their lowest line and push level, so "
            f"the clamp does not lift the part. Friction holds it down with {f.set:.0%} of the clamp force "
            f"at each wall ({f.low:.0%} with poor friction)."
        )
    else:
        t = math.tan(out)
        ratio = Band(t / f.high, t / f.set, t / f.low)
        sentence = (
            f"{words}, wider at the top: the clamp lifts the part with {t:.0%} of its force at each wall and "
            f"uses up {ratio.set:.0%} of the friction that holds it down ({ratio.high:.0%} with poor "
            f"friction). {_left(f.set - t, 'usual')}; {_left(f.low - t, 'poor')}. Hold it on an "
            f"upright run of its walls; {other_face(job)}, which it would have to be wider below for."
        )
    detail = tuple(
        (f"hold-down at each wall with {name} friction, share of its force", mu - max(0.0, math.tan(out)), "")
        for name, mu in (("poor", f.low), ("usual", f.set), ("good", f.high))
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
            extra=Extra(at_best="caution", detail=detail),
        )
    ]


def _left(share: float, friction: str) -> str:
    """What is left to hold the part down."""
    if share > 0.0:
        return f"{share:.1%} of it is left to hold the part down with {friction} friction"
    return f"with {friction} friction the part climbs out"


def on_a_line(hold: Hold) -> bool:
    """Whether a wall leans against its jaw, so that it touches on one line only."""
    return any(c.lean for c in carrying(hold) if c.on in ("fixed", "floating"))


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
    return [a for i in sorted(touched) if (a := lean(faces[i], up)) is not None]
