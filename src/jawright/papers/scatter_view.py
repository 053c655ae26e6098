"""Deviation against part size: the hold and its rivals side by side, the tolerance zone behind them.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from jawright.papers.ink import FINE, INK, PLAIN, QUIET, SMALL, THICK, THIN, Ink, num, pen
from jawright.papers.measure import Reader
from jawright.proof.model import Cloud, Scatter
from jawright.record import Record

MOST = 5
ZONE = "#e3ece4"
HEAD, FOOT, SIDE, BETWEEN = 12.0, 9.0, 11.0, 2.5
TALL = 34.0  # of a panel's frame [mm of paper]
DOT = 0.45
BEYOND = 5.0  # half zones shown either way at most: farther parts lie on the frame


def scatter_view(record: Record, *, width: float = 186.0) -> str | None:
    """SVG of the tolerance most at risk, one panel per way of holding; None when there is none to show."""
    if not record.scatter:
        return None
    s = record.scatter[0]
    clouds = s.clouds[:MOST]
    r = Reader(record.job.units)
    ink = Ink(width, HEAD + TALL + FOOT, "Deviation against part size")
    ink.text((1.0, 2.4), f"{s.title}: how far it is off, against the size of the part",
             size=PLAIN, bold=True, anchor="start")  # fmt: skip
    panel = (width - SIDE - 1.0 - BETWEEN * (len(clouds) - 1)) / len(clouds)
    reach = _reach(s, clouds)
    broad = max((abs(x) for c in clouds for x, _ in c.points), default=0.0) or 1.0
    for i, c in enumerate(clouds):
        left = SIDE + i * (panel + BETWEEN)
        _panel(ink, c, s.half_zone, left=left, wide=panel, span=(broad, reach))
    _scale(ink, s.half_zone, reach, r)
    ends = f"{r.place(-broad, unit=False)} to +{r.place(broad)}"
    words = f"size of the part off nominal, left to right in each picture: {ends}"
    ink.text((SIDE, HEAD + TALL + 5.2), words, size=SMALL, anchor="start", color=QUIET)
    return ink.svg()


def _reach(s: Scatter, clouds: tuple[Cloud, ...]) -> float:
    """Deviation at the top of the frames [mm]."""
    far = max((abs(y) for c in clouds for _, y in c.points), default=0.0)
    return min(max(1.3 * far, 1.6 * s.half_zone), BEYOND * s.half_zone)


def _panel(ink: Ink, c: Cloud, half: float, *, left: float, wide: float, span: tuple[float, float]) -> None:
    broad, reach = span
    middle, center = HEAD + TALL / 2, left + wide / 2
    kx, ky = 0.46 * wide / broad, TALL / 2 / reach
    band = min(half, reach) * ky
    ink.add("ground", f'<rect x="{num(left)}" y="{num(middle - band)}" width="{num(wide)}" '
            f'height="{num(2 * band)}" fill="{ZONE}"/>')  # fmt: skip
    for y in (middle - band, middle + band):
        ink.paper_line((left, y), (left + wide, y), "thin", pen(THIN, color=QUIET, dash="1.6 0.8"))
    chosen = c.held == "as held"
    ink.add("thick", f'<rect x="{num(left)}" y="{num(HEAD)}" width="{num(wide)}" height="{num(TALL)}" '
            f"{pen(THICK if chosen else FINE)}/>")  # fmt: skip
    ink.paper_line((left, middle), (left + wide, middle), "thin", pen(FINE, color=QUIET))
    for x, y in c.points:
        inside = abs(y) <= half
        at = (center + kx * x, middle - ky * max(-reach, min(reach, y)))
        fill = f'fill="{INK}"' if inside else f'fill="#ffffff" {_edge()}'
        ink.add("mark", f'<circle cx="{num(at[0])}" cy="{num(at[1])}" r="{num(DOT)}" {fill}/>')
    _slope(ink, c, center=center, middle=middle, scale=(kx, ky), span=span)
    ink.text((left, HEAD - 5.6), c.held, size=SMALL, bold=chosen, anchor="start")
    words = f"{100 * c.good:.1f} % good, slope {_nice(c.slope)}"
    ink.text((left, HEAD - 2.2), words, size=SMALL, anchor="start")


def _edge() -> str:
    return f'stroke="{INK}" stroke-width="{FINE}"'


def _slope(
    ink: Ink, c: Cloud, *, center: float, middle: float, scale: tuple[float, float], span: tuple[float, float]
) -> None:
    """The line of that slope through the middle of the drawn parts, as far as the frame goes."""
    broad, reach = span
    n = max(1, len(c.points))
    mid = (sum(x for x, _ in c.points) / n, sum(y for _, y in c.points) / n)
    x0, x1 = -broad, broad
    if c.slope:
        edges = [mid[0] + (y - mid[1]) / c.slope for y in (-reach, reach)]
        x0, x1 = max(x0, min(edges)), min(x1, max(edges))
    if x0 < x1:
        a, b = (
            (center + scale[0] * x, middle - scale[1] * (mid[1] + c.slope * (x - mid[0]))) for x in (x0, x1)
        )
        ink.paper_line(a, b, "thick", pen(THIN))


def _nice(slope: float) -> str:
    """0, ½ and 1 where they are meant; the number else."""
    for value, word in ((0.0, "0"), (0.5, "½"), (1.0, "1")):
        if abs(slope - value) < 0.02:
            return word
    return f"{slope:.2f}"


def _scale(ink: Ink, half: float, reach: float, r: Reader) -> None:
    middle = HEAD + TALL / 2
    band = min(half, reach) * TALL / 2 / reach
    for y, value in ((middle - band, half), (middle, 0.0), (middle + band, -half)):
        text = "0" if value == 0.0 else f"{'+' if value > 0 else ''}{r.place(value, unit=False)}"
        ink.text((SIDE - 0.8, y), text, size=SMALL, anchor="end")
    ink.text((SIDE - 0.8, HEAD - 2.2), r.length_unit, size=SMALL, anchor="end", color=QUIET)
