"""Damaged STEP, DXF and register files through the whole reading: a value or one sentence, in time.

    python trust/damage.py step --count 500 --counts FILE

The damage is that of a bad copy or transfer (flipped bits, pieces missing, doubled or moved, cut off) and of
a careless edit (other digits, other numbers, other references).
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import sqlite3
import tempfile
import time
import traceback
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import ezdxf

from jawright import kernel, record_json
from jawright.conductor import plan
from jawright.errors import CODES, JawrightError
from jawright.geometry.profile import Region, rectangle
from jawright.job.read import read_job
from jawright.part.read import read_part
from jawright.rack.store import Rack
from jawright.shop.read import read_shop

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
SLOW = 60.0
"""Seconds after which a reading counts as hanging, on a machine with nothing else to do; the reading child
ends itself well before, by its own processor time."""


def slow() -> float:
    """The same on this machine as busy as it is."""
    return SLOW * max(1.0, os.getloadavg()[0] / (os.cpu_count() or 1))


def flip_bits(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def change_digits(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    digits = [i for i, b in enumerate(out) if 48 <= b < 58]
    for i in rng.sample(digits, min(len(digits), rng.randint(1, 10))):
        out[i] = 48 + rng.randrange(10)
    return bytes(out)


def lose_piece(data: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data))
    return data[:start] + data[start + rng.randint(1, 400) :]


def double_piece(data: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data))
    return data[: start + rng.randint(1, 400)] + data[start:]


def cut_off(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def swap_lines(data: bytes, rng: random.Random) -> bytes:
    rows = data.splitlines(keepends=True)
    for _ in range(rng.randint(1, 4)):
        i, j = rng.randrange(len(rows)), rng.randrange(len(rows))
        rows[i], rows[j] = rows[j], rows[i]
    return b"".join(rows)


def odd_numbers(data: bytes, rng: random.Random) -> bytes:
    text = data.decode("latin-1")
    spots = list(re.finditer(r"-?\d+\.\d*(?:E[-+]?\d+)?", text))
    for spot in sorted(rng.sample(spots, min(len(spots), 3)), key=lambda m: -m.start()):
        other = rng.choice(("1.E300", "-1.E30", "0.", "1.E-300", "nan", "-", "1.0.0"))
        text = text[: spot.start()] + other + text[spot.end() :]
    return text.encode("latin-1")


def other_references(data: bytes, rng: random.Random) -> bytes:
    text = data.decode("latin-1")
    spots = list(re.finditer(r"[(,]#(\d+)", text))
    for spot in sorted(rng.sample(spots, min(len(spots), rng.randint(1, 4))), key=lambda m: -m.start()):
        text = text[: spot.start(1)] + rng.choice(spots).group(1) + text[spot.end(1) :]
    return text.encode("latin-1")


PLAIN = (flip_bits, change_digits, lose_piece, double_piece, cut_off, swap_lines, odd_numbers)
RECORD = (flip_bits, change_digits, lose_piece, double_piece, cut_off, odd_numbers)
KINDS: dict[str, tuple[Callable[[bytes, random.Random], bytes], ...]] = {
    "step": (*PLAIN, other_references),
    "dxf": PLAIN,
    "register": (flip_bits, lose_piece, double_piece, cut_off),
    "record": RECORD,
}


def sound_step(_: Path) -> list[bytes]:
    ring = kernel.torus((0.0, 0.0, 12.0), (0.0, 0.0, 1.0), 15.0, 2.0)
    block = kernel.extrude(Region(rectangle(-20.0, -15.0, 20.0, 15.0)), 0.0, 12.0)
    odd = kernel.step_text({"odd": kernel.cut(block, ring)}, title="odd")
    plate = kernel.extrude(Region(rectangle(0.0, 0.0, 60.0, 30.0)), 0.0, 9.0)
    drilled = kernel.cut(plate, kernel.cylinder((20.0, 15.0, -1.0), (0.0, 0.0, 1.0), 4.0, 12.0))
    holes = kernel.step_text({"holes": drilled}, title="holes")
    return [(DEMO / "pawl.step").read_bytes(), odd, holes]


def sound_dxf(folder: Path) -> list[bytes]:
    out = []
    for version in ("R12", "R2000", "R2018"):
        drawing = ezdxf.new(version, setup=False)
        if version != "R12":  # which has no place for its unit
            drawing.header["$INSUNITS"] = 4
        space = drawing.modelspace()
        space.add_circle((20.0, 12.0), 4.0)
        corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (30.0, 32.0), (0.0, 25.0)]
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            space.add_line(a, b)
        path = folder / f"{version}.dxf"
        drawing.saveas(path)
        out.append(path.read_bytes())
    return out


def sound_register(folder: Path) -> list[bytes]:
    path = folder / "rack.db"
    Rack(path, now=lambda: "2026-01-02T03:04:05Z").close()
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    db.close()
    return [path.read_bytes()]


def sound_record(_: Path) -> list[bytes]:
    record = plan(read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml"), made="2026-01-02")
    return [record_json.dumps(record).encode()]


def read_step(path: Path) -> None:
    part = read_part(path)
    assert part.volume > 0 and part.faces


def read_dxf(path: Path) -> None:
    part = read_part(path, thickness=8.0, unit="mm")
    assert part.volume > 0 and part.faces


def read_register(path: Path) -> None:
    for tail in ("-wal", "-shm"):
        path.with_name(path.name + tail).unlink(missing_ok=True)
    with Rack(path) as rack:
        rack.all()


def read_record(path: Path) -> None:
    record = record_json.load(path)
    assert record_json.loads(record_json.dumps(record)) == record


SOUND = {"step": sound_step, "dxf": sound_dxf, "register": sound_register, "record": sound_record}
READ = {"step": read_step, "dxf": read_dxf, "register": read_register, "record": read_record}


ENDINGS = {"register": "db", "record": "json"}


def main() -> None:
    """Damage and read files of one kind; write how they ended."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("kind", choices=sorted(KINDS))
    ask.add_argument("--count", type=int, default=500)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--counts", type=Path, required=True)
    args = ask.parse_args()
    ends: dict[str, int] = {}
    broken: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sound = SOUND[args.kind](folder)
        kinds = KINDS[args.kind]
        path = folder / f"damaged.{ENDINGS.get(args.kind, args.kind)}"
        for seed in range(args.first, args.first + args.count):
            rng = random.Random(seed)
            path.write_bytes(kinds[seed % len(kinds)](rng.choice(sound), rng))
            start = time.monotonic()
            try:
                READ[args.kind](path)
                end = "read"
            except JawrightError as error:
                told = str(error)
                end = error.code
                if error.code not in CODES or "\n" in told or "Traceback" in told:
                    broken.append(f"seed {seed}: {told}")
            except Exception:
                end = "BROKEN"
                broken.append(f"seed {seed}: {traceback.format_exc(limit=-3)}")
                print(broken[-1], flush=True)
            if time.monotonic() - start > slow():
                broken.append(f"seed {seed}: took {time.monotonic() - start:.0f} s")
            ends[end] = ends.get(end, 0) + 1
    args.counts.write_text(json.dumps({"files": sum(ends.values()), "ends": ends, "broken": broken}))


if __name__ == "__main__":
    main()
