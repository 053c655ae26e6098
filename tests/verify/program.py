"""A program for the sample pair, written by hand formulas that share nothing with the tool's writer.

The pocket is an upright rectangle with rounded corners, so every tool-center path is a
rectangle with rounded corners again: no offsetting is needed.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import samples
from jawright.jaws.model import Jaws

X0, Y0, X1, Y1, CORNER = -30.0, -20.0, 25.0, 6.0, 5.5
FLOOR, TOP = 43.5, 50.0
ORIGIN = (45.0, 14.0, 50.0)  # tooling hole, top of the fixed jaw


def jaws() -> Jaws:
    """The sample pair with a text that is written by hand."""
    return replace(samples.jaws(), text=("V", "V"))


@dataclass
class Text:
    """Lines of a program; places are given in the vise frame and written from the program's zero."""

    origin: tuple[float, float, float] = ORIGIN
    turned: bool = False
    inch: bool = False
    spring: bool = True  # finish the wall twice
    comp: bool = False  # finish the wall under radius compensation
    lines: list[str] = field(default_factory=list)

    def add(self, line: str) -> None:
        self.lines.append(line)

    def num(self, mm: float) -> str:
        return f"{mm / 25.4:.5f}" if self.inch else f"{mm:.4f}"

    def x(self, v: float) -> str:
        return "X" + self.num((v - self.origin[0]) * (-1 if self.turned else 1))

    def y(self, v: float) -> str:
        return "Y" + self.num((v - self.origin[1]) * (-1 if self.turned else 1))

    def z(self, v: float) -> str:
        return "Z" + self.num(v - self.origin[2])

    def i(self, v: float) -> str:
        return "I" + self.num(-v if self.turned else v)

    def j(self, v: float) -> str:
        return "J" + self.num(-v if self.turned else v)

    def f(self, v: float) -> str:
        return "F" + self.num(v)

    def text(self) -> str:
        return "\n".join(self.lines) + "\n"


def header(t: Text) -> None:
    t.add("(SAMPLE PAIR, POCKET)")
    t.add("G20" if t.inch else "G21")
    t.add("G17 G40 G49 G80 G90 G94 G54")


def tool(t: Text, number: int, speed: float, x: float, y: float, clear: float = 60.0) -> None:
    t.add("G53 G0 Z0")
    t.add(f"T{number} M6")
    t.add(f"S{speed:.0f} M3")
    t.add(f"G0 {t.x(x)} {t.y(y)}")
    t.add(f"G43 H{number} {t.z(clear)}")
    t.add("M8")


def loop(t: Text, inset: float, feed: float) -> None:
    """Once round counter-clockwise, tool center ``inset`` inside the wall, from lower left."""
    a, b, c, d = X0 + inset, Y0 + inset, X1 - inset, Y1 - inset
    r = max(0.0, CORNER - inset)
    t.add(f"G1 {t.x(a + r)} {t.y(b)} {t.f(feed)}")
    t.add(f"{t.x(c - r)}")
    if r:
        t.add(f"G3 {t.x(c)} {t.y(b + r)} {t.i(0)} {t.j(r)}")
    t.add(f"G1 {t.y(d - r)}")
    if r:
        t.add(f"G3 {t.x(c - r)} {t.y(d)} {t.i(-r)} {t.j(0)}")
    t.add(f"G1 {t.x(a + r)}")
    if r:
        t.add(f"G3 {t.x(a)} {t.y(d - r)} {t.i(0)} {t.j(-r)}")
    t.add(f"G1 {t.y(b + r)}")
    if r:
        t.add(f"G3 {t.x(a + r)} {t.y(b)} {t.i(r)} {t.j(0)}")


def layer(t: Text, above: float, z: float, feed: float) -> None:
    """Ramp down along the middle from ``above`` to ``z``, clear the middle, then work outward."""
    t.add(f"G1 {t.x(-17)} {t.y(-7)} {t.f(feed)}")
    t.add(f"{t.z(above)}")
    t.add(f"G1 {t.x(12)} {t.z(z)} {t.f(feed / 2)}")
    t.add(f"{t.x(-17)} {t.f(feed)}")
    for inset in (11.5, 9.0, 5.2):
        loop(t, inset, feed)


def pocket(t: Text) -> None:
    tool(t, 2, 8000, -17, -7)
    t.add(f"G0 {t.z(52)}")
    above = 50.2
    for z in (48.0, 46.0, 44.0, FLOOR):
        layer(t, above, z, 1200)
        above = z
    for _ in range(2 if t.spring else 1):
        if t.comp:
            compensated(t, 800)
        else:
            loop(t, 5.0, 800)
    t.add(f"G1 {t.x(0)} {t.y(-7)}")
    t.add(f"G0 {t.z(52)}")


