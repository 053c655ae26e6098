"""The part in the jaws seen from above, as the operator sees it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.geometry.profile import rectangle
from jawright.hold.model import Hold
from jawright.hold.seen import Ring, Seen, holes_seen
from jawright.jaws.model import Jaws, Left, Purpose
from jawright.jaws.row import Spot, spots_of
from jawright.papers.ink import (
    CENTER,
    FINE,
    HIDDEN,
    INK,
    LARGE,
    PLAIN,
    QUIET,
    SMALL,
    THICK,
    THIN,
    Ink,
    bounds,
    fit_scale,
    num,
    pen,
    scale_words,
    text_width,
)
from jawright.papers.measure import Reader
from jawright.papers.plan_marks import ZONE_STYLE, contacts, datums, zero_mark
from jawright.papers.show import clean
from jawright.record import Record

PART = "#f6e9c8"
FIXED = "#e9ecef"
FLOATING = "#f3f1ec"
FLOOR = "#ffffff"
ONLY = Spot(0.0)
NAME_ROOM = 3.0  # of paper above and below the middle of a jaw's name [mm]
HARD_DEPTH = 18.0  # how much of a hard jaw is drawn behind its face [mm]


@dataclass(frozen=True, slots=True)
class Frame:
    """What the picture spans in the vise frame [mm]."""

    x0: float  # ends of the jaws
    x1: float
    y0: float
    y1: float
    view: tuple[float, float]  # along X, an overhanging part included
    fixed_y: tuple[float, float]
    floating_y: tuple[float, float]


def frame_of(hold: Hold, jaws: Jaws | None, seen: Seen | None = None) -> Frame:
    """What the plan spans, all that is ``seen`` of the part in it; of a hard jaw only its front is drawn."""
    box = hold.outline.outer.box
    if jaws is not None:
        f, m = jaws.fixed, jaws.floating
        x0, x1 = min(f.x0, m.x0), max(f.x1, m.x1)
        fixed, floating = (f.y0, f.y1), (m.y0, m.y1)
    else:
        x0, x1 = -hold.vise.jaw_width / 2, hold.vise.jaw_width / 2
        fixed, floating = (0.0, HARD_DEPTH), (-hold.gap - HARD_DEPTH, -hold.gap)
    own = [p for ring in (seen.plan if seen else ()) for p in ring]
    corners = [spot.point(p) for spot in (ONLY, *spots_of(hold)) for p in own]
    xs, ys = ([p[k] for p in corners] for k in (0, 1))
    view = (min(x0, box[0], *xs), max(x1, box[2], *xs))
    deep = (min(floating[0], *ys, floating[0]), max(fixed[1], *ys, fixed[1]))
    return Frame(x0, x1, deep[0], deep[1], view, fixed, floating)


def plan_view(record: Record, *, width: float = 186.0) -> str:
    """SVG of the part in the jaws from above, turned as the operator stands; ``width`` of paper [mm]."""
    hold = record.hold
    assert hold is not None
    jaws = record.jaws
    read = Reader(record.job.units)
    f = frame_of(hold, jaws, record.seen)
    mirror = not hold.vise.fixed_jaw_rear
    top, bottom, side = 11.0 if jaws is not None else 4.0, 20.0, 10.0
    beside = max(side, text_width(read.size(f.fixed_y[0] - f.floating_y[1]), SMALL) + 6.5)  # the gap's words
    scale = fit_scale(f.view[1] - f.view[0], f.y1 - f.y0, paper=(width - side - beside, 88.0))
    height = scale * (f.y1 - f.y0) + top + bottom
    cx, s = (f.view[0] + f.view[1]) / 2, -scale if mirror else scale
    y_top = f.y0 if mirror else f.y1
    ink = Ink(width, height, f"Plan of the part in the jaws, {scale_words(scale)}", scale=scale)
    ink.mirror = mirror
    ink.zero = ((width + side - beside) / 2 - s * cx, top + s * y_top)
    _jaws(ink, hold, jaws, f)
    _part(ink, hold)
    if record.seen is not None:
        for spot in (ONLY, *spots_of(hold)):  # further parts whole too, and not their grip alone
            _above(ink, tuple(tuple(map(spot.point, r)) for r in record.seen.plan))
            _openings(ink, tuple(tuple(map(spot.point, r)) for r in record.seen.openings))
    _zones(ink, hold, jaws)
    if jaws is not None and jaws.left is not None:
        _left(ink, jaws.left)
    _keep_outlines(ink, hold)
    _marks(ink)
    _features(ink, record)
    if jaws is not None:
        _tooling_hole(ink, jaws, read)
    if record.program is not None:
        zero_mark(ink, record.program.origin[:2])
    if jaws is not None:
        _engraving(ink, jaws)
    _names(ink, record, f)
    contacts(ink, hold, in_jaws=jaws is not None and any(z.purpose == "stop" for z in jaws.zones))
    datums(ink, hold, jaws)
    _dims(ink, hold, jaws, f, read)
    _legend(ink, jaws, scale)
    return ink.svg()


def _jaws(ink: Ink, hold: Hold, jaws: Jaws | None, f: Frame) -> None:
    for (y0, y1), fill in ((f.fixed_y, FIXED), (f.floating_y, FLOATING)):
        ink.rect((f.x0, y0), (f.x1, y1), "ground", f'fill="{fill}"')
        ink.rect((f.x0, y0), (f.x1, y1), "jaw", pen(THICK))
    if jaws is None:
        _parallels(ink, hold, f)
        return
    clip = "both-jaws"
    rects = "".join(
        f'<path d="{ink.d(rectangle(j.x0, j.y0, j.x1, j.y1).curves, close=True)}"/>'
        for j in (jaws.fixed, jaws.floating)
    )
    ink.defs.append(f'<clipPath id="{clip}">{rects}</clipPath>')
    use = f'clip-path="url(#{clip})"'
    for r in jaws.reliefs:  # below the pocket: what it covers of them is no edge
        ink.circle(r.center, r.radius, "metal", f'fill="{FLOOR}" {pen(THIN)} {use}')
    ink.region(jaws.pocket, "metal", f'fill="{FLOOR}" {use}')
    ink.region(jaws.pocket, "thin", f"{pen(THIN)} {use}")
    for w in jaws.wells:
        if w.top > jaws.top - 1e-6:  # open upward: seen, not hidden
            ink.region(w.region, "metal", f'fill="{FLOOR}" {pen(THIN)} {use}')
        else:
            ink.region(w.region, "thin", f"{pen(FINE, dash=HIDDEN, color=QUIET)} {use}")
    for jaw in (jaws.fixed, jaws.floating):
        for x, _z in jaw.bolts:
            half = jaw.blank.bolt_hole / 2
            for dx in (-half, half):
                ink.line((x + dx, jaw.y0), (x + dx, jaw.y1), "thin", pen(FINE, dash=HIDDEN, color=QUIET))
            ink.line((x, jaw.y0), (x, jaw.y1), "thin", pen(FINE, dash=CENTER, color=QUIET))


def _left(ink: Ink, left: Left) -> None:
    """A corner left standing: what it stands for, or nobody leaves it there for long."""
    ink.text(ink.put(left.at), "left standing", size=SMALL)


def _parallels(ink: Ink, hold: Hold, f: Frame) -> None:
    """Loose parallels stand along the two jaw faces, under the part."""
    for k, p in enumerate(hold.parallels[:2]):
        y = -p.thickness if k == 0 else -hold.gap
        half = min(p.length, f.x1 - f.x0) / 2
        ink.rect((-half, y), (half, y + p.thickness), "thin", pen(FINE, dash=HIDDEN, color=QUIET))


def _part(ink: Ink, hold: Hold) -> None:
    ink.region(hold.outline, "metal", f'fill="{PART}" fill-opacity="0.9"')
    ink.region(hold.outline, "thick", pen(THICK))
    for r in hold.feet:
        ink.region(r, "thin", pen(THIN, dash=HIDDEN))
    for r in hold.beside:
        ink.region(r, "metal", f'fill="{PART}" fill-opacity="0.55"')
        ink.region(r, "thick", pen(THIN))


def _above(ink: Ink, rings: tuple[Ring, ...]) -> None:
    """The part beyond its outline in the grip: a flange or a step over the jaws, seen from above."""
    if not rings:
        return
    d = ink.rings(rings)
    ink.add("metal", f'<path d="{d}" fill="{PART}" fill-opacity="0.6" fill-rule="evenodd"/>')
    ink.add("thin", f'<path d="{d}" {pen(THIN)}/>')


def _openings(ink: Ink, rings: tuple[Ring, ...]) -> None:
    """What one sees right through in the part; holes made here are drawn over them."""
    for ring in rings:
        d = ink.rings((ring,))
        ink.add("metal", f'<path d="{d}" fill="#ffffff"/>')
        ink.add("thin", f'<path d="{d}" {pen(THIN)}/>')


def _zones(ink: Ink, hold: Hold, jaws: Jaws | None) -> None:
    if jaws is not None:
        for zone in (*jaws.zones, *jaws.zones_beside):
            color, dash, weight, _ = ZONE_STYLE[zone.purpose]
            ink.chain(zone.curves, "zone", pen(weight, color=color, dash=dash))
        return
    for y, purpose in ((0.0, "locate"), (-hold.gap, "grip")):
        color, dash, weight, _ = ZONE_STYLE[purpose]  # type: ignore[index]
        xs = [c.point[0] for c in hold.contacts if c.on == ("fixed" if y == 0.0 else "floating")]
        if xs:
            ink.line((min(xs), y), (max(xs), y), "zone", pen(weight, color=color, dash=dash))


def _keep_outlines(ink: Ink, hold: Hold) -> None:
    """Letters keep off the part's outline and the wells, and off the parts beside it altogether."""
    ink.taken += [bounds(ink.put(p) for p in r.outer.points(0.5)) for r in hold.beside]
    for c in hold.outline.outer.curves:
        n = max(2, int(c.length * ink.scale / 1.5))
        for k in range(n + 1):
            x, y = ink.put(c.at(k / n))
            ink.taken.append((x - 0.5, y - 0.5, x + 0.5, y + 0.5))
    for h in hold.outline.holes:
        ink.taken.append(bounds(ink.put(p) for p in h.points(0.5)))


