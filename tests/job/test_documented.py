"""What the pages show can be typed: every example in the docs is read as what it claims to be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from jawright.job.read import read_job
from jawright.shop.read import read_shop

DOCS = Path(__file__).resolve().parent.parent.parent / "docs"


def blocks(page: str) -> list[str]:
    return re.findall(r"```toml\n(.*?)```", (DOCS / page).read_text("utf-8"), re.S)


def test_the_complete_job(tmp_path: Path) -> None:
    text, described = blocks("reference/job.md")
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    job = read_job(path)
    assert len(job.datums) == 3 and len(job.features) == 3 and len(job.tolerances) == 1
    own = tmp_path / "own.toml"
    own.write_text(f"[job]\nquantity = 5\n{described}", encoding="utf-8")
    assert read_job(own).material == "D2 annealed [like 4140 annealed, yield 350 MPa]"
    # the lines that are switched off are right as well
    path.write_text(re.sub(r"^# (?=\w+ = )", "", text, flags=re.M), encoding="utf-8")
    pinned = read_job(path).hold
    assert (pinned.kind, pinned.turn, pinned.grip_depth, pinned.stop) == ("soft jaws", 0.0, 6.5, "-X")
    assert pinned.torque == pytest.approx(33.9, abs=0.01)


def test_the_least_shop_and_its_bands(tmp_path: Path) -> None:
    least, bands = blocks("reference/shop.md")
    path = tmp_path / "shop.toml"
    path.write_text(least, encoding="utf-8")
    shop = read_shop(path)
    assert len(shop.vises) == len(shop.blanks) == len(shop.parallels) == len(shop.cutters) == 1
    for line in bands.strip().splitlines():
        path.write_text(least.replace("[[blank]]", f"{line}\n[[blank]]", 1), encoding="utf-8")
        assert read_shop(path).vises[0].lift.set == 0.013


@pytest.mark.parametrize("page", ["start/first-plan.md", "reference/cli.md", "reference/defaults.md"])
def test_pages_are_there(page: str) -> None:
    assert len((DOCS / page).read_text("utf-8")) > 800
