"""How both walls press the part in use, patch by patch, as the record keeps it and the sheet draws it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics.solid import Floats
from jawright.part.model import Part
from jawright.proof import elastic
from jawright.proof.elastic_join import SIDES
from jawright.proof.elastic_walls import Walls
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
        out.append(WallPressure(side, along, state.taper, error, state.share, depth_share(w, p), pads))
    return tuple(out)


def depth_share(w: Walls, pressure: Floats) -> float:
    """Least share of the grip depth that bears in any column of patches.

    Between a patch that bears and one that does not the edge of contact lies where the pressure, taken as a
    straight line between their middles, is nought; an outer half patch counts as its patch does.
    """
    least = 1.0
    column = np.round(w.middle[:, :2], 6)
    for at in np.unique(column, axis=0):
        own = np.flatnonzero((column == at).all(axis=1))
        order = own[np.argsort(w.middle[own, 2])]
        p = pressure[order]
        n = len(p)
        bears = 0.5 * float(p[0] > 0) + 0.5 * float(p[-1] > 0)
        for a, b in pairwise(p):
            bears += 1.0 if a > 0 and b > 0 else 0.5 if max(a, b) > 0 else 0.0
        least = min(least, bears / n)
    return least
