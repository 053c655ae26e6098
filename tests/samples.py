"""Small invented objects shared by tests: a vise, blanks, cutters, a pocketed pair, a held pawl."""

from __future__ import annotations

import math

from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import standing
from jawright.geometry.profile import Profile, Region, circle
from jawright.hold.model import Contact, DatumUse, Hold, MadeFeature, Stance
from jawright.jaws.model import Jaw, Jaws, Relief, SpacerStack, ToolingHole, Well, Zone
from jawright.job.model import ToleranceAsk
from jawright.shop.model import (
    Band3,
    Blank,
    Cutter,
    Machine,
    NcFormat,
    Parallel,
    Rates,
    Shop,
    Vise,
)

TEST = "test value"


def vise() -> Vise:
    return Vise(
        id="V1",
        jaw_width=150.0,
        opening=160.0,
        hard_jaw_height=44.0,
        body_height=44.0,
        bolt_spacing=100.0,
        bolt_height=22.0,
        bolt="M12",
        screw_lead=5.0,
        screw_mean_diameter=22.0,
        collar_mean_diameter=26.0,
        flank_angle=math.radians(15),
        screw_friction=Band3(0.10, 0.15, 0.20, TEST),
        torque_table=(),
        torque_max=80.0,
        tilt_stiffness=Band3(1.5e8, 3e8, 6e8, TEST),
        push_stiffness=Band3(1e5, 2e5, 4e5, TEST),
        lift=Band3(0.0, 0.012, 0.025, TEST),
        yaw=Band3(0.0001, 0.0003, 0.0006, TEST),
        side_play=Band3(0.005, 0.02, 0.05, TEST),
        repeat=Band3(0.003, 0.005, 0.01, TEST),
    )


def blank() -> Blank:
    return Blank(
        id="A25",
        material="6061-T6",
        length=150.0,
        thickness=25.0,
        height=50.0,
        bolt_spacing=100.0,
        bolt_height=22.0,
        slot_length=6.0,
        bolt_hole=13.0,
        counterbore=20.0,
        counterbore_depth=14.0,
        reversible=True,
        price=14.0,
        stock=8,
    )


def cutters() -> tuple[Cutter, ...]:
    h = math.radians(38)
    return (
        Cutter("FM50", 1, "face mill", 50.0, 0.8, 5, 8.0, 60.0, 40.0, 0.0, 0.0, False),
        Cutter("EM10", 2, "end mill", 10.0, 0.0, 3, 25.0, 40.0, 32.0, 0.0, h, True),
        Cutter("EM8", 3, "end mill", 8.0, 0.0, 3, 22.0, 35.0, 32.0, 0.0, h, True),
        Cutter("EM10R1", 4, "end mill", 10.0, 1.0, 3, 25.0, 40.0, 32.0, 0.0, h, True),
        Cutter("SD6", 5, "spot drill", 6.0, 0.0, 2, 12.0, 40.0, 25.0, math.radians(90), 0.0, True, "HSS"),
        Cutter("D5.8", 6, "drill", 5.8, 0.0, 2, 57.0, 75.0, 20.0, math.radians(118), 0.5, True, "HSS"),
        Cutter("BB6", 7, "boring bar", 6.0, 0.2, 1, 25.0, 50.0, 32.0, 0.0, 0.0, False),
        Cutter("EN3", 8, "engraver", 3.0, 0.1, 1, 6.0, 35.0, 25.0, math.radians(60), 0.0, True),
    )


def parallels() -> tuple[Parallel, ...]:
    return (
        Parallel("P6x20", 20.0, 6.0, 150.0, 2),
        Parallel("P6x32", 32.0, 6.0, 150.0, 2),
        Parallel("P6x40", 40.0, 6.0, 150.0, 2),
        Parallel("S6x30", 30.0, 6.0, 20.0, 2),
    )


