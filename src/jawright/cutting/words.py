"""Moves to word-address text: ISO 6983-1 in the controller-neutral subset.

Only G0 G1 G2 G3 (I J from the start point), G17 G20 G21 G40 G43 G49 G53 G54-G59 G80 G90 G94,
M0 M1 M3 M5 M6 M8 M9 M30, F S T H N and comments in parentheses are written. Positions
are absolute, so rounding never adds up. Arcs are rounded so that the radii at their two ends
agree far inside the 0.002 mm (0.0002 inch) that NISTIR 6556, section 3.5.3.2, allows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from jawright.cutting.paths import Step
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Point
from jawright.shop.model import NcFormat
from jawright.units import INCH

LONGEST = 79
"""Longest line of text written."""

HALF = math.radians(175)
"""Longest arc written in one block: near half a turn some controls lose the side of the center."""

SAGITTA = 2e-4
"""An arc that leaves its chord by less [mm] is written as a straight move."""

LEAST_DECIMALS = {"mm": 3, "inch": 4}
"""Fewest decimals that carry a pocket."""

OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59")

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Axes:
    """Program axes in the vise frame: zero, and half a turn about Z when ``turned``."""

    origin: Triple
    turned: bool

    def point(self, p: Triple) -> Triple:
        """A point of the vise frame in the program's own axes [mm]."""
        s = -1.0 if self.turned else 1.0
        return (s * (p[0] - self.origin[0]), s * (p[1] - self.origin[1]), p[2] - self.origin[2])


def check_format(nc: NcFormat) -> None:
    """Raise ``value-bad`` for a format no control could be given."""
    least = LEAST_DECIMALS[nc.units]
    if not least <= nc.decimals <= 6:
        raise JawrightError(
            "value-bad",
            what=f"{nc.decimals} decimals cannot carry a pocket in {nc.units}",
            where="shop nc.decimals",
            todo=f"use {least} to 6",
        )
    if nc.work_offset not in OFFSETS:
        raise JawrightError(
            "value-bad",
            what=f'"{nc.work_offset}" is not a work offset',
            where="shop nc.work_offset",
            todo="use one of " + ", ".join(OFFSETS),
        )
    for line in (*nc.start_lines, *nc.end_lines):
        lack = _typed(line)
        if lack:
            raise JawrightError(
                "value-bad",
                what=f"a start or end line {lack[0]}",
                where=f"shop nc: {line[:40]!r}",
                todo=lack[1],
            )


def _typed(line: str) -> tuple[str, str] | None:
    """What is wrong with a line the user typed, and what to do; None when nothing is."""
    if not line.isascii() or not line.isprintable() or len(line) > LONGEST:
        return "is not plain ASCII of at most 79 characters", "shorten it or take the odd characters out"
    words = re.sub(r"\([^()]*\)", "", line)
    if "(" in words or ")" in words:
        return (
            "has a comment that is not closed, or one in another",
            "write ( and ) once each round a comment",
        )
    if ";" in words:
        return "has a semicolon, which starts no comment in the standard", "write comments in ( )"
    if "%" in words or re.search(r"M0*(2|30)(?![0-9.])", words.replace(" ", "").upper()):
        return "ends the program", "leave it out: the program writes its own end"
    if re.search(r"G2[01](?![0-9.])", words.replace(" ", "").upper()):
        return "sets the unit", "leave it out, and set units under [nc]"
    return None


def plain(text: str) -> str:
    """ASCII capitals without parentheses, fit for a comment."""
    swap = str.maketrans(
        {"Ø": "DIA ", "×": "X", "µ": "U", "°": " DEG", "±": "+/-", "(": "[", ")": "]", "·": "."}
    )
    return text.translate(swap).encode("ascii", "replace").decode().upper()


def wrap(text: str, width: int) -> list[str]:
    """Words of ``text`` in lines of at most ``width`` characters; longer words are broken."""
    lines, now = [], ""
    for word in plain(text).split():
        pieces = [word[i : i + width] for i in range(0, len(word), width)]
        for piece in pieces:
            if now and len(now) + 1 + len(piece) > width:
                lines.append(now)
                now = piece
            else:
                now = f"{now} {piece}".strip()
    return [*lines, now] if now else lines


