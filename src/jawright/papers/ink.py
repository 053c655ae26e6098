"""A drawing on paper: pens, arrows, dimensions, hatch and letters as SVG, in millimeters of paper.

Line weights follow ISO 128-2 (thick 0.5 mm, thin 0.25 mm), lettering heights ISO 3098-1
(2.5 and 3.5 mm), scales ISO 5455 where the paper allows one that is not much smaller than
what would fit. Nothing is told by color alone: each color has its own line pattern.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from jawright.geometry.curve import Arc, Curve, Point
from jawright.geometry.profile import Profile, Region
from jawright.papers.show import clean

THICK, THIN, FINE = 0.5, 0.25, 0.18
SMALL, PLAIN, LARGE = 2.5, 2.9, 3.9  # letter sizes [mm of paper]: their capitals are 0.73 of that
FONT = "DejaVu Sans Condensed, DejaVu Sans, Arial Narrow, Arial, sans-serif"
ISO_SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
OTHER_SCALES = (8.0, 6.0, 4.0, 3.0, 2.5, 1.5, 1.25, 0.8, 0.6, 0.4, 0.3, 0.25, 0.15, 0.05)
LAYERS = ("ground", "jaw", "metal", "hatch", "thin", "thick", "zone", "mark", "dimension", "letter")

LABEL = 26  # letters of a label beyond which it is cut short; the tables have it whole

INK = "#1b1f24"
QUIET = "#5a6068"
PAPER = "#ffffff"


@cache
def _widths() -> tuple[dict[str, float], dict[str, float], float]:
    data = json.loads(files("jawright.data").joinpath("letter_widths.json").read_text("utf-8"))
    plain = {c: int(w) / 1000 for w, cs in data["regular"].items() for c in cs}
    bold = {c: int(w) / 1000 for w, cs in data["bold"].items() for c in cs}
    return plain, bold, data["default"] / 1000


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Length of a line of letters [mm]."""
    plain, heavy, other = _widths()
    table = heavy if bold else plain
    return size * sum(table.get(c, other) for c in text)


def fit_scale(width: float, height: float, *, paper: tuple[float, float]) -> float:
    """Largest fitting scale; one of ISO 5455 when it keeps at least 80 % of that size."""
    limit = min(paper[0] / max(width, 1e-6), paper[1] / max(height, 1e-6))
    every = sorted((*ISO_SCALES, *OTHER_SCALES), reverse=True)
    best = next((s for s in every if s <= limit * (1 + 1e-9)), every[-1])
    iso = next((s for s in ISO_SCALES if s <= limit * (1 + 1e-9)), best)
    return iso if iso >= 0.8 * best else best


def scale_words(scale: float) -> str:
    """ "2 : 1" or "1 : 2"."""
    if scale >= 1:
        return f"{scale:g} : 1"
    return f"1 : {1 / scale:g}" if abs(1 / scale - round(1 / scale)) < 1e-9 else f"{scale:g} : 1"


