"""Names for what a model of a series has found, in a machinist's words.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.floor import doubt, odd
from jawright.floor.model import Cause, Named
from jawright.floor.run import Run, Series
from jawright.floor.terms import TIMED, Family, Model, Term

Floats = NDArray[np.float64]

CONFIDENCE = 0.999
"""Of the slope's interval: one run in a thousand is named wrongly by it."""

HALF = 0.125
"""Half width of that interval from which the slope decides: no side and the middle between two sides
(a part that sits now here, now there) then lie in one interval."""

NEAR = 0.04
"""An answer this near the interval counts as in it: sizes are measured with error, walls lean."""

GAUGE_LARGE = 0.3
"""Share of the variance from which the gauge is named as a cause (gauge at 55 % of the spread)."""

ENOUGH = 30
"""Parts from which "nothing but scatter" may be said: fewer would not show a drift of 2 sigmas."""

SIDES: tuple[tuple[float, Cause], ...] = (
    (0.0, "located on the datum"),
    (0.5, "self-centering"),
    (1.0, "located on the other side"),
)

LEAVE_OFFSET = "do not chase the spread with the offset: it is size, not setting"
FAMILY_CAUSE: dict[Family, Cause] = {
    "warm-up": "warm-up", "drift": "drift", "step": "step", "nest": "two nests", "torque": "spring",
}  # fmt: skip


def name(
    series: Series, model: Model, parts: Sequence[str], values: Floats, *, known_size: bool
) -> list[Named]:
    """Everything one series' model says of the ``parts`` and their ``values`` (n,)."""
    if model.fit is None:
        return []
    out = _side(series, model) if known_size else []
    doubtful = {a for a, _ in model.rivals}
    for t in model.terms:
        if t.family == "size":
            continue
        if t.family in doubtful:
            out.append(_either(series, model, t))
        else:
            out.append(_term(series, model, t, parts))
    if model.odd:
        out.append(odd.named(series, model, parts, values))
    if model.hint is not None:
        out.append(_hint(series, model.hint))
    return out


def _hint(series: Series, family: Family) -> Named:
    """Something that nearly entered: too likely to be ruled out, too unlikely to be said."""
    return Named(
        FAMILY_CAUSE[family],
        series.name,
        False,
        f"{series.name}: it may follow the {family}; luck alone does so in one run of fifty",
        "measure on: the next parts tell",
        "do not act on it yet",
    )


def _side(series: Series, model: Model) -> list[Named]:
    k = model.column("size")
    if k is None:
        return []
    assert model.fit is not None
    slope = float(model.fit.coefficients[k])
    low, high = model.fit.interval(k, CONFIDENCE)
    sign = -1.0 if slope < 0 and high < 0.25 - NEAR and abs(slope) > 0.25 else 1.0
    a, b = sorted((sign * low, sign * high))
    hits = [(v, c) for v, c in SIDES if a - NEAR <= v <= b + NEAR]
    narrow = (high - low) / 2 <= HALF
    share = model.shares.get("size")
    words = f"{series.name}: slope on size {sign * slope:.2f} ({a:.2f} to {b:.2f})"
    beside = [b for a, b in model.rivals if a == "size"]

    def said(cause: Cause, sure: bool, text: str, do: str, leave: str = "") -> list[Named]:
        return [
            Named(
                cause, series.name, sure, f"{words}: {text}", do, leave,
                sign * slope, a, b, "", CONFIDENCE, share,
            )
        ]  # fmt: skip

    if beside:
        return said(
            "mixed",
            False,
            f"but the sizes went one way with the run, and a {beside[0]} fits as well",
            "measure on, parts of large and small size in turn",
        )
    if len(hits) == 1 and narrow:
        return _one_side(hits[0][1], said)
    if not hits and narrow:
        return said(
            "mixed",
            True,
            "neither on the datum, nor centered, nor on the other side: it sits now here, now there",
            "look for a chip or a burr on the locating wall and seat each part with a push to the stop",
            LEAVE_OFFSET,
        )
    return said("mixed", False, "not told narrowly enough", "measure more parts that differ more in size")


