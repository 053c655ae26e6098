"""The spacer stack against the fixed jaw, as the operator sees it with the floating jaw taken away."""

from __future__ import annotations

from collections import Counter

from jawright.geometry.curve import Point
from jawright.geometry.cuts import runs_at, skyline
from jawright.jaws.model import Jaw, Jaws, SpacerStack
from jawright.papers.ink import (
    CENTER,
    FINE,
    HIDDEN,
    PLAIN,
    QUIET,
    SMALL,
    THICK,
    THIN,
    Ink,
    fit_scale,
    pen,
    scale_words,
    spread,
    text_width,
)
from jawright.papers.measure import Reader
from jawright.papers.plan_view import FIXED, FLOOR
from jawright.record import Record
from jawright.shop.model import Parallel

SPACER = "#e3d3b0"
RISER = "#ffffff"


def face_steps(jaw: Jaw, jaws: Jaws, y: float) -> list[tuple[float, float, float]]:
    """Top of a jaw's metal along X at depth ``y``: runs (x from, x to, z) [mm] from left to right."""
    cuts = [(a, b, jaws.floor) for a, b in runs_at(jaws.pocket, 1, y)]
    for w in jaws.wells:
        cuts += [(a, b, w.bottom) for a, b in runs_at(w.region, 1, y)]
    for r in jaws.reliefs:
        d2 = r.radius**2 - (y - r.center[1]) ** 2
        if d2 > 0:
            cuts.append((r.center[0] - d2**0.5, r.center[0] + d2**0.5, jaws.floor))
    xs = sorted({jaw.x0, jaw.x1, *(min(max(v, jaw.x0), jaw.x1) for a, b, _ in cuts for v in (a, b))})
    return skyline(xs, cuts, jaw.height)


def elevation(ink: Ink, jaw: Jaw, jaws: Jaws, fill: str) -> None:
    """Front face of a jaw: its outline with the pocket's mouth, bolts with counterbores, the floor behind."""
    front = jaw.y0 if jaw.side == "fixed" else jaw.y1
    points: list[Point] = [(jaw.x0, 0.0)]
    for a, b, z in face_steps(jaw, jaws, front):
        points += [(a, z), (b, z)]
    points.append((jaw.x1, 0.0))
    d = "M" + "L".join(ink.xy(p) for p in points) + "Z"
    back = [(jaw.x0, 0.0), (jaw.x0, jaw.height), (jaw.x1, jaw.height), (jaw.x1, 0.0)]
    ink.add("ground", f'<path d="M{"L".join(ink.xy(p) for p in back)}Z" fill="{FLOOR}" {pen(THIN)}/>')
    ink.add("metal", f'<path d="{d}" fill="{fill}"/>')
    ink.add("thick", f'<path d="{d}" {pen(THICK)}/>')
    for x, z in jaw.bolts:
        ink.circle((x, z), jaw.blank.counterbore / 2, "thin", pen(THIN))
        ink.circle((x, z), jaw.blank.bolt_hole / 2, "thin", pen(FINE))
        ink.center_mark((x, z), jaw.blank.counterbore / 2)


