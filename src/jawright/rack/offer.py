"""What the rack offers for a job: each way with its proofs, its minutes and its money against new jaws.

The full proofs take seconds for each pair, so they are made one after another, the cheapest way first,
until one serves; the others get the quick figures that rank stances. ``most`` asks for more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from jawright import cost
from jawright.hold.model import Hold
from jawright.hold.view import GRIP_LEAST
from jawright.jaws.design import Pair as Designed
from jawright.jaws.kept import InKept, in_kept, shop_with, spread
from jawright.jaws.model import Jaws
from jawright.jaws.place import END_METAL
from jawright.job.model import Job
from jawright.proof.everything import prove, quick
from jawright.proof.model import Proof, Verdict, worst
from jawright.rack import recut, stock
from jawright.rack.anew import Anew, Look, drafts
from jawright.rack.model import Pair, Side
from jawright.rack.search import AsIs, Kind
from jawright.rack.stock import Metal, Task
from jawright.rack.store import Rack
from jawright.shop.model import Band3, Blank, Shop

TRIES = 6
"""Pairs designed for each way before it is given up."""

SHOWN = 3
"""Ways of each kind that are listed, proven or not."""

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to use what exists. ``verdict`` is that of the proofs, "unknown" when none was made.

    ``minutes`` and ``money`` are of the whole lot; ``new_*`` those of a new pair, None when the shop
    has no blank for one. ``same_part`` says that the pocket was cut for this very outline. ``good`` and
    ``grip`` are the quick figures: share of good parts, and grip factor. ``full`` says that all six
    questions were asked. ``height`` is what a pair is faced to first [mm], None when it is not.
    """

    kind: Kind
    pair: str
    side: Side
    place: str
    sentence: str
    verdict: Verdict
    proofs: tuple[Proof, ...]
    recuts: int
    minutes: float
    money: float
    new_minutes: float | None
    new_money: float | None
    same_part: bool = False
    reseat: Band3 | None = None  # spread of where it sits again, from its own history
    full: bool = True
    good: float | None = None
    grip: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """Everything the rack offers, and how much was looked at to find it."""

    offers: tuple[Offer, ...]
    further: tuple[AsIs, ...]  # pockets that fit the outline but were not looked at closer
    blanks: tuple[Blank, ...]
    refused: tuple[str, ...]
    pairs: int = 0  # in the register
    fitting: int = 0  # pockets the outline fits
    proven: int = 0  # offers with all proofs


@dataclass(slots=True)
class _Way:
    """A way before it is proven: what the full proofs need."""

    offer: Offer
    hold: Hold
    jaws: Jaws
    shop: Shop
    grip_depth: float | None = None


def find(rack: Rack, job: Job, shop: Shop, *, most: int | None = None, say: Say = lambda _: None) -> Found:
    """Search the rack for a job.

    Parameters
    ----------
    rack : the register
    job, shop : as ``read_job`` and ``read_shop`` give them
    most : how many of each kind are proven in full; None: from the cheapest on until one serves
    say : called with one phrase a step
    """
    say("reading the part")
    job_task = stock.task(job, shop)
    say("searching the pockets")
    search = _Search(rack, job_task, say)
    fits = stock.fitting(rack, job_task)
    want = max(most or 0, SHOWN)
    ways = search.as_they_are(fits, want)
    taken = {w.offer.pair for w in ways}
    blanks = [m for m in search.metal() if m.pair not in taken]
    ways += search.in_metal(search.free_side, [m for m in blanks if m.free is not None], want)
    ways += search.in_metal(search.cut_anew, sorted(blanks, key=lambda m: (m.area, -m.recuts, m.pair)), want)
    offers = _prove(ways, job_task, most, say)
    return Found(
        offers=tuple(offers),
        further=tuple(f.found for f in fits if f.found.pair not in taken),
        blanks=tuple(b for b in job_task.shop.blanks if b.stock >= 2),
        refused=tuple(dict.fromkeys(search.refused)),
        pairs=len(rack.ids()),
        fitting=len(fits),
        proven=sum(o.full for o in offers),
    )


