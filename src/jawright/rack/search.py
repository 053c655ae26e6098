"""Jaws that exist, for a job: as they are, re-cut, in a free side, or a blank from stock.

The short list comes from each pocket's signature in the register (length, depth of the whole, area):
conditions that a fit surely meets, so the same pairs are found as by trying all. What passes is tried
with the sampled walls; the few best are designed and proven in full by the caller.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.profile import Profile
from jawright.jaws import match
from jawright.jaws.match import Fit
from jawright.jaws.sampled import from_blob
from jawright.rack.model import Side
from jawright.rack.store import Rack
from jawright.rack.trouble import told

Kind = Literal["as it is", "re-cut", "faced and re-cut", "free side"]


@dataclass(frozen=True, slots=True)
class AsIs:
    """A pocket an outline fits: which turn (index) and how it stands in it."""

    pair: str
    side: Side
    turn: int
    fit: Fit


@dataclass(frozen=True, slots=True)
class Signature:
    """Every usable pocket of the register, one entry a pocket."""

    keys: tuple[tuple[str, Side], ...]
    width: NDArray[np.float64]
    across: NDArray[np.float64]
    area: NDArray[np.float64]
    depth: NDArray[np.float64]
    gap: NDArray[np.float64]


def signatures(rack: Rack) -> Signature:
    """Read the signatures of all pockets that can be used now: not dead, not out."""
    with told(rack.path):
        rows = rack.db.execute(
            "SELECT cut.pair_id, side, width_mm, across_mm, area_mm2, depth_mm, gap_mm FROM cut "
            "JOIN pair ON pair.id = cut.pair_id WHERE status != 'dead' AND out_to = '' "
            "ORDER BY cut.pair_id, side"
        ).fetchall()
    numbers = np.array([r[2:] for r in rows], dtype=float).reshape(len(rows), 5)
    return Signature(tuple((r[0], r[1]) for r in rows), *(numbers[:, k] for k in range(5)))


def as_they_are(
    rack: Rack, outline: Profile, turns: Sequence[float], *, depth: tuple[float, float], short: bool = True
) -> list[AsIs]:
    """Pockets the outline fits, the best of its turns for each; most touched wall first.

    Parameters
    ----------
    outline : the part's grip outline at turn 0 [mm], counter-clockwise
    turns : turns to try [rad]
    depth : least and most depth of pocket that serves [mm]
    short : make a short list first; False tries every pocket, with the same answers
    """
    s = signatures(rack)
    parts = [match.turned(outline, a) for a in turns]
    use = (s.depth >= depth[0] - 1e-9) & (s.depth <= depth[1] + 1e-9)
    wanted: dict[int, list[int]] = {}
    for k, t in enumerate(parts):
        ok = use & match.may_fit(t, width=s.width, area=s.area, across=s.across) if short else use
        for n in np.flatnonzero(ok).tolist():
            wanted.setdefault(n, []).append(k)
    found = []
    for i, blob in _blobs(rack, s, list(wanted)):
        walls = from_blob(blob)
        size = {"gap": float(s.gap[i]), "width": float(s.width[i]), "area": float(s.area[i])}
        fits = [(match.fit(parts[k], walls, **size), -k) for k in wanted[i]]
        alive = [(f, k) for f, k in fits if f is not None]
        best = max(alive, key=lambda r: (match.land(r[0]), r[1]), default=None)
        if best is not None:
            found.append(AsIs(*s.keys[i], -best[1], best[0]))
    return sorted(found, key=lambda a: (-match.land(a.fit), a.pair, a.side))


def _blobs(rack: Rack, s: Signature, rows: list[int]) -> Iterable[tuple[int, bytes]]:
    """The sampled walls of the given pockets."""
    with told(rack.path):
        if len(rows) > len(s.keys) // 4:
            place = {key: i for i, key in enumerate(s.keys)}
            asked = set(rows)
            for pair_id, side, blob in rack.db.execute("SELECT pair_id, side, walls FROM cut"):
                i = place.get((pair_id, side))
                if i is not None and i in asked:
                    yield i, blob
            return
        for i in rows:
            yield (
                i,
                rack.db.execute("SELECT walls FROM cut WHERE pair_id = ? AND side = ?", s.keys[i]).fetchone()[
                    0
                ],
            )
