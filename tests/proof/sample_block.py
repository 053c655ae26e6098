"""An invented block 60 × 30 × 20 with a bore, held in plain jaws: every answer can be told by hand."""

from __future__ import annotations

from dataclasses import replace

import samples
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Contact, DatumUse, Hold
from jawright.jaws.model import Jaws, Zone
from jawright.job.model import Job, ToleranceAsk
from jawright.shop.model import Band3, Shop
from proof.sample_job import job as pawl_job

NONE = Band3(0.0, 0.0, 0.0, "none")


def job(*, profile: float = 0.06, wall_form: float = 0.0, edge_break: float = 0.3) -> Job:
    return pawl_job(profile=profile, wall_form=wall_form, edge_break=edge_break)


def quiet_shop(**bands: Band3) -> Shop:
    """A shop in which nothing varies but what is named."""
    s = samples.shop()
    still = dict.fromkeys(
        ("bored_position", "drilled_position", "offset_pickup", "jaw_cut", "temperature_swing"), NONE
    )
    return replace(s, machine=replace(s.machine, repeat=0.0), **(still | bands))


def hold(*, zone: float = 0.1, material: str = "", stop: bool = True) -> Hold:
    """Datum B on the fixed jaw, C at the stop at -X, A down; the bore at (10, -12)."""
    base = samples.hold()
    z = 46.75
    contacts = [
        Contact("B1", "fixed", (-28.0, 0.0, z), (0.0, -1.0, 0.0), 0.0, 30.0, 1, True),
        Contact("B2", "fixed", (28.0, 0.0, z), (0.0, -1.0, 0.0), 0.0, 30.0, 1, True),
        Contact("G1", "floating", (-28.0, -30.0, z), (0.0, 1.0, 0.0), 0.0, 30.0, 3, False),
        Contact("G2", "floating", (28.0, -30.0, z), (0.0, 1.0, 0.0), 0.0, 30.0, 3, False),
    ]
    if stop:
        contacts.append(Contact("C1", "stop", (-30.0, -15.0, z), (1.0, 0.0, 0.0), 0.0, 10.0, 2, True))
    contacts += [
        Contact(f"F{i + 1}", "floor", (x, y, 43.5), (0.0, 0.0, 1.0), 0.0, 80.0, 0, True, growth=0.0)
        for i, (x, y) in enumerate([(-28, -2), (28, -2), (28, -28), (-28, -28)])
    ]
    vise = replace(base.vise, lift=NONE, yaw=NONE, side_play=NONE, repeat=NONE)
    bore = replace(base.features[1], center=(10.0, -12.0, 55.5))
    return replace(
        base,
        vise=vise,
        outline=Region(rectangle(-30.0, -30.0, 30.0, 0.0)),
        face_of_curve=(3, 4, 1, 2),
        contacts=tuple(contacts),
        features=(base.features[0], bore),
        datums=(
            DatumUse("A", "plane", (0,), (0.0, -15.0, 43.5), (0.0, 0.0, -1.0), "floor", "plane, down"),
            DatumUse("B", "plane", (1,), (0.0, 0.0, 49.5), (0.0, 1.0, 0.0), "fixed", "plane"),
            DatumUse("C", "plane", (2,), (-30.0, -15.0, 49.5), (-1.0, 0.0, 0.0), "stop", "plane"),
        ),
        tolerances=(
            ToleranceAsk("pivot bore", "position", zone, ("A", "B", "C"), True, material),  # type: ignore[arg-type]
        ),
        gap=6.0,
        stop=(-30.0, -15.0, z) if stop else None,
    )


def jaws(*, allowance: float = 0.2) -> Jaws:
    """A pocket round the block: line to line on B, C and the floating wall, ``allowance`` at +X."""
    outline = rectangle(-30.0, -30.0, 30.0, 0.0)
    bottom, right, top, left = outline.curves
    return replace(
        samples.jaws(),
        pocket=Region(rectangle(-30.0, -30.0, 30.0 + allowance, 0.0)),
        fixed=replace(samples.jaws().fixed, y0=-12.0, y1=13.0),
        floating=replace(samples.jaws().floating, y0=-43.0, y1=-18.0),
        gap=6.0,
        zones=(
            Zone("locate", "fixed", (top,), 0.0, "B", 1, "datum B"),
            Zone("stop", "fixed", (left,), 0.0, "C", 2, "datum C"),
            Zone("grip", "floating", (bottom,), 0.0, "", 3, "square on"),
            Zone("clear", "floating", (right,), allowance, "", 4, "steep"),
        ),
        reliefs=(),
    )