def _one_side(cause: Cause, said: object) -> list[Named]:
    assert callable(said)
    if cause == "located on the datum":
        return list(said(cause, True, "the part sits on its datum; its size does not move the feature", ""))
    if cause == "self-centering":
        return list(
            said(
                cause,
                True,
                "the part is centered between the jaws: half of its size error goes into the feature",
                "seat it on one locating wall, or hold its size closer",
                LEAVE_OFFSET,
            )
        )
    return list(
        said(
            cause,
            True,
            "the part is located on the other side: its whole size error goes into the feature",
            "put the datum on the fixed jaw or the stop",
            LEAVE_OFFSET,
        )
    )


def _term(series: Series, model: Model, t: Term, parts: Sequence[str]) -> Named:
    assert model.fit is not None
    k = model.column(t.family)
    assert k is not None
    value = float(model.fit.coefficients[k])
    low, high = model.fit.interval(k, CONFIDENCE)
    share = model.shares.get(t.family)
    cause = FAMILY_CAUSE[t.family]
    sentence, do, leave, unit = _words(series, t, value, parts)
    return Named(cause, series.name, True, sentence, do, leave, value, low, high, unit, CONFIDENCE, share)


def _words(series: Series, t: Term, value: float, parts: Sequence[str]) -> tuple[str, str, str, str]:
    size = f"{abs(value):.4f} mm"
    if t.family == "warm-up":
        return (
            f"{series.name}: it moved {size} from the start and has flattened: warm-up",
            "warm the machine up, or leave the first parts' offset for the settled one",
            "do not chase it: it comes to rest by itself",
            "mm",
        )
    if t.family == "drift":
        return (
            f"{series.name}: it drifts steadily, {value:+.4f} mm over the run: wear of a cutter or a wall",
            "change the cutter or correct at set intervals",
            "do not wait for it to settle",
            "mm",
        )
    if t.family == "step":
        part = parts[int(t.at)] if 0 <= int(t.at) < len(parts) else "?"
        return (
            f"{series.name}: it jumped by {value:+.4f} mm at part {part} and stayed: something moved once",
            "find what happened there: jaw re-seated, cutter changed, offset typed, a knock",
            "do not average over the jump",
            "mm",
        )
    if t.family == "nest":
        return (
            f"{series.name}: {len(t.columns) + 1} nests differ, by {size} or more{_every(t)}",
            "give each nest its own work offset",
            "do not correct both with one offset",
            "mm",
        )
    return (
        f"{series.name}: it follows the torque, {value:+.5f} mm per N·m: the part springs",
        "use a torque wrench and less torque, or finish this feature with a light clamp",
        "do not chase the spread with the offset: it is the clamp, not the setting",
        "mm/N·m",
    )


def _every(t: Term) -> str:
    """Where no nest is written down: the order in which they come round."""
    ordinals = {2: "second", 3: "third", 4: "fourth"}
    return f" (every {ordinals[int(t.at)]} part is alike)" if t.at else ""


def _either(series: Series, model: Model, t: Term) -> Named:
    others = [b for a, b in model.rivals if a == t.family]
    return Named(
        FAMILY_CAUSE[t.family],
        series.name,
        False,
        f"{series.name}: {t.family} and {' and '.join(others)} fit alike: the run does not tell which it is",
        "measure on: the next parts tell"
        if t.family in TIMED
        else f"measure on, the {t.family} not in step with the order of the parts",
        "do not correct yet",
        share=model.shares.get(t.family),
    )


def gauge(series: Series, sigma: float, share: float, low: float, high: float) -> list[Named]:
    """What the gauge adds."""
    words = f"{series.name}: the gauge repeats to {sigma:.4f} mm, {share:.0%} of the variance seen"
    do = "use a better gauge or the mean of several readings before anything is judged"
    leave = "do not correct: what is seen is the gauge"
    if low > GAUGE_LARGE:
        return [
            Named("gauge", series.name, True, words, do, leave, share, low, high, "", 0.99, share)
        ]  # fmt: skip
    if high > GAUGE_LARGE:
        text = f"{words}; with so few repeats it may be {low:.0%} to {high:.0%}"
        return [
            Named(
                "gauge", series.name, False, text, "measure one part ten times", leave,
                share, low, high, "", 0.99,
            )
        ]  # fmt: skip
    return []


