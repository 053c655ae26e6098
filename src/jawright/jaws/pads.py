"""Short pads where the outline is too uncertain for a nest: cast and sawn walls touch at few places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from jawright.hold.outline import Wall, sub
from jawright.job.model import Job
from jawright.part.model import BandKind

ROUGH = 1.0
"""From this width of the perimeter's profile zone [mm] on, walls are touched on pads and never nested
(0.040 in, cast and sawn outlines; common practice, no source)."""

TOLD = "pad:"  # what the reason of a pad's wall begins with
LENGTH = 10.0  # [mm] length of a pad along the wall (common practice, no source)
ON_A_LINE = 20.0  # [mm] and on walls with draft, touched on a line only (common practice, no source)
FLAT = math.radians(30.0)
"""A pad's wall lies within this of square to the closing direction, where the outline has such walls."""

STEP = 1.0  # [mm] places tried along the walls


def wanted(job: Job) -> bool:
    """Whether the perimeter varies so much that it is touched on pads only."""
    return job.incoming.profile.value >= ROUGH


def length_on(band: BandKind) -> float:
    """Length of a pad [mm] on walls of this kind."""
    return ON_A_LINE if band == "drafted" else LENGTH


def two_pads(walls: Sequence[Wall], reason: str, length: float = LENGTH) -> list[Wall]:
    """Two pads of ``length`` [mm] on the runs of one side, as far apart as its square-on walls allow."""
    spots = _spots(walls, length)
    if not spots:
        return []
    first = min(spots, key=lambda w: w.middle)
    last = max(spots, key=lambda w: w.middle)
    pair = [first] if last.middle[0] - first.middle[0] < length else [first, last]
    return [replace(w, reason=reason, pad=True) for w in pair]


def between(walls: Sequence[Wall], fixed: Sequence[Wall], reason: str, length: float = LENGTH) -> list[Wall]:
    """One pad of ``length`` [mm] on the other side whose push goes nearest the middle of the fixed ones."""
    if not fixed:
        return []
    xs = [w.middle[0] for w in fixed]
    want = (min(xs) + max(xs)) / 2

    def off(w: Wall) -> float:
        # where the push meets the line through the fixed pads
        (x, y), (nx, ny) = w.middle, w.normal
        height = sum(f.middle[1] for f in fixed) / len(fixed) - y
        return abs(x + nx / ny * height - want) if abs(ny) > 1e-6 else math.inf

    spots = _spots(walls, length)
    return (
        [replace(min(spots, key=lambda w: (round(off(w), 6), w.middle)), reason=reason, pad=True)]
        if spots
        else []
    )


def one_pad(wall: Wall) -> Wall:
    """The stop's run cut to a pad at its middle."""
    n = wall.curve.length
    if n <= LENGTH:
        return replace(wall, pad=True)
    half = LENGTH / n / 2
    return replace(wall, curve=sub(wall.curve, 0.5 - half, 0.5 + half), pad=True)


def _spots(walls: Sequence[Wall], length: float) -> list[Wall]:
    """Every place for a pad on the runs; only those square enough where there are any."""
    out = []
    for w in walls:
        n = w.curve.length
        if n <= length:
            if n >= LENGTH / 2:
                out.append(w)
            continue
        share = length / n
        places = np.linspace(0.0, 1.0 - share, max(2, math.ceil((n - length) / STEP) + 1))
        out += [replace(w, curve=sub(w.curve, float(a), float(a) + share)) for a in places]
    square = [w for w in out if abs(w.normal[0]) <= math.sin(FLAT)]
    return square or out
