"""Where points, datum axes and middle planes lie on each part, taken on the part as seated at nominal.

A feature is made where the machine goes and ends up on the part by its seated pose; a datum of the first
side varies by itself against the walls, unless it is one of the walls held here.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse, MadeFeature
from jawright.mechanics.seat import SeatResult
from jawright.part.model import Part
from jawright.proof.datums import AXES, Common, Spot, ends
from jawright.proof.gives import KEY
from jawright.proof.population import Scene
from jawright.proof.setups import steel_expansion

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Off:
    """Where a feature really comes to lie, off where the machine aims: X and Y (m,) [mm], the heat and the
    pose of the part apart; and how much (m,) its points part along Y, about ``about``, as the vise opens."""

    x: Floats
    y: Floats
    stretch: Floats | float = 0.0
    about: float = 0.0


def machine_off(scene: Scene, f: MadeFeature, sample: Floats) -> Off:
    """Where the machine really goes, and where what it cut goes when the vise opens."""
    out = []
    for axis in "XY":
        e = sample[:, scene.column(f"pickup {axis}")] + sample[:, scene.column(f"vise {axis}")]
        e = e + sample[:, scene.column(f"machine {f.name} {axis}")]
        key = f"place {f.name} {axis}"
        if scene.has(key):
            e = e + sample[:, scene.column(key)]
        out.append(e)
    if scene.has("reseat X"):
        # Of the three rests of a pair put back, two (one at each bolt) turn it.
        a, b = sample[:, scene.column("reseat Y a")], sample[:, scene.column("reseat Y b")]
        turn = (b - a) / scene.bolts
        out[0] = out[0] - sample[:, scene.column("reseat X")] + turn * f.center[1]
        out[1] = out[1] - (a + b) / 2 - turn * f.center[0]
    if scene.gives is None or not scene.has(KEY):
        return Off(out[0], out[1])
    force, per = sample[:, scene.column(KEY)], scene.gives.at(f.name, f.center[1])
    stretch = force * scene.gives.stretch
    return Off(out[0] + force * per[0], out[1] + force * per[1], stretch, f.center[1])


def on_part(
    machine: Off, seated: SeatResult, q: Floats, *, scene: Scene, sample: Floats
) -> tuple[Floats, Floats]:
    """Where a point the machine aims at ``q`` ends up on each part (m,), (m,) [mm]."""
    # A part that is warm when cut comes home with the feature too near its anchor; warm scales reach too far.
    heat = sample[:, scene.column("temperature")] * (scene.expansion or 0.0)
    heat = heat - sample[:, scene.column("machine temperature")] * steel_expansion()
    vx = q[0] + machine.x - heat * (q[0] - scene.anchor[0]) - seated.pose[:, 0]
    apart = machine.stretch * (q[1] - machine.about)
    vy = q[1] + machine.y + apart - heat * (q[1] - scene.anchor[1]) - seated.pose[:, 1]
    c, s = np.cos(seated.pose[:, 2]), np.sin(seated.pose[:, 2])
    return c * vx + s * vy, -s * vx + c * vy


def lie(
    scene: Scene, datum: DatumUse, sample: Floats, seated: SeatResult, part: Part | None
) -> tuple[Spot, ...]:
    """Where an axis (one place), a middle plane or a standing plane cut here (two ends) lies on each part.

    Empty for what is a wall of the first side.
    """
    if isinstance(datum, Common):
        if datum.kind not in AXES:
            return ()
        spots = [axis_place(scene, d, sample, seated) for d in datum.members]
        x, y = (np.mean([s[k] for s in spots], axis=0) for k in (0, 1))
        return ((x, y),)
    if datum.kind in AXES:
        return (axis_place(scene, datum, sample, seated),)
    if datum.kind == "width":
        return _middle(scene, datum, sample, seated, part)
    f = scene.made.get(datum.letter)
    if f is None or abs(datum.normal[2]) > 0.9:
        return ()
    machine = machine_off(scene, f, sample)
    return tuple(on_part(machine, seated, p, scene=scene, sample=sample) for p in ends(scene, part, datum))


def axis_place(scene: Scene, datum: DatumUse, sample: Floats, seated: SeatResult) -> tuple[Floats, Floats]:
    """Where an upright axis that serves as datum lies on each part (m,), (m,) [mm].

    One made in this operation lies where the machine went, with the same clamping and offset as the
    rest; a round wall held here has its axis where the outline has it, whatever its size; another of the
    first side varies by itself against the walls.
    """
    x, y = datum.point[0], datum.point[1]
    key = f"datum {datum.letter} "
    if scene.has(key + "X"):
        return x + sample[:, scene.column(key + "X")], y + sample[:, scene.column(key + "Y")]
    f = scene.made.get(datum.letter)
    if f is None:
        m = len(sample)
        return np.full(m, float(x)), np.full(m, float(y))
    return on_part(machine_off(scene, f, sample), seated, np.array([x, y]), scene=scene, sample=sample)


def _middle(
    scene: Scene, datum: DatumUse, sample: Floats, seated: SeatResult, part: Part | None
) -> tuple[Spot, ...]:
    """Two ends of the plane midway between two walls: cut here, held here, or left by the first side."""
    n = np.array(datum.normal[:2]) / math.hypot(*datum.normal[:2])
    mid = ends(scene, part, datum)
    f = scene.made.get(datum.letter)
    if f is not None:
        machine = machine_off(scene, f, sample)
        return tuple(on_part(machine, seated, p, scene=scene, sample=sample) for p in mid)
    out = []
    for p, end in zip(mid, "ab", strict=True):
        key = f"datum {datum.letter} {end}"
        if scene.has(key):
            off = sample[:, scene.column(key)]
        else:
            one, other = (scene.stands_out(sample, k, p) for k in datum.faces)
            off = (one - other) / 2
        out.append((p[0] + off * n[0], p[1] + off * n[1]))
    return tuple(out)


def over_size(scene: Scene, datum: DatumUse, sample: Floats) -> Floats | None:
    """By how much a round or a width held here is larger than nominal (m,) [mm]; None when it is no wall."""
    faces = [k for k in datum.faces if k in scene.walls]
    at = np.array(datum.point[:2])
    if datum.kind == "round" and faces and not scene.walls[faces[0]].straight:
        return 2 * scene.stands_out(sample, faces[0], at)
    if datum.kind == "width" and len(faces) == 2:
        one, other = (scene.stands_out(sample, k, at) for k in faces)
        return one + other
    return None
