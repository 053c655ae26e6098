"""The decision in words: what to do, why, and what it costs against the other ways.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright import cost
from jawright.choose import Candidate, lean
from jawright.hold.clampings import Clampings
from jawright.hold.milled import NO_WALL
from jawright.job.model import Job
from jawright.job.pinned import let_go, other_face
from jawright.proof.model import Proof
from jawright.proof.window import NAME as WINDOW
from jawright.proof.window import shut_by
from jawright.record import Attempt, Decision, DecisionKind, Option
from jawright.shop.model import Shop

HARDLY = 0.25
"""Jaws that grip less than this share of what is usual hold nothing (common practice, no source)."""


def decide(
    best: Candidate | None,
    candidates: Sequence[Candidate],
    proofs: Sequence[Proof],
    *,
    job: Job,
    shop: Shop,
    cutting_minutes: float | None,
    attempts: Sequence[Attempt] = (),
    clampings: Clampings | None = None,
) -> Decision:
    """Say what to do with the chosen candidate (None: nothing holds) and weigh the other ways.

    ``clampings`` are those of a part whose whole outline is milled, where nothing else holds it.
    """
    order = _order_option(best, proofs)
    if best is None and clampings is None and _reasons(candidates, "soft jaws").startswith(NO_WALL):
        order = _outline_first(job)
    options = [
        _hard_option(best, candidates, job, shop),
        _soft_option(best, candidates, job, shop, cutting_minutes),
        order,
        _no_vise_option(best, candidates, job),
    ]
    if any(c.kept is not None for c in candidates):
        options.insert(1, _kept_option(best, candidates, job, shop))
    if clampings is not None:
        options.insert(-1, _two_clampings(clampings))
    chosen = order if order.serves else next(o for o in options if o.serves)
    points: list[str] = []
    if order.serves:
        points.append(_first_sprung(proofs) if best is not None else _no_way_here())
    if clampings is not None and chosen.kind == "two clampings":
        points += clampings.told(job.units)
    if chosen.kind == "soft jaws" and best is not None and best.draft and best.draft.place.thin_blanks:
        points.append(_too_thin(best.draft.place.thin_blanks))
        chosen = replace(chosen, kind="soft jaws in a thicker blank")
        options[next(i for i, o in enumerate(options) if o.kind == "soft jaws")] = chosen
    taken = next((a for a in attempts if a.chosen), None)
    hardly = _hardly(proofs) if taken is not None and taken.verdict == "fail" else ""
    if hardly and not order.serves:
        options = [_unserved(o, chosen.kind, job) for o in options[:-1]]
        chosen = _no_vise(hardly, job)
        options.append(chosen)
        said = chosen.sentence
    elif taken is not None and taken.verdict in ("fail", "unknown") and chosen.kind != order.kind:
        said = _unproven(chosen.sentence, taken, len(attempts))
        points = [*_open(taken), *points]
        if taken.verdict == "fail":
            options = [_unserved(o, chosen.kind, job) for o in options]
    else:
        said = chosen.sentence
        points = [*_changed(taken, attempts), *points]
    points += _floats(proofs) + [p.sentence for p in proofs if p.name == "wedging"]
    currency = shop.rates.currency
    return Decision(chosen.kind, said, chosen.minutes, chosen.money, currency, tuple(options), tuple(points))


def _too_thin(blanks: Sequence[str]) -> str:
    named = ", ".join(blanks[:3]) + (f" and {len(blanks) - 3} more" if len(blanks) > 3 else "")
    what, verb = ("Blank", "is") if len(blanks) == 1 else ("Blanks", "are")
    return f"{what} {named} would be cheaper but {verb} too thin for the pocket."


def _floats(proofs: Sequence[Proof]) -> list[str]:
    """Which datum floats and what that takes of the tolerances, where it takes more than its limit."""
    named = [p for p in proofs if p.name.startswith("datum ") and p.name.endswith(" floats")]
    return [p.sentence for p in named if p.verdict != "pass"]


def _unproven(sentence: str, taken: Attempt, tried: int) -> str:
    """The decision where no design stands: that comes first, the design alone would read like a way to go."""
    nearest = "" if tried == 1 else f" of {tried} designs"
    head = {
        "fail": f"No hold is proven yet. The nearest{nearest}",
        "unknown": f"Not all is known yet. The best{nearest}"
        if tried > 1
        else "Not all is known yet. The hold",
    }[taken.verdict]
    nearest = sentence if not taken.changed else f"{sentence.rstrip('.')}; {taken.changed}."
    return f"{head}: {nearest[0].lower()}{nearest[1:]}"


def _open(taken: Attempt) -> list[str]:
    """What stays open, the first in full, the others by their number."""
    if not taken.open:
        return []
    asked, _, why = taken.open[0].partition(", ")
    rest = len(taken.open) - 1
    more = [f"{rest} more {'stays' if rest == 1 else 'stay'} open: see the six questions."] if rest else []
    return [f"Open, {asked}: {why.split('. ', 1)[-1]}", *more]


def _unserved(option: Option, chosen: str, job: Job) -> Option:
    """The options once the best design fails: it is no way to go, and without a vise is worth a look."""
    if option.kind == chosen:
        return replace(
            option, serves=False, sentence=f"Not proven: {option.sentence[0].lower()}{option.sentence[1:]}"
        )
    if option.kind == "not in a vise":
        return replace(
            option,
            sentence="Not tried here. Worth weighing, since no hold in a vise is proven: a plate with "
            f"screws or clamps; {other_face(job)}.",
        )
    return option


def _changed(taken: Attempt | None, attempts: Sequence[Attempt]) -> list[str]:
    """What was changed about the first design of this stance and why; empty when nothing was."""
    if taken is None or not taken.changed:
        return []
    same = [a for a in attempts if (a.kind, a.up, a.turn) == (taken.kind, taken.up, taken.turn)]
    first = same[0]
    if first is taken or not first.open:
        return []
    if first.verdict in ("pass", "caution"):
        head = f"{taken.changed[0].upper()}{taken.changed[1:]}"
        return [f"{head}: without that the torque window is too narrow for a torque wrench."]
    words, why = taken.changed, first.open[0].split(". ", 1)[-1].split(". ")[0].rstrip(".")
    return [f"{words[0].upper()}{words[1:]}, because without that it fails: {why}."]


def _reasons(candidates: Sequence[Candidate], kind: str) -> str:
    """Why no candidate of a kind lives: the most telling reason, that of the best turn tried."""
    lost = [c for c in candidates if c.kind == kind and c.lost]
    if not lost:
        return "none was tried"
    return min(lost, key=lambda c: c.rank_hint).lost


def _hard_option(best: Candidate | None, candidates: Sequence[Candidate], job: Job, shop: Shop) -> Option:
    kind: DecisionKind = "hard jaws"
    if best is not None and best.kind == "hard jaws" and best.hold is not None:
        minutes, money = cost.hard_jaws(shop, job.quantity)
        p = best.hold.parallels[0]
        sentence = (
            f"Hold it in the hard jaws of vise {best.hold.vise.id} on parallels {p.id}: "
            "it has two long parallel flats, so no jaws need to be cut."
        )
        return Option(kind, True, sentence, minutes, money)
    alive = any(c.kind == "hard jaws" and not c.lost for c in candidates)
    if job.hold.kind == "soft jaws":
        return Option(kind, False, "Not weighed: the job asks for soft jaws.", None, None)
    why = "a proof fails in them" if alive else _reasons(candidates, "hard jaws")
    return Option(kind, False, f"Hard jaws do not serve: {why}.", None, None)


def _kept_option(best: Candidate | None, candidates: Sequence[Candidate], job: Job, shop: Shop) -> Option:
    kind: DecisionKind = "jaws from the rack"
    c = cost.of_kept(shop)
    minutes, money = c.minutes(job.quantity), c.money(job.quantity)
    if best is not None and best.kept is not None:
        k = best.kept.kept
        cut = "cut for this part" if best.kept.same_part else f"cut for {k.cut_for}"
        place = f", {k.place}" if k.place else ""
        sentence = f"Use pair {k.pair}, {k.side} side ({cut}{place}), as it is: {_where(best)}."
        return Option(kind, True, sentence, minutes, money)
    if best is not None and best.kind == "hard jaws":
        return Option(kind, False, "A pair from the rack would hold it too.", minutes, money)
    pairs = ", ".join(dict.fromkeys(c.kept.kept.pair for c in candidates if c.kept is not None))
    return Option(kind, False, f"From the rack {pairs} fit, but a proof fails in them.", None, None)


def _soft_option(
    best: Candidate | None,
    candidates: Sequence[Candidate],
    job: Job,
    shop: Shop,
    cutting_minutes: float | None,
) -> Option:
    kind: DecisionKind = "soft jaws"
    if best is not None and best.draft is not None:
        blank = best.draft.place.blank
        strips = best.draft.place.stack.to_make
        minutes, money = cost.soft_jaws(shop, job.quantity, blank, cutting_minutes, strips=strips)
        where = _where(best)
        sentence = f"Cut a pair of soft jaws in blank {blank.id} ({blank.material}): {where}."
        if blank.pair:
            faced = f", faced to {blank.height:.2f} mm first" if blank.faced_from > 0.0 else ""
            sentence = f"Cut pair {blank.pair} from the rack anew ({blank.material}{faced}): {where}."
        return Option(kind, True, sentence, minutes, money)
    if best is not None and best.kept is not None:
        alive = [c for c in candidates if c.draft is not None and c.money is not None]
        if not alive:
            return Option(kind, False, f"New ones do not serve: {_reasons(candidates, kind)}.", None, None)
        new = min(alive, key=lambda c: c.money or 0.0)
        assert new.draft is not None
        minutes, money = cost.soft_jaws(shop, job.quantity, new.draft.place.blank, None)
        return Option(kind, False, "A new pair would cost more.", minutes, money)
    if job.hold.kind == "hard jaws":
        return Option(kind, False, "Not weighed: the job asks for hard jaws.", None, None)
    if best is not None:
        blanks = sorted((b for b in shop.blanks if b.stock >= 2), key=lambda b: (b.price, b.id))
        if not blanks:
            return Option(kind, False, "The shop has no pair of blanks.", None, None)
        minutes, money = cost.soft_jaws(shop, job.quantity, blanks[0], None)
        return Option(kind, False, "Soft jaws would hold it too but cost more.", minutes, money)
    return Option(kind, False, f"Soft jaws do not serve: {_reasons(candidates, 'soft jaws')}.", None, None)


def _where(best: Candidate) -> str:
    assert best.hold is not None
    seats = {d.seat: d.letter for d in best.hold.datums}
    parts = []
    if "fixed" in seats:
        askew = max((lean(d) for d in best.hold.datums if d.letter == seats["fixed"]), default=0.0)
        leaning = f", leaning {math.degrees(askew):.0f}°" if askew else ""
        parts.append(f"datum {seats['fixed']} on the fixed jaw{leaning}")
    if "stop" in seats:
        parts.append(f"datum {seats['stop']} on the stop")
    if "floor" in seats:
        parts.append(f"datum {seats['floor']} down on the floor")
    if parts:
        return ", ".join(parts)
    how = "its outline nests in the jaws" if best.rank_hint == 3 else best.why_tried
    return f"two long parallel flats are missing, {how}"


def _order_option(best: Candidate | None, proofs: Sequence[Proof]) -> Option:
    """Another order of operations: when all that fails is that finished features would be sprung."""
    kind: DecisionKind = "another order of operations"
    failed = [p for p in proofs if p.verdict == "fail"]
    sprung = [p for p in failed if p.name.startswith("spring, ")]
    window = [p for p in failed if p.name == WINDOW and shut_by(p) == {"spring"}]
    if best is not None and sprung and len(sprung) + len(window) == len(failed):
        names = " and ".join(p.name.removeprefix("spring, ") for p in sprung)
        return Option(
            kind,
            True,
            f"Finish {names} in the first operation, while there is metal round it.",
            None,
            None,
        )
    return Option(
        kind, False, "No other order is needed." if best else "No other order was found.", None, None
    )


def _outline_first(job: Job) -> Option:
    """The outline is milled in the operation before, where no two clampings can share it out."""
    names = " and ".join(f.name for f in job.features if f.kind == "profile") or "the outline"
    sentence = (
        f"Mill {names} in the first operation, over the part's full height and a little more, while there is "
        "stock to hold it by; this one then holds it by the finished outline. Plan it again without that."
    )
    return Option("another order of operations", True, sentence, None, None)


def _no_way_here() -> str:
    return (
        f"{NO_WALL[0].upper()}{NO_WALL[1:]}; no two pairs of opposite walls are there to share it out "
        "between two clampings. A plate with screws or clamps holds it as it is asked."
    )


def _first_sprung(proofs: Sequence[Proof]) -> str:
    return next(p.sentence for p in proofs if p.verdict == "fail" and p.name.startswith("spring, "))


def _two_clampings(found: Clampings) -> Option:
    first, second = (", ".join(names) for names in found.features)
    sentence = (
        "Hold it in two clampings: its whole outline is milled in this operation. "
        f"First {first}; then, gripped on what is finished, {second}."
    )
    return Option("two clampings", True, sentence, None, None)


def _no_vise_option(best: Candidate | None, candidates: Sequence[Candidate], job: Job) -> Option:
    if best is not None:
        return Option("not in a vise", False, "A vise serves.", None, None)
    only = "hard jaws" if job.hold.kind == "hard jaws" else "soft jaws"
    return _no_vise(_reasons(candidates, only), job)


def _no_vise(why: str, job: Job) -> Option:
    why = why.rstrip(".")
    sentence = f"Do not hold it in a vise this way: {why[0].lower()}{why[1:]}. "
    sentence += f"{let_go(job)}Hold it on a plate with screws or clamps; {other_face(job)}."
    return Option("not in a vise", True, sentence, None, None)


def _hardly(proofs: Sequence[Proof]) -> str:
    """That the jaws hardly touch the part, where it is so: such a design is not worth naming; else ""."""
    p = next((p for p in proofs if p.name == "grip depth" and p.verdict == "fail"), None)
    if p is None or p.set is None or not p.limit or p.set >= HARDLY * p.limit:
        return ""
    return p.sentence