def shop() -> Shop:
    return Shop(
        name="Test shop",
        vises=(vise(),),
        blanks=(blank(),),
        parallels=parallels(),
        cutters=cutters(),
        machine=Machine("M1", (760.0, 400.0, 450.0), 10000.0, 8000.0, 15000.0, 11.0, 6.0, 0.003),
        nc=NcFormat("mm", 3, True, False, "G54", (), ()),
        rates=Rates("USD", 90.0, 60.0, 20.0, 35.0, 30.0, 40.0),
        friction=Band3(0.08, 0.12, 0.15, TEST),
        bored_position=Band3(0.004, 0.006, 0.01, TEST),
        drilled_position=Band3(0.02, 0.03, 0.05, TEST),
        offset_pickup=Band3(0.002, 0.004, 0.008, TEST),
        jaw_cut=Band3(0.003, 0.005, 0.01, TEST),
        temperature_swing=Band3(0.0, 2.0, 5.0, TEST),
    )


def pawl_outline() -> Profile:
    """A flat on top (y = 6), a heel (x = -30), a slanted belly and a nose of radius 12; no parallel flats."""
    c, r = (13.0, -8.0), 12.0
    a = math.pi + math.acos(r / (c[0] + 30.0))
    touch = (c[0] + r * math.cos(a), c[1] + r * math.sin(a))
    return Profile(
        (
            Line((25.0, 6.0), (-30.0, 6.0)),
            Line((-30.0, 6.0), (-30.0, -8.0)),
            Line((-30.0, -8.0), touch),
            Arc(touch, (25.0, -8.0), c, True),
            Line((25.0, -8.0), (25.0, 6.0)),
        )
    )


def rounded_pocket(x0: float, y0: float, x1: float, y1: float, r: float) -> Profile:
    """Upright rectangle with rounded corners, counter-clockwise."""
    return Profile(
        (
            Line((x0 + r, y0), (x1 - r, y0)),
            Arc((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r), True),
            Line((x1, y0 + r), (x1, y1 - r)),
            Arc((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r), True),
            Line((x1 - r, y1), (x0 + r, y1)),
            Arc((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r), True),
            Line((x0, y1 - r), (x0, y0 + r)),
            Arc((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r), True),
        )
    )


def jaws() -> Jaws:
    """A pair with a plain rounded pocket 55 × 28, 6 deep, gap 6; one clearance well, a tooling hole."""
    b = blank()
    fixed = Jaw("fixed", b, -75.0, 75.0, 0.0, 25.0, 50.0, ((-50.0, 22.0), (50.0, 22.0)))
    floating = Jaw("floating", b, -75.0, 75.0, -31.0, -6.0, 50.0, ((-50.0, 22.0), (50.0, 22.0)))
    outline = pawl_outline()
    top = outline.curves[0]
    p = parallels()
    return Jaws(
        fixed=fixed,
        floating=floating,
        gap=6.0,
        pocket=Region(rounded_pocket(-30.0, -20.0, 25.0, 6.0, 5.5)),
        floor=43.5,
        top=50.0,
        cutter="EM10",
        cutter_radius=5.0,
        zones=(
            Zone("locate", "fixed", (top,), 0.0, "B", 1, "datum B on the fixed jaw"),
            Zone("grip", "floating", outline.curves[2:4], 0.0, "", -1, "square on to the closing direction"),
        ),
        reliefs=(Relief((-28.0, 4.0), 5.0, (-30.0, 6.0), 0.0, 1.464),),
        wells=(Well(Region(circle((13.0, -8.0), 7.0)), 35.0, 43.5, "clearance under pivot bore"),),
        tooling_hole=ToolingHole((45.0, 14.0), 6.0, 5.8, 12.0, 50.0),
        stack=SpacerStack(
            spacers=(p[1],),
            risers=(),
            width=6.0,
            low=0.0,
            high=32.0,
            x_runs=((-75.0, 75.0),),
            height=16.0,
            cutter_gap=3.0,
            reason="under the pocket",
        ),
        edge_break=0.3,
        text=("DW-114 B FIXED", "DW-114 B FLOATING"),
        text_at=((-70.0, 17.0), (-70.0, -27.0)),
        text_height=4.0,
        metal_behind=19.0,
        metal_behind_where="between pocket and back of the fixed jaw",
    )


