"""How both jaws press the part: each wall seen from the part, in patches with their pressure.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from jawright.papers.ink import FINE, INK, PAPER, PLAIN, QUIET, SMALL, THICK, Ink, num, pen, text_width
from jawright.papers.measure import Reader
from jawright.proof.model import Pad, WallPressure
from jawright.record import Record
from jawright.units import System, reading

HEAD, FOOT, SIDE, BETWEEN = 13.0, 6.5, 13.0, 5.0
TALL = 24.0  # of a panel's frame [mm of paper]
DARK = (0x5E, 0x8C, 0xA8)
"""Fill of the highest pressure; none is white. The numbers say the same without the color."""
NAMES = {"fixed": "Fixed jaw", "floating": "Floating jaw"}


def press_view(record: Record, *, width: float = 186.0) -> str | None:
    """SVG of the pressure of both walls on the part; None when it is not known."""
    if not record.pressure or not all(w.pads for w in record.pressure):
        return None
    r = Reader(record.job.units)
    ink = Ink(width, HEAD + TALL + FOOT, "Pressure of the jaws on the part")
    _, unit = reading(0.0, "pressure", record.job.units)
    ink.text((1.0, 2.4), f"How the walls press the part in use, {unit}; crossed out: does not touch",
             size=PLAIN, bold=True, anchor="start")  # fmt: skip
    every = [p for w in record.pressure for p in w.pads]
    x0 = min(p.middle[0] - p.length / 2 for p in every)
    x1 = max(p.middle[0] + p.length / 2 for p in every)
    z0 = min(p.middle[2] - p.height / 2 for p in every)
    z1 = max(p.middle[2] + p.height / 2 for p in every)
    top = max(p.pressure for p in every) or 1.0
    panel = (width - SIDE - 1.0 - BETWEEN) / 2
    flip = record.hold is not None and not record.hold.vise.fixed_jaw_rear
    for i, wall in enumerate(record.pressure):
        left = SIDE + i * (panel + BETWEEN)
        _words(ink, wall, left, r)
        for p in wall.pads:
            a, b = (
                (p.middle[0] - p.length / 2 - x0) / (x1 - x0),
                (p.middle[0] + p.length / 2 - x0) / (x1 - x0),
            )
            if flip:
                a, b = 1 - b, 1 - a
            up = (p.middle[2] + p.height / 2 - z0) / (z1 - z0)
            box = (left + a * panel, HEAD + (1 - up) * TALL, (b - a) * panel, p.height / (z1 - z0) * TALL)
            _pad(ink, p, box, top, system=record.job.units)
        ink.add("thick", f'<rect x="{num(left)}" y="{num(HEAD)}" width="{num(panel)}" height="{num(TALL)}" '
                f"{pen(THICK)}/>")  # fmt: skip
    ink.text((SIDE - 0.8, HEAD + 1.5), "top", size=SMALL, anchor="end", color=QUIET)
    ink.text((SIDE - 0.8, HEAD + TALL - 1.5), "bottom", size=SMALL, anchor="end", color=QUIET)
    spans = f"{r.size(x1 - x0)} along the jaws, {r.size(z1 - z0)} of grip"
    words = f"left is the operator's left: {spans}; blank: no wall grips there"
    ink.text((SIDE, HEAD + TALL + 3.6), words, size=SMALL, anchor="start", color=QUIET)
    return ink.svg()


def _words(ink: Ink, wall: WallPressure, left: float, r: Reader) -> None:
    name = NAMES[wall.jaw]
    ink.text((left, HEAD - 5.8), name, size=SMALL, bold=True, anchor="start")
    touch = f"touches {100 * wall.area_share:.0f} %, {100 * wall.depth_share:.0f} % of the depth"
    beside = left + text_width(name, SMALL, bold=True) + 2.0
    ink.text((beside, HEAD - 5.8), touch, size=SMALL, anchor="start")
    error = "" if wall.mesh_error is None else f", mesh ± {_least(wall.mesh_error, r)}"
    ink.text((left, HEAD - 2.3), f"taper {_least(wall.taper, r)}{error}", size=SMALL, anchor="start")


def _least(mm: float, r: Reader) -> str:
    """A small length: nought is never claimed."""
    least = 0.001 if r.units == "mm" else 0.00254
    return f"under {r.place(least)}" if abs(mm) < least / 2 else r.place(mm)


def _pad(ink: Ink, p: Pad, box: tuple[float, float, float, float], top: float, *, system: System) -> None:
    x, y, w, h = box
    share = p.pressure / top
    fill = "#" + "".join(f"{round(255 - share * (255 - c)):02x}" for c in DARK)
    ink.add("ground", f'<rect x="{num(x)}" y="{num(y)}" width="{num(w)}" height="{num(h)}" fill="{fill}" '
            f"{pen(FINE, color=QUIET)}/>")  # fmt: skip
    if p.pressure <= 0:
        for a, b in (((x, y), (x + w, y + h)), ((x, y + h), (x + w, y))):
            ink.paper_line(a, b, "thin", pen(FINE, color=QUIET))
        return
    value, _ = reading(p.pressure, "pressure", system)
    words = f"{value:.1f}" if value < 10 else f"{value:.0f}"
    size = SMALL - 0.3
    if text_width(words, size) < w - 0.4 and size < h:
        ink.text((x + w / 2, y + h / 2), words, size=size, color=INK, halo=PAPER if share < 0.05 else fill)
