"""Random parts in random shops through the whole plan: a record or one sentence, never a blind pass.

    python trust/random_jobs.py --first 0 --count 150 --counts FILE [--keep]

Each part is a random outline of lines and arcs, extruded, with random holes; its job asks for a random
operation, datums and tolerances; its shop is the demo workshop with things taken away. With ``--keep``
the jobs that an interrupted run wrote into the file are not planned again.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import re
import tempfile
import time
import traceback
from importlib import resources
from pathlib import Path

from jawright import kernel, record_json
from jawright.conductor import plan
from jawright.errors import CODES, JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.winding import inside_profile
from jawright.job.read import read_job
from jawright.papers.bundle import files as paper_files
from jawright.papers.jaw_files import jaw_files
from jawright.record import Record
from jawright.shop.read import read_shop

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
SHOP = (DEMO / "shop.toml").read_text(encoding="utf-8")
METALS = ("6061-T6", "7075-T6", "1018", "4140", "304")
Point = tuple[float, float]


def rounded(corners: list[Point], radii: list[float]) -> Profile:
    """A polygon, counterclockwise, its corners rounded where the sides leave room; sharp for radius 0."""
    n = len(corners)
    cut = []
    for i, b in enumerate(corners):
        a, c = corners[i - 1], corners[(i + 1) % n]
        la, lc = math.dist(a, b), math.dist(c, b)
        u = ((a[0] - b[0]) / la, (a[1] - b[1]) / la)
        v = ((c[0] - b[0]) / lc, (c[1] - b[1]) / lc)
        half = math.acos(max(-1.0, min(1.0, u[0] * v[0] + u[1] * v[1]))) / 2
        r = min(radii[i], 0.4 * min(la, lc) * math.tan(half))
        if r < 0.2 or half > 1.55:
            cut.append((b, b, None, True))
            continue
        t = r / math.tan(half)
        way = math.hypot(u[0] + v[0], u[1] + v[1])
        center = (
            b[0] + (u[0] + v[0]) / way * r / math.sin(half),
            b[1] + (u[1] + v[1]) / way * r / math.sin(half),
        )
        left = u[0] * v[1] - u[1] * v[0] < 0
        cut.append(((b[0] + u[0] * t, b[1] + u[1] * t), (b[0] + v[0] * t, b[1] + v[1] * t), center, left))
    curves: list[Line | Arc] = []
    for i, (start, end, middle, left) in enumerate(cut):
        if middle is not None:
            curves.append(Arc(start, end, middle, left))
        curves.append(Line(end, cut[(i + 1) % n][0]))
    return Profile(tuple(curves))


def outline(rng: random.Random) -> Profile:
    """One of the kinds of outlines that shops see."""
    kind = rng.choice(("star", "convex", "block", "ell", "disc", "wedge", "tee"))
    w, h = rng.uniform(15, 110), rng.uniform(10, 60)
    if kind == "disc":
        return circle((0.0, 0.0), rng.uniform(8, 35))
    if kind == "block":
        return rectangle(0.0, 0.0, w, h)
    if kind == "ell":
        a, b = w * rng.uniform(0.3, 0.6), h * rng.uniform(0.3, 0.6)
        pts = [(0.0, 0.0), (w, 0.0), (w, b), (a, b), (a, h), (0.0, h)]
    elif kind == "tee":
        a, b = w * rng.uniform(0.2, 0.4), h * rng.uniform(0.3, 0.6)
        pts = [(0.0, 0.0), (w, 0.0), (w, b), (w - a, b), (w - a, h), (a, h), (a, b), (0.0, b)]
    elif kind == "wedge":
        pts = [(0.0, 0.0), (w, 0.0), (w, h * rng.uniform(0.4, 0.9)), (0.0, h)]
    else:
        n = rng.randint(3, 9)
        spread = (0.9, 1.0) if kind == "convex" else (0.5, 1.0)
        turns = sorted((i + rng.uniform(0, 0.5)) * 2 * math.pi / n for i in range(n))
        size = rng.uniform(12, 40)
        pts = [
            (size * rng.uniform(*spread) * math.cos(t), size * rng.uniform(*spread) * math.sin(t))
            for t in turns
        ]
    return rounded(pts, [rng.choice((0.0, rng.uniform(0.5, 8.0))) for _ in pts])


def part(rng: random.Random) -> tuple[bytes, Profile, float, list[tuple[Point, float]]]:
    """The solid, its outline, its thickness, and its holes."""
    profile, thick = outline(rng), rng.choice((rng.uniform(2, 6), rng.uniform(6, 30), rng.uniform(30, 60)))
    solid = kernel.extrude(Region(profile), 0.0, thick)
    x0, y0, x1, y1 = profile.box
    holes: list[tuple[Point, float]] = []
    for _ in range(rng.randint(0, 3)):
        at, d = (rng.uniform(x0, x1), rng.uniform(y0, y1)), rng.choice((3.0, 5.0, 6.6, 10.0))
        room = d / 2 + 1.5
        ring = [
            (at[0] + room * math.cos(k * math.pi / 8), at[1] + room * math.sin(k * math.pi / 8))
            for k in range(16)
        ]
        inside = kernel.inside(solid, [(*p, thick / 2) for p in (at, *ring)])
        if all(inside) and all(math.dist(at, p) > (d + e) / 2 + 2 for p, e in holes):
            holes.append((at, d))
            solid = kernel.cut(solid, kernel.cylinder((*at, -1.0), (0.0, 0.0, 1.0), d / 2, thick + 2))
    return solid, profile, thick, holes


def job_text(rng: random.Random, profile: Profile, thick: float, holes: list[tuple[Point, float]]) -> str:
    """A job with a random choice of what it says."""
    up = rng.choice(("+Z", "+Z", "-Z"))
    bottom = 0.0 if up == "+Z" else thick
    out = [
        'units = "mm"',
        "[job]",
        f'name = "trial" \npart_number = "T-1"\nquantity = {rng.choice((1, 5, 40, 1000))}',
        f'[part]\nfile = "part.step"\nmaterial = "{rng.choice(METALS)}"',
        f'[hold]\nup = "{up}"',
    ]
    straight = [c for c in profile.curves if isinstance(c, Line) and c.length > 5]
    letters = []
    middle = profile_middle(profile)
    if middle is not None and rng.random() < 0.9:
        letters.append("A")
        out.append(f'[[datum]]\nletter = "A"\nat = [{middle[0]}, {middle[1]}, {bottom}]')
        for letter, side in zip("BC", rng.sample(straight, min(2, len(straight))), strict=False):
            p = side.at(0.5)
            letters.append(letter)
            out.append(f'[[datum]]\nletter = "{letter}"\nat = [{p[0]}, {p[1]}, {thick / 2}]')
    depth = rng.choice((0.3, 0.8, 2.0))
    out.append(f'[[feature]]\nname = "face"\nkind = "face"\ndepth = {depth}')
    for i, (at, d) in enumerate(holes):
        wall = (at[0] + d / 2, at[1], thick / 2)
        out.append(f'[[feature]]\nname = "hole {i}"\nkind = "{rng.choice(("drill", "drill", "bore"))}"')
        out.append(f"at = [{wall[0]}, {wall[1]}, {wall[2]}]")
        if letters and rng.random() < 0.8:
            refs, zone = json.dumps(letters), rng.choice((0.02, 0.1, 0.5))
            out.append(f'[[tolerance]]\nfeature = "hole {i}"\nkind = "position"\nzone = "{zone} mm"')
            out.append(f"diametral = true\ndatums = {refs}")
    if rng.random() < 0.5:
        edge = rng.choice((0.0, 0.3, 1.0))
        out.append(f'[incoming]\nprofile = "{rng.choice((0.05, 0.4, 1.5))} mm"\nedge_break = "{edge} mm"')
    if rng.random() < 0.5:
        out[1] += '\ngeneral = "ISO 2768-m"'
    return "\n".join(out) + "\n"


def profile_middle(profile: Profile) -> Point | None:
    """A point well inside, of a grid; None when none of them is."""
    x0, y0, x1, y1 = profile.box
    grid = [(x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * j / 8) for i in range(1, 8) for j in range(1, 8)]
    wall = [c.at(t / 4) for c in profile.curves for t in range(5)]
    within = [p for p, good in zip(grid, inside_profile(profile, grid), strict=True) if good]
    return max(within, key=lambda p: min(math.dist(p, q) for q in wall), default=None)


def shop_text(rng: random.Random) -> str:
    """The demo workshop with a random share of its things."""
    parts = re.split(r"(?m)^(?=\[)", SHOP)
    keep = rng.choice((1.0, 1.0, 1.0, 0.8, 0.5))
    return "".join(
        p for p in parts if not re.match(r"\[\[(blank|parallel|cutter)\]\]", p) or rng.random() < keep
    )


def check(record: Record) -> None:
    """What must be true of any record."""
    text = record_json.dumps(record)
    assert "NaN" not in text and "Infinity" not in text, "a number that is none"
    assert record_json.dumps(record_json.loads(text)) == text, "the record changes when it is read again"
    for p in record.proofs:
        if p.verdict in ("pass", "fail"):
            assert p.value is not None or p.limit is None, f"{p.name}: {p.verdict} without a number"
        if p.verdict == "unknown":
            assert p.supply or p.assumptions, f"{p.name}: unknown, and nothing said what to supply"
    if record.ready:
        assert {p.question for p in record.proofs} == {"loads", "sits", "grips", "holds", "locates", "clears"}
        assert all(p.verdict in ("pass", "caution") for p in record.proofs)
        assert record.jaws is None or (record.verification is not None and record.verification.verified)
    else:
        assert record.decision.sentence


def one(seed: int, folder: Path) -> str:
    """How one random job ends: ready, open, or the code it was refused with."""
    rng = random.Random(seed)
    solid, profile, thick, holes = part(rng)
    (folder / "part.step").write_bytes(kernel.step_text({"part": solid}, title="part"))
    (folder / "job.toml").write_text(job_text(rng, profile, thick, holes), encoding="utf-8")
    (folder / "shop.toml").write_text(shop_text(rng), encoding="utf-8")
    try:
        record = plan(read_job(folder / "job.toml"), read_shop(folder / "shop.toml"), made="2026-01-02")
        check(record)
        paper_files(record, jaw_files(record))
    except JawrightError as error:
        told = str(error)
        assert error.code in CODES and "\n" not in told and "Traceback" not in told, told
        return error.code
    return "ready" if record.ready else f"open: {record.decision.kind}"


def main() -> None:
    """Plan a row of random jobs; write how they ended."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--count", type=int, default=20)
    ask.add_argument("--counts", type=Path, required=True)
    ask.add_argument("--keep", action="store_true")
    args = ask.parse_args()
    old = json.loads(args.counts.read_text()) if args.keep and args.counts.exists() else {}
    seeds: dict[str, str] = {s: end for s, end in old.get("seeds", {}).items() if end != "BROKEN"}
    broken: list[str] = []
    slowest = tuple(old.get("slowest", (0.0, -1)))
    with tempfile.TemporaryDirectory() as name:
        for seed in range(args.first, args.first + args.count):
            if str(seed) in seeds:
                continue
            start = time.process_time()
            try:
                end = one(seed, Path(name))
            except Exception:
                end = "BROKEN"
                broken.append(f"seed {seed}: {traceback.format_exc(limit=-4)}")
                print(broken[-1], flush=True)
            slowest = max(slowest, (time.process_time() - start, seed))
            seeds[str(seed)] = end
            ends = {e: list(seeds.values()).count(e) for e in seeds.values()}
            args.counts.write_text(
                json.dumps(
                    {
                        "jobs": len(seeds),
                        "ends": ends,
                        "broken": broken,
                        "slowest": slowest,
                        "seeds": seeds,
                    }
                )
            )


if __name__ == "__main__":
    main()