def num(v: float) -> str:
    """A coordinate on paper: hundredths of a millimeter are finer than any printer."""
    text = f"{v:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Ink:
    """One drawing. ``put`` maps model (right, up) [mm] to paper; paper Y runs down.

    ``mirror`` turns the model half a turn, for a vise whose fixed jaw is nearest the operator.
    """

    width: float
    height: float
    title: str
    scale: float = 1.0
    zero: Point = (0.0, 0.0)  # paper place of the model's (0, 0)
    mirror: bool = False
    flip_x: bool = False  # a cut seen from the other end: right and left change, up stays
    layers: dict[str, list[str]] = field(default_factory=lambda: {n: [] for n in LAYERS})
    defs: list[str] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)  # paper boxes that hold letters or arrows

    # ------------------------------------------------------------ places

    def put(self, p: Point) -> Point:
        """A point of the vise [mm] on the paper."""
        s = -self.scale if self.mirror else self.scale
        sx = -s if self.flip_x else s
        return (self.zero[0] + sx * p[0], self.zero[1] - s * p[1])

    def add(self, layer: str, text: str) -> None:
        """Put a piece of drawing text into a layer."""
        self.layers[layer].append(text)

    def svg(self) -> str:
        """The drawing as one stand-alone SVG text."""
        w, h = num(self.width), num(self.height)
        body = "\n".join(
            f'<g class="{n}">\n' + "\n".join(self.layers[n]) + "\n</g>" for n in LAYERS if self.layers[n]
        )
        defs = "<defs>" + "".join(self.defs) + "</defs>\n" if self.defs else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}mm" height="{h}mm" '
            f'role="img" font-family="{FONT}" fill="none" stroke-linecap="round" stroke-linejoin="round">\n'
            f"<title>{clean(self.title)}</title>\n{defs}{body}\n</svg>\n"
        )

    # ------------------------------------------------------------ shapes

    def rings(self, rings: Sequence[Sequence[Point]]) -> str:
        """Path data of closed rings of points."""
        return "".join("M" + "L".join(self.xy(p) for p in ring) + "Z" for ring in rings)

    def d(self, curves: Sequence[Curve], *, close: bool = False) -> str:
        """Path data of a chain; arcs stay arcs."""
        out = []
        last: Point | None = None
        for c in curves:
            if last is None or math.dist(last, c.start) > 1e-6:
                out.append("M" + self.xy(c.start))
            if isinstance(c, Arc):
                out.append(self._arc(c))
            else:
                out.append("L" + self.xy(c.end))
            last = c.end
        return "".join(out) + ("Z" if close else "")

    def xy(self, p: Point) -> str:
        """A point of the vise [mm] as the drawing's text has it."""
        q = self.put(p)
        return f"{num(q[0])} {num(q[1])}"

    def _arc(self, c: Arc) -> str:
        r = num(c.radius * self.scale)
        large = 1 if abs(c.sweep) > math.pi else 0
        # paper Y runs down, so a counter-clockwise arc of the model runs with sweep flag 0
        return f"A{r} {r} 0 {large} {0 if c.ccw != self.flip_x else 1} {self.xy(c.end)}"

    def region(self, region: Region, layer: str, style: str) -> None:
        """Draw a region with its holes [mm]."""
        d = "".join(self.d(p.curves, close=True) for p in (region.outer, *region.holes))
        self.add(layer, f'<path d="{d}" fill-rule="evenodd" {style}/>')

    def profile(self, profile: Profile, layer: str, style: str) -> None:
        """Draw a closed outline [mm]."""
        self.add(layer, f'<path d="{self.d(profile.curves, close=True)}" {style}/>')

    def chain(self, curves: Sequence[Curve], layer: str, style: str) -> None:
        """Draw an open chain of curves [mm]."""
        self.add(layer, f'<path d="{self.d(curves)}" {style}/>')

    def rect(self, a: Point, b: Point, layer: str, style: str) -> None:
        """Draw an upright rectangle between two corners [mm]."""
        (x0, y0), (x1, y1) = self.put(a), self.put(b)
        self.add(
            layer,
            f'<rect x="{num(min(x0, x1))}" y="{num(min(y0, y1))}" width="{num(abs(x1 - x0))}" '
            f'height="{num(abs(y1 - y0))}" {style}/>',
        )

    def line(self, a: Point, b: Point, layer: str, style: str) -> None:
        """Draw a line between two points of the vise [mm]."""
        self.paper_line(self.put(a), self.put(b), layer, style)

    def paper_line(self, a: Point, b: Point, layer: str, style: str) -> None:
        """Draw a line between two points of the paper."""
        self.add(layer, f'<path d="M{num(a[0])} {num(a[1])}L{num(b[0])} {num(b[1])}" {style}/>')

    def circle(self, c: Point, radius: float, layer: str, style: str) -> None:
        """``radius`` in model mm."""
        x, y = self.put(c)
        r = num(radius * self.scale)
        self.add(layer, f'<circle cx="{num(x)}" cy="{num(y)}" r="{r}" {style}/>')

    def center_mark(self, c: Point, radius: float) -> None:
        """Chain lines through a hole's middle, 1.5 mm beyond it."""
        x, y = self.put(c)
        r = radius * self.scale + 1.5
        style = pen(FINE, dash=CENTER)
        self.paper_line((x - r, y), (x + r, y), "thin", style)
        self.paper_line((x, y - r), (x, y + r), "thin", style)

    def hatch(self, name: str, *, angle: float, gap: float = 1.8, color: str = QUIET) -> str:
        """A hatch pattern; gives the fill to use. Drawn once per name."""
        tag = f'id="{name}"'
        if not any(tag in d for d in self.defs):
            self.defs.append(
                f'<pattern {tag} width="{num(gap)}" height="{num(gap)}" patternUnits="userSpaceOnUse" '
                f'patternTransform="rotate({num(angle)})"><path d="M0 0V{num(gap)}" stroke="{color}" '
                f'stroke-width="{num(FINE)}"/></pattern>'
            )
        return f'fill="url(#{name})"'

    # ------------------------------------------------------------ letters

    def text(
        self, at: Point, words: str, *, size: float = PLAIN, anchor: str = "middle", bold: bool = False,
        color: str = INK, turn: float = 0.0, keep: bool = True, halo: str = PAPER, plate: bool = False,
    ) -> None:  # fmt: skip
        """Letters at a paper place: ``at`` is the middle of their height.

        ``halo`` is the color round the letters; ``plate`` clears a whole box behind them.
        """
        x, y = at
        base = y + 0.365 * size
        w = text_width(words, size, bold=bold)
        if keep:
            self.taken.append(_text_box(at, w, size, anchor=anchor, turn=turn))
        weight = ' font-weight="bold"' if bold else ""
        spin = f' transform="rotate({num(turn)} {num(x)} {num(y)})"' if turn else ""
        if plate:
            b = _text_box(at, w, size, anchor=anchor, turn=turn)
            self.add(
                "letter",
                f'<rect x="{num(b[0])}" y="{num(b[1])}" width="{num(b[2] - b[0])}" '
                f'height="{num(b[3] - b[1])}" fill="{halo}"/>',
            )
        self.add(
            "letter",
            f'<text x="{num(x)}" y="{num(base)}" font-size="{num(size)}" text-anchor="{anchor}"'
            f'{weight}{spin} fill="{color}" stroke="{halo}" stroke-width="{num(0.28 * size)}" '
            f'paint-order="stroke">{clean(words)}</text>',
        )

    def free(self, box: Box) -> bool:
        """True when nothing kept lies in a paper box and it is on the paper."""
        if box[0] < 0 or box[1] < 0 or box[2] > self.width or box[3] > self.height:
            return False
        return all(box[2] <= t[0] or box[0] >= t[2] or box[3] <= t[1] or box[1] >= t[3] for t in self.taken)

    def label(self, near: Point, words: str, *, size: float = SMALL, bold: bool = False, color: str = INK,
              away: Point | None = None, reach: float = 2.0) -> None:  # fmt: skip
        """Letters beside a paper place where nothing else stands; a leader when they must go farther."""
        words = words if len(words) <= LABEL else words[: LABEL - 1] + "…"
        w = text_width(words, size, bold=bold) + 1.0
        start = math.atan2(away[1], away[0]) if away else -math.pi / 4
        turns = [0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6, 2.2, -2.2, 2.8, -2.8]
        for far in (reach, reach + 2.5, reach + 5, reach + 8, reach + 12, reach + 17):
            for t in turns:
                a = start + t
                dx, dy = math.cos(a), math.sin(a)
                # the box's nearest point to the anchor lies at the wanted distance
                cx = near[0] + dx * far + math.copysign(min(1.0, abs(dx) * 1.6), dx) * w / 2
                cy = near[1] + dy * far + math.copysign(min(1.0, abs(dy) * 1.6), dy) * size * 0.55
                box = (cx - w / 2, cy - 0.6 * size, cx + w / 2, cy + 0.6 * size)
                if self.free(box):
                    if far > reach + 3:
                        edge = (min(max(near[0], box[0]), box[2]), min(max(near[1], box[1]), box[3]))
                        self.paper_line(near, edge, "dimension", pen(FINE, color=color))
                    self.text((cx, cy), words, size=size, bold=bold, color=color)
                    return
        self.text((near[0], near[1]), words, size=size, bold=bold, color=color)

    # ------------------------------------------------------------ arrows and dimensions

    def head(
        self, tip: Point, angle: float, *, size: float = 2.2, color: str = INK, layer: str = "dimension"
    ) -> None:
        """A closed arrow head, three times as long as wide; ``angle`` on paper, pointing to ``tip``."""
        back = (tip[0] - size * math.cos(angle), tip[1] - size * math.sin(angle))
        nx, ny = -math.sin(angle) * size / 6, math.cos(angle) * size / 6
        a, b = (back[0] + nx, back[1] + ny), (back[0] - nx, back[1] - ny)
        self.add(
            layer,
            f'<path d="M{num(tip[0])} {num(tip[1])}L{num(a[0])} {num(a[1])}L{num(b[0])} {num(b[1])}Z" '
            f'fill="{color}"/>',
        )

    def dim(self, a: Point, b: Point, words: str, *, at: float, upright: bool, size: float = SMALL) -> None:
        """A dimension between two paper points, its line at paper ``at`` (a Y, or an X when ``upright``)."""
        style = pen(FINE)
        if upright:
            p, q = (at, a[1]), (at, b[1])
        else:
            p, q = (a[0], at), (b[0], at)
        for s, e in ((a, p), (b, q)):
            length = math.dist(s, e)
            if length > 0.5:
                ux, uy = (e[0] - s[0]) / length, (e[1] - s[1]) / length
                self.paper_line(
                    (s[0] + 0.8 * ux, s[1] + 0.8 * uy), (e[0] + 1.2 * ux, e[1] + 1.2 * uy), "dimension", style
                )
        span = math.dist(p, q)
        angle = math.atan2(q[1] - p[1], q[0] - p[0])
        ux, uy = math.cos(angle), math.sin(angle)
        w = text_width(words, size) + 1.2
        inside = span > 6.0
        if inside:
            self.paper_line(p, q, "dimension", style)
            self.head(p, angle + math.pi)
            self.head(q, angle)
        else:  # arrows from outside
            for tip, sign in ((p, 1.0), (q, -1.0)):
                self.head(tip, angle if sign > 0 else angle + math.pi)
                tail = (tip[0] - sign * ux * 5, tip[1] - sign * uy * 5)
                self.paper_line(tip, tail, "dimension", style)
        mid = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        room = span - 5.0
        if room >= w:
            self._on_line(mid, words, upright=upright, size=size)
        elif upright:
            out = 1.0 if at > self.width / 2 else -1.0
            anchor = "start" if out > 0 else "end"
            self.text((at + out * 1.2, mid[1]), words, size=size, anchor=anchor, plate=inside)
        else:
            end = max(p[0], q[0]) + 5.5
            self.text((end, at), words, size=size, anchor="start")

    def _on_line(self, mid: Point, words: str, *, upright: bool, size: float) -> None:
        if upright:
            self.text(mid, words, size=size, turn=-90.0, plate=True)
        else:
            self.text(mid, words, size=size, plate=True)

    def letter_box(self, at: Point, letter: str, *, color: str = INK) -> None:
        """A datum letter in its square (ISO 5459), centered at a paper place."""
        r = 2.3
        self.add(
            "mark",
            f'<rect x="{num(at[0] - r)}" y="{num(at[1] - r)}" width="{num(2 * r)}" height="{num(2 * r)}" '
            f'fill="{PAPER}" stroke="{color}" stroke-width="{num(0.35)}"/>',
        )
        self.text(at, letter, size=PLAIN + 0.4, bold=True, color=color, keep=False)
        self.taken.append((at[0] - r, at[1] - r, at[0] + r, at[1] + r))


