"""The re-use sheet: the order of putting a pair back, the indicator's numbers, and what to expect."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.cost import Cost, CostItem, pairs
from jawright.jaws.kept import spread
from jawright.papers import reuse
from jawright.papers.bundle import files
from jawright.papers.content import content
from jawright.papers.show import Grid, Steps
from jawright.papers.steps import steps
from jawright.record import Record, Reuse
from jawright.shop.model import Band3
from papers import sample


def record() -> Record:
    base = sample.good_record()
    assert base.jaws is not None and base.hold is not None
    seats = ((0.004, -0.006), (-0.008, 0.003), (0.002, 0.009))
    used = Reuse(
        "J-0007", "front", "A-3-2", "DW-9 A OP 20", "2026-01-05", False, base.jaws.gap - 0.4, 24.0, 40,
        "usable", "", 3, spread(seats),
    )  # fmt: skip
    band = spread(seats)
    assert band is not None
    shop = replace(base.shop, jaw_reseat=replace(band, basis=f"J-0007, {band.basis}"))
    return replace(
        base, hold=replace(base.hold, reused=True), program=None, verification=None, reuse=used, shop=shop
    )


def test_the_order_of_putting_back() -> None:
    words = " ".join(steps(record())).lower()
    order = [
        "stone",
        "fixed jaw first",
        "snug only",
        "gauge block",
        "settle",
        "tooling hole",
        "indicator numbers",
    ]
    places = [words.index(w) for w in order]
    assert places == sorted(places)
    assert "spacer" not in words and "run the jaw program" not in words


def test_the_indicators_numbers() -> None:
    r = record()
    assert r.jaws is not None and r.hold is not None
    grid = reuse.checks(r)
    rows = {row[0].split(",")[0] + row[0][-1]: row[2] for row in grid.rows}
    most = 3 * r.shop.jaw_reseat.high
    assert reuse.expected(r).most == pytest.approx(most)
    hole = r.jaws.tooling_hole
    assert hole is not None and any(f"± {most:.3f}" in v for v in rows.values())
    assert any(row[2] == f"{r.jaws.floor:.3f} mm" for row in grid.rows)
    sweep = next(row for row in grid.rows if row[0].startswith("Locating wall"))
    on = [c for c in r.hold.contacts if c.on == "fixed" and c.locates]
    length = max(c.point[0] for c in on) - min(c.point[0] for c in on)
    tilt = math.sqrt(2) * most / r.jaws.fixed.blank.bolt_spacing * length
    assert sweep[2] == f"within {tilt:.3f} mm"
    assert all(row[3] == "" for row in grid.rows) and grid.fill_in == (3,)


def test_the_sheet_is_in_the_folder_and_says_what_it_rests_on() -> None:
    r = record()
    out = files(r)
    assert out["reuse-sheet.pdf"].startswith(b"%PDF")
    page = out["reuse-sheet.html"].decode()
    for words in ("J-0007", "cut for DW-9 A OP 20", "3 times", "opened by 0.40 mm", "license to run"):
        assert words in page
    assert not [n for n in out if n.endswith(".nc")]
    sheet = content(r)
    assert sheet.first[0].value == "J-0007" and "A-3-2" in sheet.first[0].note and sheet.stack == ()
    assert (
        "tooling hole" in " ".join(f.value for f in sheet.zero)
        and "hard" not in sheet.program[0].help.lower()
    )
    kinds = [type(b) for b in reuse.blocks(r)]
    assert Steps in kinds and Grid in kinds
    plain = replace(r, shop=replace(r.shop, jaw_reseat=Band3(0.003, 0.006, 0.013, "shop file")))
    assert "shop file" in files(plain)["reuse-sheet.html"].decode()
    assert reuse.blocks(sample.good_record()) == () and "reuse-sheet.pdf" not in files(sample.good_record())


def test_costs_stand_on_the_sheet() -> None:
    """By hand: once 30, 1.20 with every part, of which 20 make 2.70 a part; the break-even is told."""
    hard = Cost("hard jaws", (CostItem("set up", 20.0, 30.0), CostItem("load", 0.8, 1.2, True)))
    new = Cost("new soft jaws", (CostItem("cut", 60.0, 90.0), CostItem("load", 0.4, 0.6, True)))
    base = sample.good_record()
    r = replace(base, costs=(hard, new), break_even=pairs((hard, new)), job=replace(base.job, quantity=20))
    c = content(r)
    assert c.costs.rows[2] == ("", "the lot of 20", "36", "54.00")
    assert "up to 99 parts" in c.costs.note
    at = c.lots.heads.index("20")
    assert [row[at] for row in c.lots.rows] == ["2.70", "5.10"]
    at = c.lots.heads.index("100")
    assert c.lots.rows[0][at] == c.lots.rows[1][at] == "1.50"  # the break-even itself
