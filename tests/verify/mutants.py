"""Programs spoiled at random, and a second judge for those that the check lets pass.

The judge shares no way of removing metal with the check: it stamps the cutter on a grid of
heights, and holds the spoiled program's grid between two of the good program's, one cut with
cutters a little thinner, one with cutters a little thicker. What a drill leaves below the length of
the tooling hole that is bored does not count.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from jawright.jaws.model import Bar, Jaws
from jawright.shop.model import Cutter, Shop, Vise
from jawright.verify.check import check, check_blank
from jawright.verify.model import Verification
from jawright.verify.place import Frame, place
from jawright.verify.reader import read
from jawright.verify.words import LIMITS
from verify.heightmap import Grid, flat, pointed

NUM = r"(-?[0-9]*\.?[0-9]+)"
CUT = r"\bG[123]\b"
Lines = list[str]
Spoil = Callable[[Lines, random.Random], "Lines | None"]

CELL = 0.25
NEAR = 0.012  # mm: the limits of the check on walls, and the chords of the walk
DEEP = 0.006  # mm: the limit of the check on floors, and rounding
SEAT = 1.0  # mm: cells nearer than this to a wall that locates or grips are judged as that wall


@dataclass(frozen=True)
class Base:
    """A good program and what it is for."""

    name: str
    text: str
    origin: tuple[float, float, float]
    turned: bool
    jaws: Jaws | Bar
    shop: Shop
    vise: Vise
    frames: dict[str, tuple[Grid, Grid]] = field(default_factory=dict, compare=False)
    known: dict[str, list[tuple[object, ...]]] = field(default_factory=dict, compare=False)

    def check(self, text: str) -> Verification:
        where = {"origin": self.origin, "turned": self.turned, "shop": self.shop, "vise": self.vise}
        if isinstance(self.jaws, Bar):
            return check_blank(text, bar=self.jaws, **where)
        return check(text, jaws=self.jaws, **where)

    def uncut(self) -> Grid:
        """Heights of the metal before the program runs."""
        if isinstance(self.jaws, Bar):
            return Grid(*self.jaws.box, CELL, self.jaws.top)
        fixed, floating = self.jaws.fixed, self.jaws.floating
        box = (fixed.x0, floating.y0, fixed.x1, fixed.y1)
        grid = Grid(*box, CELL, max(fixed.height, floating.height))
        gap = (grid.y > -self.jaws.gap) & (grid.y < 0.0)
        grid.h[:, gap] = 0.0
        return grid


# -- how programs are spoiled ---------------------------------------------------------------


def _lines(lines: Lines, pattern: str) -> list[int]:
    return [k for k, line in enumerate(lines) if not line.startswith("(") and re.search(pattern, line)]


def edit(pattern: str, change: Callable[[re.Match[str], random.Random], str], where: str = "") -> Spoil:
    """Change one match of ``pattern`` in one line that also has ``where``."""

    def spoil(lines: Lines, rng: random.Random) -> Lines | None:
        found = [k for k in _lines(lines, pattern) if re.search(where, lines[k])]
        if not found:
            return None
        k = rng.choice(found)
        m = rng.choice(list(re.finditer(pattern, lines[k])))
        new = lines[k][: m.start()] + change(m, rng) + lines[k][m.end() :]
        return [*lines[:k], new, *lines[k + 1 :]] if new != lines[k] else None

    return spoil


def put(pattern: str, words: str) -> Spoil:
    """Put a line before one that has ``pattern``."""

    def spoil(lines: Lines, rng: random.Random) -> Lines | None:
        found = _lines(lines, pattern)
        k = rng.choice(found) if found else None
        return None if k is None else [*lines[:k], words, *lines[k:]]

    return spoil


def drop(pattern: str) -> Spoil:
    def spoil(lines: Lines, rng: random.Random) -> Lines | None:
        found = _lines(lines, pattern)
        k = rng.choice(found) if found else None
        return None if k is None else [*lines[:k], *lines[k + 1 :]]

    return spoil


def doubled(lines: Lines, rng: random.Random) -> Lines:
    k = rng.choice(_lines(lines, "."))
    return [*lines[:k], lines[k], *lines[k:]]


def swapped(lines: Lines, rng: random.Random) -> Lines | None:
    k = rng.choice(_lines(lines[:-1], "."))
    return [*lines[:k], lines[k + 1], lines[k], *lines[k + 2 :]]


def moved(lines: Lines, rng: random.Random) -> Lines | None:
    k = rng.choice(_lines(lines, "[XYZ]"))
    rest = [*lines[:k], *lines[k + 1 :]]
    at = min(len(rest), k + rng.randrange(3, 30))
    return [*rest[:at], lines[k], *rest[at:]]


def lost(lines: Lines, rng: random.Random) -> Lines:
    k = rng.randrange(5, len(lines) - 12)
    return [*lines[:k], *lines[k + rng.randrange(3, 11) :]]


def cut_off(lines: Lines, rng: random.Random) -> Lines:
    return lines[: rng.randrange(10, len(lines) - 1)]


def _negated(m: re.Match[str], _: random.Random) -> str:
    number = m.group(2)
    return m.group(1) + (number[1:] if number.startswith("-") else "-" + number)


def _shifted(*by: float) -> Callable[[re.Match[str], random.Random], str]:
    def change(m: re.Match[str], rng: random.Random) -> str:
        number = m.group(2)
        places = len(number.split(".")[1]) if "." in number else 0
        return f"{m.group(1)}{float(number) + rng.choice(by):.{max(places, 3)}f}"

    return change


def _scaled(by: float) -> Callable[[re.Match[str], random.Random], str]:
    return lambda m, _: f"{m.group(1)}{float(m.group(2)) * by:.1f}"


def _digits_swapped(m: re.Match[str], rng: random.Random) -> str:
    text = m.group(0)
    pairs = [i for i in range(1, len(text) - 1) if text[i].isdigit() and text[i + 1].isdigit()]
    if not pairs:
        return text
    i = rng.choice(pairs)
    return text[:i] + text[i + 1] + text[i] + text[i + 2 :]


def _digit_lost(m: re.Match[str], rng: random.Random) -> str:
    text = m.group(0)
    i = rng.choice([i for i, c in enumerate(text) if c.isdigit()])
    return text[:i] + text[i + 1 :]


def _to(word: str) -> Callable[[re.Match[str], random.Random], str]:
    return lambda *_: word


def every(pattern: str, change: Callable[[re.Match[str], random.Random], str]) -> Spoil:
    """Change every match of ``pattern`` in the program."""

    def spoil(lines: Lines, rng: random.Random) -> Lines | None:
        changed = [
            x if x.startswith("(") or "G53" in x else re.sub(pattern, lambda m: change(m, rng), x)
            for x in lines
        ]
        return changed if changed != lines else None

    return spoil


def _times(by: float) -> Callable[[re.Match[str], random.Random], str]:
    def change(m: re.Match[str], _: random.Random) -> str:
        places = len(m.group(2).split(".")[1]) if "." in m.group(2) else 0
        return f"{m.group(1)}{float(m.group(2)) * by:.{places}f}"

    return change


def with_radius(lines: Lines, rng: random.Random) -> Lines | None:
    """An arc written with R, of the wrong sign."""
    found = _lines(lines, rf"I{NUM} J{NUM}")
    if not found:
        return None
    k = rng.choice(found)
    m = next(re.finditer(rf"I{NUM} J{NUM}", lines[k]))
    r = (float(m.group(1)) ** 2 + float(m.group(2)) ** 2) ** 0.5
    return [*lines[:k], f"{lines[k][: m.start()]}R{-r:.4f}{lines[k][m.end() :]}", *lines[k + 1 :]]


def late_spindle(lines: Lines, rng: random.Random) -> Lines | None:
    """M3 some lines later than it stood."""
    found = _lines(lines, r"\bM3\b")
    k = rng.choice(found)
    rest = [*lines[:k], lines[k].replace("M3", "").strip(), *lines[k + 1 :]]
    at = min(len(rest) - 1, k + rng.randrange(6, 16))
    return [*rest[:at], "M3", *rest[at:]]


def plunged(lines: Lines, rng: random.Random) -> Lines | None:
    """A ramp goes straight down instead, and then along."""
    found = _lines(lines, rf"\bG1 X{NUM} Z-{NUM}")
    if not found:
        return None
    k = rng.choice(found)
    m = next(re.finditer(rf"\bG1 (X{NUM}) (Z-{NUM})", lines[k]))
    rest = lines[k][m.end() :]
    return [*lines[:k], f"G1 {m.group(3)}{rest}", f"G1 {m.group(1)}", *lines[k + 1 :]]


def blocks_swapped(lines: Lines, rng: random.Random) -> Lines | None:
    """What one cutter does and what the next one does, the other way round."""
    found = [*_lines(lines, r"\bM6\b"), max(_lines(lines, r"M9|M5"))]
    if len(found) < 3:
        return None
    k = rng.randrange(len(found) - 2)
    a, b, c = found[k : k + 3]
    return [*lines[:a], *lines[b:c], *lines[a:b], *lines[c:]]


def over_the_top(lines: Lines, rng: random.Random) -> Lines | None:
    """A move between cuts at the depth of the cut before it."""
    found = [k for k in _lines(lines[:-1], r"\bG0 Z") if re.search(r"\bG0 X", lines[k + 1])]
    k = rng.choice(found) if found else None
    return None if k is None else [*lines[:k], lines[k + 1], lines[k], *lines[k + 2 :]]


def corner_round_the_other_way(lines: Lines, rng: random.Random) -> Lines | None:
    """An arc between straight moves, as at a corner of a wall or on the way to it; no circle of a hole."""
    found = [
        k
        for k in _lines(lines[:-1], r"\bG[23]\b")
        if "Z" not in lines[k] and all(re.search(r"\bG[01]\b", lines[j]) for j in (k - 1, k + 1))
    ]
    if not found:
        return None
    k = rng.choice(found)
    other = re.sub(r"\bG([23])\b", lambda m: "G2" if m.group(1) == "3" else "G3", lines[k])
    return [*lines[:k], other, *lines[k + 1 :]]


KINDS: dict[str, Spoil] = {
    "sign of X or Y": edit(rf"([XY]){NUM}", _negated),
    "sign of Z": edit(rf"(Z){NUM}", _negated),
    "sign of I or J": edit(rf"([IJ]){NUM}", _negated),
    "I and J swapped": edit(rf"I{NUM} J{NUM}", lambda m, _: f"I{m.group(2)} J{m.group(1)}"),
    "X and Y swapped": edit(rf"X{NUM} Y{NUM}", lambda m, _: f"X{m.group(2)} Y{m.group(1)}"),
    "wrong plane": edit(r"G17", lambda _, rng: rng.choice(["G18", "G19"])),
    "plane put in": put(CUT, "G19"),
    "G0 for G1": edit(r"\bG1\b", _to("G0")),
    "G1 for G0": edit(r"\bG0\b", _to("G1")),
    "G2 for G3, G3 for G2": edit(r"\bG[23]\b", lambda m, _: "G2" if m.group(0) == "G3" else "G3"),
    "corner round the other way": corner_round_the_other_way,
    "G1 for an arc": edit(r"\bG[23]\b", _to("G1")),
    "G90 lost": edit(r" G90", _to("")),
    "G91 left on": put(CUT, "G91"),
    "units changed": edit(r"\bG2[01]\b", lambda m, _: "G20" if m.group(0) == "G21" else "G21"),
    "units not said": edit(r"\bG2[01]\b", _to("")),
    "wrong cutter": edit(r"\bT[0-9]+", lambda m, rng: f"T{rng.choice([2, 3, 4, 5, 6, 7, 8, 9])}"),
    "wrong length offset": edit(r"\bH([0-9]+)", lambda m, _: f"H{int(m.group(1)) + 1}"),
    "length offset lost": edit(r"G43 H[0-9]+ ", _to("")),
    "work offset": edit(r"G54", lambda _, rng: rng.choice(["G55", "G56", "G59"])),
    "M6 lost": edit(r"M6 ?", _to("")),
    "M3 lost": edit(r" ?M3\b", _to("")),
    "M4 for M3": edit(r"\bM3\b", _to("M4")),
    "M5 on the way": put(CUT, "M5"),
    "speed a tenth": edit(rf"(S){NUM}", _scaled(0.1)),
    "speed ten times": edit(rf"(S){NUM}", _scaled(10.0)),
    "feed ten times": edit(r"(F)([0-9.]+)", _scaled(10.0)),
    "feed lost": edit(r" F[0-9.]+", _to("")),
    "Z off by 10": edit(rf"(Z){NUM}", _shifted(-10.0, 10.0)),
    "Z off by 0.1": edit(rf"(Z){NUM}", _shifted(-0.1, 0.1)),
    "X or Y off by 0.05": edit(rf"([XY]){NUM}", _shifted(-0.05, 0.05), where=CUT),
    "X or Y off by 5": edit(rf"([XY]){NUM}", _shifted(-5.0, 5.0)),
    "center off by 0.02": edit(rf"([IJ]){NUM}", _shifted(-0.02, 0.02)),
    "digits swapped": edit(r"[XYZIJ]-?[0-9.]+", _digits_swapped),
    "digit lost": edit(r"[XYZIJF]-?[0-9.]+", _digit_lost),
    "decimal point lost": edit(r"[XYZ]-?[0-9]+\.[0-9]+", lambda m, _: m.group(0).replace(".", "")),
    "decimal comma": edit(r"[XYZIJ]-?[0-9]+\.[0-9]+", lambda m, _: m.group(0).replace(".", ",")),
    "O for a zero": edit(r"[XYZIJ]-?[0-9.]*0", lambda m, _: m.group(0)[:-1] + "O"),
    "axis word lost": edit(r" [XYZ]-?[0-9.]+", _to("")),
    "center word lost": edit(r" [IJ]-?[0-9.]+", _to("")),
    "line lost": drop("."),
    "lines lost": lost,
    "line doubled": doubled,
    "lines swapped": swapped,
    "line moved": moved,
    "retract lost": drop(r"^(N[0-9]+ )?G0 Z"),
    "end lost": drop(r"M30"),
    "cut off": cut_off,
    "compensation put in": put(r"\bG1 X", "G41 D2"),
    "compensation left on": edit(r"G40 (?=G1)", _to("")),
    "compensation on the other side": edit(r"G41", _to("G42")),
    "compensation number": edit(r"D[0-9]+", lambda m, rng: f"D{rng.choice([1, 3, 4, 77])}"),
    "block delete": edit(r"^", _to("/"), where="[XYZ]"),
    "comment not closed": edit(r"$", _to(" (")),
    "R of the wrong sign": with_radius,
    "plane lost": edit(r"G17 ", _to("")),
    "G91 for G90": edit(r"G90", _to("G91")),
    "G92 put in": put(CUT, "G92 X0 Y0"),
    "G10 put in": put(r"\bM6\b", "G10 L2 P1 X0 Y0 Z0"),
    "G49 put in": put(CUT, "G49"),
    "work offset lost": edit(r" ?\bG54\b", _to("")),
    "other work offset on the way": put(CUT, "G55"),
    "machine top lost": edit(r"G53 G0 Z0\.?0*", _to("")),
    "G53 lost": edit(r"G53 ", _to("")),
    "G28 for G53": edit(r"G53 G0 Z", _to("G28 Z")),
    "speed lost": edit(r"S[0-9]+ ?", _to("")),
    "speed nought": edit(r"S[0-9]+", _to("S0")),
    "feed nought": edit(r"F[0-9.]+", _to("F0")),
    "feed a tenth": edit(r"(F)([0-9.]+)", _scaled(0.1)),
    "spindle on late": late_spindle,
    "coolant lost": edit(r"M8", _to("")),
    "stop for the spacers lost": drop(r"\bM0\b"),
    "plunge for a ramp": plunged,
    "two cutters' work swapped": blocks_swapped,
    "side move before the retract": over_the_top,
    "retract not high enough": edit(r"(\bG0 Z)([0-9.]+)", _times(0.01)),
    "all Z 0.1 lower": every(rf"(Z){NUM}", _shifted(-0.1)),
    "all X and Y a percent larger": every(rf"([XYIJ]){NUM}", _times(1.01)),
    "all X mirrored": every(rf"([XI]){NUM}", _negated),
    "all Y 0.05 off": every(rf"(Y){NUM}", _shifted(0.05)),
    "all feeds twice": every(r"(F)([0-9.]+)", _scaled(2.0)),
    "cutter of another number, offset too": every(r"\b(M6 T|T|H|D)2\b", lambda m, _: m.group(1) + "3"),
    "letter for another": edit(r" [XYZIJ](?=-?[0-9])", lambda _, rng: " " + rng.choice("XYZIJKRQ")),
    "text put in": put(CUT, "G1 X"),
    "hole's depth": edit(
        rf"\bG8[135] .*?(Z){NUM}", lambda m, _: m.group(0)[: m.start(2) - m.start()] + "-1.0"
    ),
    "G99 for G98": edit(r"G98", _to("G99")),
    "G80 lost": drop(r"^(N[0-9]+ )?G80"),
}


# -- the second judge -------------------------------------------------------------------


def surface(c: Cutter):
    if c.kind in ("drill", "spot drill", "engraver") and c.tip_angle > 0:
        return pointed(c.tip_angle, c.corner_radius)
    return flat(c.corner_radius, c.diameter / 2)


def cut(base: Base, text: str, *, wider: float = 0.0, say: list[str] | None = None) -> Grid:
    """The blanks after a program, by stamping; unsafe moves are put into ``say``."""
    grid = base.uncut()
    top = grid.top
    cutters = {c.number: c for c in base.shop.cutters}
    frame = Frame(base.origin, base.turned, top)
    reading = read(text, diameters={c.number: c.diameter for c in base.shop.cutters})
    for move in reading.moves:
        path = place(move, frame)
        if not path.known or path.low >= top:
            continue
        c = cutters[move.tool or -1]
        before = grid.h.sum()
        up = all(r.length == 0.0 and r.z1 >= r.z0 for r in path.runs)
        if move.kind == "rapid" and not up and say is not None:
            _stamp(grid, path, c, -0.3)
            if grid.h.sum() < before - 1e-6:
                say.append(f"line {move.line}: a rapid through metal")
        _stamp(grid, path, c, wider)
        if grid.h.sum() < before - 1e-6 and move.kind == "feed" and say is not None:
            tooth = move.feed / max(1e-9, move.spindle) / c.flutes
            if move.spindle <= 0.0:
                say.append(f"line {move.line}: cuts with the spindle not turning as it should")
            elif tooth > max(0.06, min(0.3, 0.03 * c.diameter)) + 1e-9 and c.kind == "end mill":
                say.append(f"line {move.line}: {tooth:.3f} mm per tooth")
    if reading.moves and (z := reading.moves[-1].end[2]) is not None and frame.height(z) < top:
        say is None or say.append("ends down in the jaws")
    return grid


def _stamp(grid: Grid, path, c: Cutter, wider: float) -> None:
    radius = c.diameter / 2 + wider
    if radius <= 0.0:
        return
    step = min(0.25, 0.08 * c.diameter)
    under = surface(c)
    shape = lambda d: under(np.maximum(0.0, d - wider))  # noqa: E731
    for r in path.runs:
        pts = r.points(0.001)
        n = max(1, len(pts) - 1)
        chain = [(*q, r.z0 + (r.z1 - r.z0) * k / n) for k, q in enumerate(pts)]
        if r.length == 0.0:
            chain = [(*r.start, r.low)]
            grid.stamp(*chain[0], shape, radius)
            continue
        grid.walk(chain, shape, radius, step)


def _motions(base: Base, text: str) -> list[tuple[object, ...]]:
    """Every move with all that decides what it cuts, and how."""
    found = read(text, diameters={c.number: c.diameter for c in base.shop.cutters}).moves
    return [(m.kind, m.start, m.end, m.arc, m.feed, m.spindle, m.tool) for m in found]


def judged(base: Base, text: str) -> list[str]:
    """What the second judge has against this program: other metal than the good one's, or an unsafe move."""
    if "moves" not in base.known:
        base.known["moves"] = _motions(base, base.text)
    if _motions(base, text) == base.known["moves"]:
        return []  # the very moves of the good program, spun and fed alike: nothing to stamp
    if "thin" not in base.frames:
        more, less = LIMITS["metal"]["rest_else"], LIMITS["metal"]["gouge_else"]
        thin, thick = (cut(base, base.text, wider=w) for w in (-NEAR, NEAR))
        slim, fat = (cut(base, base.text, wider=w) for w in (-NEAR - more, NEAR + less))
        free = ~_seats(base, thin)  # there the check's own limits are wider, and so are these
        thin.h[free], thick.h[free] = slim.h[free], fat.h[free]
        base.frames["thin"] = (thin, thick)
    thin, thick = base.frames["thin"]
    say: list[str] = []
    grid = cut(base, text, say=say)
    least = _least(base, grid)
    high = (np.maximum(grid.h, least) - np.maximum(thin.h, least)).max()
    low = (np.maximum(thick.h, least) - np.maximum(grid.h, least)).max()
    if high > DEEP:
        say.append(f"{high:.3f} mm more metal than the good program leaves")
    if low > DEEP:
        say.append(f"{low:.3f} mm less metal than the good program leaves")
    return say


