"""Read a shop file: vises, blanks, parallels, cutters, the mill, rates and scatter."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import cast

from jawright import handbook
from jawright.errors import JawrightError
from jawright.files.schema import Row
from jawright.files.sections import Reader
from jawright.files.toml import load
from jawright.shop import schema
from jawright.shop.defaults import Filler, Rule, Used, sentences
from jawright.shop.model import (
    Band3,
    Blank,
    Cutter,
    CutterKind,
    Machine,
    NcFormat,
    Parallel,
    Rates,
    Shop,
    Stop,
    Vise,
)

WRENCH = ("torque_table", "torque_max", "screw_lead", "screw_friction")
"""What only a vise closed by its screw has."""
SCREW = ("screw_lead", "screw_mean_diameter", "collar_mean_diameter", "flank_angle", "screw_friction")
"""Figures of the screw, which a vise no wrench closes does not use."""
PICKUPS = ("edge_pickup", "bore_pickup")


def read_shop(path: Path | str) -> Shop:
    """Read and check a shop file; what it leaves out is filled and listed in ``defaults_used``.

    Raises ``JawrightError`` with file and line: ``file-*``, ``toml-syntax``, ``key-unknown``,
    ``key-missing``, ``value-bad``, ``unit-missing``, ``unit-bad``.
    """
    doc = load(Path(path))
    file = Reader(doc, schema.SECTIONS, loose=(schema.UNITS,))
    notes: list[Used] = []
    name = file.one("shop").text("name")
    vises = tuple(_vise(row, notes) for row in file.many("vise"))
    if not vises:
        raise JawrightError(
            "key-missing",
            what="the shop has no vise",
            where=doc.name,
            todo="add a [[vise]] with id, jaw_width, opening, hard_jaw_height, bolt_spacing and bolt_height",
        )
    shop = Shop(
        name=name,
        vises=vises + tuple(_in_line(row, vises) for row in file.many("in_line")),
        blanks=tuple(_blank(row, vises[0], notes) for row in file.many("blank")),
        parallels=tuple(_parallel(row, notes) for row in file.many("parallel")),
        cutters=tuple(_cutter(row, notes) for row in file.many("cutter")),
        stops=tuple(_stop(row) for row in file.many("stop")),
        machine=_machine(file.one("machine"), notes),
        nc=_nc(file.one("nc"), file.top.text("units", "mm"), notes),
        rates=_rates(file.one("rates"), notes),
        **_scatter(file.one("scatter"), notes),
        source=doc.name,
        sha256=doc.sha256,
        defaults_used=sentences(notes),
    )
    for section, things in (
        ("vise", shop.vises),
        ("blank", shop.blanks),
        ("parallel", shop.parallels),
        ("cutter", shop.cutters),
        ("stop", shop.stops),
    ):
        _no_twins(file, section, [t.id for t in cast("Iterable[Vise]", things)])
    _no_twin_pockets(file, shop)
    return shop


def _no_twins(file: Reader, section: str, ids: list[str]) -> None:
    for i, name in enumerate(ids):
        if name in ids[:i]:
            raise JawrightError(
                "value-bad",
                what=f'two entries of [[{section}]] are called "{name}"',
                where=file.doc.where(section, i, "id"),
                todo="give each its own id",
            )


def _no_twin_pockets(file: Reader, shop: Shop) -> None:
    seen: dict[int, str] = {}
    for i, c in enumerate(shop.cutters):
        if c.number in seen:
            raise JawrightError(
                "value-bad",
                what=f"cutters {seen[c.number]} and {c.id} have the same number {c.number}",
                where=file.doc.where("cutter", i, "number"),
                todo="a program could call the wrong cutter: give each its own pocket",
            )
        seen[c.number] = c.id


def _vise(row: Row, notes: list[Used]) -> Vise:
    rules: dict[str, Rule] = {"body_height": lambda r: r.real("hard_jaw_height")}
    f = Filler(row, rules, notes)
    bolt = f.text("bolt")
    handbook.screw(bolt, where=row.where("bolt"))
    if row.real("bolt_spacing") >= row.real("jaw_width"):
        row.refuse(
            "bolt_spacing", "the jaw bolts lie outside the jaws", "bolt_spacing is less than jaw_width"
        )
    if row.real("bolt_height") >= row.real("hard_jaw_height"):
        row.refuse("bolt_height", "the jaw bolts lie above the hard jaws")
    table = row.pairs("torque_table")
    rises = all(b[0] > a[0] and b[1] > a[1] for a, b in zip(((0.0, 0.0), *table), table, strict=False))
    if not rises:
        row.refuse("torque_table", "the measured pairs must rise from above zero in torque and in force")
    if "table_scatter" in row and not table:
        row.refuse(
            "table_scatter", "there is no torque_table that could scatter", "leave it out, or add the table"
        )
    if "force" in row and any(k in row for k in WRENCH):
        named = ", ".join(k for k in WRENCH if k in row)
        row.refuse(
            "force", f"a clamp force as it is set and {named} exclude each other",
            "keep force for a vise that no wrench closes, else leave it out",
        )  # fmt: skip
    made = Vise(
        id=row.text("id"),
        jaw_width=row.real("jaw_width"),
        opening=row.real("opening"),
        hard_jaw_height=row.real("hard_jaw_height"),
        body_height=f.real("body_height"),
        bolt_spacing=row.real("bolt_spacing"),
        bolt_height=row.real("bolt_height"),
        bolt=bolt,
        screw_lead=f.real("screw_lead"),
        screw_mean_diameter=f.real("screw_mean_diameter"),
        collar_mean_diameter=f.real("collar_mean_diameter"),
        flank_angle=f.real("flank_angle"),
        screw_friction=f.band("screw_friction"),
        torque_table=table,
        torque_max=f.real("torque_max"),
        tilt_stiffness=f.band("tilt_stiffness"),
        push_stiffness=f.band("push_stiffness"),
        lift=f.band("lift"),
        yaw=f.band("yaw"),
        side_play=f.band("side_play"),
        repeat=f.band("repeat"),
        fixed_jaw_rear=f.text("fixed_jaw") == "rear",
        force=f.band("force") if "force" in row else None,
        table_scatter=row.real("table_scatter", 0.0),
    )
    if made.force is not None:  # no default of a screw stands in for anything
        notes[:] = [
            u for u in notes if (u.section, u.id) != ("vise", made.id) or u.key not in (*SCREW, *WRENCH)
        ]
    return made


def _in_line(row: Row, vises: tuple[Vise, ...]) -> Vise:
    """Several alike vises as one: the jaws of all move together, each handle at the same torque."""
    one = next((v for v in vises if v.id == row.text("vise")), None)
    if one is None:
        row.refuse("vise", f'no vise is called "{row.text("vise")}"', ", ".join(v.id for v in vises))
    n, pitch = row.whole("count"), row.real("pitch")
    if pitch < one.jaw_width:
        row.refuse("pitch", "vises in line stand further apart than their jaws are wide", "measure it")

    def times(b: Band3) -> Band3:
        return Band3(n * b.low, n * b.set, n * b.high, f"{n} times that of vise {one.id}: {b.basis}")

    return replace(
        one,
        id=row.text("id"),
        in_line=n,
        pitch=pitch,
        tilt_stiffness=times(one.tilt_stiffness),
        push_stiffness=times(one.push_stiffness),
    )


def _blank(row: Row, vise: Vise, notes: list[Used]) -> Blank:
    bolt = handbook.screw(vise.bolt)
    rules: dict[str, Rule] = {
        "bolt_hole": lambda _: bolt.clearance_coarse,
        "counterbore": lambda _: bolt.head_diameter + 2.0,
        "counterbore_depth": lambda _: bolt.head_height + 2.0,
    }
    f = Filler(row, rules, notes)
    blank = Blank(
        id=row.text("id"),
        material=handbook.material(row.text("material"), where=row.where("material")).name,
        length=row.real("length"),
        thickness=row.real("thickness"),
        height=row.real("height"),
        bolt_spacing=row.real("bolt_spacing"),
        bolt_height=row.real("bolt_height"),
        slot_length=f.real("slot_length"),
        bolt_hole=f.real("bolt_hole"),
        counterbore=f.real("counterbore"),
        counterbore_depth=f.real("counterbore_depth"),
        reversible=f.flag("reversible"),
        price=f.real("price"),
        stock=f.whole("stock"),
        bar_thickness=f.real("bar_thickness"),
    )
    if blank.bolt_spacing + blank.slot_length + blank.bolt_hole >= blank.length:
        row.refuse("bolt_spacing", "the bolt holes run out of the ends of the blank")
    if blank.bolt_height + blank.bolt_hole / 2.0 >= blank.height:
        row.refuse("bolt_height", "the bolt holes run out of the top of the blank")
    if 0.0 < blank.bar_thickness < blank.thickness:
        row.refuse("bar_thickness", "the bar is thinner than the blank")
    if blank.counterbore_depth >= blank.thickness:
        row.refuse("counterbore_depth", "the counterbores go through the blank", "state its depth")
    if blank.counterbore < blank.bolt_hole:
        row.refuse("counterbore", "the counterbore is smaller than the bolt hole")
    return blank


def _parallel(row: Row, notes: list[Used]) -> Parallel:
    f = Filler(row, {}, notes)
    return Parallel(
        row.text("id"), row.real("height"), row.real("thickness"), row.real("length"), f.whole("count")
    )


def _stop(row: Row) -> Stop:
    stop = Stop(row.text("id"), row.real("low"), row.real("high"), row.real("reach"), row.real("tip"))
    if stop.high < stop.low:
        row.refuse("high", "the highest touch is below the lowest")
    return stop


_FLUTES = {"end mill": 3, "face mill": 5, "drill": 2, "spot drill": 2, "reamer": 6}
_FLUTE_SHARE = {"drill": 8.0, "boring bar": 4.0, "engraver": 2.0}
_TIP = {"drill": 118.0, "spot drill": 90.0, "engraver": 60.0}
_HELIX = {"end mill": 38.0, "drill": 28.0}


def _flute_length(row: Row) -> float:
    kind = row.text("kind")
    return 8.0 if kind == "face mill" else _FLUTE_SHARE.get(kind, 2.5) * row.real("diameter")


def _cutter_rules(kind: str) -> dict[str, Rule]:
    return {
        "flutes": lambda _: _FLUTES.get(kind, 1),
        "flute_length": _flute_length,
        "reach": lambda r: r.real("flute_length", _flute_length(r)) + 15.0,
        "holder_diameter": lambda r: 40.0 if kind == "face mill" else max(28.0, r.real("diameter") + 22.0),
        "tip_angle": lambda _: math.radians(_TIP.get(kind, 0.0)),
        "helix": lambda _: math.radians(_HELIX.get(kind, 0.0)),
        "center_cutting": lambda _: kind in ("end mill", "drill", "spot drill", "engraver"),
        "material": lambda _: "HSS" if kind in ("drill", "spot drill", "reamer") else "carbide",
    }


def _cutter(row: Row, notes: list[Used]) -> Cutter:
    kind = row.text("kind")
    f = Filler(row, _cutter_rules(kind), notes)
    cutter = Cutter(
        id=row.text("id"),
        number=row.whole("number"),
        kind=cast("CutterKind", kind),
        diameter=row.real("diameter"),
        corner_radius=f.real("corner_radius"),
        flutes=f.whole("flutes"),
        flute_length=f.real("flute_length"),
        reach=f.real("reach"),
        holder_diameter=f.real("holder_diameter"),
        tip_angle=f.real("tip_angle"),
        helix=f.real("helix"),
        center_cutting=f.flag("center_cutting"),
        material="HSS" if f.text("material") == "HSS" else "carbide",
        runout=f.real("runout"),
    )
    if cutter.corner_radius > cutter.diameter / 2.0:
        row.refuse("corner_radius", "the corner radius is larger than half the diameter")
    if cutter.reach < cutter.flute_length:
        row.refuse("reach", "the flutes are longer than the cutter stands out of its holder")
    return cutter


def _machine(row: Row, notes: list[Used]) -> Machine:
    f = Filler(row, {}, notes)
    return Machine(
        id=f.text("id"),
        travel=f.triple("travel"),
        spindle_max=f.real("spindle_max"),
        feed_max=f.real("feed_max"),
        rapid=f.real("rapid"),
        power=f.real("power"),
        tool_change=f.real("tool_change"),
        repeat=f.real("repeat"),
        repeat_shape=row.spread("repeat").shape,
        repeat_values=row.spread("repeat").values,
    )


def _nc(row: Row, file_units: str, notes: list[Used]) -> NcFormat:
    rules: dict[str, Rule] = {
        "units": lambda _: file_units,
        "decimals": lambda r: 3 if r.text("units", file_units) == "mm" else 4,
    }
    f = Filler(row, rules, notes)
    for name in ("start_lines", "end_lines"):
        for line in row.texts(name):
            if not line.isascii() or len(line) > 79:
                row.refuse(name, f'"{line[:40]}" is not a line of at most 79 plain letters')
    return NcFormat(
        units="inch" if f.text("units") == "inch" else "mm",
        decimals=f.whole("decimals"),
        line_numbers=f.flag("line_numbers"),
        split_arcs=f.flag("split_arcs"),
        work_offset=f.text("work_offset"),
        start_lines=row.texts("start_lines"),
        end_lines=row.texts("end_lines"),
        machine_top=f.flag("machine_top"),
        compensation=f.text("compensation") == "in the control",
    )


def _rates(row: Row, notes: list[Used]) -> Rates:
    f = Filler(row, {}, notes)
    return Rates(
        currency=f.text("currency"),
        machine_hour=f.real("machine_hour"),
        programmer_hour=f.real("programmer_hour"),
        setup_minutes_hard=f.real("setup_hard") / 60.0,
        setup_minutes_soft=f.real("setup_soft") / 60.0,
        jaw_design_minutes=f.real("jaw_design") / 60.0,
        load_seconds=f.real("load"),
        load_seconds_hard=f.real("load_hard"),
        setup_minutes_kept=f.real("setup_kept") / 60.0,
        jaw_handling_minutes=f.real("jaw_handling") / 60.0,
    )


def _scatter(row: Row, notes: list[Used]) -> dict[str, Band3]:
    f = Filler(row, {}, notes)
    found = {key.name: f.band(key.name) for key in schema.SCATTER.keys if key.name not in PICKUPS}
    for name in PICKUPS:  # one figure given for both ways of picking up stands for both
        found[name] = found["offset_pickup"] if "offset_pickup" in row and name not in row else f.band(name)
    return found
