"""From where the part stands and what bears on it to the whole hold: one way for every kind of jaws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon

from jawright import handbook
from jawright.geometry.curve import Point
from jawright.geometry.frame import standing
from jawright.geometry.profile import Region
from jawright.hold import feet
from jawright.hold.contacts import floor_contacts, lower_contacts, on_floors, soles_moved
from jawright.hold.features import datum_uses, made
from jawright.hold.leaning import touching
from jawright.hold.model import Contact, Hold, HoldKind, MadeFeature, Seat, SideStop, Stance
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Parallel, Shop, Vise


@dataclass(frozen=True, slots=True)
class Seating:
    """What is chosen about a hold; all else follows from the part and the job. Vise frame, mm.

    ``bearing`` are the contacts on walls and stop, ``carried`` the areas in plan that the underside
    may rest on. ``reused`` says that the jaws were cut before and are put back.
    """

    kind: HoldKind
    shift: Point
    floor: float
    jaw_top: float
    grip_depth: float
    gap: float
    bearing: tuple[Contact, ...]
    carried: tuple[Polygon, ...]
    parallels: tuple[Parallel, ...] = ()
    notes: tuple[str, ...] = ()
    reused: bool = False
    side_stop: SideStop | None = None
    no_stop: str = ""
    lower: tuple[Polygon, ...] = ()  # the areas of lower floors; none: as ``carried``


def assemble(
    seating: Seating, view: View, turn: Turn, *, ask: Ask, part: Part, job: Job, shop: Shop, vise: Vise
) -> Hold:
    """The hold of a part seen as ``view``, turned by ``turn`` and seated as said."""
    s = seating
    move = standing(view.up, turn=turn.angle, shift=(*s.shift, s.floor - view.low))
    region = Region(view.outline.moved(turn=turn.angle, shift=s.shift))
    soles = soles_moved(view.band.bottom, turn=turn.angle, shift=s.shift)
    bearing = touching(
        s.bearing, part, view.up, low=view.low, floor=s.floor, top=s.jaw_top, broken=view.edge_break
    )
    contacts = [*bearing, *floor_contacts(on_floors(soles, s.carried), s.floor, view.down_face)]
    below = feet.put(view.below, turn=turn.angle, shift=s.shift)
    if any(b.soles for b in below) and s.kind == "soft jaws":
        count = 1 + len(contacts) - len(bearing)
        contacts += lower_contacts(below, s.lower or s.carried, s.floor, first=count)
    lower = [i for b in view.below for i in b.faces]
    top = s.floor + view.tall
    features = made(
        ask,
        move,
        shop=shop,
        material=job.material,
        top=top,
        bottom=s.floor,
        stock=view.stock,
        plan=region,
        windows={name: r.moved(turn=turn.angle, shift=s.shift) for name, r in view.windows},
        runs=dict(view.runs),
        narrows=dict(view.narrows),
    )
    return Hold(
        kind=s.kind,
        stance=Stance(view.up, turn.angle, s.shift[0], move, turn.reason),
        vise=vise,
        outline=region,
        face_of_curve=view.faces,
        contacts=tuple(contacts),
        floor=s.floor,
        jaw_top=s.jaw_top,
        grip_depth=s.grip_depth,
        part_top=top,
        stock=view.stock,
        part_mass=part.volume * handbook.material(job.material).density,
        gap=s.gap,
        parallels=s.parallels,
        features=features,
        datums=datum_uses(ask, move, seats(_staying(s, bearing), (*view.down_faces, *lower))),
        tolerances=ask.tolerances,
        stop=next((c.point for c in contacts if c.on == "stop"), None),
        notes=(*ask.notes, *s.notes, *feet.told(len(view.band.outline)), *_unseen(features)),
        reused=s.reused,
        side_stop=s.side_stop,
        no_stop=s.no_stop,
        grip_reason=_why_as_deep(s, view),
        feet=feet.moved(view.band, turn=turn.angle, shift=s.shift),
        bridges=view.bridges,
        below=below,
        level_reason=view.level_reason,
    )


def _staying(s: Seating, bearing: Sequence[Contact]) -> Sequence[Contact]:
    """The contacts without a stop that is swung away: what it touches is no datum yet, it is milled now."""
    gone = s.side_stop is not None and s.side_stop.away
    return [c for c in bearing if not (gone and c.on == "stop")]


def _unseen(features: Sequence[MadeFeature]) -> list[str]:
    """What is milled right through and comes out by no known outline: the jaws leave it no room."""
    return [
        f"{f.name} comes out below: see that nothing stands under it"
        for f in features
        if f.through and f.diameter is None and f.window is None
    ]


def _why_as_deep(s: Seating, view: View) -> str:
    if s.kind == "hard jaws":
        return "the jaws' height above the parallels"
    return view.grip_reason


def seats(bearing: Sequence[Contact], down: Sequence[int]) -> dict[int, Seat]:
    """What carries each face of the part; a locating contact goes before one that only grips."""
    out: dict[int, Seat] = dict.fromkeys(down, "floor")
    for c in bearing:
        if c.face >= 0 and not (c.face in out and not c.locates):
            out[c.face] = c.on
    return out
