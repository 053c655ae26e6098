"""What the job asks, as found on the part: datums, features and tolerances. Part frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from jawright.geometry.frame import Vec3
from jawright.hold.model import DatumKind
from jawright.job.model import Feature, ToleranceAsk
from jawright.part.model import Face, Hole, Part, Recess


@dataclass(frozen=True, slots=True)
class FoundDatum:
    """A datum letter with what the part shows there."""

    letter: str
    kind: DatumKind
    faces: tuple[int, ...]
    point: Vec3
    normal: Vec3
    words: str
    size: float | None = None  # whole width of a bore's size tolerance [mm], where the file gives it


@dataclass(frozen=True, slots=True)
class FoundFeature:
    """A feature of this operation with the face or hole it makes; ``face`` None: the whole top.

    ``window`` is the opening right through the part that a pocket or slot makes, None when it is blind.
    """

    ask: Feature
    faces: tuple[int, ...]
    hole: Hole | None
    face: Face | None
    window: Recess | None = None


@dataclass(frozen=True, slots=True)
class Ask:
    """Everything the print asks of this operation, resolved against the part."""

    datums: tuple[FoundDatum, ...]
    features: tuple[FoundFeature, ...]
    tolerances: tuple[ToleranceAsk, ...]
    notes: tuple[str, ...]


def together(part: Part, faces: Sequence[int]) -> Face:
    """The largest of some faces of the part, with the box of all: it stands for them."""
    mine = [part.faces[i] for i in faces]
    boxes = [f.box for f in mine]
    low = [min(b[k] for b in boxes) for k in range(3)]
    high = [max(b[k] for b in boxes) for k in range(3, 6)]
    largest = max(mine, key=lambda f: (f.area, -f.index))
    return replace(largest, box=(low[0], low[1], low[2], high[0], high[1], high[2]))
