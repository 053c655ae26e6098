"""An invented plate 44 × 26 in a plain pocket, in jaws of any height, thickness and material."""

from __future__ import annotations

from dataclasses import replace

import samples
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region
from jawright.hold.model import Contact, Hold
from jawright.jaws.model import Jaws, Zone
from jawright.shop.model import Band3, Vise

X0, X1 = -30.0, 25.0  # the pocket; its walls are flat between the corner radii
LEFT, RIGHT = -24.5, 19.5
BACK, FRONT = 6.0, -20.0
DEEP = 6.5


def vise(*, rigid: bool = False, body: float = 44.0) -> Vise:
    v = replace(samples.vise(), body_height=body)
    if not rigid:
        return v
    return replace(
        v,
        tilt_stiffness=Band3(1e13, 1e13, 1e13, "rigid"),
        push_stiffness=Band3(1e10, 1e10, 1e10, "rigid"),
    )


def jaws(
    *,
    height: float = 50.0,
    thickness: float = 25.0,
    material: str = "6061-T6",
    stack: tuple[float, float] = (0, 32),
) -> Jaws:
    j = samples.jaws()
    b = replace(j.fixed.blank, height=height, thickness=thickness, material=material)
    floor = height - DEEP
    return replace(
        j,
        fixed=replace(j.fixed, blank=b, height=height, y1=thickness),
        floating=replace(j.floating, blank=b, height=height, y0=-6.0 - thickness),
        floor=floor,
        top=height,
        wells=(),
        tooling_hole=None,
        zones=(
            Zone("locate", "fixed", (Line((RIGHT, BACK), (LEFT, BACK)),), 0.0, "B", 1, "test"),
            Zone("grip", "floating", (Line((LEFT, FRONT), (RIGHT, FRONT)),), 0.0, "", -1, "test"),
        ),
        stack=replace(j.stack, low=stack[0], high=stack[1], height=(stack[0] + stack[1]) / 2),
    )


def beside(j: Jaws, low: float, high: float) -> Jaws:
    """Spacers at both sides of the pocket."""
    runs = ((-68.0, -38.0), (33.0, 63.0))
    return replace(j, stack=replace(j.stack, low=low, high=high, height=(low + high) / 2, x_runs=runs))


def hold(j: Jaws, v: Vise | None = None) -> Hold:
    h = samples.hold()
    z = j.floor + DEEP / 2
    walls = [
        Contact(n, on, (x, y, z), (0.0, -s, 0.0), 0.0, 22.0, f, on == "fixed")  # type: ignore[arg-type]
        for n, on, x, y, s, f in (
            ("B1", "fixed", LEFT, BACK, 1.0, 1), ("B2", "fixed", RIGHT, BACK, 1.0, 1),
            ("G1", "floating", LEFT, FRONT, -1.0, 3), ("G2", "floating", RIGHT, FRONT, -1.0, 3),
        )
    ]  # fmt: skip
    corners = [(RIGHT, BACK), (LEFT, BACK), (LEFT, FRONT), (RIGHT, FRONT)]
    outline = Region(Profile(tuple(Line(corners[k], corners[(k + 1) % 4]) for k in range(4))))
    floor = [replace(c, point=(*c.point[:2], j.floor)) for c in h.contacts if c.on == "floor"]
    return replace(
        h, vise=v or vise(), outline=outline, face_of_curve=(1, 2, 3, 4), contacts=(*walls, *floor),
        floor=j.floor, jaw_top=j.top, grip_depth=DEEP, part_top=j.floor + 12.0, features=(), tolerances=(),
    )  # fmt: skip
