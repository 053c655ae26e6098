"""Marks on the plan: what touches the part, its datums, the zero.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math

from jawright.geometry.curve import Point, right_normal
from jawright.geometry.winding import inside_profile
from jawright.hold.model import Contact, Hold
from jawright.jaws.model import Jaws, Purpose
from jawright.papers.ink import INK, PLAIN, SMALL, THIN, Ink, num, pen, text_width

SQUARE = 2.4  # half of the room a datum's letter takes on paper [mm]
ZONE_STYLE: dict[Purpose, tuple[str, str, float, str]] = {
    # color, dash, weight, words: the dash and the weight tell it without the color
    "locate": ("#1d4f91", "", 1.3, "locates"),
    "stop": ("#7a2a7a", "2.2 1.1", 1.5, "stops"),
    "grip": ("#b3541e", "0.9 0.8", 1.5, "grips"),
    "clear": ("#59707a", "0.1 1.5", 0.7, "stays clear"),
}


def _arrow(ink: Ink, c: Contact, color: str) -> Point:
    """An arrow in the direction in which the jaw pushes, its tip on the wall; gives its tail."""
    tip = ink.put((c.point[0], c.point[1]))
    s = -1.0 if ink.mirror else 1.0
    dx, dy = s * c.normal[0], -s * c.normal[1]
    n = math.hypot(dx, dy)
    dx, dy = dx / n, dy / n
    tail = (tip[0] - 8.0 * dx, tip[1] - 8.0 * dy)
    ink.paper_line(tail, (tip[0] - 1.5 * dx, tip[1] - 1.5 * dy), "mark", pen(0.6, color=color))
    ink.head(tip, math.atan2(dy, dx), size=3.0, color=color, layer="mark")
    for k in range(9):
        x, y = tip[0] - k * dx, tip[1] - k * dy
        ink.taken.append((x - 0.7, y - 0.7, x + 0.7, y + 0.7))
    return tail


def contacts(ink: Ink, hold: Hold, *, in_jaws: bool) -> None:
    """Arrows where walls push, triangles where the floor carries, a pointed block for a side stop."""
    colors = {"fixed": "locate", "stop": "stop", "floating": "grip"}
    tails = []
    for c in hold.contacts:
        if c.on == "floor":
            x, y = ink.put((c.point[0], c.point[1]))
            ink.add(
                "mark",
                f'<path d="M{num(x)} {num(y - 1.3)}l1.2 2.2h-2.4Z" fill="#ffffff" {pen(THIN)}/>',
            )
            ink.taken.append((x - 1.3, y - 1.4, x + 1.3, y + 1.0))
            tails.append(((x, y), c.name, INK, (0.6, -0.6), 1.6))
            continue
        color = ZONE_STYLE[colors[c.on]][0]  # type: ignore[index]
        tail = _arrow(ink, c, color)
        tip = ink.put((c.point[0], c.point[1]))
        tails.append((tail, c.name, color, (tail[0] - tip[0], tail[1] - tip[1]), 0.6))
    if hold.stop is not None and not in_jaws:
        x, y = ink.put((hold.stop[0], hold.stop[1]))
        color = ZONE_STYLE["stop"][0]
        pushes = next((c.normal[0] for c in hold.contacts if c.on == "stop"), 0.0)
        box = hold.outline.outer.box
        left = pushes > 0 if pushes else hold.stop[0] < (box[0] + box[2]) / 2
        s = -1.0 if left != ink.mirror else 1.0  # it stands where it pushes from
        ink.add(
            "mark",
            f'<path d="M{num(x)} {num(y)}L{num(x + s * 3.4)} {num(y - 2)}L{num(x + s * 7)} {num(y - 2)}'
            f'L{num(x + s * 7)} {num(y + 2)}L{num(x + s * 3.4)} {num(y + 2)}Z" fill="#ffffff" '
            f"{pen(THIN, color=color)}/>",
        )
        ink.text(
            (x + s * 8, y), "stop", size=SMALL, bold=True, color=color, anchor="start" if s > 0 else "end"
        )
        w = 8.0 + text_width("stop", SMALL, bold=True)
        ink.taken.append((min(x, x + s * w), y - 2.2, max(x, x + s * w), y + 2.2))
    for tail, name, color, away, reach in tails:
        ink.label(tail, name, bold=True, color=color, away=away, reach=reach)


def datums(ink: Ink, hold: Hold, jaws: Jaws | None) -> None:
    """Datum letters in squares on the walls that stand for them; the floor's one inside the part."""
    zones = {z.datum: z for z in jaws.zones if z.datum} if jaws is not None else {}
    s = -1.0 if ink.mirror else 1.0
    below: list[tuple[str, Point]] = []
    for d in hold.datums:
        places = [((d.point[0], d.point[1]), (d.normal[0], d.normal[1]))]
        if d.letter in zones:
            places = [
                (c.at(t), right_normal(c, t))
                for c in zones[d.letter].curves
                for t in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)
            ]
        if math.hypot(*places[0][1]) < 0.1:  # faces up or down
            below.append((d.letter, places[0][0]))  # it has the choice of places: it goes last
            continue
        _datum_on_wall(ink, d.letter, [(ink.put(p), (s * n[0], -s * n[1])) for p, n in places])
    for letter, point in below:
        _datum_below(ink, letter, hold, point)


