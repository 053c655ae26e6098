"""Damaged STEP files: each is read, or refused in one sentence; none crashes, hangs or shows a traceback.

The kinds of damage are those of a bad copy or transfer (flipped bits, missing and doubled pieces)
and of a careless edit (other digits, other references, other numbers).
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import CODES, JawrightError
from jawright.part.read import read_part
from part.shapes import block, pawl, written


def flip_bits(data: bytearray, rng: random.Random) -> bytearray:
    for _ in range(rng.randint(1, 8)):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return data


def change_digits(data: bytearray, rng: random.Random) -> bytearray:
    digits = [i for i, b in enumerate(data) if 48 <= b < 58]
    for i in rng.sample(digits, min(len(digits), rng.randint(1, 10))):
        data[i] = 48 + rng.randrange(10)
    return data


def lose_piece(data: bytearray, rng: random.Random) -> bytearray:
    start = rng.randrange(len(data))
    del data[start : start + rng.randint(1, 400)]
    return data


def double_piece(data: bytearray, rng: random.Random) -> bytearray:
    start = rng.randrange(len(data))
    piece = data[start : start + rng.randint(1, 400)]
    return data[:start] + piece + data[start:]


def cut_off(data: bytearray, rng: random.Random) -> bytearray:
    return data[: rng.randrange(len(data))]


def change_references(data: bytearray, rng: random.Random) -> bytearray:
    text = data.decode("latin-1")
    spots = list(re.finditer(r"[(,]#(\d+)", text))
    for spot in sorted(rng.sample(spots, rng.randint(1, 4)), key=lambda m: -m.start()):
        other = rng.choice(spots).group(1)
        text = text[: spot.start(1)] + other + text[spot.end(1) :]
    return bytearray(text.encode("latin-1"))


def huge_numbers(data: bytearray, rng: random.Random) -> bytearray:
    text = data.decode("latin-1")
    spots = list(re.finditer(r"-?\d+\.\d*(?:E[-+]?\d+)?", text))
    for spot in sorted(rng.sample(spots, min(len(spots), 3)), key=lambda m: -m.start()):
        text = text[: spot.start()] + rng.choice(("1.E300", "-1.E30", "0.", "1.E-300")) + text[spot.end() :]
    return bytearray(text.encode("latin-1"))


DAMAGE = (flip_bits, change_digits, lose_piece, double_piece, cut_off, change_references, huge_numbers)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """A plain part and one with rounds, slants and a torus."""
    folder = tmp_path_factory.mktemp("sound")
    ring = kernel.torus((0.0, 0.0, 12.0), (0.0, 0.0, 1.0), 15.0, 2.0)
    round_part = kernel.fuse(kernel.cylinder((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 20.0, 12.0), ring)
    shapes = [pawl(), round_part, kernel.cut(block(40.0, 30.0, 10.0), ring)]
    return [written(folder, f"{i}.step", s).read_bytes() for i, s in enumerate(shapes)]


def outcome(path: Path) -> str:
    """ "read", or the code of the one sentence it was refused with."""
    try:
        part = read_part(path)
    except JawrightError as e:
        assert e.code in CODES and "Traceback" not in str(e) and "\n" not in str(e), str(e)
        assert str(e).startswith(path.name), str(e)
        return e.code
    assert part.volume > 0 and part.faces
    return "read"


def damaged(sound: list[bytes], seed: int, path: Path) -> str:
    rng = random.Random(seed)
    data = bytearray(sound[seed % len(sound)])
    path.write_bytes(DAMAGE[seed % len(DAMAGE)](data, rng))
    return outcome(path)


def test_a_dozen_damaged_files(sound: list[bytes], tmp_path: Path) -> None:
    found = [damaged(sound, seed, tmp_path / f"{seed}.step") for seed in range(14)]
    assert set(found) - {"read"}, found  # some damage must have been noticed


@pytest.mark.long
@pytest.mark.parametrize("start", range(0, 500, 50))
def test_five_hundred_damaged_files(sound: list[bytes], tmp_path: Path, start: int) -> None:
    found = [damaged(sound, seed, tmp_path / f"{seed}.step") for seed in range(start, start + 50)]
    assert set(found) - {"read"}, found
