"""Build the cheek plate of the second example: `python examples/make_cheek.py`.

An invented part of a dinghy winch: a plate 90 × 40 × 10 with one round end and two long parallel
flats, which is what hard jaws on parallels are for. Frame: datum B is the flat y = 20, datum C the
square end x = -60, datum A the front face z = 0; the back, finished in this job, is z = 10.
"""

from __future__ import annotations

from pathlib import Path

from jawright import kernel
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region

HERE = Path(__file__).resolve().parent / "cheek"

THICKNESS = 10.0
WIDTH = 40.0
END = -60.0  # the square end; the round end is centered on the origin
AXLE = ((0.0, 0.0), 16.0)
PINS = (((-30.0, 10.0), 6.0), ((-50.0, -10.0), 6.0))


def outline() -> Profile:
    """The plate's outline, counter-clockwise."""
    h = WIDTH / 2
    return Profile(
        (
            Line((0.0, h), (END, h)),  # datum B
            Line((END, h), (END, -h)),  # datum C
            Line((END, -h), (0.0, -h)),
            Arc((0.0, -h), (0.0, h), (0.0, 0.0), True),
        )
    )


def step() -> bytes:
    """The finished plate as STEP text; the same bytes every time."""
    body = kernel.extrude(Region(outline()), 0.0, THICKNESS)
    for (x, y), diameter in (AXLE, *PINS):
        drill = kernel.cylinder((x, y, -1.0), (0.0, 0.0, 1.0), diameter / 2, THICKNESS + 2.0)
        body = kernel.cut(body, drill)
    return kernel.step_text({"cheek plate": body}, title="cheek plate")


if __name__ == "__main__":
    (HERE / "cheek.step").write_bytes(step())
    print("wrote cheek.step")