def _marks(ink: Ink) -> None:
    """X and Y of the machine, and where the operator stands."""
    x, y = 5.0, ink.height - 6.0
    for dx, dy in ((9.0, 0.0), (0.0, -9.0)):
        ink.paper_line((x, y), (x + dx, y + dy), "mark", pen(THIN))
        ink.head((x + dx, y + dy), math.atan2(dy, dx), layer="mark")
    ink.text((x + 11.2, y), "X", size=PLAIN, bold=True)
    ink.text((x, y - 11.0), "Y", size=PLAIN, bold=True)
    mid = ink.width / 2
    words = "OPERATOR STANDS HERE"
    w = text_width(words, PLAIN, bold=True)
    base = ink.height - 8.6
    ink.text((mid, base), words, size=PLAIN, bold=True)
    for sgn in (-1, 1):
        tip = (mid + sgn * (w / 2 + 3.5), base - 1.4)
        ink.add(
            "mark",
            f'<path d="M{num(tip[0] - 1.6)} {num(tip[1] + 2.6)}L{num(tip[0] + 1.6)} {num(tip[1] + 2.6)}'
            f'L{num(tip[0])} {num(tip[1])}Z" fill="{INK}"/>',
        )


def _features(ink: Ink, record: Record) -> None:
    hold = record.hold
    assert hold is not None
    for m in holes_seen(hold):
        c = (m.center[0], m.center[1])
        assert m.diameter is not None
        ink.circle(c, m.diameter / 2, "metal", 'fill="#ffffff"')
        ink.circle(c, m.diameter / 2, "thick", pen(THICK))
        ink.center_mark(c, m.diameter / 2)
        x, y = ink.put(c)
        r = m.diameter / 2 * ink.scale
        ink.taken.append((x - r - 1, y - r - 1, x + r + 1, y + r + 1))
        for at in (spot.point(c) for spot in spots_of(hold)):
            ink.circle(at, m.diameter / 2, "metal", 'fill="#ffffff"')
            ink.circle(at, m.diameter / 2, "thin", pen(THIN))
            ink.center_mark(at, m.diameter / 2)
    for m in hold.features:
        if m.region is not None and m.kind in ("pocket", "slot"):
            ink.region(m.region, "thin", pen(THIN))
            ink.label(ink.put((m.center[0], m.center[1])), m.name, away=(0.3, -1.0), reach=0.5)
    for m in holes_seen(hold):
        assert m.diameter is not None
        x, y = ink.put((m.center[0], m.center[1]))
        ink.label((x, y), m.name, away=(0.3, -1.0), reach=m.diameter / 2 * ink.scale + 1.5)