@dataclass(slots=True)
class Text:
    """Lines of a program as they are written."""

    nc: NcFormat
    axes: Axes
    lines: list[str] = field(default_factory=list)
    at: Triple | None = None  # last written position, rounded, program units
    feed: str = ""
    _number: int = 0

    @property
    def scale(self) -> float:
        """Program units per mm."""
        return 1.0 if self.nc.units == "mm" else 1.0 / INCH

    def length(self, value: float) -> str:
        """A length [mm] as the program writes it."""
        return self._fixed(value * self.scale)

    def say(self, value: float) -> str:
        """A length [mm] for a comment, with its unit."""
        return f"{value:.3f} MM" if self.nc.units == "mm" else f"{value / INCH:.4f} IN"

    def _fixed(self, value: float) -> str:
        text = f"{value:.{self.nc.decimals}f}"
        return text.lstrip("-") if float(text) == 0.0 else text

    def block(self, words: str) -> None:
        """One line of words."""
        if self.nc.line_numbers:
            self._number += 10
            words = f"N{self._number} {words}"
        assert len(words) <= LONGEST and words.isascii(), words
        self.lines.append(words)

    def comment(self, text: str) -> None:
        """One remark, in as many lines as it needs."""
        self.lines.extend(f"({line})" for line in wrap(text, LONGEST - 2))

    def machine_top(self) -> None:
        """Raise the spindle to machine zero in Z, whatever offsets are active."""
        self.block(f"G53 G0 Z{self._fixed(0.0)}")

    def new_cutter(self) -> None:
        """Forget position and feed: the next block states both."""
        self.at, self.feed = None, ""

    def _round(self, p: Triple) -> Triple:
        q = self.axes.point(p)
        return tuple(round(v * self.scale, self.nc.decimals) + 0.0 for v in q)  # type: ignore[return-value]

    def _f(self, feed: float) -> str:
        text = f" F{feed * self.scale:.1f}" if self.nc.units == "inch" else f" F{feed:.0f}."
        if text == self.feed:
            return ""
        self.feed = text
        return text

    def _axes(self, p: Triple, *, plan: bool = False) -> str:
        at = self.at
        out = ""
        for i, name in enumerate("XYZ"):
            if at is None or p[i] != at[i] or (plan and i < 2):
                out += f" {name}{self._fixed(p[i])}"
        return out

    def first(self, step: Step, number: int) -> None:
        """First approach of a cutter: X and Y, then Z with its length offset."""
        p = self._round(step.end)
        self.block(f"G0 X{self._fixed(p[0])} Y{self._fixed(p[1])}")
        self.block(f"G43 H{number} Z{self._fixed(p[2])}")
        self.at = p

    def write(self, start: Triple, step: Step) -> None:
        """One move from the exact position ``start`` [mm]."""
        if step.kind == "arc":
            for piece, z in self._pieces(start, step):
                self._arc(piece, z, step.feed)
            return
        p = self._round(step.end)
        words = self._axes(p)
        if step.comp:
            switch = f"G41 D{step.comp}" if step.comp > 0 else "G40"
            self.block(f"{switch} G1{self._axes(p, plan=True)}{self._f(step.feed)}")
            self.at = p
        elif words:
            self.block(f"G0{words}" if step.kind == "rapid" else f"G1{words}{self._f(step.feed)}")
            self.at = p

    def _pieces(self, start: Triple, step: Step) -> list[tuple[Arc, float]]:
        """The arc cut at quadrants or into parts shorter than half a turn, each with its end height."""
        arc = Arc((start[0], start[1]), (step.end[0], step.end[1]), step.center, step.ccw)
        sweep = arc.sweep
        cuts: list[float] = []
        if self.nc.split_arcs:
            quarter = math.pi / 2
            a, way = arc.start_angle, math.copysign(1.0, sweep)
            k = math.floor(a / quarter + 1e-6) + 1 if way > 0 else math.ceil(a / quarter - 1e-6) - 1
            while 1e-6 < (t := (k * quarter - a) / sweep) < 1 - 1e-6:
                cuts.append(t)
                k += int(way)
        else:
            n = math.ceil(abs(sweep) / HALF)
            cuts = [i / n for i in range(1, n)]
        out: list[tuple[Arc, float]] = []
        last = arc.start
        for t in [*cuts, 1.0]:
            end = arc.at(t) if t < 1.0 else arc.end
            if math.dist(last, end) > 1e-12:
                out.append((Arc(last, end, arc.center, arc.ccw), start[2] + t * (step.end[2] - start[2])))
            last = end
        return out

    def _arc(self, arc: Arc, z: float, feed: float) -> None:
        end = self._round((*arc.end, z))
        assert self.at is not None
        start = self.at
        flat = arc.radius * (1 - math.cos(arc.sweep / 2)) < SAGITTA
        if flat or start[:2] == end[:2]:
            words = self._axes(end)
            if words:
                self.block(f"G1{words}{self._f(feed)}")
                self.at = end
            return
        exact = self.axes.point((*arc.center, 0.0))
        center = (exact[0] * self.scale, exact[1] * self.scale)
        i, j = round_center(start[:2], end[:2], center, self.nc.decimals)
        code = "G3" if arc.ccw else "G2"
        words = f"{code}{self._axes(end, plan=True)} I{self._fixed(i)} J{self._fixed(j)}"
        self.block(words + self._f(feed))
        self.at = end


def round_center(
    start: Sequence[float], end: Sequence[float], center: Point, decimals: int
) -> tuple[float, float]:
    """I and J of an arc between rounded ends: the center on the output grid that serves best.

    Candidates are the grid points round the exact center. Among those whose radii at the two ends
    agree within half a grid step the nearest to the exact center is taken; failing that the
    one whose radii agree best. Units are the program's own; nothing is returned that misses by
    more than the standard allows, because the nearest grid point misses by at most three steps.
    """
    ulp = 10.0**-decimals
    base = (round((center[0] - start[0]) / ulp), round((center[1] - start[1]) / ulp))
    best: tuple[float, float, int, int] | None = None
    for di in (0, -1, 1, -2, 2):
        for dj in (0, -1, 1, -2, 2):
            i, j = (base[0] + di) * ulp, (base[1] + dj) * ulp
            r0 = math.hypot(i, j)
            r1 = math.hypot(start[0] + i - end[0], start[1] + j - end[1])
            miss = abs(r0 - r1) / ulp
            off = math.dist((start[0] + i, start[1] + j), center) / ulp
            key = (max(0.0, miss - 0.5) * 4.0 + off, miss, base[0] + di, base[1] + dj)
            if best is None or key[:2] < best[:2]:
                best = key
    assert best is not None
    return best[2] * ulp, best[3] * ulp
