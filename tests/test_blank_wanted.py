"""The size of blank that is asked for is one that serves, and a smaller one does not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import jawright
from jawright import kernel, trial
from jawright.begun import begin
from jawright.blank_wanted import HEIGHTS, LENGTHS, LONGEST, THICKNESSES, wanted
from jawright.errors import JawrightError
from jawright.geometry.profile import Region, rectangle
from jawright.job.read import read_job
from jawright.shop.model import Shop
from jawright.shop.read import read_shop

DEMO = Path(jawright.__file__).parent / "data" / "demo"
JOB, SHOP = read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml")
SMALL = min(SHOP.blanks, key=lambda b: b.price)


def _shop(**less: float) -> Shop:
    return replace(SHOP, blanks=(replace(SMALL, id="small", **less),))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "less", [{"thickness": 14.0}, {"length": 60.0}, {"thickness": 14.0, "length": 60.0}], ids=str
)
def test_the_size_asked_for_serves_and_none_smaller_does(less: dict[str, float]) -> None:
    shop = _shop(**less)
    begun = begin(JOB, shop)
    assert not any(c.draft for c in begun.stances())
    found = wanted(begun.part, JOB, shop, begun.ask)
    assert found.blank is not None

    def lives(**size: float) -> bool:
        own = replace(shop, blanks=(replace(found.blank, **size),))  # type: ignore[type-var]
        vises = trial.vises(begun.part, JOB, own)
        tried = trial.candidates(begun.part, JOB, own, begun.ask, vises)
        return any(c.draft is not None and c.why_tried == found.words for c in tried)

    b = found.blank
    assert lives()
    assert not lives(length=b.length - LENGTHS)
    assert not lives(height=b.height - HEIGHTS)
    assert not lives(thickness=b.thickness - THICKNESSES)


def test_the_refusal_names_a_size_with_which_the_job_is_planned() -> None:
    shop = _shop(thickness=14.0)
    with pytest.raises(JawrightError) as refused:
        jawright.plan(JOB, shop)
    assert refused.value.code == "shop-no-blank"
    begun = begin(JOB, shop)
    b = wanted(begun.part, JOB, shop, begun.ask).blank
    assert b is not None
    told = f"{b.length:.0f} mm long, {b.thickness:.1f} mm thick and {b.height:.0f} mm high"
    assert told in refused.value.todo
    planned = jawright.plan(JOB, replace(shop, blanks=(*shop.blanks, replace(b, id="new"))))
    assert planned.jaws is not None
    assert planned.jaws.fixed.blank.id == "new"


def test_where_no_blank_helps_it_is_said() -> None:
    shop = replace(_shop(thickness=14.0), vises=tuple(replace(v, opening=36.0) for v in SHOP.vises))
    with pytest.raises(JawrightError) as refused:
        jawright.plan(JOB, shop)
    assert "no larger blank helps" in refused.value.todo
    assert "thick" not in refused.value.todo.split("(")[0]


def test_it_is_of_the_metal_the_job_asks_for() -> None:
    """A shop without a blank of it is told of the metal, not that no size would help."""
    steel = replace(JOB, hold=replace(JOB.hold, jaw_material="1018"))
    shop = replace(SHOP, blanks=tuple(b for b in SHOP.blanks if b.material != "1018"))
    with pytest.raises(JawrightError) as refused:
        jawright.plan(steel, shop)
    assert "add a pair of 1018 " in refused.value.todo


@pytest.mark.parametrize(
    ("pins", "why"),
    [
        ({"blank": "A20x36"}, "A20x36: its bolt holes do not fit vise V150"),
        (
            {"blank": "A25x50", "jaw_material": "1018 cold drawn"},
            "A25x50 of 1018 cold drawn: it is of 6061-T6",
        ),
    ],
    ids=["bolts", "metal"],
)
def test_a_blank_that_is_pinned_and_does_not_serve_is_what_is_named(pins: dict[str, str], why: str) -> None:
    """The shop has blanks that take the part: none is to be bought."""
    with pytest.raises(JawrightError) as refused:
        jawright.plan(replace(JOB, hold=replace(JOB.hold, **pins)), SHOP)  # type: ignore[arg-type]
    error = refused.value
    assert error.code == "value-bad" and error.where == "[hold] blank" and why in error.what
    assert "without this pin" in error.todo


def test_plain_jaws_are_not_proposed_for_several_parts() -> None:
    """The demo's bar between flats: by itself in hard jaws, two at a time in soft ones."""
    begun = begin(JOB, SHOP)
    hard = [c for c in begun.stances() if c.kind == "hard jaws"]
    assert hard
    two = replace(JOB, hold=replace(JOB.hold, parts=2))
    tried = trial.candidates(begun.part, two, SHOP, begun.ask, trial.vises(begun.part, two, SHOP))
    assert {c.lost for c in tried if c.kind == "hard jaws"} == {
        "2 parts are asked for at a time, and plain jaws grip the largest of several"
    }


def test_no_jaws_are_asked_for_that_stand_far_out_of_the_vise(tmp_path: Path) -> None:
    """A bar of 600 mm in a vise of 150 mm: two vises in line hold it, jaws of 630 mm in one do not."""
    bar = kernel.extrude(Region(rectangle(0.0, 0.0, 600.0, 40.0)), 0.0, 20.0)
    (tmp_path / "bar.step").write_bytes(kernel.step_text({"bar": bar}, title="bar"))
    (tmp_path / "bar.toml").write_text(
        '[job]\nquantity = 20\n[part]\nfile = "bar.step"\nmaterial = "6061-T6"\n[hold]\nup = "+Z"\n',
        encoding="utf-8",
    )
    with pytest.raises(JawrightError) as refused:
        jawright.plan(read_job(tmp_path / "bar.toml"), SHOP)
    assert refused.value.code == "shop-no-blank"
    assert f"the blank has {LONGEST * 150.0:.1f} mm" in refused.value.todo
    assert "vises in line ([[in_line]] in the shop file)" in refused.value.todo
