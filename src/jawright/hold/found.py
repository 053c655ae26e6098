"""What the job asks, as found on the part: datums, features and tolerances. Part frame."""

from __future__ import annotations

from dataclasses import dataclass

from jawright.geometry.frame import Vec3
from jawright.hold.model import DatumKind
from jawright.job.model import Feature, ToleranceAsk
from jawright.part.model import Face, Hole, Recess


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
