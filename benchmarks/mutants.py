"""Spoil good programs in many ways and see whether the check notices: a table of what became of them.

    python benchmarks/mutants.py [--count 1000] [--good 200] [--jobs 2] [--page docs/mutants.md]

Every spoiled program must be caught, or a second judge (``tests/verify/mutants.py``: a height map that
shares no code with the check's areas) must find that it leaves the same metal safely. Good programs
in many formats must raise no alarm. Ends with 1 when one of the two fails.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "cutting")]

import pockets  # noqa: E402

import samples  # noqa: E402
from jawright.cutting.bar import write_blank  # noqa: E402
from jawright.cutting.program import write  # noqa: E402
from jawright.jaws.bar import hold_bar  # noqa: E402
from jawright.shop.model import NcFormat  # noqa: E402
from verify import mutants  # noqa: E402
from verify.mutants import KINDS, Base, Outcome, outcome  # noqa: E402
from verify.program import ORIGIN, good, jaws  # noqa: E402

WRITTEN = ("sample", "island", "wells", "round", "slanted")
BARS = {"blank from bar": 25.4, "blank from bar, not faced": 25.0}
HEAVY = ("neck, deep, steel, big cutter", "narrow neck, big cutter", "tight reliefs, big cutter")


def written(name: str, **how: object) -> Base:
    """A program of the writer for one of the test pockets, in a format."""
    jaws, shop = pockets.cases()[name]
    rear = bool(how.pop("rear", True))
    vise = replace(shop.vises[0], fixed_jaw_rear=rear)
    nc: NcFormat = replace(shop.nc, **how)  # type: ignore[arg-type]
    shop = replace(shop, nc=nc, vises=(vise,))
    p = write(jaws, shop, pockets.job(units=nc.units))
    return Base(name, p.text, p.origin, p.turned, jaws, shop, vise)


def by_hand(name: str, **how: bool) -> Base:
    """The program by plain formulas that the tests of the check use."""
    return Base(name, good(**how), ORIGIN, False, jaws(), samples.shop(), samples.vise())


def from_bar(name: str, *, thick: float, rear: bool = True, **how: object) -> Base:
    """The program that makes the test blank from a bar this thick [mm]."""
    nc: NcFormat = replace(samples.shop().nc, **{"line_numbers": False, **how})  # type: ignore[arg-type]
    vise = replace(samples.vise(), fixed_jaw_rear=rear)
    shop = replace(samples.shop(), nc=nc, vises=(vise,))
    bar = hold_bar(replace(samples.blank(), bar_thickness=thick), shop, vise)
    p = write_blank(bar, shop, pockets.job(units=nc.units), vise=vise)
    return Base(name, p.text, p.origin, p.turned, bar, shop, vise)


def bases() -> list[Base]:
    out = [written(n, line_numbers=False) for n in WRITTEN]
    out.append(written("sample", line_numbers=False, units="inch", decimals=4, rear=False))
    out.append(from_bar("blank from bar", thick=25.4))
    out.append(from_bar("blank from bar, inch", thick=25.0, rear=False, units="inch", decimals=4))
    return [*out, by_hand("by hand", spring=False), by_hand("by hand, compensated", comp=True)]


def formats(count: int) -> list[tuple[str, dict[str, object]]]:
    """Pockets and formats in turn until there are enough."""
    names = [*(n for n in pockets.cases() if n not in HEAVY), *BARS]
    out: list[tuple[str, dict[str, object]]] = []
    k = 0
    while len(out) < count:
        how: dict[str, object] = {
            "units": ("mm", "inch")[k % 2],
            "decimals": ((3, 4, 5), (4, 5, 6))[k % 2][k // 2 % 3],
            "line_numbers": k // 3 % 2 == 0,
            "split_arcs": k // 5 % 2 == 0,
            "machine_top": k // 7 % 3 != 0,
            "work_offset": f"G5{4 + k % 6}",
            "rear": k // 11 % 2 == 0,
        }
        out.append((names[k % len(names)], how))
        k += 1
    return out


@lru_cache(maxsize=1)
def kept() -> list[Base]:
    """The programs, made once a process: the second judge's grids hang on them."""
    return bases()