def _datum_below(ink: Ink, letter: str, hold: Hold, point: Point) -> None:
    """The letter of a face that lies flat, on the part where it finds room, else off it with a leader."""
    near = sorted(((3.0 * i, 3.0 * j) for i in range(-12, 13) for j in range(-8, 9)), key=_nearest)
    spots = [(point[0] + dx / ink.scale, point[1] + dy / ink.scale) for dx, dy in near]
    free = [p for p in spots if ink.free(_square(ink.put(p)))]
    half = SQUARE / ink.scale
    own = [[(p[0] + sx * half, p[1] + sy * half) for sx in (-1, 1) for sy in (-1, 1)] for p in free]
    on_part = [p for p, c in zip(free, own, strict=True) if inside_profile(hold.outline.outer, c).all()]
    chosen = (on_part or free or [point])[0]
    if not on_part and free:
        x, y = ink.put(point)
        ink.paper_line((x, y), ink.put(chosen), "mark", pen(THIN))
        ink.add("mark", f'<circle cx="{num(x)}" cy="{num(y)}" r="0.6" fill="{INK}"/>')
    ink.letter_box(ink.put(chosen), letter)


def _nearest(q: Point) -> tuple[float, Point]:
    return (math.hypot(*q), q)


def _square(q: Point) -> tuple[float, float, float, float]:
    return (q[0] - SQUARE, q[1] - SQUARE, q[0] + SQUARE, q[1] + SQUARE)


def _datum_on_wall(ink: Ink, letter: str, places: list[tuple[Point, Point]]) -> None:
    """The datum triangle (ISO 5459) on the wall where its letter finds room; paper coordinates."""
    chosen = (places[0], 6.0)
    for (p, n), far in ((q, far) for far in (6.0, 8.0, 10.5, 13.0, 4.8, 16.0, 20.0) for q in places):
        size = math.hypot(*n)
        if ink.free(_square((p[0] + n[0] / size * far, p[1] + n[1] / size * far))):
            chosen = ((p, n), far)
            break
    ((x, y), n), far = chosen
    size = math.hypot(*n)
    ux, uy = n[0] / size, n[1] / size
    ink.add(
        "mark",
        f'<path d="M{num(x + ux * 1.9)} {num(y + uy * 1.9)}L{num(x - uy * 1.4)} {num(y + ux * 1.4)}'
        f'L{num(x + uy * 1.4)} {num(y - ux * 1.4)}Z" fill="{INK}"/>',
    )
    ink.paper_line(
        (x + ux * 1.9, y + uy * 1.9), (x + ux * (far - 2.3), y + uy * (far - 2.3)), "mark", pen(THIN)
    )
    ink.letter_box((x + ux * far, y + uy * far), letter)


def zero_mark(ink: Ink, at: Point, away: Point = (1.0, 0.6)) -> None:
    """The program's zero: a circle with two opposite quarters filled."""
    x, y = ink.put(at)
    r = 1.7
    ink.add("mark", f'<circle cx="{num(x)}" cy="{num(y)}" r="{r}" fill="#ffffff" {pen(THIN)}/>')
    ink.add(
        "mark",
        f'<path d="M{num(x)} {num(y)}v{-r}A{r} {r} 0 0 1 {num(x + r)} {num(y)}Z'
        f'M{num(x)} {num(y)}v{r}A{r} {r} 0 0 1 {num(x - r)} {num(y)}Z" fill="{INK}"/>',
    )
    ink.taken.append((x - 2, y - 2, x + 2, y + 2))
    ink.label((x, y), "X0 Y0", bold=True, size=PLAIN, away=away, reach=4.0)
