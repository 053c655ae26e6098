"""The ways of holding that were weighed, as costs, and the pair from the rack that is used."""

from __future__ import annotations

from collections.abc import Sequence

from jawright import cost
from jawright.choose import Candidate
from jawright.cost import Cost
from jawright.jaws.kept import InKept, spread
from jawright.record import Reuse
from jawright.shop.model import Shop


def costs(
    best: Candidate | None, candidates: Sequence[Candidate], shop: Shop, cutting: float | None
) -> tuple[Cost, ...]:
    """What each way costs that could hold the part by the quick proofs; ``cutting`` [min] of the chosen."""
    alive = [c for c in candidates if not c.lost]
    out = [cost.of_hard(shop)] if any(c.kind == "hard jaws" for c in alive) else []
    out += [cost.of_kept(shop)] if any(c.kept is not None for c in alive) else []
    drafts = [c for c in alive if c.draft is not None]
    if drafts:
        chosen = (
            best if best is not None and best.draft is not None else min(drafts, key=lambda c: c.money or 0.0)
        )
        assert chosen.draft is not None
        place = chosen.draft.place
        known = cutting if chosen is best else None
        out.append(cost.of_new(shop, place.blank, known, strips=place.stack.to_make))
    return tuple(out)


def reuse(used: InKept | None) -> Reuse | None:
    """The pair from the rack, as the record keeps it."""
    if used is None:
        return None
    k = used.kept
    return Reuse(
        pair=k.pair,
        side=k.side,
        place=k.place,
        cut_for=k.cut_for,
        made=k.made,
        same_part=used.same_part,
        cut_gap=k.jaws.gap,
        cut_torque=k.torque,
        parts_run=k.parts_run,
        status=k.status,
        why=k.why,
        seatings=len(k.seats),
        spread=spread(k.seats),
    )