def stack_view(record: Record, *, width: float = 106.0) -> str:
    """SVG of the spacer stack; ``width`` of paper [mm]."""
    jaws, hold = record.jaws, record.hold
    assert jaws is not None and hold is not None
    r = Reader(record.job.units)
    jaw, s = jaws.fixed, jaws.stack
    x0 = min([jaw.x0, *(a for a, _ in s.x_runs)])
    x1 = max([jaw.x1, *(b for _, b in s.x_runs)])
    left, right, over, under = 4.0, 33.0, 9.0, 12.0
    scale = fit_scale(x1 - x0, jaw.height, paper=(width - left - right, 70.0))
    ink = Ink(width, scale * jaw.height + over + under, "Spacer stack while the jaws are cut", scale=scale)
    ink.flip_x = not hold.vise.fixed_jaw_rear
    room = (width - left - right - scale * (x1 - x0)) / 2
    ink.zero = (
        left + room + (scale * x1 if ink.flip_x else -scale * x0),
        over + scale * jaw.height,
    )
    elevation(ink, jaw, jaws, FIXED)
    hatch = ink.hatch("cut-spacer", angle=45, gap=1.2)
    for a, b in s.x_runs:
        ink.rect((a, s.low), (b, s.high), "mark", f'fill="{SPACER}" fill-opacity="0.55" {pen(THICK)}')
        ink.rect((a, s.low), (b, s.high), "mark", hatch)
    for a, b in _riser_runs(s):
        ink.rect((a, 0.0), (b, s.low), "mark", pen(THIN, dash=HIDDEN))
    edge = max(ink.put((x0, 0.0))[0], ink.put((x1, 0.0))[0])
    _inside(ink, s)
    level = ink.put((0.0, s.height))
    ink.paper_line((2.0, level[1]), (edge + 1.0, level[1]), "mark", pen(THIN, dash=CENTER))
    _levels(ink, edge, [
        (jaws.top, f"jaw top {r.size(jaws.top)}"),
        (jaws.floor, f"floor {r.size(jaws.floor)}"),
        (s.high, f"spacer top {r.size(s.high)}"),
        (s.height, f"force {r.size(s.height)}"),
        (s.low, f"spacer foot {r.size(s.low)}"),
    ])  # fmt: skip
    ink.text(
        (1.0, 3.2), "fixed jaw seen by the operator, floating jaw taken away", size=SMALL, anchor="start"
    )
    words = f"spacer {names(s.spacers)}, {r.size(s.width)} across the gap"
    words += f"; cutter stays {r.near(s.cutter_gap)} off it"
    ink.text((1.0, ink.height - 6.2), words, size=SMALL, anchor="start", bold=True)
    stands = f"under it: {names(s.risers)}" if s.risers else "it stands on the bed"
    stands += "; make it first, of flat stock" if s.to_make else ""
    ink.text((1.0, ink.height - 2.4), stands, size=SMALL, anchor="start")
    ink.text(
        (width - 1, ink.height - 2.4), f"scale {scale_words(scale)}", size=SMALL, anchor="end", bold=True
    )
    return ink.svg()


def _riser_runs(s: SpacerStack) -> list[tuple[float, float]]:
    """Where the risers stand along X: one under each spacer, or fewer that reach from one to the next."""
    if not s.risers or not s.x_runs or s.low <= 1e-6:
        return []
    if len(s.risers) < len(s.x_runs):
        return [(min(a for a, _ in s.x_runs), max(b for _, b in s.x_runs))]
    return list(s.x_runs)


def names(parallels: tuple[Parallel, ...]) -> str:
    """Ids, each once with its count."""
    count = Counter(p.id for p in parallels)
    return " + ".join(f"{n} × {i}" if n > 1 else i for i, n in count.items())


def _inside(ink: Ink, s: SpacerStack) -> None:
    """Which piece is which, written on it where it is large enough for letters."""
    for a, b in s.x_runs:
        (x0, y0), (x1, y1) = ink.put((a, s.high)), ink.put((b, s.low))
        words = "spacer"
        if abs(x1 - x0) > text_width(words, PLAIN, bold=True) + 3 and y1 - y0 > 6:
            ink.text(((x0 + x1) / 2, (y0 + y1) / 2 - 0.5 * (y1 - y0 > 14)), words, bold=True, plate=True)
    for a, b in _riser_runs(s):
        (x0, y0), (x1, y1) = ink.put((a, s.low)), ink.put((b, 0.0))
        if abs(x1 - x0) > 14 and y1 - y0 > 6:
            ink.text(((x0 + x1) / 2, (y0 + y1) / 2), "riser", size=SMALL, plate=True)


def _levels(ink: Ink, edge: float, rows: list[tuple[float, str]]) -> None:
    """Heights above the bed, written beside the picture, spread so that none covers another."""
    ys = [ink.put((0.0, z))[1] for z, _ in rows]
    for (_, words), y, at in zip(rows, ys, spread(ys, 3.5, ink.height - 3.5), strict=True):
        ink.paper_line((edge + 0.5, y), (edge + 2.0, y), "dimension", pen(FINE, color=QUIET))
        ink.paper_line((edge + 2.0, y), (edge + 4.0, at), "dimension", pen(FINE, color=QUIET))
        ink.text((edge + 4.6, at), words, size=SMALL, anchor="start")
