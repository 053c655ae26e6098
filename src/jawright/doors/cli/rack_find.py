"""``jawright rack find``: what the rack offers for a job."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from typing import Any

from jawright.doors.cli import inputs, screen
from jawright.rack.offer import Found, Offer, find
from jawright.rack.store import Rack
from jawright.shop.model import Shop


def run(args: argparse.Namespace, rack: Rack) -> int:
    """Search, prove and print; 0 when something serves, else 1."""
    job, shop = inputs.read(args.job, args.shop, args.units)
    with rack:
        found = find(rack, job, shop, most=args.most, say=_progress)
    print(_json(found, shop) if args.json else "\n".join(_lines(found, shop)))
    return 0 if any(o.verdict in ("pass", "caution") for o in found.offers) else 1


def _lines(found: Found, shop: Shop) -> list[str]:
    if not found.offers:
        lines = ["The rack offers nothing for this job."]
    else:
        lines = []
        for o in found.offers:
            lines += _offer(o, shop.rates.currency)
    if found.further:
        lines += ["", "Pockets that fit too, not looked at closer:"]
        rows = [(f"  {a.pair}", a.side, f"gap {a.fit.gap:.2f} mm") for a in found.further[:10]]
        lines += screen.table(rows)
        lines += [f"  and {len(found.further) - 10} more"] if len(found.further) > 10 else []
    if found.refused:
        lines += ["", "Looked at and refused:"]
        lines += [line for r in found.refused for line in screen.wrap(f"  {r}", "    ")]
    stock_words = ", ".join(f"{b.id} ({b.stock})" for b in found.blanks) or "none"
    counts = (
        f"{screen.count(found.pairs, 'pair')} in the register, pockets that fit the outline: {found.fitting}"
        f"; {found.proven} of {len(found.offers)} ways proven in full"
    )
    if found.proven < len(found.offers):
        counts += "; --most 2 proves the best two of each kind"
    return [*lines, "", *screen.wrap(f"Blanks in stock: {stock_words}", "  "), *screen.wrap(counts, "  ")]


def _offer(o: Offer, currency: str) -> list[str]:
    said = screen.WORDS[o.verdict] if o.full else "not proven yet"
    head = f"{o.pair} {o.side} ({o.place or 'place unknown'}), {o.kind}: {said}"
    lines = [head, *screen.wrap(f"  {o.sentence}", "    ")]
    money = f"{o.minutes:.0f} min, {o.money:.0f} {currency} for the lot"
    if o.new_money is not None and o.new_minutes is not None:
        money += f"; a new pair {o.new_minutes:.0f} min, {o.new_money:.0f} {currency}"
    lines.append(f"  {money}; {screen.count(o.recuts, 're-cut')} by facing left in it")
    good = "unknown" if o.good is None else f"{o.good:.1%}"
    grip = "unknown" if o.grip is None else f"{o.grip:.1f}"
    lines.append(f"  quick figures: good parts {good}, grip factor {grip}")
    if o.kind == "as it is":
        lines += screen.wrap(f"  {reseat_words(o)}", "    ")
    for p in o.proofs:
        if p.verdict in ("fail", "unknown"):
            lines += screen.wrap(f"  {p.question}, {p.name}: {screen.WORDS[p.verdict]}. {p.sentence}", "    ")
    return lines


def reseat_words(o: Offer) -> str:
    """What to expect of the tooling hole when the pair is put back."""
    if o.reseat is None:
        return "fewer than 3 re-seatings are kept: the shop's figure stands for it; take the work offset anew"
    b = o.reseat
    return (
        f"it comes back within {b.set:.3f} mm, one sigma, {b.low:.3f} to {b.high:.3f} ({b.basis}); "
        "take the work offset anew from the tooling hole"
    )


def _json(found: Found, shop: Shop) -> str:
    offers: list[dict[str, Any]] = []
    for o in found.offers:
        row = asdict(o)
        row["currency"] = shop.rates.currency
        row["reseat_mm"] = row.pop("reseat")
        row["height_mm"] = row.pop("height")
        offers.append(row)
    further = [
        {
            "pair": a.pair,
            "side": a.side,
            "gap_mm": a.fit.gap,
            "fixed_land_mm": a.fit.fixed_land,
            "floating_land_mm": a.fit.floating_land,
            "stop_land_mm": a.fit.stop_land,
        }
        for a in found.further
    ]
    data = {
        "offers": offers,
        "further": further,
        "refused": list(found.refused),
        "blanks": [{"id": b.id, "stock": b.stock} for b in found.blanks],
        "pairs": found.pairs,
        "fitting": found.fitting,
        "proven": found.proven,
    }
    return json.dumps(data, indent=2, ensure_ascii=False)


def _progress(step: str) -> None:
    print(f"  {step}", file=sys.stderr, flush=True)
