"""Build the ratchet pawl of the demo job as a STEP file: `python examples/make_pawl.py`.

An invented part of a dinghy winch. Frame: datum B is the long flat y = 0, datum C the heel
x = 0, datum A the front face z = 0; the back, finished in the demo job, is z = 12. Beside B
and C there are two more flats, the belly and the tooth's flank: no two of the four are parallel.
"""

from __future__ import annotations

import math
from pathlib import Path

from jawright import kernel
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.profile import Profile, Region

DEMO = Path(__file__).resolve().parent.parent / "src" / "jawright" / "data" / "demo"

THICKNESS = 12.0
FLAT_END = 48.0  # datum B runs from x = 2 to here
HEEL_END = -26.0  # datum C runs from y = -2 to here
BELLY = math.radians(12.0)  # slant of the belly to datum B: the pawl narrows toward its tooth
CORNER = 2.0  # radius between B and C
HEEL = 4.0  # radius between C and the belly
NOSE = 4.0  # radius of the tooth's nose
TIP = 72.0  # the nose ends at this x
THROAT = 6.0  # hollow radius under the tooth
SHOULDER = 6.0  # radius from datum B into the throat
RISE = math.radians(30.0)  # outward normal where shoulder and throat meet, from +X

PIVOT = ((18.0, -14.0), 10.0)
PINS = (((38.0, -9.0), 5.0), ((52.0, -13.0), 5.0))


def _from(center: Point, radius: float, angle: float) -> Point:
    return (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))


def outline() -> Profile:
    """The pawl's outline, counter-clockwise: every arc meets its neighbors tangentially."""
    belly = -math.pi / 2 + BELLY  # outward normal of the belly
    corner, heel = (CORNER, -CORNER), (HEEL, HEEL_END)
    leave = _from(heel, HEEL, belly)
    nose_x = TIP - NOSE
    touch_x = nose_x + NOSE * math.cos(belly)
    touch = (touch_x, leave[1] + (touch_x - leave[0]) * math.tan(BELLY))
    nose = (nose_x, touch[1] - NOSE * math.sin(belly))
    shoulder = (FLAT_END, -SHOULDER)
    meet = _from(shoulder, SHOULDER, RISE)
    throat = _from(meet, THROAT, RISE)
    # the flank is the inner common tangent of the nose and the throat circle
    apart = math.dist(nose, throat)
    toward = math.atan2(throat[1] - nose[1], throat[0] - nose[0])
    flank = toward - math.acos((NOSE + THROAT) / apart)  # its outward normal
    curves: tuple[Curve, ...] = (
        Line((FLAT_END, 0.0), (CORNER, 0.0)),  # datum B
        Arc((CORNER, 0.0), (0.0, -CORNER), corner, True),
        Line((0.0, -CORNER), (0.0, HEEL_END)),  # datum C
        Arc((0.0, HEEL_END), leave, heel, True),
        Line(leave, touch),  # belly
        Arc(touch, _from(nose, NOSE, flank), nose, True),
        Line(_from(nose, NOSE, flank), _from(throat, THROAT, flank + math.pi)),
        Arc(_from(throat, THROAT, flank + math.pi), meet, throat, False),
        Arc(meet, (FLAT_END, 0.0), shoulder, True),
    )
    return Profile(curves)


def step() -> bytes:
    """The finished pawl as STEP text; the same bytes every time."""
    body = kernel.extrude(Region(outline()), 0.0, THICKNESS)
    for (x, y), diameter in (PIVOT, *PINS):
        drill = kernel.cylinder((x, y, -1.0), (0.0, 0.0, 1.0), diameter / 2, THICKNESS + 2.0)
        body = kernel.cut(body, drill)
    return kernel.step_text({"ratchet pawl": body}, title="ratchet pawl")


if __name__ == "__main__":
    (DEMO / "pawl.step").write_bytes(step())
    print(f"wrote {(DEMO / 'pawl.step').name}")
