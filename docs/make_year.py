"""Replay a workshop's year through the commands and write docs/year.md: `python docs/make_year.py`.

An invented workshop that makes dinghy winches: pawls, release levers and gussets in small lots. Every line
of the page is what a command said; measurements are drawn from known scatter, one thing wrong in each
run. Takes a few minutes.
"""

from __future__ import annotations

import contextlib
import csv
import importlib
import io
import json
import os
import re
import shutil
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from jawright import kernel
from jawright.doors.cli.main import main
from jawright.statistics.draw import stream

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "jawright" / "data" / "demo"
KINDS = ROOT / "examples" / "kinds"
PAGE = ROOT / "docs" / "year.md"
Floats = NDArray[np.float64]

DRILL, CLAMP, SIZE = 0.0055, 0.003, 0.03
"""What is true in this workshop [mm, one sigma]: place of a drilled hole, clamping, size of a part."""

DATES = re.compile(r"\d{4}-\d{2}-\d{2}(T[\d:]+Z)?")


@dataclass(frozen=True, slots=True)
class Said:
    """A command, its exit code and what it printed."""

    command: str
    code: int
    text: str


def say(command: str) -> Said:
    """Run one command of the program in this process."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()) as err:
        words = [w.strip('"') for w in re.findall(r'"[^"]*"|\S+', command)]
        code = main(words)
    text = out.getvalue() or err.getvalue()
    print(f"{code}  jawright {command}", flush=True)
    return Said(command, code, DATES.sub("(date)", text))


def run_file(
    name: str, holes: list[str], parts: int, wrong: Callable[[Floats, Floats], tuple[Floats, Floats]]
) -> None:
    """Measurements of a run: ``wrong`` gives what is added to X and the offset changes, from order and X."""
    rng = stream(f"year {name}")
    order = np.arange(parts, dtype=float)
    size = rng.normal(0, SIZE, parts)
    seat = rng.normal(0, CLAMP, (2, parts))
    place = rng.normal(0, DRILL, (len(holes), 2, parts))
    added, offset = wrong(order, seat[0] + place[0, 0])
    with Path(name).open("w", encoding="utf-8", newline="") as f:
        out = csv.writer(f)
        heads = [f"{h}_{a}_mm" for h in holes for a in "xy"]
        out.writerow(["part", "time_min", "size_mm", *heads, "offset_x_mm"])
        for k in range(parts):
            cells = [
                f"{place[i, a, k] + seat[a, k] + (added[k] if a == 0 else 0.0):.4f}"
                for i in range(len(holes))
                for a in range(2)
            ]
            out.writerow([k + 1, f"{4.5 * k:.1f}", f"{42 + size[k]:.3f}", *cells, f"{offset[k]:.4f}"])


def warm_up(order: Floats, _: Floats) -> tuple[Floats, Floats]:
    """The machine creeps for the first hour."""
    return 0.09 * np.exp(-order / 6.0), np.zeros(len(order))


def chased(order: Floats, x: Floats) -> tuple[Floats, Floats]:
    """The operator dials every part's deviation into the offset of the next."""
    shift = np.zeros(len(order))
    change = np.zeros(len(order))
    for k in range(1, len(order)):
        change[k] = round(-(x[k - 1] + shift[k - 1]), 3)
        shift[k] = shift[k - 1] + change[k]
    return shift, change


def as_it_is(order: Floats, _: Floats) -> tuple[Floats, Floats]:
    """Nothing but scatter."""
    return np.zeros(len(order)), np.zeros(len(order))


def prepare() -> None:
    """The workshop's files in the folder we stand in."""
    for name in ("shop.toml", "pawl.step"):
        shutil.copy(DEMO / name, name)
    pawl = (DEMO / "pawl.toml").read_text("utf-8")
    # a thick, high pair: it can be turned over and faced later
    Path("pawl.toml").write_text(pawl.replace('vise = "V150"', 'vise = "V150"\nblank = "A40x60"'), "utf-8")
    Path("pawl-again.toml").write_text(pawl, "utf-8")
    Path("pawl-c.toml").write_text(pawl.replace('revision = "B"', 'revision = "C"'), "utf-8")
    sys.path.insert(0, str(ROOT / "examples"))
    parts = importlib.import_module("make_kinds").PARTS
    for kind in ("lever", "triangle"):
        Path(f"{kind}.step").write_bytes(kernel.step_text({kind: parts[kind]()}, title=kind))
        shutil.copy(KINDS / f"{kind}.toml", f"{kind}.toml")


HOLES = ["pin_hole_1", "pin_hole_2"]