def _prove(ways: list[_Way], t: Task, most: int | None, say: Say) -> list[Offer]:
    """The offers, the full proofs made as asked; what serves first, then the cheapest."""
    out: list[Offer] = []
    done: dict[Kind, int] = {}
    serves = False
    for w in sorted(
        ways, key=lambda w: (w.offer.money, not w.offer.same_part, -(w.offer.good or 0.0), w.offer.pair)
    ):
        count = done.get(w.offer.kind, 0)
        if (most is None and serves) or (most is not None and count >= most):
            out.append(w.offer)
            continue
        say(f"proving {w.offer.pair}, {w.offer.kind}")
        done[w.offer.kind] = count + 1
        job = (
            t.job
            if w.grip_depth is None
            else replace(t.job, hold=replace(t.job.hold, grip_depth=w.grip_depth))
        )
        proofs = prove(w.hold, w.jaws, t.part, job, w.shop)
        verdict = worst([p.verdict for p in proofs])
        serves = serves or verdict in ("pass", "caution")
        out.append(replace(w.offer, verdict=verdict, proofs=proofs, full=True))
    return sorted(
        out, key=lambda o: (not o.full, o.verdict in ("fail", "unknown"), o.money, -(o.good or 0.0), o.pair)
    )


class _Search:
    """One search: what is worked out once and used for many pairs."""

    def __init__(self, rack: Rack, t: Task, say: Say) -> None:
        self.rack, self.task, self.say = rack, t, say
        self.refused: list[str] = []
        self.anew = Anew(t)
        # the blank's name and price are no part of what fits: the cheapest that serves is a new pair's
        best = drafts(t, t.shop, t.vises[0])
        self.new = None if not best else cost.of_new(t.shop, best[0][0].place.blank)

    # ------------------------------------------------------------ as they are

    def as_they_are(self, fits: Sequence[stock.Fitting], want: int) -> list[_Way]:
        """The best ``want`` pockets the part is held in as they are."""
        out: list[_Way] = []
        for f in fits[: want + TRIES]:
            if len(out) == want:
                break
            pair = self.rack.get(f.found.pair)
            vise = self.task.vise_of(pair.vise)
            if vise is None:
                self.refused.append(f"{pair.id}: it belongs to vise {pair.vise}")
                continue
            cut = next(c for c in pair.cuts if c.side == f.found.side)
            t = self.task
            got = in_kept(
                stock.kept(self.rack, pair, cut), f.view, f.turns,
                ask=t.ask, part=t.part, job=t.job, shop=t.shop, vise=vise,
            )  # fmt: skip
            if isinstance(got, str):
                self.refused.append(f"{pair.id}: {got}")
                continue
            out.append(self._as_is(pair, got))
        return out

    def _as_is(self, pair: Pair, got: InKept) -> _Way:
        shop = shop_with(got.kept, self.task.shop)
        cut = next(c for c in pair.cuts if c.side == got.kept.side)
        words = "cut for this part" if got.same_part else f"cut for {got.kept.cut_for}"
        parted = got.jaws.gap - cut.jaws.gap
        sentence = f"use it as it is ({words}): {got.turn.reason}"
        sentence += f", jaws {parted:+.2f} mm from where they were cut" if abs(parted) > 0.05 else ""
        offer = self._offer(
            "as it is", pair, cut.side, (got.hold, got.jaws), cost.of_kept(shop), words=sentence
        )
        offer = replace(offer, same_part=got.same_part, reseat=spread(got.kept.seats))
        return _Way(offer, got.hold, got.jaws, shop, got.jaws.top - got.jaws.floor)

    # ------------------------------------------------------------ cut anew

    def metal(self) -> list[Metal]:
        """Pairs whose metal could take the part."""
        if not self.task.views:
            return []
        v = self.task.views[0][0]
        x0, y0, x1, y1 = v.outline.box
        long = min(x1 - x0, y1 - y0) + 2 * END_METAL
        return stock.metal(self.rack, self.task.vises, long=long, depth=v.grip_depth)

    def in_metal(self, way: Callable[[Pair], _Way | str], blanks: Sequence[Metal], want: int) -> list[_Way]:
        """The first ``want`` pairs a pocket can be cut in."""
        out: list[_Way] = []
        for m in blanks[: want + TRIES]:
            if len(out) == want:
                break
            self.say(f"designing in {m.pair}")
            got = way(self.rack.get(m.pair))
            if isinstance(got, _Way):
                out.append(got)
            elif got:
                self.refused.append(f"{m.pair}: {got}")
        return out

    def free_side(self, pair: Pair) -> _Way | str:
        """Flip a pair and cut its free side; with nothing cut yet, its front."""
        assert pair.free_side is not None
        made = self._design(pair, pair.height, lambda jaws: recut.bars_free_side(jaws, pair))
        if isinstance(made, str):
            return made if not pair.cuts else f"flipped, {made}"
        left = recut.clear_of_back(made.jaws, pair)[1]
        words = (
            f"flip it and cut its free {pair.free_side} side: {left:.1f} mm of metal stay to the other pocket"
        )
        if not pair.cuts:
            words = f"nothing is cut in it yet: cut its {pair.free_side} side"
        spent = cost.of_kept(self.task.shop, anew=True)
        offer = self._offer("free side", pair, pair.free_side, (made.hold, made.jaws), spent, words=words)
        return _Way(offer, made.hold, made.jaws, self.task.shop)

    def cut_anew(self, pair: Pair) -> _Way | str:
        """Cut a pocket that swallows the old one, at the same height or after facing the pair clean."""
        if not pair.cuts:
            return ""
        old = pair.cuts[0]
        made = self._design(pair, pair.height, lambda jaws: recut.bars_recut(jaws, pair))
        if isinstance(made, Designed):
            words = (
                f"cut it anew at the same height: the new pocket takes that of {stock.part_words(old)} away"
            )
            spent = cost.of_kept(self.task.shop, anew=True)
            offer = self._offer("re-cut", pair, old.side, (made.hold, made.jaws), spent, words=words)
            return _Way(offer, made.hold, made.jaws, self.task.shop)
        left, why = self._recuts(pair), made
        if left < 1:
            return f"{why}; and no height is left to face it above screws and vise body"
        height = recut.faced(pair, recut.deepest(pair))
        made = self._design(pair, height, lambda _: "")
        if isinstance(made, str):
            return f"faced to {height:.1f} mm: {made}"
        times = "this is the last such re-cut" if left == 1 else f"{left} such re-cuts are left with this one"
        words = f"face it to {height:.2f} mm and cut it anew; {times}"
        spent = cost.of_kept(self.task.shop, anew=True, faced=True)
        offer = self._offer("faced and re-cut", pair, old.side, (made.hold, made.jaws), spent, words=words)
        return _Way(replace(offer, height=height), made.hold, made.jaws, self.task.shop)

    def _recuts(self, pair: Pair) -> int:
        vise = self.task.vise_of(pair.vise)
        depth = self.task.views[0][0].grip_depth if self.task.views else GRIP_LEAST
        return 0 if vise is None else recut.left(pair, vise, depth)

    def _design(self, pair: Pair, height: float, look: Look) -> Designed | str:
        """The best pocket in a pair's metal that what is cut in it already allows."""
        vise = self.task.vise_of(pair.vise)
        if vise is None:
            return f"it belongs to vise {pair.vise}"
        got = self.anew.first(recut.as_blank(pair, height), vise, look)
        return got if isinstance(got, str) else got[0]

    def _offer(
        self, kind: Kind, pair: Pair, side: Side, held: tuple[Hold, Jaws], spent: cost.Cost, *, words: str
    ) -> Offer:
        good, grip, _ = quick(*held, self.task.job, self.task.shop)
        n = self.task.job.quantity
        return Offer(
            kind=kind,
            pair=pair.id,
            side=side,
            place=pair.place,
            sentence=words,
            verdict="unknown",
            proofs=(),
            recuts=self._recuts(pair),
            minutes=spent.minutes(n),
            money=spent.money(n),
            new_minutes=self.new.minutes(n) if self.new else None,
            new_money=self.new.money(n) if self.new else None,
            full=False,
            good=good,
            grip=grip,
        )
