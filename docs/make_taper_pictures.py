"""Draw the five rules of the taper page from the elastic model: docs/img/taper-*.svg.

Run: python docs/make_taper_pictures.py
The jaws, part and vise are the invented ones of the tests. Same inputs, same bytes.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "tests")]

from jawright.jaws.model import Jaws  # noqa: E402
from jawright.proof import advice, elastic  # noqa: E402
from jawright.proof.elastic_join import Mounts  # noqa: E402
from proof import sample_elastic as made  # noqa: E402

FORCE = 8000.0
MOUNT = Mounts(1e9, 5e5)
WIDE, HIGH = 620.0, 320.0
LEFT, RIGHT, TOP, FOOT = 62.0, 150.0, 34.0, 52.0
INKS = ("#1f5fa8", "#b3541e", "#3c7a3c", "#7a3c6e")


@dataclass(frozen=True)
class Curve:
    """A named row of points."""

    name: str
    points: Sequence[tuple[float, float]]
    dash: str = ""


def left(jaws: Jaws, *, mounts: Mounts = MOUNT, cut: float = FORCE) -> tuple[float, float]:
    """Taper of both walls and shift of the fixed one [µm]."""
    m = elastic.model(made.hold(jaws), replace(jaws, stack=made.jaws().stack), None, "6061-T6")
    assert m is not None
    got = advice.leaves(m, mounts, jaws.stack, cut_force=cut, force=FORCE)
    assert got is not None
    return got.taper * 1e3, got.shift * 1e3


def chart(
    name: str, title: str, across: str, up: str, *, curves: Sequence[Curve], ticks: Sequence[str] = ()
) -> None:
    """Write one picture: plain lines, named at their ends."""
    xs = [x for c in curves for x, _ in c.points]
    ys = [y for c in curves for _, y in c.points] + [0.0]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100) if (y1 - y0) / s <= 7)
    y0, y1 = step * (y0 // step), step * -(-y1 // step)

    def at(x: float, y: float) -> tuple[float, float]:
        return (
            LEFT + (x - x0) / (x1 - x0) * (WIDE - LEFT - RIGHT),
            HIGH - FOOT - (y - y0) / (y1 - y0) * (HIGH - TOP - FOOT),
        )

    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" width="{WIDE:g}" '
        f'height="{HIGH:g}" font-family="sans-serif" font-size="12" role="img" aria-label="{title}">',
        f'<rect width="{WIDE:g}" height="{HIGH:g}" fill="#fff"/>',
        f'<text x="{LEFT:g}" y="20" font-size="14" font-weight="bold" fill="#222">{title}</text>',
    ]
    y = y0
    while y <= y1 + 1e-9:
        a, b = at(x0, y), at(x1, y)
        strong = abs(y) < 1e-9
        out.append(f'<path d="M{a[0]:.1f} {a[1]:.1f}H{b[0]:.1f}" stroke="{"#777" if strong else "#ddd"}"/>')
        out.append(f'<text x="{LEFT - 6:g}" y="{a[1] + 4:.1f}" text-anchor="end" fill="#444">{y:g}</text>')
        y += step
    for x in sorted(set(xs)) if len(set(xs)) <= 8 else (x0, (x0 + x1) / 2, x1):
        a = at(x, y0)
        word = ticks[int(x)] if ticks else f"{x:g}"
        out.append(f'<text x="{a[0]:.1f}" y="{a[1] + 17:.1f}" text-anchor="middle" fill="#444">{word}</text>')
    out.append(
        f'<text x="{(LEFT + WIDE - RIGHT) / 2:g}" y="{HIGH - 12:g}" text-anchor="middle" fill="#222">'
        f"{across}</text>"
    )
    out.append(
        f'<text x="16" y="{(TOP + HIGH - FOOT) / 2:g}" text-anchor="middle" fill="#222" '
        f'transform="rotate(-90 16 {(TOP + HIGH - FOOT) / 2:g})">{up}</text>'
    )
    for ink, c in zip(INKS, curves, strict=False):
        p = [at(*q) for q in c.points]
        d = "M" + "L".join(f"{u:.1f} {v:.1f}" for u, v in p)
        dash = f' stroke-dasharray="{c.dash}"' if c.dash else ""
        out.append(f'<path d="{d}" fill="none" stroke="{ink}" stroke-width="2"{dash}/>')
        out += [f'<circle cx="{u:.1f}" cy="{v:.1f}" r="3" fill="{ink}"/>' for u, v in p]
        out.append(f'<text x="{p[-1][0] + 8:.1f}" y="{p[-1][1] + 4:.1f}" fill="{ink}">{c.name}</text>')
    out.append("</svg>\n")
    (HERE / "img" / f"taper-{name}.svg").write_text("\n".join(out), encoding="utf-8")
    print(name, [(c.name, [(round(x, 2), round(y, 2)) for x, y in c.points]) for c in curves])


def heights() -> None:
    rows = [
        (z, left(made.beside(made.jaws(), z - 4.0, z + 4.0))) for z in (4.0, 12.0, 20.0, 28.0, 36.0, 46.0)
    ]
    chart(
        "spacer-height",
        "Spacers at the height of the grip leave least",
        "height of the spacers [mm]; the grip is at 46.75",
        "left in use [µm]",
        curves=[
            Curve("taper, both walls", [(z, v[0]) for z, v in rows]),
            Curve("shift, fixed wall", [(z, v[1]) for z, v in rows]),
        ],
    )  # fmt: skip


def low_spacers() -> None:
    """How the fixed wall stands over the height of the grip, however the jaws were cut."""
    j = made.jaws()
    m = elastic.model(made.hold(j), j, None, "6061-T6")
    assert m is not None
    w = m.jaws["fixed"].walls
    pressed, _ = elastic.even_states(m, "fixed", MOUNT, FORCE)
    levels = sorted({round(float(z), 6) for z in w.middle[:, 2]})
    curves = []
    for name, z in (("spacers at 46", 46.0), ("at 28", 28.0), ("at 14", 14.0), ("no spacers", None)):
        stack = None if z is None else made.beside(j, z - 4.0, z + 4.0).stack
        cut = elastic.cut_state(m, MOUNT, stack, FORCE if stack is not None else 0.0)
        assert cut is not None
        off = (pressed - cut.wall["fixed"]) * 1e3
        rows = [abs(w.middle[:, 2] - level) < 1e-6 for level in levels]
        mean = [float((off[r] * w.area[r]).sum() / w.area[r].sum()) for r in rows]
        curves.append(Curve(name, [(round(v - 43.5, 1), y) for v, y in zip(levels, mean, strict=True)]))
    chart(
        "low-spacers", "Low spacers: in use the wall stands open, and open at its top",
        "height over the pocket's floor [mm]", "fixed wall, off where it was cut [µm]", curves=curves,
    )  # fmt: skip


def torques() -> None:
    j = made.beside(made.jaws(), 42.0, 50.0)
    low = made.beside(made.jaws(), 10.0, 18.0)
    shares = (0.0, 25.0, 50.0, 75.0, 100.0, 125.0)
    chart(
        "cutting-force", "Cutting at the clamp force of the run beats half of it",
        "clamp force while cutting [% of the run's]",
        "taper, both walls [µm]",
        curves=[
            Curve("spacers at 46", [(s, left(j, cut=FORCE * s / 100)[0]) for s in shares]),
            Curve("spacers at 14", [(s, left(low, cut=FORCE * s / 100)[0]) for s in shares]),
        ],
    )  # fmt: skip


def jaw_heights() -> None:
    tall = (44.0, 50.0, 57.0, 64.0, 76.0)
    rows = {
        t: [(h, left(made.jaws(height=h, thickness=t, stack=(10, 30)))[0]) for h in tall]
        for t in (25.0, 38.0)
    }
    chart(
        "jaw-height", "Short jaws leave less than tall ones", "height of the jaws [mm], vise to 44",
        "taper, both walls [µm]",
        curves=[Curve(f"{t:g} mm thick", rows[t]) for t in rows],
    )  # fmt: skip


def steel() -> None:
    mounts = (3e8, 1e9, 3e9, 1e10, 1e11)
    out = []
    for name, material in (("aluminum", "6061-T6"), ("steel", "1018 cold drawn")):
        j = made.jaws(height=57.0, material=material)
        out.append(
            Curve(
                name,
                [(k, left(j, mounts=Mounts(s, s / 2e3), cut=0.0)[0]) for k, s in enumerate(mounts)],
            )
        )
    ratio = out[0].points[-1][1] / out[1].points[-1][1]
    chart(
        "steel", f"Steel gives {ratio:.2f} times less on a stiff mount, little less on a soft",
        "tilt stiffness of the mount [N·mm/rad]",
        "taper if cut free [µm]", curves=out, ticks=("3e8", "1e9", "3e9", "1e10", "1e11"),
    )  # fmt: skip


if __name__ == "__main__":
    heights()
    low_spacers()
    torques()
    jaw_heights()
    steel()