def nothing(named: Sequence[Named], models: Sequence[tuple[Series, Model]], run: Run) -> list[Named]:
    """ "Nothing but scatter", when enough parts show nothing else."""
    busy: set[Cause] = {n.cause for n in named if n.cause != "located on the datum"}
    unlike = [(s, why) for s, m in models if (why := doubt.shape(m))]
    if not busy and unlike and len(set(run.parts)) >= ENOUGH:
        return [
            Named(
                "scatter",
                s.name,
                False,
                f"{s.name}: nothing written down explains it, and yet it is not plain scatter: {why}",
                "write down the nest, the torque and what was touched; measure on",
                "do not judge it by its sigma yet",
            )
            for s, why in unlike
        ]
    count = len(set(run.parts))
    if busy or count < ENOUGH or not any(m.fit for _, m in models):
        return []
    return [
        Named(
            "scatter",
            ", ".join(s.name for s, _ in models),
            True,
            f"nothing stands out in {count} parts: what is left is the process' own scatter; "
            f"a step or drift above {_hidden(models):.4f} mm would have shown",
            "",
            "do not touch the offset unless a change is listed as due",
        )
    ]


def _hidden(models: Sequence[tuple[Series, Model]]) -> float:
    """Step in mid-run that would nearly always have been found [mm]: 5 standard errors of two halves."""
    sizes = [10 * m.fit.residual_sd / float(m.kept.sum()) ** 0.5 for _, m in models if m.fit is not None]
    return max(sizes, default=0.0)


Kind = Literal["size", "parts", "time", "torque", "repeat"]

ASKS: dict[Kind, str] = {
    "size": "the size of each part across the clamp (column size_mm): it tells the locating side",
    "parts": "more parts in the order they are made",
    "time": "the time each part was made (column time)",
    "torque": "the torque each part was clamped with (column torque_nm)",
    "repeat": "one part ten times, taken out of the gauge each time: it tells the gauge from the parts",
}


def to_measure(named: Sequence[Named], models: Sequence[tuple[Series, Model]], run: Run) -> list[str]:
    """The two things that would tell most, when the measurements do not say enough; else nothing."""
    sure = {n.cause for n in named if n.sure}
    unsure = [n for n in named if not n.sure]
    if sure and not unsure:
        return []
    want: list[Kind] = []
    positions = any(s.axis in ("x", "y") for s, _ in models)
    if any(n.cause == "gauge" for n in unsure):
        want.append("repeat")
    if positions and not run.sizes:
        want.append("size")
    want.append("parts")
    if run.minutes is None:
        want.append("time")
    if run.torque is None:
        want.append("torque")
    want.append("repeat")
    chosen = list(dict.fromkeys(want))[:2]
    return [_how_many(named, len(set(run.parts))) if k == "parts" else ASKS[k] for k in chosen]


ENOUGH_FOR_SPREAD = 10
"""From so many parts on an interval tells how many more would narrow it."""

MOST_ASKED = 60
"""Parts asked for at once: after these the question is put again with what they showed."""


def _how_many(named: Sequence[Named], count: int) -> str:
    """How many more parts: enough for the slope's interval, or for a drift to show."""
    need = max(20 - count, 5)
    for n in named if count >= ENOUGH_FOR_SPREAD else ():  # before, the interval is that of t, not of the run
        if n.cause == "mixed" and not n.sure and n.low is not None and n.high is not None:
            half = (n.high - n.low) / 2
            need = max(need, int(np.ceil(count * ((half / (0.8 * HALF)) ** 2 - 1))))
    return f"{min(need, MOST_ASKED)} {ASKS['parts']}"
