"""What of a record is measured on the parts, with its limits as numbers."""

from __future__ import annotations

from jawright.floor.adjust import Characteristic
from jawright.hold.model import Hold, MadeFeature
from jawright.job.model import ToleranceAsk
from jawright.papers.inspection import PLUS_MINUS, checks, plain
from jawright.record import Record


def characteristics(record: Record) -> tuple[Characteristic, ...]:
    """The rows of the first-article table, numbered alike, with nominal and limits in mm."""
    hold = record.hold
    if hold is None:
        return ()
    made = {m.name: m for m in hold.features}
    asks: dict[str, list[ToleranceAsk]] = {}
    for t in hold.tolerances:
        asks.setdefault(t.feature, []).append(t)
    out = []
    for check in checks(record):
        feature = made.get(check.feature)
        ask = _ask(asks.get(check.feature, []), check.characteristic)
        out.append(
            _one(check.balloon, check.feature, check.characteristic, feature=feature, ask=ask, hold=hold)
        )
    return tuple(out)


_WORDS = {
    "size": ("diameter",),
    "diameter": ("diameter",),
    "distance": ("distance", "height over the floor face"),
}


def _ask(asks: list[ToleranceAsk], characteristic: str) -> ToleranceAsk | None:
    """The tolerance a row of the table speaks of; each is used once."""
    for t in asks:
        sized = t.kind in PLUS_MINUS and characteristic.startswith(_WORDS[t.kind])
        if t.kind == characteristic or sized:
            asks.remove(t)
            return t
    return None


def _one(
    number: int,
    name: str,
    what: str,
    *,
    feature: MadeFeature | None,
    ask: ToleranceAsk | None,
    hold: Hold,
) -> Characteristic:
    if ask is not None and ask.kind == "position" and ask.diametral:
        half = ask.zone / 2
        return Characteristic(number, name, what, 0.0, -half, half, axes=("X", "Y"))
    if ask is not None and ask.kind not in PLUS_MINUS:
        return Characteristic(number, name, what, 0.0, 0.0, ask.zone, follows=False)
    nominal = 0.0
    if feature is not None and ask is not None:
        nominal = plain(ask, feature, hold)[1]
    elif feature is not None:
        nominal = feature.diameter if what == "diameter" and feature.diameter else feature.bottom - hold.floor
    # a drill leaves the size it has: no offset changes it
    follows = feature is None or feature.kind not in ("drill", "ream", "bore")
    if ask is None:
        return Characteristic(number, name, what, nominal, None, None, follows=follows)
    low, high = ask.limits
    return Characteristic(number, name, what, nominal, nominal + low, nominal + high, follows=follows)
