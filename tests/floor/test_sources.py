"""The plan's sources against runs of known scatter, and what the shop file takes over."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from jawright.doors.cli import inputs
from jawright.errors import JawrightError
from jawright.files.toml_edit import Edit, edited
from jawright.floor.adopt import adopt, edits
from jawright.floor.run import Run, Series
from jawright.floor.sources import Compared, compare, reseating
from jawright.record import Record
from jawright.shop.model import Band3
from jawright.shop.read import read_shop
from jawright.statistics.draw import stream
from papers import sample

DRILL, CLAMP, MACHINE, REST = 0.010, 0.004, 0.003, 0.002


def planned(features: int = 2) -> Record:
    """A plan with drilled holes whose scatter per axis is that of drill, clamping, machine and a rest."""
    base = sample.good_record()
    assert base.hold is not None
    names = [f"hole {k + 1}" for k in range(features)]
    drilled = next(f for f in base.hold.features if f.kind == "drill")
    ask = replace(base.hold.tolerances[0], kind="position", zone=0.15)
    sigma = math.hypot(DRILL, CLAMP, MACHINE, REST) * math.sqrt(2)  # X and Y together
    proofs = tuple(
        replace(
            base.proofs[0],
            question="locates",
            name=f"{n}: position",
            detail=(
                ("spread by sampling, one sigma", sigma, "mm"),
                ("share of wander of the drill", 0.7, ""),
            ),
        )
        for n in names
    )
    hold = replace(
        base.hold,
        features=tuple(replace(drilled, name=n) for n in names),
        tolerances=tuple(replace(ask, feature=n) for n in names),
        vise=replace(base.hold.vise, repeat=Band3(0.002, CLAMP, 0.01, "test")),
    )
    machine = replace(base.shop.machine, repeat=MACHINE)
    shop = replace(base.shop, machine=machine, drilled_position=Band3(0.006, DRILL, 0.014, "test"))
    return replace(base, hold=hold, shop=shop, proofs=proofs)


def run(seed: str, *, drill: float, clamp: float, features: int = 2, parts: int = 60) -> Run:
    """Parts clamped and drilled with known scatter."""
    rng = stream(f"sources {seed} {drill} {clamp}")
    measured = []
    for axis in "xy":
        seat = rng.normal(0, clamp, parts) + rng.normal(0, REST, parts)
        for k in range(features):
            own = rng.normal(0, drill, parts) + rng.normal(0, MACHINE, parts)
            measured.append(Series(f"hole_{k + 1}_{axis}", f"hole_{k + 1}", axis, seat + own))
    names = tuple(f"P{k}" for k in range(parts))
    return Run("run.csv", "mm", names, None, (), tuple(measured), (), None, None, ())


def by_source(found: tuple[Compared, ...]) -> dict[str, Compared]:
    return {c.source: c for c in found}


def test_a_process_as_planned_is_left_alone() -> None:
    """60 runs as the plan has it: at most one in a hundred sources is said to disagree by luck."""
    record = planned()
    wrong = 0
    for k in range(60):
        found = compare(run(f"{k}", drill=DRILL, clamp=CLAMP), record)
        wrong += sum(c.agrees is False for c in found)
    assert wrong <= 4  # expected 1.2 of 120; more than 4 has a chance below 0.01


@pytest.mark.parametrize(
    ("drill", "clamp", "source", "truth"),
    [
        (0.020, CLAMP, "drilled position", 0.020),
        (0.005, CLAMP, "drilled position", 0.005),
        (DRILL, 0.012, "repeat of the clamping", 0.012),
    ],
)
def test_the_source_that_changed_is_named_and_measured(
    drill: float, clamp: float, source: str, truth: float
) -> None:
    record = planned()
    named = covered = others = 0
    for k in range(20):
        found = by_source(compare(run(f"{k}", drill=drill, clamp=clamp, parts=80), record))
        c = found.pop(source)  # type: ignore[arg-type]
        named += c.agrees is False and c.sure
        covered += c.measured is not None and c.measured.low <= truth <= c.measured.high
        others += sum(o.agrees is False for o in found.values())
    assert named >= 17 and covered >= 15 and others <= 3


def test_one_feature_cannot_tell_the_cutter_from_the_clamping() -> None:
    """A little more than planned may be either: nothing is adopted unless that is asked for."""
    found = compare(run("one", drill=0.016, clamp=CLAMP, features=1), planned(1))
    assert any(c.agrees is False for c in found) and not any(c.sure for c in found)
    assert any("measure a second feature" in c.sentence for c in found)
    assert edits(found, "run.csv") == ()
    assert edits(found, "run.csv", unsure=True)
    assert compare(run("few", drill=0.02, clamp=CLAMP, parts=15), planned()) == ()  # too few parts


@pytest.mark.parametrize("drill", [0.005, 0.03])
def test_one_feature_is_enough_where_the_clamping_cannot_make_the_difference(drill: float) -> None:
    """Less than the drill alone was planned with, or more than the worst clamping adds to it."""
    taken = covered = 0
    for k in range(20):
        found = compare(run(f"one {k}", drill=drill, clamp=CLAMP, features=1, parts=80), planned(1))
        sure = [c for c in found if c.sure]
        assert all(c.source == "drilled position" for c in sure)
        taken += bool(edits(found, "run.csv"))
        covered += any(c.measured and c.measured.low <= drill <= c.measured.high for c in sure)
    assert taken >= 18 and covered >= 17


def test_one_feature_as_planned_is_left_alone() -> None:
    wrong = 0
    for k in range(60):
        found = compare(run(f"alone {k}", drill=DRILL, clamp=CLAMP, features=1), planned(1))
        assert not any(c.sure for c in found if c.agrees)
        wrong += bool(edits(found, "run.csv"))
    assert wrong <= 2


def test_reseating_from_the_register() -> None:
    planned_ = Band3(0.003, 0.006, 0.013, "test")
    assert reseating([(0.01, 0.0)], planned_) is None
    rng = np.random.default_rng(2)
    far = [(float(x), float(y)) for x, y in rng.normal(0, 0.03, (12, 2))]
    c = reseating(far, planned_)
    assert c is not None and c.agrees is False and c.measured is not None
    assert c.measured.low < 0.03 < c.measured.high
    near = [(float(x), float(y)) for x, y in rng.normal(0, 0.006, (12, 2))]
    assert (found := reseating(near, planned_)) is not None and found.agrees


SHOP = """# our shop
units = "mm"   # as always
[scatter]   # what varies
friction = [0.08, 0.12, 0.15]
# stub drills
drilled_position = [
  "0.006 mm",  # best
  "0.010 mm",
  "0.014 mm",
]

