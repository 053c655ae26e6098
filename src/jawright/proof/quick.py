"""A quick look at the yield of a hold: a few parts seated, to rank stances and not to promise.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics.seat import SeatResult, seat_all
from jawright.proof.deviations import Ask, Frames, judge, resolve
from jawright.proof.population import Scene, scene
from jawright.proof.sits import air_at_locators
from jawright.proof.turning import own_turn
from jawright.shop.model import Shop
from jawright.statistics.capability import disc_share, fraction_out
from jawright.statistics.draw import stream

Floats = NDArray[np.float64]

QUICK = 128
"""Parts that are seated. The worst of so many tells what 99 % of them leave at their locators."""


def quick_yield(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop) -> float | None:
    """Joint yield of all tolerances from the covariance of a few parts; None when nothing is asked.

    ``QUICK`` parts are seated and their deviations taken as normal; tolerances are taken as independent.
    Good to rank stances, not to promise. 0.0 when the part is not located.
    """
    return quick_seating(hold, jaws, job, shop)[0]


def quick_seating(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop) -> tuple[float | None, float | None]:
    """(``quick_yield``, air [mm]): the most air that any of the few parts leaves at its locators.

    Nine in ten were not enough: a hold that a few parts in a hundred do not seat in came before one for
    all of them. The air is None when the part is not located or does not go in: then it says nothing.
    """
    del jaws
    return quick_seatings([(hold, job, shop)])[0]


def quick_seatings(
    asked: Sequence[tuple[Hold, Job, Shop]],
) -> list[tuple[float | None, float | None]]:
    """``quick_seating`` of many holds, each with its job and shop; their parts are seated all at once."""
    out: list[tuple[float | None, float | None]] = [(None, None)] * len(asked)
    looks: list[tuple[int, _Look]] = []
    for k, (hold, job, shop) in enumerate(asked):
        asks = [resolve(hold, t) for t in hold.tolerances if t.kind not in ("size", "diameter")]
        asks = [a for a in asks if a.measure is not None]
        s = scene(hold, job, shop)
        if len(s.contacts) == 0:
            out[k] = (0.0 if asks else None), None
            continue
        mean, sigma = np.array([q.mean for q in s.sources]), [q.sigma for q in s.sources]
        looks.append((k, _Look(hold, asks, s, mean + _scores(len(s.sources)) * sigma)))
    layouts = [look.scene.layout(look.sample) for _, look in looks]
    seated = seat_all(layouts)
    airs = [
        air_at_locators(look.scene, look.sample, here, w.gaps).max(axis=1, initial=0.0)
        for (_, look), here, w in zip(looks, seated, layouts, strict=True)
    ]
    most = np.array(airs).reshape(-1, QUICK).max(axis=1).tolist()
    for (k, look), here, air in zip(looks, seated, most, strict=True):
        out[k] = _figures(look, here, air)
    return out


@dataclass(frozen=True)
class _Look:
    """What is looked at of one hold: tolerances that can be judged, its scene, the few parts (QUICK, s)."""

    hold: Hold
    asks: list[Ask]
    scene: Scene
    sample: Floats


def _figures(look: _Look, seated: SeatResult, air: float) -> tuple[float | None, float | None]:
    """Yield and air of one hold; ``air`` [mm] of those of its parts that seat."""
    hold, asks, s, sample = look.hold, look.asks, look.scene, look.sample
    most = None if seated.unsolved.any() else air
    if not seated.located:
        turn = own_turn(hold, s.contacts, seated.free)
        wanted = {a.tolerance.feature for a in asks}
        if turn is None or seated.unsolved.any() or wanted & set(turn.needs):
            return (0.0 if asks else None), None
    if not asks:
        return None, most
    total = 1.0
    frames: Frames = {}
    for a in asks:
        parts = judge(a, s, sample, seated, frames=frames, parts_only=True).parts
        center = parts.mean(axis=0)
        off = parts - center
        total *= _normal_yield(a, center, off.T @ off / (len(off) - 1))
    return total, most


@cache
def _scores(columns: int) -> Floats:
    """(QUICK, columns) fixed standard scores in mirrored pairs, so that they have no mean."""
    half = stream(f"quick/{columns}").standard_normal((QUICK // 2, columns))
    scores = np.vstack([half, -half])
    return np.asarray(scores / scores.std(axis=0))


def _normal_yield(ask: Ask, center: Floats, cov: Floats) -> float:
    zone = ask.tolerance.zone
    if ask.measure == "diameter":
        ev = np.sqrt(np.maximum(np.linalg.eigvalsh(cov), 0.0))
        return disc_share(float(ev[1]), float(ev[0]), zone / 2 - float(np.hypot(*center)))
    half = zone / 2 if "profile" in ask.tolerance.kind or ask.tolerance.kind == "distance" else zone
    sd = np.sqrt(np.diag(cov))
    worst = 0.0
    for m, d in zip(center, sd, strict=True):
        out = fraction_out(-half, half, mean=float(m), sigma=float(d)) if d > 0 else float(abs(m) > half)
        worst = max(worst, out)
    return 1.0 - worst