def _tooling_hole(ink: Ink, jaws: Jaws, read: Reader) -> None:
    hole = jaws.tooling_hole
    if hole is None:
        return
    ink.circle(hole.center, hole.diameter / 2, "metal", 'fill="#ffffff"')
    ink.circle(hole.center, hole.diameter / 2, "thick", pen(THICK))
    ink.center_mark(hole.center, hole.diameter / 2)
    x, y = ink.put(hole.center)
    r = hole.diameter / 2 * ink.scale
    ink.taken.append((x - r - 1.6, y - r - 1.6, x + r + 1.6, y + r + 1.6))
    up = -1.0 if y < ink.height / 2 else 1.0
    jaw = jaws.fixed
    left = jaw.x1 - hole.center[0] if ink.mirror else hole.center[0] - jaw.x0
    words = (
        f"tooling hole Ø{read.size(hole.diameter)}: {read.size(left)} from the left end, "
        f"{read.size(hole.center[1] - jaw.y0)} behind the front face"
    )
    end = 3.5 if up < 0 else ink.height - 14.5
    w = text_width(words, SMALL)
    least = 2.0 if up < 0 else 20.0  # beside the axes
    at = min(max(x, w / 2 + least), ink.width - w / 2 - 2)
    ink.paper_line((x, y + up * r), (x, end - up * 1.8), "dimension", pen(FINE))
    ink.head((x, y + up * r), math.pi / 2 if up < 0 else -math.pi / 2, size=1.8)
    ink.text((at, end), words, size=SMALL)


