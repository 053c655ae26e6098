"""``jawright rack``: the register of jaws from the command line."""

from __future__ import annotations

import argparse
import datetime
import importlib
import json
import os
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from jawright import units
from jawright.doors.cli import screen
from jawright.errors import JawrightError
from jawright.files.whole import write_file
from jawright.rack import exchange, plain
from jawright.rack.model import Pair
from jawright.rack.store import Rack
from jawright.units import show


def run(args: argparse.Namespace) -> int:
    """Do one action; 0, or 1 when ``find`` finds nothing."""
    return int(ACTIONS[args.action](args))


def _rack(args: argparse.Namespace, *, create: bool = False) -> Rack:
    return Rack(Path(args.db or os.environ.get("JAWRIGHT_RACK") or "rack.db"), create=create)


def _late(module: str) -> Any:
    """A module that a check-out at the rack should not wait for: proofs, solid kernel, drawings."""
    return importlib.import_module(f"jawright.{module}")


# ------------------------------------------------------------------ add


def _add(args: argparse.Namespace) -> int:
    file = Path(args.file)
    pair = _by_hand(args, file) if file.suffix.lower() == ".dxf" else _from_record(args, file)
    pair = replace(pair, picture=_picture(args.picture), note=args.note)
    with _rack(args, create=True) as rack:
        if args.to_pair:
            kept = rack.add_cut(args.to_pair, pair.cuts[0], height=pair.height)
        else:
            kept = rack.add(pair, f"added from {file.name}")
    print(f"{kept.id}: {_cuts(kept)}, {kept.place or 'no place given'}")
    return 0


def _picture(name: str) -> str:
    """The name of a photo, once it is seen to be there."""
    if name and not Path(name).is_file():
        raise JawrightError(
            "file-missing",
            what="there is no such picture",
            where=name,
            todo="name a file, or leave --picture out",
        )
    return name


def _from_record(args: argparse.Namespace, file: Path) -> Any:
    if file.suffix.lower() not in ("", ".json"):
        raise JawrightError(
            "record-bad",
            what="it is neither a plan's record.json nor a DXF of a pocket",
            where=file.name,
            todo="give the record.json in a plan's folder, or draw the pocket as it lies in the vise",
        )
    load = _late("record_json").load
    return _late("rack.entry").from_record(load(file), pair_id=args.id, place=args.place, side=args.side)


def _by_hand(args: argparse.Namespace, file: Path) -> Any:
    for name in ("shop", "blank", "gap", "depth"):
        if not getattr(args, name):
            raise JawrightError(
                "key-missing",
                what=f"a pair by hand needs --{name}",
                where=file.name,
                todo="give --shop, --blank, --gap and --depth; the rest may follow",
            )
    shop = _late("shop.read").read_shop(Path(args.shop))
    blank = next((b for b in shop.blanks if b.id == args.blank), None)
    if blank is None:
        raise JawrightError(
            "shop-no-blank",
            what=f'the shop has no blank "{args.blank}"',
            where=shop.source,
            todo="known: " + ", ".join(b.id for b in shop.blanks),
        )
    drawing, findings = _late("files.dxf").read_outline(file, unit=args.unit)
    for f in findings:
        print(f"  {f.what}")
    return _late("rack.entry").by_hand(
        drawing.regions[0],
        blank=blank,
        vise=args.vise or (shop.vises[0].id if len(shop.vises) == 1 else ""),
        gap=units.parse(args.gap, "length", where="--gap"),
        depth=units.parse(args.depth, "length", where="--depth"),
        height=units.parse(args.height, "length", where="--height") if args.height else None,
        made=datetime.date.today().isoformat(),
        part_number=args.part,
        revision=args.revision,
        operation=args.operation,
        side=args.side,
        pair_id=args.id,
        place=args.place,
    )


# ------------------------------------------------------------------ look


def _cuts(pair: Pair) -> str:
    words = [
        f"{c.side} " + (" ".join(w for w in (c.part_number, c.revision, c.operation) if w) or "unnamed")
        for c in pair.cuts
    ]
    if pair.free_side:
        words.append(f"{pair.free_side} free")
    return ", ".join(words) or "nothing cut"


def _where(pair: Pair) -> str:
    return f"out to {pair.out_to} since {pair.out_since[:10]}" if pair.out_to else pair.place


