"""Answers while something is being turned: from the jaws condensed once, and from one stance alone.

What is asked here is asked of a plan that exists. Other spacers or another torque need only the
condensed jaws; a turned part is drafted and designed in that one stance and put to the proofs that
are quick. The search, the population and the full elastic answer are the conductor's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from jawright.beside import one_thread
from jawright.errors import JawrightError
from jawright.hold import hard
from jawright.hold import resolve as resolving
from jawright.hold.incoming import informed
from jawright.hold.model import Hold
from jawright.hold.seen import seen as whole
from jawright.hold.stance import Turn
from jawright.hold.view import View, view
from jawright.jaws import soft
from jawright.jaws.model import Jaws, SpacerStack
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof import advice, clamp, elastic
from jawright.proof.elastic_bent import Bent
from jawright.proof.elastic_join import SIDES, Model
from jawright.proof.everything import answer, quick
from jawright.proof.keys import designed
from jawright.proof.metal import gripped
from jawright.proof.model import Question
from jawright.proof.rules import rule
from jawright.proof.window import study
from jawright.record import Record
from jawright.shop.model import Vise

HEIGHTS = 25
"""Heights at which the taper is told ahead, from the lowest the spacers can stand to the highest."""


FAST: tuple[Question, ...] = ("loads", "clears")
"""Questions that are proven while somebody waits; each of the others takes about a second."""


@dataclass(frozen=True, slots=True)
class Left:
    """What spacers at one height leave: mm, N, N·m. ``bears`` is where their force really acts."""

    height: float
    torque: float
    force: float
    fixed: float  # opening of the fixed wall over the grip depth, + opens upward
    floating: float
    shift: float  # of the fixed wall, along Y
    bears: float | None
    limit: float  # of the taper [mm]

    @property
    def within(self) -> bool:
        """True when the taper stays within its limit."""
        return abs(self.taper) <= self.limit

    @property
    def taper(self) -> float:
        """Opening of both walls together over the grip depth [mm]."""
        return self.fixed + self.floating


@dataclass(frozen=True, slots=True)
class Owned:
    """A stack that the shop's parallels make in the designed gap, and the taper it leaves [mm]."""

    words: str
    height: float
    taper: float
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Range:
    """What the spacers' height can be, the taper along it, and the stacks that are owned."""

    low: float
    high: float
    limit: float  # of the taper [mm]
    now: Left
    curve: tuple[tuple[float, float], ...]  # (height, taper) [mm]
    owned: tuple[Owned, ...]


@dataclass(frozen=True, slots=True)
class Turned:
    """One stance as it would be: a record with the proofs asked for in it, and the quick figures."""

    record: Record
    good: float | None  # predicted share of good parts
    margin: float | None  # of the grip, by the closed form that ranks stances


