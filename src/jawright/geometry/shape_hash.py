"""A name for an outline's shape that is the same however it stands."""

from __future__ import annotations

import hashlib

from jawright.geometry.curve import Arc
from jawright.geometry.profile import Region


def outline_hash(outline: Region | None) -> str:
    """SHA-256 of the outline's shape: its lengths, radii and turns to 1 µm, wherever and however it stands.

    The chain is written from each of its curves and the first in order counts, so the same part
    gives the same text in any turn and shift; a mirrored part gives another.
    """
    if outline is None:
        return ""
    words = []
    curves = outline.outer.curves
    for k, c in enumerate(curves):
        before, after = curves[k - 1].tangent(1.0), c.tangent(0.0)
        corner = before[0] * after[1] - before[1] * after[0]
        size = f"{c.length:.3f} {c.radius if isinstance(c, Arc) else 0.0:.3f} {corner:.3f}"
        words.append(size.replace("-0.000", "0.000") + (" l" if not isinstance(c, Arc) else f" {c.ccw:d}"))
    text = min("|".join(words[k:] + words[:k]) for k in range(len(words)))
    return hashlib.sha256(text.encode()).hexdigest()
