"""All tolerances of a part at once, and the best other way to hold or make it, in one sentence each."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.proof.model import Proof, Verdict
from jawright.proof.rivals import Way
from jawright.statistics.capability import wilson

JOINT = 0.99
"""One part in a hundred may fail somewhere: below this they must be measured one by one (common
practice, no source)."""
WORTH = 0.001
"""Gain in yield worth saying: one part in a thousand (common practice, no source)."""
MODEL = "joint-yield-2"

Masks = Mapping[str, NDArray[np.bool_]]
LEAVE = "Leave it located as it is"


def prove(
    masks: Masks, singles: Sequence[Proof], ways: Mapping[str, Way], corrected: Callable[[str], float]
) -> list[Proof]:
    """Joint yield, and rivals. ``masks`` (k, m) by way, "set" for as held; ``singles`` the k proofs.

    ``corrected`` tells the share of good parts of a way once the mean of the spring is corrected.
    """
    found = [all_at_once(masks["set"], singles)] if len(singles) > 1 else []
    if ways:
        found.append(another_way(masks, ways, corrected))
    return found


def all_at_once(mask: NDArray[np.bool_], singles: Sequence[Proof]) -> Proof:
    """Share of parts good in every tolerance: they share one pose, so it is no product of the single ones."""
    good = mask.all(axis=0)
    y = wilson(int(good.sum()), good.size)
    product = math.prod(float(m.mean()) for m in mask)
    failed = any(p.verdict == "fail" for p in singles)
    missing = any(p.supply for p in singles)  # one of them leaves out what it should count
    verdict: Verdict = "pass" if y.share >= JOINT and not missing else "fail" if failed else "caution"
    differs = abs(y.share - product) >= WORTH
    compare = f"; multiplied one by one it would look like {_share(product)}" if differs else ""
    return Proof(
        question="locates",
        name="all tolerances together",
        verdict=verdict,
        sentence=f"{_share(y.share)} of parts meet all {len(mask)} tolerances{compare}.",
        value=y.share,
        unit="",
        limit=JOINT,
        margin=y.share - JOINT,
        assumptions=("every feature of a part is cut in the same seat, so they fail together",),
        model=MODEL,
        source="share of a sample, Wilson's interval",
        detail=(
            ("yields multiplied one by one", product, ""),
            ("yield, lower bound of sampling", y.low, ""),
            ("yield, upper bound of sampling", y.high, ""),
        ),
    )


def another_way(masks: Masks, ways: Mapping[str, Way], corrected: Callable[[str], float]) -> Proof:
    """What every other way would do to the joint yield (shares 0..1), and which one is worth taking.

    A way that does better only because the part's spring has another mean there is not worth a vise: the
    first article takes that mean out of the work offset.
    """
    shares = {key: float(mask.all(axis=0).mean()) for key, mask in masks.items()}
    held = shares["set"]
    stances = {k: shares[k] for k, w in ways.items() if w.stance}
    cuts = {k: shares[k] for k, w in ways.items() if not w.stance}
    best_stance = max(stances, key=lambda k: stances[k], default="")
    best_cut = max(cuts, key=lambda k: cuts[k], default="")
    verdict: Verdict = "pass"
    after, more = held, ""
    if best_stance and stances[best_stance] - held >= WORTH:
        after, more = corrected("set"), f"{_share(corrected('set'))}"
    if more and corrected(best_stance) - after < WORTH:
        sentence = (
            f"{LEAVE}, {_share(held)} of parts good, and correct the offset by the first article: with the "
            f"mean of the spring taken out {more} are good, and {best_stance} does no better."
        )
        best_stance = ""
    elif more:
        verdict = "caution"
        sentence = (
            f"Better {best_stance}: {_share(stances[best_stance])} of parts good, against "
            f"{_share(held)} as held; {ways[best_stance].todo}."
        )
    elif best_cut and cuts[best_cut] - held >= WORTH:
        sentence = f"{LEAVE}; {best_cut} it gives {_share(cuts[best_cut])} good in place of {_share(held)}."
    else:
        worst = sorted(stances, key=lambda k: stances[k])[:2]
        costs = ", ".join(f"{_share(stances[k])} {k}" for k in worst if held - stances[k] >= WORTH)
        sentence = (
            f"{LEAVE}: {_share(held)} of parts good, but {costs}."
            if costs
            else f"{LEAVE}: {_share(held)} of parts good, and no other way does better."
            if any(abs(v - held) >= WORTH for v in stances.values()) or not stances
            else f"{LEAVE}: {_share(held)} of parts good; another wall to locate on changes nothing."
        )
    return Proof(
        question="locates",
        name="held another way",
        verdict=verdict,
        sentence=sentence,
        value=held,
        unit="",
        limit=stances.get(best_stance, held),
        margin=held - stances.get(best_stance, held),
        assumptions=(
            "every way gets the same drawn parts: only where they are held, or how they are cut, differs",
            *dict.fromkeys(w.basis for w in ways.values() if w.basis),
        ),
        model=MODEL,
        source="the same draws seated and judged again",
        detail=tuple((f"good if {k}", v, "") for k, v in shares.items() if k != "set"),
    )


def _share(value: float) -> str:
    return f"{100 * value:.2f} %"