class Bench:
    """A plan taken up again, with what is worked out once for all questions about it.

    Parameters
    ----------
    record : the plan as kept; ``record.job.part_file`` must be where the part file is now.
    """

    def __init__(self, record: Record) -> None:
        self.record = record
        self._part: Part | None = None
        self._views: dict[tuple[object, ...], View] = {}
        self._last: tuple[Job, Hold, Jaws | None] | None = None

    # ------------------------------------------------------------ spacers

    def spacers(self, *, height: float | None = None, torque: float | None = None) -> Left:
        """Taper and shift with the middle of the spacers at ``height`` [mm], cut and held at ``torque``.

        What is None is as planned. Raises ``value-bad`` where the spacers would meet no metal or the torque
        is more than the vise takes, ``hold-none`` when the plan has no elastic jaws.
        """
        hold, jaws, m = self._condensed()
        at = self._planned_torque(hold) if torque is None else torque
        sane = 0 < at <= clamp.torque_limit(hold.vise) + 1e-9
        force, unit = clamp.clamp_force(hold.vise, at) if sane else None, clamp.unit(hold.vise)
        if force is None:
            raise JawrightError(
                "value-bad",
                what=f"the clamp force at {at:g} {unit} is not known for vise {hold.vise.id}",
                where="hold.torque",
                todo=f"stay between 0 and {clamp.torque_limit(hold.vise):g} {unit}",
            )
        low, high = self._room(jaws)
        z = jaws.stack.height if height is None else max(low, min(high, height))
        stack = elastic.at_height(jaws.stack, z, high + (jaws.stack.high - jaws.stack.low) / 2)
        mounts = elastic.ends(hold.vise, "set")
        with one_thread():
            cut = elastic.cut_state(m, mounts, stack, force.set)
            if cut is None:
                raise JawrightError(
                    "value-bad",
                    what=f"spacers at {z:.1f} mm would meet no metal of the jaws",
                    where="hold.spacer_height",
                    todo="choose another height",
                )
            got = {s: elastic.opening(m, s, mounts, force=force.set, cut=cut) for s in SIDES}
        taper, limit = (got["fixed"][0], got["floating"][0]), rule("taper_mm").set
        return Left(z, at, force.set, *taper, got["fixed"][2], cut.bears, limit)

    def _planned_torque(self, hold: Hold) -> float:
        """The torque of the plan. A record that was read again lacks the solid that its window came from."""
        r = self.record
        return r.torque[1] if r.torque else study(hold, r.jaws, r.part, r.job, r.shop).torque

    def heights(self) -> Range:
        """All that a slider for the spacers' height needs. Raises as ``spacers``."""
        _, jaws, _ = self._condensed()
        low, high = self._room(jaws)
        step = (high - low) / (HEIGHTS - 1)
        curve = [self.spacers(height=low + k * step) for k in range(HEIGHTS)] if step > 0 else []
        found: dict[float, SpacerStack] = {}
        for s in advice.owned_stacks(jaws, self.record.shop.parallels):
            if low <= s.height <= high:
                found.setdefault(round(s.height, 3), s)
        owned = []
        for s in sorted(found.values(), key=lambda s: s.height):
            ids = tuple(sorted({p.id for p in (*s.spacers, *s.risers)}))
            owned.append(Owned(advice.words(s), s.height, self.spacers(height=s.height).taper, ids))
        return Range(
            low,
            high,
            rule("taper_mm").set,
            self.spacers(),
            tuple((c.height, c.taper) for c in curve),
            tuple(owned),
        )

    def _condensed(self) -> tuple[Hold, Jaws, Model]:
        hold, m = self._model()
        if self.record.jaws is None:
            raise JawrightError("hold-none", what="hard jaws are not cut, so no spacers stand between them")
        return hold, self.record.jaws, m

    def _model(self) -> tuple[Hold, Model]:
        r = self.record
        if r.hold is not None:
            hold = gripped(r.hold, r.part)
            m = elastic.model(hold, r.jaws, r.part, r.job.material)
            if m is not None:
                return hold, m
        raise JawrightError("hold-none", what="this plan has no walls whose give could be worked out")

    @staticmethod
    def _room(jaws: Jaws) -> tuple[float, float]:
        """Lowest and highest the middle of the designed spacers can stand [mm]."""
        half = (jaws.stack.high - jaws.stack.low) / 2
        return half, max(half, jaws.stack.height, advice.highest(jaws) - half)

    # ------------------------------------------------------------ a stance

    def turned(self, job: Job, *, asked: tuple[Question, ...] = FAST) -> Turned:
        """The part held as ``job`` pins it, all that is not pinned as planned; ``asked`` are proven in full.

        Raises ``hold-none`` with the reason when it cannot be held so, and ``value-bad`` for a pin that
        cannot be.
        """
        r = self.record
        if r.hold is None:
            raise JawrightError("hold-none", what="this plan holds nothing that could be turned")
        part = self._read(job)
        ask = resolving.resolve(part, job)
        kind = job.hold.kind or r.hold.kind
        turn = r.hold.stance.turn if job.hold.turn is None else job.hold.turn
        at = Turn(turn, "pinned on the sheet" if job.hold.turn is not None else r.hold.stance.reason, -1)
        vise = next((v for v in r.shop.vises if v.id == (job.hold.vise or r.hold.vise.id)), r.hold.vise)
        up = job.up or r.hold.stance.up
        key = (up, job.hold.grip_depth, job.incoming.stock_on_top.value, job.material)
        if key not in self._views:
            self._views[key] = view(part, job, ask, up)
        seen = self._views[key]
        same = replace(job, source="", sha256="")
        if self._last is None or self._last[0] != same:
            self._last = (same, *self._held(kind, seen, at, part, job, vise=vise, ask=ask))
        _, hold, jaws = self._last
        proven = informed(job, part, seen.up)
        found = tuple(p for q in asked for p in answer(hold, jaws, part, proven, r.shop, question=q))
        good, margin, _ = quick(hold, jaws, job, r.shop)
        as_it_would_be = replace(
            r, job=job, part=part, hold=hold, jaws=jaws, proofs=found, scatter=(), torque=None,
            seen=whole(hold, part), program=None, verification=None,
            verdict="unknown",  # most questions are not asked
        )  # fmt: skip
        return Turned(as_it_would_be, good, margin)

    def _held(
        self,
        kind: str,
        seen: View,
        at: Turn,
        part: Part,
        job: Job,
        *,
        vise: Vise,
        ask: resolving.Ask,
    ) -> tuple[Hold, Jaws | None]:
        r = self.record
        job = informed(job, part, seen.up)
        if kind == "hard jaws":
            got = hard.propose(seen, at, ask=ask, part=part, job=job, shop=r.shop, vise=vise)
            if isinstance(got, str):
                raise JawrightError(
                    "hold-none", what=got, todo="turn it back, or choose another way to hold it"
                )
            return got, None
        drafted = soft.draft(seen, at, ask=ask, part=part, job=job, shop=r.shop, vise=vise)
        if isinstance(drafted, soft.Lost):
            raise JawrightError(
                "hold-none", what=drafted.reason, todo="turn it back, or change what else is pinned"
            )
        pair = designed(drafted, seen, part=part, job=job, shop=r.shop, vise=vise)
        return pair.hold, pair.jaws

    def _read(self, job: Job) -> Part:
        """The part with its solid, read again: the record keeps everything else of it."""
        if self._part is None:
            self._part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
        return self._part

    # ------------------------------------------------------------ pictures

    def bent(self) -> Bent:
        """How jaws and part are bent in use at the torque of the plan, against how the jaws were cut.

        Raises as ``spacers``.
        """
        (hold, m), r = self._model(), self.record
        force = clamp.clamp_force(hold.vise, self._planned_torque(hold))
        if force is None:
            raise JawrightError("value-bad", what="the clamp force at this torque is not known")
        mounts = elastic.ends(hold.vise, "set")
        with one_thread():
            cut = elastic.cut_state(m, mounts, r.jaws.stack if r.jaws else None, force.set)
            if cut is None:
                raise JawrightError("value-bad", what="the spacers meet no metal of the jaws")
            held = elastic.used(m, mounts, cut, force.set)
            return Bent(hold, r.jaws, r.part, r.job.material, model=m, cut=cut, held=held)