def year() -> Iterator[tuple[str, str, list[Said]]]:
    """Month, what happens, and the commands."""
    made = say("plan pawl.toml --out january")
    kept = say("rack add january/record.json --place A-3-2")
    say("rack label J-0001")
    out = say('rack out J-0001 --to "mill 2"')
    run_file("january.csv", HOLES, 40, warm_up)
    told = say("diagnose january.csv --record january/record.json")
    back = say("rack in J-0001 --parts 40")
    yield (
        "January",
        "The first order of pawls. New jaws, in a thick and high pair.",
        [made, kept, out, told, back],
    )

    used = say("plan pawl-again.toml --rack --out march")
    seats = [
        say(f'rack seat J-0001 --x "{x} mm" --y "{y} mm"')
        for x, y in ((0.006, -0.004), (-0.005, 0.003), (0.003, 0.007))
    ]
    run_file("march.csv", HOLES, 40, chased)
    told = say("diagnose march.csv --record march/record.json")
    yield "March", "Pawls again. The jaws are on the rack; a new man at the mill chases his offset.", [
        used, seats[-1], told,
    ]  # fmt: skip

    found = say("rack find lever.toml --most 1")
    flipped = say("plan lever.toml --rack --pair J-0001 --way flip --out may")
    kept = say("rack add may/record.json --to-pair J-0001 --side back")
    yield "May", "Release levers, a new part. The pair's other side is free.", [found, flipped, kept]

    made = say("plan triangle.toml --rack --out july")
    kept = say("rack add july/record.json --place A-3-3")
    yield "July", "Gussets. Nothing on the rack takes them.", [made, kept]

    run_file("september.csv", HOLES, 60, as_it_is)
    told = say("diagnose september.csv --record march/record.json")
    took = say("adopt september.csv --record march/record.json --shop shop.toml --rack rack.db --write")
    yield (
        "September",
        "A long run of pawls shows that the workshop's drills do better than its shop file said.",
        [told, took],
    )

    faced = say("plan pawl-c.toml --rack --pair J-0001 --way face --out november")
    kept = say("rack add november/record.json --to-pair J-0001 --side front")
    yield "November", "Pawl revision C. The pair is worn: it is faced and cut anew, by the new figures.", [
        faced, kept,
    ]  # fmt: skip

    listed = [
        say(c) for c in ("rack list", "rack export rack.json", "rack backup rack-copy.db", "rack check")
    ]
    yield "December", "What there is, and a copy of it.", listed


def shown(s: Said) -> str:
    """A command and its first lines, as they stand on a screen of a hundred columns."""
    lines = s.text.rstrip().splitlines()
    cut = next((i for i, line in enumerate(lines) if line.startswith("Wrote ")), len(lines))
    stock = next((i for i, line in enumerate(lines) if line.startswith("Blanks in stock")), cut)
    after = [line for line in lines[stock + 1 : cut] if not line.startswith("  ")]
    lines = [*lines[: min(stock, cut)], *after]
    more = [f"... ({len(lines) - 16} more lines)"] if len(lines) > 16 else []
    return "\n".join([f"$ jawright {s.command}", *lines[:16], *more, f"(exit code {s.code})"])


def totals() -> list[str]:
    """Minutes and money of the plans' own ways against new jaws every time."""
    rows = [
        "| plan | way | minutes | money | new jaws: minutes | money |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    own = new = 0.0
    shop = tomllib.loads(Path("shop.toml").read_text("utf-8"))
    price = next(b["price"] for b in shop["blank"] if b["id"] == "A40x60")
    for name in ("january", "march", "may", "july", "november"):
        data = json.loads(Path(name, "record.json").read_text("utf-8"))
        n = data["job"]["quantity"]
        ways = {c["way"]: c["items"] for c in data["costs"]}

        def spent(items: list[dict[str, object]], key: str, n: int = n) -> float:
            return sum(float(str(i[key])) * (n if i["each"] else 1) for i in items)

        d = data["decision"]
        anew = "new soft jaws" not in ways  # cut in a kept pair's metal, whose blanks are paid for
        # a new pair is cut alike, without facing; what two bought blanks cost is added
        fresh = ways["jaws from the rack, cut anew" if anew else "new soft jaws"]
        fresh = [i for i in fresh if not str(i["what"]).startswith("face the tops")]
        blank = 2 * price if anew else 0.0
        own += d["money"]
        new += spent(fresh, "money") + blank
        rows.append(
            f"| {name} | {d['kind']} | {d['minutes']:.0f} | {d['money']:.0f} "
            f"| {spent(fresh, 'minutes'):.0f} | {spent(fresh, 'money') + blank:.0f} |"
        )
    return [*rows, f"| **together** | | | **{own:.0f}** | | **{new:.0f}** |"]


def write() -> None:
    """Replay and write the page."""
    here = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.environ.pop("JAWRIGHT_RACK", None)
        os.environ["COLUMNS"] = "100"
        try:
            prepare()
            parts = ["# A workshop's year", "", *INTRO]
            for month, words, said in year():
                parts += ["", f"## {month}", "", words, ""]
                for s in said:
                    parts += ["```text", shown(s), "```", ""]
            parts += ["## What it came to", "", *totals(), "", *OUTRO]
        finally:
            os.chdir(here)
    PAGE.write_text(re.sub(r"\n{3,}", "\n\n", "\n".join(parts)) + "\n", "utf-8")
    print(f"wrote {PAGE.name}")


INTRO = [
    "An invented workshop for dinghy winches, replayed through the commands by `python docs/make_year.py`.",
    "Parts, shop and measurements are invented; every line below is what the program said. The runs of",
    "January and March have one thing wrong on purpose. What is true here: drilled holes scatter by",
    f"{DRILL} mm, one sigma, along each axis, clamping by {CLAMP} mm; the shop file said otherwise until",
    "September.",
]
OUTRO = [
    "Money and minutes are of the whole lot, by the rates in the shop file. A pair from the rack saves bar,",
    "desk and cutting; cut anew it saves the bar and keeps its place in the register.",
]

if __name__ == "__main__":
    write()