def compensated(t: Text, feed: float) -> None:
    """The pocket's own outline with G41: straight lead-in, tangent arc, once round, tangent arc out."""
    r = CORNER
    t.add(f"G1 {t.x(-6.5)} {t.y(-7)} {t.f(feed)}")
    t.add(f"G41 D2 G1 {t.y(-13.5)}")
    t.add(f"G3 {t.x(0)} {t.y(Y0)} {t.i(6.5)} {t.j(0)}")
    t.add(f"G1 {t.x(X1 - r)}")
    t.add(f"G3 {t.x(X1)} {t.y(Y0 + r)} {t.i(0)} {t.j(r)}")
    t.add(f"G1 {t.y(Y1 - r)}")
    t.add(f"G3 {t.x(X1 - r)} {t.y(Y1)} {t.i(-r)} {t.j(0)}")
    t.add(f"G1 {t.x(X0 + r)}")
    t.add(f"G3 {t.x(X0)} {t.y(Y1 - r)} {t.i(0)} {t.j(-r)}")
    t.add(f"G1 {t.y(Y0 + r)}")
    t.add(f"G3 {t.x(X0 + r)} {t.y(Y0)} {t.i(r)} {t.j(0)}")
    t.add(f"G1 {t.x(0)}")
    t.add(f"G3 {t.x(6.5)} {t.y(-13.5)} {t.i(0)} {t.j(6.5)}")
    t.add(f"G40 G1 {t.y(-7)}")


def relief(t: Text) -> None:
    t.add(f"G0 {t.x(-28)} {t.y(4)}")
    t.add(f"G1 {t.z(FLOOR)} {t.f(200)}")
    t.add(f"G0 {t.z(52)}")


def well(t: Text) -> None:
    t.add(f"G0 {t.x(15)} {t.y(-8)}")
    t.add(f"G0 {t.z(44.5)}")
    t.add(f"G1 {t.z(43.5)} {t.f(400)}")
    z = 43.5
    while z > 35.0:
        z = max(35.0, z - 1.7)
        t.add(f"G3 {t.x(15)} {t.y(-8)} {t.z(z)} {t.i(-2)} {t.j(0)} {t.f(400)}")
    t.add(f"G3 {t.x(15)} {t.y(-8)} {t.i(-2)} {t.j(0)}")
    t.add(f"G1 {t.x(13)}")
    t.add(f"G0 {t.z(60)}")


def hole(t: Text) -> None:
    tool(t, 5, 3000, 45, 14)
    t.add(f"G98 G81 {t.x(45)} {t.y(14)} {t.z(48)} R{t.num(2)} {t.f(200)}")
    t.add("G80")
    tool(t, 6, 3500, 45, 14)
    t.add(f"G98 G83 {t.x(45)} {t.y(14)} {t.z(35.25)} R{t.num(2)} Q{t.num(3)} {t.f(350)}")
    t.add("G80")
    tool(t, 7, 1500, 45, 14)
    t.add(f"G98 G85 {t.x(45)} {t.y(14)} {t.z(38)} R{t.num(2)} {t.f(75)}")
    t.add("G80")


def chamfer(t: Text) -> None:
    tool(t, 5, 6000, 0, -19)
    t.add(f"G0 {t.z(52)}")
    t.add(f"G1 {t.z(48.7)} {t.f(400)}")
    loop(t, 1.0, 600)
    t.add(f"G0 {t.z(52)}")
    t.add(f"G0 {t.x(-24)} {t.y(4)}")
    t.add(f"G1 {t.z(48.7)} {t.f(400)}")  # the relief's edge: the cone 1 inside its radius of 5
    t.add(f"G3 {t.x(-24)} {t.y(4)} {t.i(-4)} {t.j(0)} {t.f(600)}")
    t.add(f"G0 {t.z(60)}")


def marks(t: Text) -> None:
    """A V on each jaw where the identification goes: its strokes on a grid 4 wide and 6 high, 4 mm high."""
    tool(t, 8, 9000, -70, 17)
    shape = [(0.0, 4.0), (4 / 3, 0.0), (8 / 3, 4.0)]
    if t.turned:  # to be read from the other side
        shape = [(8 / 3 - x, 4.0 - y) for x, y in shape]
    for x, y in ((-70.0, 17.0), (-70.0, -27.0)):
        t.add(f"G0 {t.x(x + shape[0][0])} {t.y(y + shape[0][1])}")
        t.add(f"G0 {t.z(51)}")
        t.add(f"G1 {t.z(49.8)} {t.f(200)}")
        t.add(f"G1 {t.x(x + shape[1][0])} {t.y(y + shape[1][1])} {t.f(300)}")
        t.add(f"G1 {t.x(x + shape[2][0])} {t.y(y + shape[2][1])}")
        t.add(f"G0 {t.z(52)}")


def footer(t: Text) -> None:
    t.add("G53 G0 Z0")
    t.add("M5")
    t.add("M9")
    t.add("M30")


def good(**how) -> str:
    """The whole program; keywords as of ``Text``."""
    t = Text(**how)
    header(t)
    pocket(t)
    relief(t)
    well(t)
    hole(t)
    chamfer(t)
    marks(t)
    footer(t)
    return t.text()
