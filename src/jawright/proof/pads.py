"""How both walls press the part in use, patch by patch, as the record keeps it and the sheet draws it."""

from __future__ import annotations

import numpy as np

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import elastic
from jawright.proof.elastic_join import SIDES
from jawright.proof.metal import gripped
from jawright.proof.model import Pad, WallPressure
from jawright.proof.taper import mesh_error
from jawright.proof.window import study
from jawright.shop.model import Shop


def pressure_maps(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop
) -> tuple[WallPressure, ...]:
    """Pressure of the fixed and the floating jaw on the part; () where only the closed form serves.

    From the same contact solution as the taper: parameters, valid for and source as ``elastic.states``.
    """
    hold = gripped(hold, part)
    s = study(hold, jaws, part, job, shop)
    m = elastic.model(hold, jaws, part, job.material)
    if m is None or s.force is None:
        return ()
    mounts = elastic.ends(hold.vise, "set")
    with one_thread():
        cut = elastic.cut_state(m, mounts, None if jaws is None else jaws.stack, s.force.set)
        if cut is None:
            return ()
        found, held = elastic.states(m, mounts, force=s.force.set, cut=cut)
    error = mesh_error(hold, jaws, job, force=s.force.set, part=part)
    out = []
    for side in SIDES:
        w, force = m.jaws[side].walls, held.force[side]
        p = force / w.area
        on = p > elastic.BEARS * force.sum() / w.area.sum()
        pads = tuple(
            Pad((float(x), float(y), float(z)), float(length), float(a / length), float(v) if touch else 0.0)
            for (x, y, z), length, a, v, touch in zip(w.middle, w.length, w.area, p, on, strict=True)
        )
        along = float(force @ np.abs(w.normal[:, 1]))
        state = found[side]
        out.append(WallPressure(side, along, state.taper, error, state.share, state.deep, pads))
    return tuple(out)