def _dims(ink: Ink, hold: Hold, jaws: Jaws | None, f: Frame, read: Reader) -> None:
    right = ink.put((f.x1, 0.0))[0] if not ink.mirror else ink.put((f.x0, 0.0))[0]
    edge = f.x1 if not ink.mirror else f.x0
    a, b = ink.put((edge, f.floating_y[1])), ink.put((edge, f.fixed_y[0]))
    if a[1] < b[1]:
        a, b = b, a
    gap = read.size(f.fixed_y[0] - f.floating_y[1])
    room = a[1] - b[1] - 6.5  # arrows and air at both ends
    if room >= text_width(f"gap {gap}", SMALL):
        ink.dim(a, b, f"gap {gap}", at=right + 4.5, upright=True)
    else:
        ink.dim(a, b, gap, at=right + 4.5, upright=True)
        beside = right + (7.5 if room >= text_width(gap, SMALL) else 5.7)
        ink.text((beside, (a[1] + b[1]) / 2 - 3.0), "gap", size=SMALL, anchor="start")
    if jaws is None:
        return
    edge = ink.put((0.0, f.floating_y[0]))[1]
    stop = next((c for c in hold.contacts if c.on == "stop"), None)
    if stop is None:
        return
    ends = sorted(ink.put((e, 0.0))[0] for e in (f.x0, f.x1))
    sx = ink.put((stop.point[0], stop.point[1]))[0]
    length = abs(sx - ends[0]) / ink.scale
    words, out = f"{read.size(length)} to the stop wall", -1.0 if ink.mirror else 1.0
    half = text_width(words, SMALL) / 2 + 1.0
    mid = (ends[0] + sx) / 2
    ways = [edge + out * away for away in (5.0, 7.4, 9.6)]  # below the letters of contacts
    at = next((y for y in ways if ink.free((mid - half, y - 1.5, mid + half, y + 1.5))), ways[0])
    ink.dim((ends[0], edge), (sx, edge), words, at=at, upright=False)


