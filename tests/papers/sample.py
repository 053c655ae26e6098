"""Invented records for the papers: a pawl in soft jaws, a plate on parallels, a part for no vise."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import samples
from jawright.cutting.model import CutterUse, Program
from jawright.files.findings import Finding
from jawright.geometry.curve import Arc
from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.jaws.model import Jaws, Relief, Well, Zone
from jawright.job.model import (
    DatumPick,
    Feature,
    Given,
    HoldAsk,
    Incoming,
    Job,
    Pick,
    ToleranceAsk,
)
from jawright.part.model import Datum, Face, Hole, Part, Tolerance
from jawright.proof.model import Proof
from jawright.record import Decision, Option, Record, Rival
from jawright.verify.model import NcFinding, Verification

COULOMB = "Coulomb friction, lowest of the stated band 0.08"
SCREW = "screw friction within 0.10 to 0.20; a dry or damaged screw breaks this first"


def job(units: str = "mm") -> Job:
    return Job(
        name="Ratchet pawl, second side",
        part_number="DW-114",
        revision="B",
        operation="20",
        quantity=40,
        units=units,  # type: ignore[arg-type]
        part_file=Path("somewhere") / "pawl.step",
        part_unit="",
        thickness=None,
        body=None,
        material="6061-T6",
        up=(0.0, 0.0, 1.0),
        datums=(
            DatumPick("A", Pick((0.0, -5.0, 0.0), "datum A")),
            DatumPick("B", Pick((0.0, 6.0, 6.0), "datum B")),
            DatumPick("C", Pick((-30.0, -1.0, 6.0), "datum C")),
        ),
        features=(
            Feature("back face", "face", None, depth=0.8),
            Feature("pivot bore", "bore", Pick((13.0, -8.0, 6.0), "feature pivot bore"), diameter=10.0),
            Feature("spring hole", "drill", Pick((-20.0, 0.0, 6.0), "feature spring hole"), diameter=4.0),
        ),
        features_assumed=False,
        tolerances=(ToleranceAsk("pivot bore", "position", 0.1, ("A", "B", "C"), True),),
        incoming=Incoming(
            profile=Given(0.1, "job"),
            wall_form=Given(0.01, "default: common practice for a finished mill wall"),
            edge_break=Given(0.2, "job"),
            stock_on_top=Given(0.8, "job"),
        ),
        hold=HoldAsk(),
        notes=("First side made on the same mill.",),
    )


def part() -> Part:
    face = Face(1, "plane", 660.0, (-2.5, 6.0, 6.0), (0.0, 1.0, 0.0), (-30.0, 6.0, 0.0, 25.0, 6.0, 12.0))
    return Part(
        name="pawl",
        file="pawl.step",
        sha256="ab" * 32,
        format="step",
        unit="mm",
        shape=b"solid",
        faces=(face,),
        holes=(Hole((7, 8), (0.0, 0.0, 1.0), (13.0, -8.0, 12.0), 10.0, 12.0, True),),
        box=(-30.0, -20.0, 0.0, 25.0, 6.0, 12.0),
        volume=13300.0,
        area=4100.0,
        file_volume=13300.2,
        file_area=None,
        datums=(Datum("A", (0,), "file #12"),),
        tolerances=(Tolerance("position", 0.1, ("A", "B", "C"), (7, 8), True, "", "file #146"),),
        tolerances_in_file=1,
        findings=(Finding(1, "ignored", "a presentation style", "line 20"),),
    )


def hold() -> Hold:
    """The shared pawl with two more holes and tolerances of several kinds."""
    base = samples.hold()
    drill = samples.cutters()[5]
    spring = MadeFeature(
        name="spring hole",
        kind="drill",
        center=(-20.0, 0.0, 55.5),
        axis=(0.0, 0.0, 1.0),
        diameter=4.0,
        bottom=43.5,
        through=True,
        faces=(9,),
        cutter=drill,
        spindle=4200.0,
        feed_per_tooth=0.06,
        radial=2.0,
        axial=12.0,
        path=((-20.0, 0.0, 55.5), (-20.0, 0.0, 43.5)),
        region=None,
        assumed=("feed per tooth by the handbook",),
    )
    return dataclasses.replace(
        base,
        outline=Region(base.outline.outer, (circle((-4.0, -4.0), 4.0).reversed(),)),
        features=(*base.features, spring),
        tolerances=(
            ToleranceAsk("pivot bore", "position", 0.1, ("A", "B", "C"), True),
            ToleranceAsk("pivot bore", "size", 0.03, (), False),
            ToleranceAsk("spring hole", "position", 0.1, ("A", "B", "C"), True, "maximum"),
            ToleranceAsk("back face", "parallelism", 0.05, ("A",), False),
        ),
    )


def jaws() -> Jaws:
    """The shared pair, its pocket following the pawl, with reliefs at its corners and two wells."""
    base = samples.jaws()
    outline = samples.pawl_outline()
    top, heel, belly, nose, front = outline.curves
    zones = (
        Zone("locate", "fixed", (top,), 0.0, "B", 1, "datum B on the fixed jaw"),
        Zone("stop", "floating", (heel,), 0.0, "C", 2, "datum C on the stop"),
        Zone("grip", "floating", (belly, nose), 0.0, "", -1, "square on to the closing direction"),
        Zone("clear", "fixed", (front,), 0.2, "", 5, "steep side wall, not the stop"),
    )
    assert isinstance(nose, Arc)
    reliefs = (
        Relief((-29.0, 5.0), 5.0, (-30.0, 6.0), 0.0, 1.464),
        Relief((24.2, 5.0), 5.0, (25.0, 6.0), 0.0, 1.464),
    )
    wells = (
        Well(Region(circle((13.0, -8.0), 7.0)), 35.0, 43.5, "clearance under pivot bore"),
        Well(Region(circle((-20.0, 0.0), 4.0)), 38.0, 43.5, "clearance under spring hole"),
        Well(Region(rectangle(-8.0, -26.0, 6.0, -18.0)), 43.5, 50.0, "finger notch"),
    )
    return dataclasses.replace(base, zones=zones, reliefs=reliefs, wells=wells)


def proofs() -> tuple[Proof, ...]:
    return (
        Proof(
            "loads", "drop-in clearance", "pass", "It drops in with the jaws open 6 mm further.", 1.2, "mm",
            limit=0.2, margin=1.0, assumptions=("jaws opened by at least 3 mm",), model="drop-in-1",
        ),
        Proof(
            "loads", "wrong way round", "caution",
            "Turned over, it also goes in: the nose hides the difference; engrave the arrow.", 0.4, "mm",
            limit=1.5, margin=-1.1, assumptions=("wrong stances tried: 7 of 7",), model="stances-1",
        ),
        Proof(
            "sits", "floor lift", "pass", "It sits flush; the floating jaw lifts it by 4 µm at most.", 4.0,
            "µm", limit=12.0, margin=8.0, low=1.0, set=4.0, high=9.0,
            assumptions=("lift of the floating jaw 0 to 25 µm; tap it down if the jaw is worn",),
            model="seat-lp-1", where=(20.0, 3.0, 43.5),
        ),
        Proof(
            "sits", "range of incoming sizes", "pass", "Takes widths from 25.93 (go) to 26.07 mm (no-go).",
            0.07, "mm", limit=0.05, margin=0.02, low=0.07, set=0.07, high=0.07,
            assumptions=("the whole outline grows or shrinks alike",), model="acceptance-window-1",
            detail=(("smallest width taken", 25.93, "mm"), ("largest width taken", 26.07, "mm")),
        ),
        Proof(
            "grips", "taper over the grip depth", "pass", "The wall opens by 3 µm over the grip depth.", 3.0,
            "µm", limit=8.0, margin=5.0, assumptions=("jaw stands on the bed over its whole length",),
            model="timoshenko-jaw-1", source="Timoshenko, Strength of Materials, part 1",
            detail=(("shift of the locating wall", 5.0, "µm"),),
        ),
        Proof(
            "grips", "bruise", "pass", "Contact pressure stays at a third of the yield.", 92.0, "MPa",
            limit=276.0, margin=2.0, assumptions=("6061-T6 at its lowest yield",), model="hertz-line-1",
        ),
        Proof(
            "holds", "torque window", "pass", "Between 14 and 46 N·m it neither slips nor marks.", 2.4, "",
            limit=2.0, margin=0.2, low=14.0, set=28.0, high=46.0, assumptions=(COULOMB, SCREW),
            model="coulomb-cone-1",
        ),
        Proof(
            "locates", "pivot bore position Ø0.10 A|B|C", "pass", "99.7 % of parts meet it.", 0.997, "",
            limit=0.99, margin=0.007, assumptions=("offset picked up within 4 µm, one sigma",),
            model="population-1", detail=(("largest share: setup", 0.61, ""),),
        ),
        Proof(
            "clears", "nearest cutter to jaw", "pass", "Nothing comes closer than 2.1 mm.", 2.1, "mm",
            limit=1.0, margin=1.1, assumptions=("holders are no wider than stated",), model="sweep-1",
            where=(13.0, -8.0, 50.0),
        ),
        Proof(
            "clears", "coolant nozzle", "unknown", "The place of the nozzle is not known.", None, "mm",
            supply=("the lowest point of the coolant nozzle",), model="sweep-1",
        ),
    )  # fmt: skip


def program() -> Program:
    return Program(
        name="DW114B-JAWS",
        text="G21\nG17 G90 G94 G40 G80\nT2 M6\nM30\n",
        units="mm",
        cutters=(
            CutterUse("FM50", 1, "face the tops", 6000.0, 1800.0, 35.0, 0.5, 1.2, "widest that fits"),
            CutterUse(
                "EM10", 2, "rough and finish the pocket", 8000.0, 1200.0, 2.0, 6.5, 6.4, "sharp corner"
            ),
            CutterUse("D5.8", 6, "drill the tooling hole", 3500.0, 350.0, 2.9, 12.0, 0.3, "under the bore"),
            CutterUse("BB6", 7, "bore the tooling hole", 2500.0, 60.0, 0.1, 12.0, 0.4, "on size"),
        ),
        minutes=8.3,
        origin=(45.0, 14.0, 50.0),
        origin_words="X0 Y0 at the bored tooling hole, Z0 at the top of the fixed jaw",
    )


def verification(*, verified: bool = True) -> Verification:
    return Verification(
        verified=verified,
        moves=812,
        minutes=8.4,
        gouge=0.0 if verified else 0.8,
        gouge_at=None if verified else (10.0, 4.0, 44.0),
        rest=0.0,
        rest_at=None,
        wall_error=0.001,
        floor_error=0.0,
        spacer_gap=3.0,
        vise_gap=12.0,
        findings=()
        if verified
        else (NcFinding("fault", 212, 0, "the cutter goes 0.8 mm into the fixed jaw's wall"),),
        levels=(43.5, 46.0, 49.0),
    )


def rivals() -> tuple[Rival, ...]:
    up = (0.0, 0.0, 1.0)
    return (
        Rival(
            1, "soft jaws", up, 0.0, 0.0, True, 0.91, 0.997, 0.2, "chosen: B on the fixed jaw, C on the stop"
        ),
        Rival(
            2, "soft jaws", up, math.pi, 0.0, False, 0.74, 0.93, 0.3, "B on the floating jaw: size moves it"
        ),
        Rival(3, "soft jaws", up, math.atan2(0.3, 1.0), 4.0, False, 0.52, 0.88, -0.1, "grip margin is spent"),
        Rival(4, "hard jaws", up, 0.0, 0.0, False, None, None, None, "no two parallel flats long enough"),
    )


def record(units: str = "mm", *, verified: bool = True, fixed_jaw_rear: bool = True) -> Record:
    """A pawl in soft jaws."""
    vise = dataclasses.replace(samples.vise(), fixed_jaw_rear=fixed_jaw_rear)
    return Record(
        version="0.1.0",
        made="2026-03-02",
        job=job(units),
        shop=dataclasses.replace(
            samples.shop(),
            defaults_used=("vise V1 tilt_stiffness: 3e8 N·mm/rad (common practice, no source)",),
        ),
        part=part(),
        decision=Decision(
            "soft jaws",
            "Cut soft jaws: it has no two parallel flats, and 40 parts pay for the pair.",
            172.0,
            268.0,
            "USD",
            (
                Option("hard jaws", False, "No two parallel flats long enough to grip.", None, None),
                Option("soft jaws", True, "One pair in 25 mm blanks.", 172.0, 268.0),
                Option("soft jaws in a thicker blank", True, "Not needed: 19 mm stay behind.", 180.0, 290.0),
            ),
        ),
        rivals=rivals(),
        hold=dataclasses.replace(hold(), vise=vise),
        jaws=jaws(),
        proofs=proofs(),
        verdict="unknown",
        program=program(),
        verification=verification(verified=verified),
        torque=(14.0, 28.0, 46.0),
        models=(("solid kernel", "8.0"), ("coulomb-cone", "1")),
    )


def good_record(units: str = "mm") -> Record:
    """The same with every question answered."""
    base = record(units)
    known = tuple(p for p in base.proofs if p.verdict != "unknown")
    return dataclasses.replace(base, proofs=known, verdict="caution")


def hard_record(units: str = "mm") -> Record:
    """A cheek plate between hard jaws on parallels: no jaws to cut, no program."""
    base = good_record(units)
    plate = rectangle(-40.0, -50.0, 40.0, 0.0)
    p = samples.parallels()[2]
    top = 52.0
    contacts = tuple(
        Contact(n, on, (x, y, 42.0), (0.0, s, 0.0), 0.0, 30.0, f, s < 0)  # type: ignore[arg-type]
        for n, on, x, y, s, f in (
            ("B1", "fixed", -35.0, 0.0, -1.0, 1),
            ("B2", "fixed", 35.0, 0.0, -1.0, 1),
            ("G1", "floating", -35.0, -50.0, 1.0, 3),
            ("G2", "floating", 35.0, -50.0, 1.0, 3),
        )
    )
    h = base.hold
    assert h is not None
    drill = dataclasses.replace(h.features[2], center=(-25.0, -20.0, top), bottom=40.0)
    face = dataclasses.replace(
        h.features[0], center=(0.0, -25.0, top + 0.8), bottom=top, region=Region(plate)
    )
    held = dataclasses.replace(
        h,
        kind="hard jaws",
        outline=Region(plate),
        face_of_curve=(4, 2, 1, 3),
        contacts=(
            *contacts,
            Contact("F1", "floor", (0.0, -5.0, 40.0), (0.0, 0.0, 1.0), 0.0, 480.0, 0, True, growth=0.0),
        ),
        floor=40.0,
        jaw_top=44.0,
        grip_depth=4.0,
        part_top=top,
        gap=50.0,
        parallels=(p, p),
        features=(face, drill),
        datums=(
            dataclasses.replace(h.datums[0], point=(0.0, -25.0, 40.0)),
            dataclasses.replace(h.datums[1], point=(0.0, 0.0, 46.0), words="plane, 80 × 12 mm"),
        ),
        tolerances=(ToleranceAsk("spring hole", "position", 0.2, ("A", "B"), True),),
        stop=(-40.0, -20.0, 43.0),
    )
    return dataclasses.replace(
        base,
        hold=held,
        jaws=None,
        program=None,
        verification=None,
        decision=dataclasses.replace(
            base.decision,
            kind="hard jaws",
            sentence="Hard jaws on 40 mm parallels: two long flats, 50 mm apart.",
        ),
        rivals=(dataclasses.replace(base.rivals[0], kind="hard jaws"),),
    )


def refused_record(units: str = "mm") -> Record:
    """A part that no vise of the shop can hold."""
    base = record(units)
    return dataclasses.replace(
        base,
        decision=Decision(
            "not in a vise",
            "Do not hold it in a vise: the wall of 0.8 mm would spring by more than the bore allows.",
            None,
            None,
            "USD",
            (Option("soft jaws", False, "The thin wall springs by 0.09 mm; 0.03 is allowed.", None, None),),
        ),
        rivals=(),
        hold=None,
        jaws=None,
        program=None,
        verification=None,
        proofs=(),
        verdict="unknown",
        torque=None,
    )
