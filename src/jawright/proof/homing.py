"""Does the part go home by itself? Walks from a grid of starts, and what to do by hand where it does not.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from jawright.hold.model import Hold
from jawright.job.model import Job
from jawright.mechanics.walk import Walk, walk
from jawright.proof.judge import Band, Basis, Extra, at_least
from jawright.proof.model import Homing, Proof, Start
from jawright.proof.population import Scene, scene
from jawright.proof.say import Say
from jawright.proof.turning import OwnTurn, own_turn
from jawright.shop.model import Shop

COARSE = (0.0, 0.5, 1.0, 2.0)  # [mm] off the stop
FINE = (0.0, 0.25, 0.5, 1.0, 2.0)
EITHER = (-1.0, -0.5, 0.0, 0.5, 1.0)  # where nothing stops the part along the jaws
COARSE_TURN = tuple(math.radians(a) for a in (-2, 0, 2))
FINE_TURN = tuple(math.radians(a) for a in (-2, -1, -0.5, 0, 0.5, 1, 2))
STOPPED = "push back and to the stop while closing"
NESTED = "push it back into its nest while closing"
SQUARE = "hold it square to the wall, push and tap"
WORDS = {"jams": "jams", "wedges": "is wedged", "escapes": "slides off", "unsettled": "does not come to rest"}


@lru_cache(maxsize=2)
def of(hold: Hold, job: Job, shop: Shop) -> Study | None:
    """The study of a hold; None where the part is not located, so that there is no home to go to."""
    s = scene(hold, job, shop)
    if len(s.contacts) == 0:
        return None
    nominal = s.seated(np.zeros((1, len(s.sources))))
    round_one = own_turn(hold, s.contacts, nominal.free)
    if not nominal.located and (round_one is None or nominal.unsolved.any()):
        return None
    return study(s, shop, round_one)


def region(hold: Hold, job: Job, shop: Shop) -> Homing | None:
    """From which starts the part goes home by itself, as the record keeps it."""
    got = of(hold, job, shop)
    return None if got is None else got.picture(shop.friction.set)


@dataclass(frozen=True)
class Study:
    """Walks at the set friction from a fine grid, and the shares that go home at low and high friction."""

    runs: tuple[Walk, ...]
    low: float
    high: float
    away: tuple[float, float]
    advice: str  # "" where the part goes home from every start

    @property
    def share(self) -> float:
        """Share of the starts that go home."""
        return sum(w.end == "home" for w in self.runs) / len(self.runs)

    def picture(self, friction: float) -> Homing:
        """The region that goes home, as the record keeps it."""
        starts = tuple(
            Start(w.start[0] * self.away[0] + w.start[1] * self.away[1], w.start[2], w.end) for w in self.runs
        )
        return Homing(friction, self.away, starts, self.advice)


def walks(s: Scene, friction: float, starts: Sequence[float], turns: Sequence[float]) -> list[Walk]:
    """Walks from a grid of starts: off the stop by ``starts`` [mm], turned by ``turns`` [rad]."""
    away = away_from_stop(s)
    locates = np.array([c.locates and c.on != "floating" for c in s.contacts])
    return [
        walk(
            s.points,
            s.normals,
            s.ride,
            start=(float(d * away[0]), float(d * away[1]), turn),
            friction=friction,
            locates=locates,
            gaps=s.gap0,
        )
        for d in starts
        for turn in turns
    ]


def away_from_stop(s: Scene) -> tuple[float, float]:
    """Unit direction along which a start lies off the stop; +X where nothing stops the part."""
    size = math.hypot(*s.push)
    return (-s.push[0] / size, -s.push[1] / size) if size > 0 else (1.0, 0.0)


def study(s: Scene, shop: Shop, round_one: OwnTurn | None = None) -> Study:
    """Walk the part home at the shop's low, set and high friction."""
    stopped = math.hypot(*s.push) > 0
    coarse, fine = (COARSE, FINE) if stopped else (EITHER, EITHER)
    shares = []
    for mu in (shop.friction.high, shop.friction.low):
        ends = [w.end for w in walks(s, mu, coarse, COARSE_TURN)]
        shares.append(ends.count("home") / len(ends))
    runs = walks(s, shop.friction.set, fine, FINE_TURN)
    advice = ""
    if any(w.end != "home" for w in runs):
        square = next(w for w in runs if w.start == (0.0, 0.0, 0.0))
        advice = SQUARE if square.end != "home" else STOPPED if stopped and round_one is None else NESTED
    return Study(tuple(runs), min(shares), max(shares), away_from_stop(s), advice)


def prove(got: Study, s: Scene, shop: Shop, say: Say) -> Proof:
    """Share of starting offsets and turns from which friction lets the part go home by itself."""
    stuck = [w for w in got.runs if w.end != "home"]
    if not stuck:
        sentence = "Closing the jaw sends the part home by itself from every start that was tried."
    else:
        usual = Counter(w.end for w in stuck).most_common(1)[0][0]
        hold_up = sorted({s.contacts[i].name for w in stuck if w.end == usual for i in w.touching})
        between = f" between {', '.join(hold_up[:4])}" if hold_up and usual in ("jams", "wedges") else ""
        sentence = (
            f"From {100 * (1 - got.share):.0f} % of starts the part {WORDS[usual]}{between} "
            f"before it is home: {got.advice}."
        )
    pushed = [w for w in got.runs if w.start[:2] == (0.0, 0.0)]
    counts = tuple(
        (f"starts from which it {word}", float(sum(w.end == end for w in got.runs)), "")
        for end, word in WORDS.items()
        if any(w.end == end for w in got.runs)
    )
    return at_least(
        "sits",
        "goes home by itself",
        sentence,
        band=Band(min(got.low, got.share), got.share, max(got.high, got.share)),
        unit="",
        limit=1.0,
        basis=Basis(
            "coulomb-walk-2",
            "quasi-static Coulomb contacts; minimum power motion (Peshkin and Sanderson 1989)",
            (
                f"friction {shop.friction.low:g} / {shop.friction.set:g} / {shop.friction.high:g} "
                f"({shop.friction.basis})",
                f"starts up to {say.given(FINE[-1])} off the stop and 2° turned; where it may stick "
                "it is taken to stick",
                "each wall of the part meets its own wall of the jaws from the start",
                "drag on the floor not counted: it is bounded by the weight, the push of the screw is not",
            ),
        ),
        extra=Extra(
            at_worst="caution",
            detail=(
                ("starts tried", float(len(got.runs)), ""),
                ("home when held to the stop", sum(w.end == "home" for w in pushed) / len(pushed), ""),
                ("largest air left", max((w.air for w in stuck if math.isfinite(w.air)), default=0.0), "mm"),
                *counts,
            ),
        ),
    )
