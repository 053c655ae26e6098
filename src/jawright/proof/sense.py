"""Whether a tolerance makes sense on the feature and the datums as they lie in the model."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse, MadeFeature
from jawright.job.model import ToleranceAsk

Floats = NDArray[np.float64]

AXES = ("bore", "round")
HOLES = ("drill", "bore", "ream")
ALIKE = 0.9999
"""Least cosine between directions that count as one."""
ACROSS = 0.02
"""Largest cosine between directions that count as square to each other: about a degree."""
ORIENTATION = ("parallelism", "perpendicularity")


def lies(d: DatumUse) -> bool:
    """Whether a datum is a plane that lies down or up."""
    return d.kind == "plane" and abs(d.normal[2]) > 0.9


def wall_normal(f: MadeFeature) -> Floats | None:
    """Unit normal [-] (2,) in plan of one straight upright wall, either way; None of anything else."""
    if f.kind in HOLES or f.kind == "face" or f.region is not None or len(f.path) < 2:
        return None
    p = np.array([q[:2] for q in f.path], dtype=float)
    away = p - p[0]
    if np.linalg.matrix_rank(away, tol=1e-6) != 1:
        return None
    far = away[int(np.hypot(away[:, 0], away[:, 1]).argmax())]
    return np.array([-far[1], far[0]]) / float(np.hypot(far[0], far[1]))


def contradicts(t: ToleranceAsk, f: MadeFeature, datums: Sequence[DatumUse]) -> str:
    """Why a tolerance cannot be meant; empty when it can."""
    for d in datums:
        members = getattr(d, "members", ()) or (d,)
        if any(set(f.faces) & set(m.faces) for m in members):
            return f"{f.name} is datum {d.letter} itself and is not measured from it"
    first = datums[0]
    if t.kind == "distance" and lies(first) and f.kind in HOLES and f.through:
        return f"{f.name} goes through and has no height over {first.letter}"
    if t.kind not in ORIENTATION:
        return ""
    axis = f.kind in HOLES
    normal = wall_normal(f)
    if not axis and f.kind != "face" and normal is None:
        return ""
    own = np.array([0.0, 0.0, 1.0]) if normal is None else np.array([*normal, 0.0])
    along = abs(float(own @ np.array(first.normal)))
    if axis != (first.kind in AXES):  # an axis and a plane: parallel means square to the normal
        parallel, square = along < ACROSS, along > ALIKE
    else:
        parallel, square = along > ALIKE, along < ACROSS
    if t.kind == "parallelism" and square:
        return (
            f"{f.name} stands square to {first.letter} in the model, not parallel: perpendicularity is meant"
        )
    if t.kind == "perpendicularity" and parallel:
        return f"{f.name} is parallel to {first.letter} in the model, not square: parallelism is meant"
    if (t.kind == "parallelism" and not parallel) or (t.kind == "perpendicularity" and not square):
        return f"{f.name} lies at another angle to {first.letter} in the model: angularity is meant"
    return ""