def one(task: tuple[int, str, int]) -> Outcome | None:
    base, kind, seed = task
    return outcome(kept()[base], kind, seed)


def spoiled(count: int, pool: Executor | None) -> list[Outcome]:
    """Every kind in turn on every program in turn, programs together so that a process keeps to few."""
    many, kinds = len(kept()), list(KINDS)
    out: list[Outcome] = []
    seed = 0
    while len(out) < count:
        tasks = []
        for _ in range(count - len(out)):
            tasks.append(((seed + seed // len(kinds)) % many, kinds[seed % len(kinds)], seed))
            seed += 1
        tasks.sort()
        chunk = max(1, min(25, len(tasks) // many))
        found = pool.map(one, tasks, chunksize=chunk) if pool else map(one, tasks)
        for k, o in enumerate(found, 1):
            out += [o] if o is not None else []
            if k % 50 == 0:
                print(f"{k} of {len(tasks)} tried", file=sys.stderr, flush=True)
    return out


def alarm(case: tuple[str, dict[str, object]]) -> tuple[str, dict[str, object], list[str]] | None:
    """A good program in a format: what the check has against it, if anything."""
    name, how = case
    base = from_bar(name, thick=BARS[name], **how) if name in BARS else written(name, **dict(how))  # type: ignore[arg-type]
    v = base.check(base.text)
    # the zones of some test pockets lie beside their walls
    odd = [f for f in v.findings if f.level != "noted" and "no wall could be measured" not in f.what]
    return (name, how, [f.what for f in v.findings][:2]) if not v.verified or odd else None


def table(found: list[Outcome]) -> list[str]:
    out = [
        "| what was done | programs | caught | same metal, safely | missed | said most |",
        "| --- | --: | --: | --: | --: | --- |",
    ]
    for kind in KINDS:
        of = [o for o in found if o.kind == kind]
        if not of:
            continue
        caught = [o for o in of if o.caught]
        same = [o for o in of if not o.caught and not o.why]
        words = Counter(w for o in caught for w in o.caught).most_common(3)
        said = ", ".join(w for w, _ in words)
        missed = len(of) - len(caught) - len(same)
        out.append(f"| {kind} | {len(of)} | {len(caught)} | {len(same)} | {missed} | {said} |")
    caught = sum(bool(o.caught) for o in found)
    same = sum(not o.caught and not o.why for o in found)
    out.append(f"| **all** | {len(found)} | {caught} | {same} | {len(found) - caught - same} | |")
    return out


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--good", type=int, default=200)
    parser.add_argument("--page", type=Path)
    parser.add_argument("--keep", type=Path, help="folder for the programs that were missed")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    args = parser.parse_args()
    pool = ProcessPoolExecutor(args.jobs) if args.jobs > 1 else None
    found = spoiled(args.count, pool)
    lines = table(found)
    print("\n".join(lines), flush=True)
    cases = formats(args.good)
    tried = pool.map(alarm, cases, chunksize=4) if pool else map(alarm, cases)
    alarms = [a for a in tried if a is not None]
    if pool:
        pool.shutdown()
    lines += ["", f"{args.good} good programs in as many formats: {len(alarms)} raised an alarm."]
    print(lines[-1])
    missed = [o for o in found if not o.caught and o.why]
    for o in missed:
        print("MISSED", o.kind, "on", o.base, *o.why[:3], sep="; ")
        if args.keep:
            args.keep.mkdir(parents=True, exist_ok=True)
            (args.keep / f"{o.kind} on {o.base}.nc".replace(" ", "_").replace("/", "_")).write_text(o.text)
    for a in alarms:
        print("ALARM", *a)
    if args.page:
        how = f"--count {args.count} --good {args.good} --page docs/mutants.md"
        head = f"# Spoiled programs\n\nWritten by `python benchmarks/mutants.py {how}`.\n\n"
        head += " ".join(mutants.__doc__.split()) + "\n\n"
        args.page.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    return 1 if missed or alarms else 0


if __name__ == "__main__":
    sys.exit(main())
