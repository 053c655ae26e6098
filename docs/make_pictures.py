"""Draw the pictures of the docs and the README's figures from the demo: `python docs/make_pictures.py`.

Plans the built-in demo in a folder of its own, puts the first page of its setup sheet, as
a person sees it, into docs/img, the torque window into README.md and the models into
docs/theory. Pixels are written with a small palette so that the picture stays light; nothing is
drawn or typed by hand.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import struct
import tempfile
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from jawright.doors.cli.main import main

ROOT = Path(__file__).resolve().parent.parent
IMAGES = ROOT / "docs" / "img"
README = ROOT / "README.md"
THEORY = ROOT / "docs" / "theory" / "models.md"
BLOCK = re.compile(r"<!-- (?P<name>result|models) -->\n.*?<!-- end -->", re.S)
WIDTH = 1000
"""Width of the picture [pixel]."""
LEVELS = 6
"""Steps of each of red, green and blue: 216 colors fit one byte."""


def page(pdf: Path, number: int) -> NDArray[np.uint8]:
    """One page of a PDF as (height, width, 3) red, green, blue."""
    document = pypdfium2.PdfDocument(pdf)
    sheet = document[number]
    bitmap = sheet.render(scale=WIDTH / sheet.get_width(), rev_byteorder=True)
    pixels = np.array(bitmap.to_numpy()[:, :, :3], dtype=np.uint8)
    document.close()
    return pixels


def chunk(kind: bytes, body: bytes) -> bytes:
    """One chunk of a PNG file."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(pixels: NDArray[np.uint8]) -> bytes:
    """A PNG file (ISO/IEC 15948) of a picture, eight bits a pixel through a palette."""
    step = 255 / (LEVELS - 1)
    index = np.rint(pixels / step).astype(np.uint8)
    flat = index[:, :, 0] * LEVELS * LEVELS + index[:, :, 1] * LEVELS + index[:, :, 2]
    grid = np.stack(np.meshgrid(*[np.arange(LEVELS)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    palette = np.rint(grid * step).astype(np.uint8)
    height, width = flat.shape
    rows = np.hstack([np.zeros((height, 1), dtype=np.uint8), flat])  # filter 0 before each row
    head = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            chunk(b"IHDR", head),
            chunk(b"PLTE", palette.tobytes()),
            chunk(b"IDAT", zlib.compress(rows.tobytes(), 9)),
            chunk(b"IEND", b""),
        )
    )


def result(record: dict[str, Any]) -> str:
    """The demo's torque window as the README says it: the answer, its band, what it leans on."""
    (p,) = [p for p in record["proofs"] if p["name"] == "torque window"]
    unit, leans = p["unit"], "; ".join(p["assumptions"][:2])
    band = f"{p['low']:.0f} / {p['set']:.0f} / {p['high']:.0f} {unit}"
    heads = "| low / set / high | verdict | assumes |\n| --- | --- | --- |"
    said = f'The demo\'s pawl, {record["decision"]["kind"]}: "{p["sentence"]}"'
    return f"{said}\n\n{heads}\n| {band} | {p['verdict']} | {leans} |"


def fill(text: str, record: dict[str, Any]) -> str:
    """The page with its blocks written anew."""
    made = {"result": result, "models": models}
    return BLOCK.sub(lambda m: f"<!-- {m['name']} -->\n\n{made[m['name']](record)}\n\n<!-- end -->", text)


def models(record: dict[str, Any]) -> str:
    """Every model the demo's proofs used, what it answers, and its source, as the record has them."""
    rows: dict[tuple[str, str], list[str]] = {}
    for p in record["proofs"]:
        # a proof of one feature or tolerance stands for its kind
        whole = p["question"] == "locates" and ": " in p["name"]
        name = "each tolerance" if whole else p["name"].partition(",")[0]
        known = rows.setdefault((p["model"], p["source"] or "the shop's own figure"), [])
        if f"{p['question']}: {name}" not in known:
            known.append(f"{p['question']}: {name}")
    lines = ["| model | answers | source |", "| --- | --- | --- |"]
    return "\n".join(lines + [f"| `{m}` | {'; '.join(names)} | {s} |" for (m, s), names in rows.items()])


def draw(out: Path, readme: Path, theory: Path) -> list[Path]:
    """Plan the demo; write its picture into ``out``, its figures into ``readme`` and ``theory``."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            code = main(["demo", "--out", folder])
        if code not in (0, 1):
            raise SystemExit(f"the demo ended with {code}")
        target = out / "setup-sheet.png"
        target.write_bytes(png(page(Path(folder) / "setup-sheet.pdf", 0)))
        record = json.loads((Path(folder) / "record.json").read_text(encoding="utf-8"))
    for page_ in (readme, theory):
        page_.write_text(fill(page_.read_text(encoding="utf-8"), record), encoding="utf-8")
    return [target]


if __name__ == "__main__":
    for path in draw(IMAGES, README, THEORY):
        print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB")
