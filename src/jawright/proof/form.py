"""Form tolerances of what is cut here: what the part's spring makes of a flat face or a round bore.

Where the part sits does not enter. The cut itself adds its own form, which nothing here knows: such a
tolerance is never a plain pass.
"""

from __future__ import annotations

from jawright.proof.deviations import FORM, Ask
from jawright.proof.gives import Gives
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.proof.released import SOURCE
from jawright.proof.say import Say
from jawright.proof.sense import HOLES

MODEL = "form-by-spring-1"
ROUND = ("circularity", "roundness", "cylindricity")


def prove(ask: Ask, gives: Gives | str, say: Say) -> Proof | None:
    """How far a face is from flat, or a bore from round, when the vise opens; None where it is not known."""
    t, f = ask.tolerance, ask.feature
    if t.kind not in FORM or f is None or isinstance(gives, str):
        return None
    per = None
    if t.kind == "flatness" and f.kind == "face":
        per = gives.flat.get(f.name)
    elif t.kind in ROUND and f.kind in HOLES and f.name not in gives.unread:
        oval = gives.oval.get(f.name)
        per = None if oval is None else oval / 2  # roundness counts radii
    if per is None:
        return None
    band = Band(*(per * force for force in gives.force))
    title = ask.title(say)
    sentence = (
        f"{title}: cut squeezed and let go it is off by about {say.fine(band.set)}, at worst by "
        f"{say.fine(band.high)}. The cut adds its own form: measure it on the first part."
    )
    basis = Basis(MODEL, SOURCE, (f"clamp force {gives.basis}", "the form of the cut itself is not counted"))
    extra = Extra(at_best="caution", where=f.center)
    return at_most("locates", title, sentence, band=band, unit="mm", limit=t.zone, basis=basis, extra=extra)
