"""A small pocket once more, enlarged, so that its numbered corners can be told apart.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jawright.geometry.curve import Point
from jawright.jaws.model import Jaw, Jaws
from jawright.papers.ink import FINE, QUIET, SMALL, THICK, THIN, Ink, fit_scale, pen, scale_words
from jawright.papers.plan_view import FLOOR

SMALL_POCKET = 28.0  # on the paper: a smaller one is drawn enlarged
ROOM = (110.0, 46.0)  # of the paper for it
AROUND = 2.5  # of the jaw round the pocket
MORE = 2.0  # it has to come out that many times as large, else it is not worth the paper


@dataclass(frozen=True, slots=True)
class Detail:
    """What is enlarged: a box of the jaw's plan [mm] and the scale."""

    box: tuple[float, float, float, float]
    scale: float

    @property
    def high(self) -> float:
        """Height on the paper, its title included."""
        return self.scale * (self.box[3] - self.box[1]) + 9.0


def detail(points: Sequence[Point], jaw: Jaw, jaws: Jaws, *, scale: float) -> Detail | None:
    """The detail of a pocket by its corners, where it comes out small on paper at ``scale``; else None."""
    if not points:
        return None
    inside = [r for r in jaws.reliefs if jaw.y0 < r.center[1] < jaw.y1]
    xs = [p[0] for p in points] + [r.center[0] + s * r.radius for r in inside for s in (-1, 1)]
    ys = [p[1] for p in points] + [r.center[1] + s * r.radius for r in inside for s in (-1, 1)]
    if max(max(xs) - min(xs), max(ys) - min(ys)) * scale > SMALL_POCKET:
        return None
    box = (
        min(xs) - AROUND, max(min(ys) - AROUND, jaw.y0),
        max(xs) + AROUND, min(max(ys) + AROUND, jaw.y1),
    )  # fmt: skip
    large = fit_scale(box[2] - box[0], box[3] - box[1], paper=ROOM)
    return Detail(box, large) if large >= MORE * scale else None


def draw(
    ink: Ink, d: Detail, points: Sequence[tuple[int, Point]], jaws: Jaws, *, top: float, fill: str
) -> None:
    """The detail below the views, from ``top`` on the paper down, with the numbers of the corners.

    ``ink`` is the jaw's plan; a frame round the pocket in it says where the detail is from.
    """
    x0, y0, x1, y1 = d.box
    ink.rect((x0, y0), (x1, y1), "thin", pen(FINE, color=QUIET))
    own = Ink(ink.width, ink.height, "", scale=d.scale, mirror=ink.mirror)
    own.layers, own.defs, own.taken = ink.layers, ink.defs, ink.taken
    s = -d.scale if ink.mirror else d.scale
    middle = (ink.width / 2, top + 6.0 + d.scale * (y1 - y0) / 2)
    own.zero = (middle[0] - s * (x0 + x1) / 2, middle[1] + s * (y0 + y1) / 2)
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    name = f"detail-{fill.strip('#')}"
    points_of = " ".join(own.xy(p) for p in corners)
    own.defs.append(f'<clipPath id="{name}"><polygon points="{points_of}"/></clipPath>')
    use = f'clip-path="url(#{name})"'
    own.rect((x0, y0), (x1, y1), "ground", f'fill="{fill}"')
    for q in jaws.reliefs:
        own.circle(q.center, q.radius, "metal", f'fill="{FLOOR}" {pen(THIN)} {use}')
    own.region(jaws.pocket, "metal", f'fill="{FLOOR}" {use}')
    own.region(jaws.pocket, "thick", f"{pen(THICK)} {use}")
    own.rect((x0, y0), (x1, y1), "thin", pen(FINE, color=QUIET))
    cx, cy = own.put(((x0 + x1) / 2, (y0 + y1) / 2))
    for _, p in points:
        x, y = own.put(p)
        own.add("mark", f'<circle cx="{x:.3f}" cy="{y:.3f}" r="0.7" fill="#1b1f24"/>')
        own.taken.append((x - 0.8, y - 0.8, x + 0.8, y + 0.8))
    for number, p in points:
        x, y = own.put(p)
        own.label((x, y), f"{number}", bold=True, away=(x - cx, y - cy), reach=1.2)
    words = f"the pocket enlarged, scale {scale_words(d.scale)}"
    ink.text((ink.width / 2, top + 2.6), words, size=SMALL, bold=True)
