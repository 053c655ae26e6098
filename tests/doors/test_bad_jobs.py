"""Parts and shops that cannot work: one clear sentence, exit code 2, and nothing on the disk."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from jawright import kernel
from jawright.doors.cli.main import main
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region, rectangle

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
JOB = (DEMO / "pawl.toml").read_text(encoding="utf-8")
SHOP = (DEMO / "shop.toml").read_text(encoding="utf-8")
LEAST = '[job]\nquantity = 3\n[part]\nfile = "part.step"\nmaterial = "6061-T6"\n[hold]\nup = "+Z"\n'


def plate(x: float, y: float, z: float) -> bytes:
    return kernel.extrude(Region(rectangle(0.0, 0.0, x, y)), 0.0, z)


def without(pattern: str) -> str:
    text = re.sub(pattern, "", SHOP)
    assert text != SHOP
    return text


def answer(tmp_path: Path, capsys: pytest.CaptureFixture[str], *, job: str, shop: str, step: bytes) -> str:
    """The one sentence that planning this gives."""
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    for name in ("part.step", "pawl.step"):
        (tmp_path / name).write_bytes(step)
    out = tmp_path / "out"
    out.mkdir()
    (out / "kept.txt").write_text("somebody's own")
    assert main(["plan", str(tmp_path / "job.toml"), "--out", str(out)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert [p.name for p in out.iterdir()] == ["kept.txt"]
    (line,) = [x for x in printed.err.splitlines() if x.startswith("jawright: ")]
    return line


def test_inches_taken_for_something_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    step = kernel.step_text({"big": plate(72 * 25.4, 30 * 25.4, 12 * 25.4)}, title="big")
    line = answer(tmp_path, capsys, job=LEAST, shop=SHOP, step=step)
    assert "1828.8" in line and "check the unit" in line
    assert line.endswith(("[shop-no-vise]", "[part-size]"))


def test_two_solids(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pair = {"a": plate(70.0, 30.0, 12.0), "b": kernel.cylinder((200.0, 0.0, 0.0), (0.0, 0.0, 1.0), 5.0, 10.0)}
    line = answer(tmp_path, capsys, job=LEAST, shop=SHOP, step=kernel.step_text(pair, title="two"))
    assert "2 solids" in line and line.endswith("[part-several-solids]")


def test_a_part_that_says_it_is_a_step_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = answer(tmp_path, capsys, job=LEAST, shop=SHOP, step=b"Dear customer, the model follows.\n")
    assert line.endswith("[file-not-step]")


def test_larger_than_every_blank(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    corners = [(0.0, 0.0), (320.0, 0.0), (300.0, 60.0), (0.0, 85.0)]  # no two flats are parallel
    sides = tuple(Line(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True))
    step = kernel.step_text({"wedge": kernel.extrude(Region(Profile(sides)), 0.0, 20.0)}, title="wedge")
    line = answer(tmp_path, capsys, job=LEAST, shop=SHOP, step=step)
    assert "blank" in line and line.endswith("[shop-no-blank]")


@pytest.mark.parametrize(
    ("pattern", "code", "says"),
    [
        (r'\[\[cutter\]\]\nid = "EM\d+"\n(?:.+\n)+', "shop-no-cutter", "sharp"),
        (r"\[\[blank\]\]\n(?:.+\n)+", "shop-no-blank", "blank"),
        (r"\[\[parallel\]\]\n(?:.+\n)+", "shop-no-", "parallel"),
    ],
)
def test_a_shop_that_lacks_something(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], pattern: str, code: str, says: str
) -> None:
    step = (DEMO / "pawl.step").read_bytes()
    line = answer(tmp_path, capsys, job=JOB, shop=without(pattern), step=step)
    assert f"[{code}" in line and says in line