CENTER = "3 0.8 0.6 0.8"
HIDDEN = "1.8 0.9"
PHANTOM = "4 0.8 0.6 0.8 0.6 0.8"


def pen(width: float, *, color: str = INK, dash: str = "", fill: str = "none") -> str:
    """Attributes of a stroke."""
    d = f' stroke-dasharray="{dash}"' if dash else ""
    f = f' fill="{fill}"' if fill != "none" else ""
    return f'stroke="{color}" stroke-width="{num(width)}"{d}{f}'


def _text_box(at: Point, w: float, size: float, *, anchor: str, turn: float) -> Box:
    x, y = at
    left = {"middle": -w / 2, "start": 0.0, "end": -w}[anchor]
    if turn:
        return (x - 0.6 * size, y - w / 2, x + 0.6 * size, y + w / 2)
    return (x + left - 0.3, y - 0.6 * size, x + left + w + 0.3, y + 0.6 * size)


def bounds(points: Iterable[Point]) -> Box:
    """Box round points."""
    ps = list(points)
    xs, ys = [p[0] for p in ps], [p[1] for p in ps]
    return (min(xs), min(ys), max(xs), max(ys))


def spread(wanted: Sequence[float], least: float, limit: float) -> list[float]:
    """Places near those wanted, in their order, at least ``least`` apart, none beyond ``limit``."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    out = [0.0] * len(wanted)
    groups: list[list[int]] = []
    for i in order:
        groups.append([i])
        while len(groups) > 1 and _start(groups[-1], wanted, least) < _end(groups[-2], wanted, least):
            groups[-2:] = [groups[-2] + groups[-1]]
    for g in groups:
        first = min(_start(g, wanted, least) + least / 2, limit - least * (len(g) - 0.5))
        for k, i in enumerate(g):
            out[i] = first + k * least
    return out


def _start(group: list[int], wanted: Sequence[float], least: float) -> float:
    return sum(wanted[i] for i in group) / len(group) - least * len(group) / 2


def _end(group: list[int], wanted: Sequence[float], least: float) -> float:
    return _start(group, wanted, least) + least * len(group)
