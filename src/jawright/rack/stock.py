"""What the register holds, seen from a job: the short list of pairs to try as they are, and the metal left.

The short list comes from each pocket's signature alone, so that ten thousand pairs cost little; a pair's
own pocket is read only when it is on the list.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from jawright import trial
from jawright.errors import JawrightError
from jawright.geometry.shape_hash import outline_hash
from jawright.hold import resolve as resolving
from jawright.hold import stance
from jawright.hold.incoming import informed
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn, apart
from jawright.hold.view import ABOVE, GRIP_LEAST, View, view
from jawright.jaws.cut_for import places
from jawright.jaws.kept import Kept
from jawright.jaws.match import as_cut, land
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.rack import plain, recut, search
from jawright.rack.model import SIDES, Cut, Pair, Side
from jawright.rack.search import AsIs
from jawright.rack.store import Rack
from jawright.rack.trouble import told
from jawright.shop.model import Blank, Shop, Vise

SHORT = 6
"""Pairs a plan tries as they are, the best first."""


@dataclass(frozen=True, slots=True)
class Task:
    """A job, read and resolved once."""

    part: Part
    job: Job
    shop: Shop
    ask: Ask
    vises: tuple[Vise, ...]
    views: tuple[tuple[View, tuple[Turn, ...]], ...]

    def vise_of(self, vise: str) -> Vise | None:
        """The vise a pair belongs to, when it may be used; any when the pair's is unknown."""
        return next((v for v in self.vises if vise in ("", v.id)), None)


@dataclass(frozen=True, slots=True)
class Fitting:
    """A pocket the outline fits, and the view it fits in."""

    view: View
    turns: tuple[Turn, ...]
    found: AsIs


@dataclass(frozen=True, slots=True)
class Metal:
    """What a pair's metal still allows, from the register's columns."""

    pair: str
    blank: Blank
    height: float
    recuts: int  # faced clean and cut anew, above screws and vise body
    free: Side | None
    area: float  # of the largest pocket [mm²]


def task(job: Job, shop: Shop, part: Part | None = None) -> Task:
    """Read the part (unless it is given) and look at it from every side that can be up."""
    part = part or read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    if job.up is not None:
        job = informed(job, part, job.up)
    ask = resolving.resolve(part, job)
    vises = tuple(trial.vises(part, job, shop))
    views = []
    for up in stance.ups(part, job.up, ask.datums):
        try:
            seen = view(part, job, ask, up)
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
            continue
        turns = stance.turns_of(seen, ask.datums, pinned=job.hold.turn)
        views.append((seen, tuple(t for t in turns if t.kind != 3) or tuple(turns[:1])))  # of a disc, any
    return Task(part, job, shop, ask, vises, tuple(views))


def fitting(rack: Rack, t: Task) -> list[Fitting]:
    """Every usable pocket the part fits: those cut for this outline, then by how much wall is touched."""
    out = []
    for seen, turns in t.views:
        depth = (GRIP_LEAST, seen.tall - ABOVE)
        found = search.as_they_are(rack, seen.outline, [x.angle for x in turns], depth=depth)
        out += [Fitting(seen, turns, a) for a in found]
    own = _cut_for(rack, {outline_hash_of(seen) for seen, _ in t.views})
    out += _returned(rack, t, own - {(f.found.pair, f.found.side) for f in out})
    return sorted(
        out, key=lambda f: ((f.found.pair, f.found.side) not in own, -land(f.found.fit), f.found.pair)
    )


def _returned(rack: Rack, t: Task, own: set[tuple[str, str]]) -> list[Fitting]:
    """Pockets cut for this very outline that samples of their walls do not show to fit: by their zones."""
    s, out = search.signatures(rack), []
    for (pair_id, side), depth in zip(s.keys, s.depth, strict=True):
        if (pair_id, side) not in own:
            continue
        jaws = next(c.jaws for c in rack.get(pair_id).cuts if c.side == side)
        for seen, turns in t.views:
            lies = places(seen.outline, jaws, [x.angle for x in turns])
            if lies and GRIP_LEAST - 1e-9 <= depth <= seen.tall - ABOVE + 1e-9:
                near = min(range(len(turns)), key=lambda k: apart(turns[k].angle, lies[0].turn), default=0)
                out.append(Fitting(seen, turns, AsIs(pair_id, side, near, as_cut(jaws, lies[0].shift))))
                break
    return out


def outline_hash_of(seen: View) -> str:
    """Hash of a view's outline."""
    return outline_hash(seen.band.outline[0])


def _cut_for(rack: Rack, hashes: set[str]) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()
    with told(rack.path):
        for h in sorted(hashes):
            found |= {
                (str(p), str(s))
                for p, s in rack.db.execute("SELECT pair_id, side FROM cut WHERE outline = ?", (h,))
            }
    return found


def kept(rack: Rack, pair: Pair, cut: Cut) -> Kept:
    """One side of a pair as planning needs it, with what was measured when it was put back."""
    seats = tuple((s.x, s.y) for s in rack.reseats(pair.id))
    return Kept(
        pair=pair.id,
        side=cut.side,
        place=pair.place,
        vise=pair.vise,
        cut_for=part_words(cut),
        made=cut.made,
        torque=cut.torque,
        outline=outline_hash(cut.outline),
        jaws=cut.jaws,
        parts_run=pair.parts_run,
        status=pair.status,
        why=pair.why,
        seats=seats,
    )


def part_words(cut: Cut) -> str:
    """The part a pocket was cut for, in words."""
    return " ".join(w for w in (cut.part_number, cut.revision, cut.operation) if w) or "an unnamed part"


def short_list(rack: Rack, job: Job, shop: Shop, *, most: int = SHORT) -> tuple[Kept, ...]:
    """The pairs worth trying for a job as they are, the best first."""
    t = task(job, shop)
    out = []
    for f in fitting(rack, t)[:most]:
        pair = rack.get(f.found.pair)
        out.append(kept(rack, pair, next(c for c in pair.cuts if c.side == f.found.side)))
    return tuple(out)


def metal(rack: Rack, vises: Sequence[Vise], *, long: float, depth: float) -> list[Metal]:
    """Pairs in their place whose blank is long enough and fits a vise, from the columns; free sides first.

    ``recuts`` counts the pocket's floor, not its wells, so it is at most one too many; the pair itself tells.
    """
    with told(rack.path):
        rows = rack.db.execute(
            "SELECT pair.id, blank_json, height_mm, vise, max(depth_mm), max(area_mm2), group_concat(side) "
            "FROM pair LEFT JOIN cut ON cut.pair_id = pair.id "
            "WHERE status != 'dead' AND out_to = '' GROUP BY pair.id ORDER BY pair.id"
        ).fetchall()
    out = []
    for pair_id, blank_json, height, own, deep, area, sides in rows:
        blank = _blank(blank_json)
        vise = next((v for v in vises if own in ("", v.id)), None)
        if vise is None or blank.length < long:
            continue
        if abs(blank.bolt_spacing - vise.bolt_spacing) > max(blank.slot_length, 0.5):
            continue
        used = set((sides or "").split(",")) - {""}
        free = None if used and not blank.reversible else next((s for s in SIDES if s not in used), None)
        recuts = recut.count(height, blank, vise, deepest=deep or 0.0, depth=depth)
        out.append(Metal(pair_id, blank, height, recuts, free, area or 0.0))
    return sorted(out, key=lambda m: (m.free is None, -m.recuts, m.pair))


@cache
def _blank(text: str) -> Blank:
    return plain.blank_from_dict(json.loads(text), "blank")