def _names(ink: Ink, record: Record, f: Frame) -> None:
    """Which jaw is which, at the end where there is room."""
    hold = record.hold
    assert hold is not None
    rows = (("FIXED JAW", f.fixed_y, FIXED), ("FLOATING JAW", f.floating_y, FLOATING))
    ends = sorted((ink.put((f.x0, 0.0))[0], ink.put((f.x1, 0.0))[0]))
    box = hold.outline.outer.box
    part = sorted((ink.put((box[0], 0.0))[0], ink.put((box[2], 0.0))[0]))
    for words, (y0, y1), halo in rows:
        w = text_width(words, LARGE, bold=True)
        mid = ink.put((0.0, (y0 + y1) / 2))[1]
        ways = [("start", ends[0] + 2, ends[0] + 2), ("end", ends[1] - 2, ends[1] - 2 - w)]
        if part[0] - ends[0] < 0.6 * (ends[1] - part[1]):
            ways.reverse()
        places = [
            (anchor, x, mid + dy)
            for anchor, x, left in ways
            for dy in (0.0, -3.0, 3.0, -5.0, 5.0, -6.5, 6.5)
            if ink.free((left, mid + dy - NAME_ROOM, left + w, mid + dy + NAME_ROOM))
        ]
        anchor, x, y = places[0] if places else (ways[0][0], ways[0][1], mid)
        ink.text((x, y), words, size=LARGE, bold=True, anchor=anchor, halo=halo)


def _engraving(ink: Ink, jaws: Jaws) -> None:
    """The text cut into the jaws, where it is cut; upside down where the operator sees it so."""
    size = jaws.text_height * ink.scale / 0.73
    for words, at in zip(jaws.text, jaws.text_at, strict=True):
        x, y = ink.put(at)
        w = text_width(words, size)
        sign = -1.0 if ink.mirror else 1.0
        spin = f' transform="rotate(180 {num(x)} {num(y)})"' if ink.mirror else ""
        place = f'x="{num(x)}" y="{num(y)}" font-size="{num(size)}"{spin}'
        ink.add("thin", f'<text {place} fill="{QUIET}">{clean(words)}</text>')
        xs, ys = sorted((x, x + sign * w)), sorted((y, y - sign * jaws.text_height * ink.scale))
        ink.taken.append((xs[0] - 0.5, ys[0] - 0.5, xs[1] + 0.5, ys[1] + 0.5))


def _legend(ink: Ink, jaws: Jaws | None, scale: float) -> None:
    y = ink.height - 2.6
    x = 24.0
    purposes: list[Purpose] = ["locate", "stop", "grip", "clear"] if jaws is not None else ["locate", "grip"]
    have = {z.purpose for z in jaws.zones} if jaws is not None else set(purposes)
    for p in purposes:
        if p not in have:
            continue
        color, dash, weight, words = ZONE_STYLE[p]
        ink.paper_line((x, y), (x + 9, y), "zone", pen(weight, color=color, dash=dash))
        ink.text((x + 10.5, y), words, size=SMALL, anchor="start")
        x += 10.5 + text_width(words, SMALL) + 5
    ink.add("mark", f'<path d="M{num(x)} {num(y - 1.3)}l1.2 2.2h-2.4Z" fill="#ffffff" {pen(THIN)}/>')
    ink.text((x + 2.5, y), "on the floor", size=SMALL, anchor="start")
    ink.text((ink.width - 1, y), f"scale {scale_words(scale)}", size=SMALL, anchor="end", bold=True)