def _list(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        pairs = [p for p in rack.all() if not args.part or any(c.part_number == args.part for c in p.cuts)]
    if args.json:
        print(json.dumps([plain.pair_to_dict(p) for p in pairs], ensure_ascii=False, indent=1))
        return 0
    rows = [("set", "status", "blank", "where", "cut")]
    rows += [(p.id, p.status, p.blank.id, _where(p), _cuts(p)) for p in pairs]
    print("\n".join(screen.table(rows)) if pairs else "no pairs")
    return 0


def _show(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        pair, past, seats = rack.get(args.id), rack.history(args.id), rack.reseats(args.id)
    if args.json:
        data: dict[str, Any] = plain.pair_to_dict(pair)
        data["history"] = [asdict(c) for c in past]
        data["reseats"] = [{"at": s.at, "x_mm": s.x, "y_mm": s.y, "z_mm": s.z} for s in seats]
        print(json.dumps(data, ensure_ascii=False, indent=1))
        return 0
    b = pair.blank
    size = " × ".join(show(v, "length", args.units, digits=2) for v in (b.length, b.thickness, pair.height))
    rows = [
        ("set", pair.id),
        ("blank", f"{b.id}, {b.material}, {size} left"),
        ("vise", pair.vise or "unknown"),
        ("where", _where(pair) or "unknown"),
        ("status", pair.status + (f": {pair.why}" if pair.why else "")),
        ("parts run", str(pair.parts_run)),
    ]
    for c in pair.cuts:
        gap, depth = (
            show(v, "length", args.units, digits=2) for v in (c.jaws.gap, c.jaws.top - c.jaws.floor)
        )
        torque = show(c.torque, "torque", args.units) if c.torque is not None else "unknown"
        name = " ".join(w for w in (c.part_number, c.revision, c.operation) if w) or "unnamed"
        rows.append((c.side, f"{name}, cut {c.made}: {depth} deep, gap {gap}, torque {torque}"))
        if c.jaws.tooling_hole:
            h = c.jaws.tooling_hole
            at = ", ".join(show(v, "length", args.units) for v in h.center)
            rows.append(("", f"tooling hole Ø{show(h.diameter, 'length', args.units)} at X, Y {at}"))
    rows += [(name, text) for name, text in (("picture", pair.picture), ("note", pair.note)) if text]
    print("\n".join(screen.table(rows)))
    if seats:
        times = screen.count(len(seats), "time")
        print(f"re-seated {times}: {_spread(seats, args.units)}{_sigma(seats, args.units)}")
    print("\n".join(["history", *screen.table([("  " + c.at, c.what) for c in past])]))
    return 0


def _sigma(seats: Any, system: units.System) -> str:
    """The spread to expect next time, when enough was measured."""
    if len(seats) < 3:  # the least that ``spread`` answers to: nothing heavy is loaded for fewer
        return ""
    b = _late("jaws.kept").spread([(s.x, s.y) for s in seats])
    low, mid, high = (show(v, "length", system) for v in (b.low, b.set, b.high))
    return f"; one sigma of X and Y {mid}, between {low} and {high}"


def _spread(seats: Any, system: units.System) -> str:
    words = []
    for axis in "xyz":
        values = [abs(v) for s in seats if (v := getattr(s, axis)) is not None]
        if not values:
            words.append(f"{axis.upper()} not measured")
            continue
        words.append(f"{axis.upper()} within ±{show(max(values), 'length', system)}")
    return ", ".join(words)


# ------------------------------------------------------------------ use


def _out(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        pair = rack.out(args.id, args.to)
    print(f"{pair.id} out to {pair.out_to}; it lay in {pair.place or 'no known place'}")
    if pair.status != "usable":
        print(f"  its status is {pair.status}: {pair.why or 'no reason given'}")
    return 0


def _in(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        was_out = rack.get(args.id).out_to
        pair = rack.back(args.id, parts=args.parts, status=args.status, why=args.why, place=args.place)
    if not was_out:
        print(f"{pair.id} was not out")
    print(f"{pair.id} in, {pair.parts_run} parts run in all, {pair.status}; put it in {pair.place or '?'}")
    return 0


def _note(args: argparse.Namespace) -> int:
    names = ("place", "picture", "note", "vise")
    new = {n: getattr(args, n) for n in names if getattr(args, n) is not None}
    if not new:
        raise JawrightError(
            "key-missing", what="nothing is said that should change", where=args.id,
            todo="give --place, --picture, --note or --vise",
        )  # fmt: skip
    _picture(args.picture or "")
    with _rack(args) as rack:
        pair = rack.note(args.id, **new)
    print(f"{pair.id}: {', '.join(sorted(new))} changed")
    return 0


def _seat(args: argparse.Namespace) -> int:
    x, y, z = (
        None if getattr(args, a) is None else units.parse(getattr(args, a), "length", where=f"--{a}")
        for a in "xyz"
    )
    assert x is not None and y is not None  # the parser asks for both
    with _rack(args) as rack:
        rack.reseated(args.id, x, y, z)
        seats = rack.reseats(args.id)
    print(f"{args.id}: kept; {_spread(seats, args.units)} over {screen.count(len(seats), 'time')}")
    return 0


def _remove(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        rack.remove(args.id, args.why)
    print(f"{args.id} removed; its history stays")
    return 0


# ------------------------------------------------------------------ files


def _label(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        text = str(_late("rack.label").svg(rack.get(args.id)))
    out = Path(args.out or f"{args.id}.svg")
    write_file(out, text.encode())
    print(f"wrote {out}")
    return 0


def _export(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        text, count = exchange.export(rack), len(rack.ids())
    write_file(Path(args.file), text.encode())
    print(f"wrote {screen.count(count, 'pair')} to {args.file}")
    return 0


def _import(args: argparse.Namespace) -> int:
    text = exchange.read_file(Path(args.file))
    exchange.parse(text, Path(args.file).name)  # before a register is made for it
    with _rack(args, create=True) as rack:
        added, same = exchange.bring_in(rack, text, Path(args.file).name)
    print(f"{screen.count(added, 'pair')} added, {same} there already")
    return 0


def _backup(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        size = rack.backup(Path(args.file))
    print(f"copied and checked: {args.file}, {size} bytes")
    return 0


def _check(args: argparse.Namespace) -> int:
    with _rack(args) as rack:
        found = rack.check()
    print(found)
    return 0 if found == "ok" else 1


def _find(args: argparse.Namespace) -> int:
    return int(_late("doors.cli.rack_find").run(args, _rack(args)))


ACTIONS = {
    "add": _add,
    "list": _list,
    "show": _show,
    "remove": _remove,
    "out": _out,
    "in": _in,
    "note": _note,
    "seat": _seat,
    "find": _find,
    "label": _label,
    "export": _export,
    "import": _import,
    "backup": _backup,
    "check": _check,
}