[[vise]]
id = "V1"
torque_table = [
  [10, 4000],
  [20, 8000],
]
[[vise]]
id = "V2"   # the old one
"""


def test_single_values_change_and_everything_else_stays() -> None:
    new = edited(
        SHOP,
        [
            Edit(
                "scatter", "drilled_position", '["0.01 mm", "0.02 mm", "0.03 mm"]', note="measured: run.csv"
            ),
            Edit("scatter", "jaw_reseat", '"0.004 mm"'),
            Edit("vise", "repeat", '"0.006 mm"', id="V2"),
        ],
        "shop.toml",
    )
    data = tomllib.loads(new)
    assert data["scatter"]["drilled_position"] == ["0.01 mm", "0.02 mm", "0.03 mm"]
    assert data["scatter"]["jaw_reseat"] == "0.004 mm" and data["scatter"]["friction"] == [0.08, 0.12, 0.15]
    assert "repeat" not in data["vise"][0] and data["vise"][1]["repeat"] == "0.006 mm"
    for kept in (
        "# our shop",
        "# as always",
        "# what varies",
        "# stub drills",
        "# the old one",
        "[20, 8000],",
    ):
        assert kept in new
    again = edited(
        new, [Edit("scatter", "drilled_position", '"0.02 mm"', note="measured: next.csv")], "shop.toml"
    )
    assert again.count("# measured:") == 1
    added = edited('[shop]\nname = "x"\n', [Edit("scatter", "jaw_cut", '"0.004 mm"')], "shop.toml")
    assert tomllib.loads(added)["scatter"] == {"jaw_cut": "0.004 mm"}
    windows = edited("[scatter]\r\njaw_cut = 1\r\n", [Edit("scatter", "jaw_cut", "2")], "shop.toml")
    assert windows == "[scatter]\r\njaw_cut = 2\r\n"


@pytest.mark.parametrize(
    "text",
    [
        'scatter = { jaw_cut = "0.01 mm" }\n',  # on one line
        'scatter.jaw_cut = "0.01 mm"\n',
        'vise = [{ id = "V2" }]\n',
        "not toml at all",
    ],
)
def test_what_cannot_be_changed_safely_is_refused(text: str) -> None:
    with pytest.raises(JawrightError) as caught:
        edited(
            text,
            [Edit("scatter", "jaw_cut", '"0.02 mm"'), Edit("vise", "repeat", '"0.01 mm"', id="V2")],
            "shop.toml",
        )
    assert caught.value.code in ("file-write", "toml-syntax")


def test_the_shop_file_is_changed_whole_or_not_at_all(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    text = (inputs.demo_folder() / "shop.toml").read_text("utf-8")
    file.write_text(text, "utf-8")
    vise = read_shop(file).vises[0].id
    with pytest.raises(JawrightError):
        adopt(file, [Edit("scatter", "drilled_position", '"3 kg"')])
    assert file.read_text("utf-8") == text
    adopt(
        file,
        [
            Edit("scatter", "drilled_position", '["0.004 mm", "0.005 mm", "0.006 mm"]'),
            Edit("vise", "repeat", '["0.001 mm", "0.002 mm", "0.003 mm"]', id=vise),
        ],
    )
    shop = read_shop(file)
    assert shop.drilled_position.set == 0.005 and shop.vises[0].repeat.set == 0.002
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert [line for line in file.read_text("utf-8").splitlines() if line.startswith("#")] == comments
    assert [p.name for p in tmp_path.iterdir()] == ["shop.toml"]