def _seats(base: Base, grid: Grid) -> np.ndarray:
    """Cells at a wall that locates or grips, where the check allows least."""
    near = np.zeros(grid.h.shape, dtype=bool)
    if isinstance(base.jaws, Bar):
        return near
    zones = (*base.jaws.zones, *base.jaws.zones_beside)
    for curve in (c for z in zones if z.purpose in ("locate", "grip", "stop") for c in z.curves):
        n = max(2, int(curve.length / CELL))
        for x, y in curve.spread([k / n for k in range(n + 1)]):
            near |= np.hypot(grid.x[:, None] - x, grid.y[None, :] - y) < SEAT
    return near


def _least(base: Base, grid: Grid) -> np.ndarray:
    """Where metal does not count: below a bar, where there is none, and below a tooling hole's bored length.

    How deep the drill's point goes there is free: it only makes room for the boring bar.
    """
    least = np.full(grid.h.shape, base.jaws.back if isinstance(base.jaws, Bar) else -np.inf)
    hole = None if isinstance(base.jaws, Bar) else base.jaws.tooling_hole
    if hole is not None:
        away = np.hypot(grid.x[:, None] - hole.center[0], grid.y[None, :] - hole.center[1])
        least[away < hole.diameter / 2] = hole.top - hole.depth + LIMITS["allowed"]["hole_bottom"]
    return least


@dataclass(frozen=True)
class Outcome:
    """What became of one spoiled program."""

    kind: str
    base: str
    caught: tuple[str, ...]  # first words of what the check said; empty when it passed
    why: tuple[str, ...]  # what the second judge has against one that passed
    text: str = field(default="", repr=False)


def outcome(base: Base, kind: str, seed: int) -> Outcome | None:
    """Spoil, check, and where the check finds nothing ask the second judge; None when not to be had."""
    rng = random.Random(f"{kind} {seed}")
    for _ in range(20):
        lines = KINDS[kind](base.text.splitlines(), rng)
        if lines is not None and lines != base.text.splitlines():
            break
    else:
        return None
    text = "\n".join(lines) + "\n"
    v = base.check(text)
    if not v.verified:
        bad = [f for f in v.findings if f.level in ("refused", "fault")]
        words = tuple(dict.fromkeys("refused" if f.level == "refused" else f.what.split(":")[0] for f in bad))
        return Outcome(kind, base.name, words or ("numbers over their limit",), (), text)
    return Outcome(kind, base.name, (), tuple(judged(base, text)), text)
