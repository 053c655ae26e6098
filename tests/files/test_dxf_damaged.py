"""Damaged drawings: read, or refused in one sentence; never a crash, a hang, a guess or a traceback."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest

from files.drawings import clutter, drawn, rounded
from jawright.errors import CODES, JawrightError
from jawright.files.dxf import read_outline
from jawright.part.read import read_part


def plain(space: Any, _: Any) -> None:
    rounded(space)
    space.add_circle((20, 10), 4)


def refusal(path: Path) -> JawrightError:
    with pytest.raises(JawrightError) as e:
        read_part(path, thickness=12.0)
    assert str(e.value).startswith(f"{path.name}: ") and "\n" not in str(e.value)
    return e.value


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        (b"", "file-empty", "empty"),
        (b"   \r\n\0", "file-empty", "empty"),
        (b"hello, this is no drawing", "file-not-dxf", "does not begin with a section"),
        (b"\x00\x01\x02" * 400, "file-not-dxf", "does not begin"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n", "file-broken", "EOF is missing"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n", "file-broken", "holds no outline"),
        (b"  0\nSECTION\n  0\nEOF\n", "file-broken", "no outline|beyond recovery"),
    ],
    ids=["empty", "blank", "text", "binary", "no end", "no entities", "no section name"],
)
def test_what_is_no_drawing(tmp_path: Path, data: bytes, code: str, words: str) -> None:
    path = tmp_path / "bad.dxf"
    path.write_bytes(data)
    error = refusal(path)
    assert error.code == code
    assert re.search(words, str(error))


def edited(tmp_path: Path, old: str, new: str, draw: Any = plain) -> Path:
    path = drawn(tmp_path / "edited.dxf", draw)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_a_file_cut_off_is_refused(tmp_path: Path) -> None:
    path = drawn(tmp_path / "cut.dxf", plain)
    data = path.read_bytes()
    for share in (0.2, 0.5, 0.9, 0.99):
        path.write_bytes(data[: int(share * len(data))])
        assert "EOF is missing" in refusal(path).what


def test_a_missing_end_is_not_filled_in(tmp_path: Path) -> None:
    """The library would put the end of such a line at the origin."""
    path = edited(tmp_path, " 11\n37.0\n 21\n0.0\n 31\n0.0\n", "")
    error = refusal(path)
    assert error.code == "file-broken" and "has no end" in error.what


def test_a_missing_corner_is_noticed(tmp_path: Path) -> None:
    path = edited(tmp_path, " 10\n37.0\n 20\n20.0\n", "", lambda s, _: rounded(s, as_soup=False))
    error = refusal(path)
    assert "says 8 corners and has 7" in error.what


@pytest.mark.parametrize("number", ["3x7.0", "nan", "inf", "1e999", "3,7", ""])
def test_a_damaged_number_is_not_guessed(tmp_path: Path, number: str) -> None:
    error = refusal(edited(tmp_path, " 11\n37.0\n", f" 11\n{number}\n"))
    assert error.code == "file-broken"
    if number in ("3x7.0", "3,7"):
        assert "stands where a number must be" in error.what and number in error.what


def test_a_number_far_away_is_refused(tmp_path: Path) -> None:
    assert refusal(edited(tmp_path, " 11\n37.0\n", " 11\n1e30\n")).code == "part-size"


def test_damage_beside_the_outline_is_recovered_and_told(tmp_path: Path) -> None:
    path = drawn(tmp_path / "r.dxf", plain)
    text = path.read_text(encoding="utf-8")
    lost = "  0\nENDSEC\n  0\nSECTION\n  2\nOBJECTS"
    assert lost in text
    path.write_text(text.replace(lost, lost[11:], 1), encoding="utf-8")
    drawing, findings = read_outline(path)
    assert len(drawing.regions) == 1 and len(drawing.regions[0].holes) == 1
    told = [f.what for f in findings if f.level == "repaired"]
    assert told == ["the drawing is damaged and was recovered: DXF structure error: missing ENDSEC tag."]


def test_blocks_that_hold_themselves(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        a, b = doc.blocks.new("A"), doc.blocks.new("B")
        a.add_blockref("B", (0, 0))
        b.add_blockref("A", (0, 0))
        space.add_blockref("A", (0, 0))

    assert "hold one another without end" in refusal(drawn(tmp_path / "b.dxf", draw)).what


def test_a_block_that_is_missing_or_elsewhere(tmp_path: Path) -> None:
    def missing(space: Any, doc: Any) -> None:
        plain(space, doc)
        space.add_blockref("NOWHERE", (0, 0))

    assert 'block "NOWHERE" is placed but not in the file' in refusal(drawn(tmp_path / "b.dxf", missing)).what

    def elsewhere(space: Any, doc: Any) -> None:
        doc.add_xref_def("other.dxf", "OTHER")
        plain(space, doc)
        space.add_blockref("OTHER", (0, 0))

    error = refusal(drawn(tmp_path / "x.dxf", elsewhere))
    assert error.code == "file-missing" and "lies in another file" in error.what


def test_a_block_repeated_a_million_times(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        doc.blocks.new("A").add_circle((0, 0), 1)
        counts = {"row_count": 1000, "column_count": 1000, "row_spacing": 3, "column_spacing": 3}
        space.add_blockref("A", (0, 0), dxfattribs=counts)

    assert refusal(drawn(tmp_path / "b.dxf", draw)).code == "file-too-large"


# ---- many -----------------------------------------------------------------------------------


def flip_bits(data: bytearray, rng: random.Random) -> bytearray:
    for _ in range(rng.randint(1, 8)):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return data


def change_digits(data: bytearray, rng: random.Random) -> bytearray:
    digits = [i for i, b in enumerate(data) if 48 <= b < 58]
    for i in rng.sample(digits, rng.randint(1, 10)):
        data[i] = 48 + rng.randrange(10)
    return data


def lose_piece(data: bytearray, rng: random.Random) -> bytearray:
    start = rng.randrange(len(data))
    del data[start : start + rng.randint(1, 400)]
    return data


def double_piece(data: bytearray, rng: random.Random) -> bytearray:
    start = rng.randrange(len(data))
    return data[:start] + data[start : start + rng.randint(1, 400)] + data[start:]


def cut_off(data: bytearray, rng: random.Random) -> bytearray:
    return data[: rng.randrange(len(data))]


def swap_lines(data: bytearray, rng: random.Random) -> bytearray:
    lines = data.split(b"\n")
    for _ in range(rng.randint(1, 3)):
        i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
        lines[i], lines[j] = lines[j], lines[i]
    return bytearray(b"\n".join(lines))


def odd_numbers(data: bytearray, rng: random.Random) -> bytearray:
    lines = data.split(b"\n")
    spots = [i for i, line in enumerate(lines) if b"." in line]
    for i in rng.sample(spots, 3):
        lines[i] = rng.choice((b"1e300", b"-1e30", b"0.0", b"1e-300", b"nan", b"297.0$7", b"1e)20", b""))
    return bytearray(b"\n".join(lines))


DAMAGE = (flip_bits, change_digits, lose_piece, double_piece, cut_off, swap_lines, odd_numbers)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """Drawings as small as they come and as programs write them; with blocks and smooth curves."""
    folder = tmp_path_factory.mktemp("sound")

    def smooth(space: Any, doc: Any) -> None:
        doc.blocks.new("PIN").add_circle((0, 0), 2)
        space.add_ellipse((0, 0), (30, 0), ratio=0.5)
        space.add_blockref("PIN", (5, 5))
        clutter(space)

    return [
        drawn(folder / "1.dxf", plain, version="R12").read_bytes(),
        drawn(folder / "2.dxf", lambda s, _: rounded(s, as_soup=False)).read_bytes(),
        drawn(folder / "3.dxf", smooth, version="R2013").read_bytes(),
    ]


def entities_only(data: bytes, rng: random.Random) -> bytearray:
    """Damage mostly where the outline is: half the files lose the rest, which most readers do without."""
    start, end = data.find(b"ENTITIES"), data.rfind(b"OBJECTS")
    if rng.random() < 0.5 or start < 0:
        return bytearray(data)
    head = b"  0\nSECTION\n  2\nHEADER\n  9\n$INSUNITS\n 70\n4\n  0\nENDSEC\n  0\nSECTION\n  2\n"
    body = data[start : end if end > 0 else len(data)]
    body = body[: body.find(b"ENDSEC") + 7]
    return bytearray(head + body + b"  0\nEOF\n")


def damaged(sound: list[bytes], seed: int, path: Path) -> str:
    rng = random.Random(seed)
    data = entities_only(sound[seed % len(sound)], rng)
    path.write_bytes(DAMAGE[seed % len(DAMAGE)](data, rng))
    try:
        part = read_part(path, unit="mm", thickness=12.0)
    except JawrightError as e:
        assert e.code in CODES and "Traceback" not in str(e) and "\n" not in str(e), str(e)
        assert str(e).startswith(path.name), str(e)
        return e.code
    assert part.volume > 0 and part.outline is not None
    assert part.volume == pytest.approx(12.0 * part.outline.area, rel=1e-6)
    return "read"


def test_a_unit_in_raised_digits_is_told_in_one_sentence(sound: list[bytes], tmp_path: Path) -> None:
    path = tmp_path / "raised.dxf"
    at = sound[1].find(b"$INSUNITS")
    head, rest = sound[1][:at], sound[1][at:]
    path.write_bytes(head + re.sub(rb"(70\r?\n\s*)\d+", lambda m: m[1] + b"\xc2\xb2", rest, count=1))
    with pytest.raises(JawrightError) as error:
        read_part(path, unit="mm", thickness=12.0)
    assert error.value.code == "file-broken" and str(error.value).startswith("raised.dxf: ")


def test_a_dozen_damaged_drawings(sound: list[bytes], tmp_path: Path) -> None:
    found = [damaged(sound, seed, tmp_path / f"{seed}.dxf") for seed in range(14)]
    assert set(found) - {"read"}, found


@pytest.mark.long
@pytest.mark.parametrize("start", range(0, 500, 50))
def test_five_hundred_damaged_drawings(sound: list[bytes], tmp_path: Path, start: int) -> None:
    found = [damaged(sound, seed, tmp_path / f"{seed}.dxf") for seed in range(start, start + 50)]
    assert set(found) - {"read"}, found