def hold() -> Hold:
    """The pawl 12 thick, seated 6.5 deep: B on the fixed jaw, C on the stop at -X, belly and nose gripped."""
    c = cutters()
    outline = Region(pawl_outline())
    belly = outline.outer.curves[2]
    n = (0.279, 0.96, 0.0)
    contacts = [
        Contact("B1", "fixed", (-25.0, 6.0, 46.75), (0.0, -1.0, 0.0), 0.0, 25.0, 1, True),
        Contact("B2", "fixed", (20.0, 6.0, 46.75), (0.0, -1.0, 0.0), 0.0, 25.0, 1, True),
        Contact("C1", "stop", (-30.0, -1.0, 46.75), (1.0, 0.0, 0.0), 0.0, 10.0, 2, True),
        Contact("G1", "floating", (*belly.at(0.2), 46.75), n, 0.0, 14.0, 3, False),
        Contact("G2", "floating", (*belly.at(0.9), 46.75), n, 0.0, 14.0, 3, False),
        Contact("G3", "floating", (13.0, -20.0, 46.75), (0.0, 1.0, 0.0), 0.0, 10.0, 4, False, 12.0, 12.0),
    ]
    contacts += [
        Contact(f"F{i + 1}", "floor", (x, y, 43.5), (0.0, 0.0, 1.0), 0.0, 80.0, 0, True, growth=0.0)
        for i, (x, y) in enumerate([(-25.0, 3.0), (20.0, 3.0), (0.0, -16.0)])
    ]
    bore = MadeFeature(
        name="pivot bore",
        kind="bore",
        center=(13.0, -8.0, 55.5),
        axis=(0.0, 0.0, 1.0),
        diameter=10.0,
        bottom=43.5,
        through=True,
        faces=(7,),
        cutter=c[6],
        spindle=1500.0,
        feed_per_tooth=0.05,
        radial=0.2,
        axial=12.0,
        path=((13.0, -8.0, 55.5), (13.0, -8.0, 43.5)),
        region=None,
        assumed=(),
    )
    top = MadeFeature(
        name="back face",
        kind="face",
        center=(0.0, -5.0, 56.3),
        axis=(0.0, 0.0, 1.0),
        diameter=None,
        bottom=55.5,
        through=False,
        faces=(6,),
        cutter=c[0],
        spindle=4000.0,
        feed_per_tooth=0.08,
        radial=30.0,
        axial=0.8,
        path=tuple((*q, 55.5) for q in outline.outer.points(1.0)),
        region=outline,
        assumed=(),
    )
    up = (0.0, 0.0, 1.0)
    return Hold(
        kind="soft jaws",
        stance=_stance(up),
        vise=vise(),
        outline=outline,
        face_of_curve=(1, 2, 3, 4, 5),
        contacts=tuple(contacts),
        floor=43.5,
        jaw_top=50.0,
        grip_depth=6.5,
        part_top=55.5,
        stock=0.8,
        part_mass=0.045,
        gap=6.0,
        features=(top, bore),
        datums=(
            DatumUse("A", "plane", (0,), (0.0, -5.0, 43.5), (0.0, 0.0, -1.0), "floor", "plane, down"),
            DatumUse("B", "plane", (1,), (-2.5, 6.0, 49.5), (0.0, 1.0, 0.0), "fixed", "plane, 55 × 12 mm"),
            DatumUse("C", "plane", (2,), (-30.0, -1.0, 49.5), (-1.0, 0.0, 0.0), "stop", "plane, 14 × 12 mm"),
        ),
        tolerances=(ToleranceAsk("pivot bore", "position", 0.1, ("A", "B", "C"), True),),
    )


def _stance(up: tuple[float, float, float]) -> Stance:
    return Stance(up, 0.0, 0.0, standing(up, turn=0.0, shift=(0.0, 0.0, 43.5)), "test")
