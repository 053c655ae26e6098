"""Everything a plan found: inputs, choices, proofs, program and its verification."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.cost import BreakEven, Cost
from jawright.cutting.model import Program
from jawright.hold.model import Hold
from jawright.hold.seen import Seen
from jawright.jaws.model import Bar, Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.model import Homing, Proof, Scatter, Verdict, WallPressure
from jawright.shop.model import Band3, Shop
from jawright.verify.model import Verification

DecisionKind = Literal[
    "hard jaws",
    "soft jaws",
    "soft jaws in a thicker blank",
    "another order of operations",
    "two clampings",
    "not in a vise",
    "jaws from the rack",
]


@dataclass(frozen=True, slots=True)
class Option:
    """One way of holding that was weighed in the decision."""

    kind: DecisionKind
    serves: bool
    sentence: str
    minutes: float | None  # of the whole lot: jaws, setup, loading; None when it does not serve
    money: float | None


@dataclass(frozen=True, slots=True)
class Decision:
    """What to do, in one sentence a machinist would say, its points, and what was weighed against it."""

    kind: DecisionKind
    sentence: str
    minutes: float | None
    money: float | None
    currency: str
    options: tuple[Option, ...]
    points: tuple[str, ...] = ()  # why, what stays open and what it takes, most telling first


@dataclass(frozen=True, slots=True)
class Rival:
    """One stance that was tried."""

    rank: int  # 1 is the chosen one
    kind: Literal["hard jaws", "soft jaws"]
    up: tuple[float, float, float]
    turn: float  # [rad]
    shift: float  # [mm]
    chosen: bool
    score: float | None  # None when a hard constraint ended it
    predicted_yield: float | None  # 0..1 by the quick proof
    grip_margin: float | None
    reason: str  # why it was chosen or why it lost


@dataclass(frozen=True, slots=True)
class Attempt:
    """One design that was proven in full, in the order they were tried."""

    kind: Literal["hard jaws", "soft jaws"]
    up: tuple[float, float, float]
    turn: float  # [rad]
    grip_depth: float  # [mm]
    blank: str  # id, "" in hard jaws
    words: str  # why this stance, and what was changed about it
    verdict: Verdict  # the worst of its proofs; fail when its program does not verify
    chosen: bool
    open: tuple[str, ...]  # the proofs that fail or are unknown, with their sentences
    changed: str = ""  # what was changed about the stance's first design, "" in that one


@dataclass(frozen=True, slots=True)
class Pinned:
    """One choice the job pins, against what the search would choose without it."""

    key: str  # as written in a job file: "hold.turn"
    value: str  # what is pinned, in words
    free: str  # what the search would take instead, in words
    score: float | None  # of the best stance with it, None when none lives
    free_score: float | None  # of the best stance without it
    sentence: str  # what it costs


@dataclass(frozen=True, slots=True)
class Reuse:
    """The pair from the rack that the plan uses as it is."""

    pair: str
    side: str
    place: str
    cut_for: str
    made: str  # date it was cut
    same_part: bool  # it was cut for this very outline
    cut_gap: float  # gap it was cut at [mm]; the jaws' gap now is the record's
    cut_torque: float | None  # it was cut with [N·m]
    parts_run: int
    status: str
    why: str
    seatings: int  # times it was put back and measured
    spread: Band3 | None  # one sigma of where it sat again [mm], from its own history


@dataclass(frozen=True, slots=True)
class BlankWork:
    """A jaw blank of the pair that the shop makes from bar, and its program."""

    bar: Bar | None  # how it is held; None where the note says why not
    blank: str  # id in the shop
    count: int  # blanks of this kind in the pair: the program is run so often
    program: Program | None
    verification: Verification | None
    note: str = ""  # why there is no program

    @property
    def verified(self) -> bool:
        """Whether the program was checked and found right."""
        return self.verification is not None and self.verification.verified


@dataclass(frozen=True, slots=True)
class Clamping:
    """One of the clampings of a part that takes several; what is planned of it is a record of its own."""

    folder: str  # beside this record: its job, its record and its papers
    turn: float  # [rad]
    features: tuple[str, ...]  # what it makes
    words: str  # what is gripped, and how that comes in
    sentence: str  # its decision, or why it could not be planned
    verdict: Verdict
    ready: bool
    open: tuple[str, ...]  # what keeps it from being ready


@dataclass(frozen=True, slots=True)
class Record:
    """The complete, reproducible result of one plan."""

    version: str
    made: str  # date, the only thing that differs between two plans of the same inputs
    job: Job
    shop: Shop
    part: Part
    decision: Decision
    rivals: tuple[Rival, ...]
    hold: Hold | None
    jaws: Jaws | None
    proofs: tuple[Proof, ...]
    verdict: Verdict
    program: Program | None
    verification: Verification | None
    torque: tuple[float, float, float] | None  # least to hold, set, most before harm [N·m]
    models: tuple[tuple[str, str], ...]  # (library or model, version)
    homing: Homing | None = None  # from which starts the part goes home by itself
    pressure: tuple[WallPressure, ...] = ()  # of both jaws on the part, where the jaws are elastic bodies
    scatter: tuple[Scatter, ...] = ()  # deviation against size, for the tolerances most at risk
    attempts: tuple[Attempt, ...] = ()  # designs proven in full, in the order they were tried
    pinned: tuple[Pinned, ...] = ()  # what each choice pinned in the job costs
    reuse: Reuse | None = None  # when the jaws are a pair from the rack as it is
    costs: tuple[Cost, ...] = ()  # what each way that was weighed costs, once and with every part
    break_even: tuple[BreakEven, ...] = ()  # from which quantity one way costs no more than another
    seen: Seen | None = None  # the whole part as it stands, beside its outline in the grip
    blank_work: tuple[BlankWork, ...] = ()  # blanks that are made from bar, each kind once
    clampings: tuple[Clamping, ...] = ()  # in their order, where no one hold serves; no hold is here then
    between: tuple[str, ...] = ()  # what lies between two clampings and is judged in neither

    @property
    def ready(self) -> bool:
        """True when every proof passes or cautions and the program, if any, is verified."""
        return (
            self.verdict in ("pass", "caution")
            and self.decision.kind != "not in a vise"
            and (self.program is None or (self.verification is not None and self.verification.verified))
            and all(w.program is None or w.verified for w in self.blank_work)
            and all(c.ready for c in self.clampings)
        )


@dataclass(frozen=True, slots=True)
class Planned:
    """One clamping as planned: its record, None where it could not be planned, and the files of its job."""

    folder: str
    record: Record | None
    files: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True, slots=True)
class Whole:
    """A plan with the plans of its clampings, if it takes several."""

    record: Record
    clampings: tuple[Planned, ...] = ()
