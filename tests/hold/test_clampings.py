"""Walls that are milled are not gripped; a part that is milled all round is held in two clampings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from jawright import kernel, trial
from jawright.clamping_choice import two
from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, right_normal
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold import clampings, milled, resolve
from jawright.hold.apart import apart
from jawright.hold.view import view
from jawright.job.model import DatumPick, Feature, Job, Pick, ToleranceAsk
from jawright.job.read import read_job
from jawright.part.model import Face, Part
from jawright.part.pick import face_at
from jawright.part.plate import make_plate
from jawright.shop.read import read_shop
from jaws.shapes import rounded
from test_conductor import DEMO

UP = (0.0, 0.0, 1.0)
TALL = 12.0
SHOP = read_shop(DEMO / "shop.toml")
WALLS = {
    "far wall": (35.0, 40.0, 6.0), "near wall": (35.0, 0.0, 6.0),
    "left end": (0.0, 20.0, 6.0), "right end": (70.0, 20.0, 6.0),
}  # fmt: skip


def block(outline: Profile | None = None) -> Part:
    hole = circle((35.0, 20.0), 5.0).reversed()
    whole = Region(outline or rectangle(0.0, 0.0, 70.0, 40.0), (hole,))
    return make_plate(whole, "mm", (), file="b.dxf", data=b"", thickness=TALL)


def asked(walls: Sequence[str], **more: object) -> Job:
    """Demo job that mills the named walls from top to bottom, bores the hole and faces the top."""
    job = read_job(DEMO / "pawl.toml")
    profiles = tuple(Feature(n, "profile", Pick(WALLS[n], n)) for n in walls)
    own = (
        Feature("top", "face", Pick((5.0, 5.0, TALL), "top"), depth=0.5),
        Feature("bore", "bore", Pick((40.0, 20.0, 6.0), "bore")),
    )
    datums = tuple(
        DatumPick(letter, Pick(at, letter))
        for letter, at in (("A", (5.0, 5.0, 0.0)), ("B", WALLS["far wall"]), ("C", WALLS["left end"]))
    )
    tolerance = ToleranceAsk("bore", "position", 0.2, ("A", "B", "C"), True)
    return replace(
        job, datums=datums, features=(*own, *profiles), tolerances=(tolerance,), up=UP, **more  # type: ignore[arg-type]
    )  # fmt: skip


def test_a_wall_that_is_milled_to_the_floor_is_not_touched() -> None:
    part, job = block(), asked(["left end", "right end"])
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, UP)
    ends = {i for i, c in enumerate(seen.outline.curves) if abs(c.tangent()[0]) < 1e-9}
    assert set(seen.bridges) == ends and len(ends) == 2
    found = trial.candidates(part, job, SHOP, ask, trial.vises(part, job, SHOP))
    alive = [c.hold for c in found if c.hold is not None]
    assert alive
    mine = {f for x in ask.features if x.ask.kind == "profile" for f in x.faces}
    assert all(c.face not in mine for h in alive for c in h.contacts if c.on in ("fixed", "floating"))


def test_a_wall_that_is_milled_above_the_jaws_only_still_bears() -> None:
    part, job = block(), asked([])
    ask = resolve.resolve(part, job)
    high = replace(next(f for f in part.faces if f.kind == "plane" and abs(f.normal[0]) > 0.99), index=0)
    lifted = replace(high, box=(*high.box[:2], 5.0, *high.box[3:]))
    step = replace(ask.features[0], ask=Feature("step", "profile", None), face=lifted, faces=(0,))  # type: ignore[arg-type]
    raised = replace(part, faces=(lifted, *part.faces[1:]))
    assert milled.deep(step, raised, UP) == frozenset()
    assert milled.deep(step, part, UP) == frozenset({0})


def test_milled_all_round_it_is_held_in_two_clampings() -> None:
    """Datum B and the bore together in the first; then on what is finished, turned by a quarter."""
    part, job = block(), asked(list(WALLS))
    ask = resolve.resolve(part, job)
    with pytest.raises(JawrightError, match="whole outline is milled"):
        view(part, job, ask, UP)
    found = two(part, job, ask, UP, SHOP)
    assert found is not None
    first, second = found.grips
    assert found.features == (("top", "bore", "far wall", "near wall"), ("left end", "right end"))
    assert {w.name for w in (*first.fixed, *first.floating)} == {"left end", "right end"}
    assert [w.letter for w in second.fixed] == ["B"] and second.floating[0].name == "near wall"
    assert math.isclose(math.cos(second.turn - first.turn), 0.0, abs_tol=1e-9)
    assert (first.land, second.land) == pytest.approx((38.0, 68.0)), "1 mm inside each corner"
    assert not first.held & second.held
    held = {w.feature for w in (*second.fixed, *second.floating)}
    assert held <= set(found.features[0]), "what the second grips is finished by then"
    assert found.zero == "bore"
    words = " ".join(found.told("mm"))
    assert "X picked up on bore" in words and "datum B on the fixed jaw" in words


def test_one_profile_all_round_is_made_wall_by_wall() -> None:
    """As with four named walls: a feature that mills all at once belongs to neither clamping."""
    part = block()
    profile = ToleranceAsk("outline", "profile of a surface", 0.1, ("A",), False)
    width = ToleranceAsk("outline", "distance", 0.2, ("B",), False)
    job = asked([])
    job = replace(
        job,
        features=(*job.features, Feature("outline", "profile", None, radial=2.0)),
        tolerances=(*job.tolerances, profile, width),
    )
    ask = resolve.resolve(part, job)
    assert len(ask.features[-1].faces) == 4
    own = apart(ask, part, UP)
    names = ["outline +X", "outline +Y", "outline -X", "outline -Y"]
    assert sorted(f.ask.name for f in own.features) == sorted(["top", "bore", *names])
    assert sorted(t.feature for t in own.tolerances if t.kind == profile.kind) == names
    (one,) = (t.feature for t in own.tolerances if t.kind == "distance")
    assert one in ("outline +Y", "outline -Y"), "the largest wall stands for them all"
    assert all(f.ask.radial == 2.0 for f in own.features if f.ask.name in names)
    found = two(part, job, own, UP, SHOP)
    other = two(part, asked(list(WALLS)), resolve.resolve(part, asked(list(WALLS))), UP, SHOP)
    assert found is not None and other is not None
    assert [g.turn for g in found.grips] == [g.turn for g in other.grips]
    assert found.grips[0].faces == other.grips[0].faces and found.grips[1].faces == other.grips[1].faces
    assert set(found.features[1]) == {"outline +X", "outline -X"}


def test_a_wall_with_a_hole_in_its_middle_is_picked_beside_the_hole() -> None:
    """The place that the job of a clamping names must lie on the wall, or the job cannot be read back."""
    solid = kernel.extrude(Region(rectangle(0.0, 0.0, 70.0, 40.0)), 0.0, TALL)
    drilled = kernel.cut(solid, kernel.cylinder((35.0, -1.0, 6.0), (0.0, 1.0, 0.0), 3.0, 10.0))
    part = replace(block(), shape=drilled, faces=kernel.faces(drilled), holes=())
    job = asked([])
    ask = resolve.resolve(part, replace(job, features=(Feature("outline", "profile", None),), datums=()))
    own = apart(ask, part, UP)
    assert len(own.features) == 4
    for f in own.features:
        assert f.ask.pick is not None and face_at(part, f.ask.pick).index == f.faces[0]


def test_what_is_milled_above_the_grip_stays_one_feature() -> None:
    """A flange above a foot: its walls can be milled past the jaws that hold the foot."""
    foot = kernel.extrude(Region(rectangle(10.0, 10.0, 60.0, 30.0)), 0.0, 8.0)
    flange = kernel.extrude(Region(rectangle(0.0, 0.0, 70.0, 40.0)), 8.0, TALL)
    solid = kernel.fuse(foot, flange)
    part = replace(block(), shape=solid, faces=kernel.faces(solid), holes=())
    job = replace(asked([]), features=(Feature("outline", "profile", None),), datums=(), tolerances=())
    ask = resolve.resolve(part, job)
    assert len(ask.features[0].faces) == 4, "the flange is the outline"
    assert apart(ask, part, UP) is ask


def test_round_which_outline_needs_the_face_that_is_up() -> None:
    job = replace(asked([]), features=(Feature("outline", "profile", None),), up=None)
    with pytest.raises(JawrightError, match="which face is up is not said") as error:
        resolve.resolve(block(), job)
    assert error.value.code == "key-missing"


PLATE = [(0.0, 0.0), (70.0, 0.0), (70.0, 40.0), (0.0, 40.0)]


@pytest.mark.parametrize("radius", [3.0, 8.0])
def test_rounded_corners_are_no_walls_to_hold(radius: float) -> None:
    """Nor what the largest end mill of the demo shop, Ø16, reaches over in going round them."""
    part, job = block(rounded(PLATE, [radius] * 4)), asked(list(WALLS))
    found = two(part, job, resolve.resolve(part, job), UP, SHOP)
    assert found is not None and found.grips[1].land == pytest.approx(70.0 - 2 * (radius + 8.0 + 1.0))


def test_one_profile_round_rounded_corners_is_four_walls() -> None:
    part, job = block(rounded(PLATE, [8.0] * 4)), asked([])
    ask = resolve.resolve(part, replace(job, features=(*job.features, Feature("outline", "profile", None))))
    own = apart(ask, part, UP)
    assert len(ask.features[-1].faces) == 8 and len(own.features) == len(ask.features) + 3
    assert two(part, job, own, UP, SHOP) is not None


def test_what_is_a_rounded_corner() -> None:
    """It juts out and runs on smoothly into a straight wall at either end."""
    curves = rounded(PLATE, [0.3, 3.0, 8.0, 17.0]).curves
    rounds = [c.radius for i, c in enumerate(curves) if isinstance(c, Arc) and milled.rounded(curves, i)]
    assert rounds == pytest.approx([3.0, 8.0, 17.0]), "0.3 mm is an edge broken by hand"
    slot = Profile((
        Line((0.0, 0.0), (30.0, 0.0)), Arc((30.0, 0.0), (30.0, 20.0), (30.0, 10.0), True),
        Line((30.0, 20.0), (0.0, 20.0)), Line((0.0, 20.0), (0.0, 0.0)),
    )).curves  # fmt: skip
    assert not milled.rounded(slot, 1), "an end of the part"
    sharp = math.sqrt(0.5) * 10.0
    bent = Arc((30.0, 0.0), (30.0 + sharp, sharp), (30.0 - sharp, sharp), True)
    kinked = (Line((0.0, 0.0), (30.0, 0.0)), bent,
              Line((30.0 + sharp, sharp), (30.0 + sharp, 40.0)))  # fmt: skip
    assert not milled.rounded(kinked, 1), "it meets the first wall at an angle"
    hollow = (Line((0.0, 0.0), (30.0, 0.0)), Arc((30.0, 0.0), (40.0, -10.0), (30.0, -10.0), False),
              Line((40.0, -10.0), (40.0, -40.0)))  # fmt: skip
    assert not milled.rounded(hollow, 1)


def test_one_wall_left_alone_is_no_case_for_two_clampings() -> None:
    part, job = block(), asked([n for n in WALLS if n != "near wall"])
    assert two(part, job, resolve.resolve(part, job), UP, SHOP) is None


def test_a_triangle_cannot_be_turned_to_other_walls() -> None:
    """Any two of its walls share one: what the second clamping would grip is not finished."""
    part = block(rounded([(0.0, 0.0), (70.0, 0.0), (35.0, 60.0)], [1.0] * 3))
    walls = {"low": (35.0, 0.0, 6.0), "right": (52.5, 30.0, 6.0), "left": (17.5, 30.0, 6.0)}
    features = tuple(Feature(n, "profile", Pick(at, n)) for n, at in walls.items())
    job = replace(asked([]), features=features, datums=(), tolerances=())
    assert two(part, job, resolve.resolve(part, job), UP, SHOP) is None


def test_the_plan_decides_so_and_the_sheet_tells_both(monkeypatch: pytest.MonkeyPatch) -> None:
    job = asked(list(WALLS))
    monkeypatch.setattr("jawright.begun.read_part", lambda *_, **__: block())
    record = plan(job, SHOP, made="2026-01-01")
    assert record.decision.kind == "two clampings" and not record.ready
    assert [p.split(",")[0] for p in record.decision.points[:2]] == ["Clamping 1", "Clamping 2"]
    assert next(o for o in record.decision.options if o.kind == "two clampings").serves


def test_walls_without_an_outline_are_no_clampings_and_no_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """The decision then tells why the stance was lost; it must not end in a complaint about geometry."""
    part, job = block(), asked(list(WALLS))
    ask = resolve.resolve(part, job)
    assert two(part, job, ask, UP, SHOP) is not None

    def refuses(*_: object) -> None:
        raise JawrightError("geometry", what="a chain of curves does not close")

    monkeypatch.setattr("jawright.hold.clampings.grip_band", refuses)
    assert two(part, job, ask, UP, SHOP) is None
    few = asked([])
    assert two(part, few, resolve.resolve(part, few), UP, SHOP) is None


def ell(arms: float = 60.0, wide: float = 25.0, radius: float = 6.0) -> Profile:
    """An L of equal arms with sharp outer corners and a hollow one."""
    inner = Arc((wide + radius, wide), (wide, wide + radius), (wide + radius, wide + radius), False)
    ends = [(0.0, 0.0), (arms, 0.0), (arms, wide), inner.start]
    after = [inner.end, (wide, arms), (0.0, arms), (0.0, 0.0)]
    lines = [Line(a, b) for a, b in [*pairwise(ends), *pairwise(after)]]
    return Profile((*lines[:3], inner, *lines[3:]))


def ell_asked(outline: Profile) -> Job:
    """Its job: every straight wall is milled."""
    walls = [c.at(0.5) for c in outline.curves if isinstance(c, Line)]
    features = tuple(Feature(f"w{k}", "profile", Pick((*at, 6.0), f"w{k}")) for k, at in enumerate(walls, 1))
    return replace(asked([]), features=features, datums=(), tolerances=())


def test_a_fillet_is_milled_with_the_wall_beside_it() -> None:
    """An L milled all round was "no wall square enough": its inner corner was taken to hold it."""
    outline = ell()
    part = make_plate(Region(outline), "mm", (), file="l.dxf", data=b"", thickness=TALL)
    job = ell_asked(outline)
    ask = resolve.resolve(part, job)
    faces = tuple(next(i for i, f in enumerate(part.faces) if lies_on(f, c)) for c in outline.curves)
    assert milled.walls(ask, part, UP, outline, faces) == tuple(range(7))
    few = replace(ask, features=tuple(f for f in ask.features if f.ask.name == "w4"))
    assert milled.walls(few, part, UP, outline, faces) == (3, 4), "its cutter goes round the corner"
    assert milled.whole(outline, range(7)) and not milled.whole(outline, (0, 1, 2, 3, 5, 6))


def lies_on(face: Face, curve: Curve) -> bool:
    """Whether an upright face of a plate stands on a curve of its outline."""
    x, y = curve.at(0.5)
    (x0, y0, _, x1, y1, _), normal = face.box, right_normal(curve, 0.5)
    inside = x0 - 1e-6 <= x <= x1 + 1e-6 and y0 - 1e-6 <= y <= y1 + 1e-6
    if face.kind == "cylinder":
        return inside and isinstance(curve, Arc)
    return inside and isinstance(curve, Line) and math.dist(normal, face.normal[:2]) < 1e-6


def test_an_l_is_gripped_where_its_cutters_leave_land() -> None:
    """By hand: Ø12, the thickest that goes into R6, sweeps 12 mm beside the inner walls, Ø16 the outer ones.

    Arms of 60 and 25: an inner wall is 29 long, from the corner's end at 31 to the arm's end at 60. In the
    first clamping the jaws end 1 mm before that end and 13 mm off the other inner wall, so 38 to 59; the wall
    across the arm's end adds 23. Sharp outer corners cost 1 mm in both.
    """
    outline = ell()
    part = make_plate(Region(outline), "mm", (), file="l.dxf", data=b"", thickness=TALL)
    job = ell_asked(outline)
    found = clampings.ways(part, job, resolve.resolve(part, job), UP, SHOP)
    assert {w.cutter for f in found for g in f.grips for w in g.walls if w.name in ("w3", "w4")} == {12.0}
    assert {w.cutter for f in found for g in f.grips for w in g.walls if w.name not in ("w3", "w4")} == {16.0}
    assert {round(g.land, 6) for f in found for g in f.grips} == {44.0}
    names = {tuple(sorted(w.name for w in g.walls)) for f in found for g in f.grips}
    assert names == {("w1", "w3", "w5"), ("w2", "w4", "w6")}
    assert len(found) == 8, "which are first, and which wall is on the fixed jaw"


def test_a_wall_behind_another_is_not_gripped() -> None:
    """A U closed on its arms: the inner walls face the jaws, but the arms stand before them."""
    points = [(0.0, 0.0), (80.0, 0.0), (80.0, 50.0), (60.0, 50.0), (60.0, 20.0), (20.0, 20.0), (20.0, 50.0),
              (0.0, 50.0)]  # fmt: skip
    outline = rounded(points, [2.0, 2.0, 2.0, 2.0, 6.0, 6.0, 2.0, 2.0])
    part = make_plate(Region(outline), "mm", (), file="u.dxf", data=b"", thickness=TALL)
    job = ell_asked(outline)
    found = clampings.ways(part, job, resolve.resolve(part, job), UP, SHOP)
    across = {
        tuple(sorted(w.name for w in g.walls)) for f in found for g in f.grips if abs(math.cos(g.turn)) < 0.1
    }
    outer = {f"w{k}" for k, c in enumerate((c for c in outline.curves if isinstance(c, Line)), 1)
             if abs(c.at(0.5)[0] - 40.0) > 39.0}  # fmt: skip
    assert found and across == {tuple(sorted(outer))}


def test_the_better_jaw_for_each_wall_is_found_by_the_search() -> None:
    """A lead bracket with a short arm's end: on that it would rock, so the long wall is on the fixed jaw."""
    corners = [(0.0, 0.0), (62.0, 0.0), (62.0, 16.0), (16.0, 16.0), (16.0, 44.0), (0.0, 44.0)]
    outline = rounded(corners, [2.0, 3.0, 3.0, 6.0, 3.0, 3.0])
    part = make_plate(Region(outline), "mm", (), file="l.dxf", data=b"", thickness=14.0)
    job = ell_asked(outline)
    found = two(part, job, resolve.resolve(part, job), UP, SHOP)
    assert found is not None
    (first,), (second,) = (g.fixed for g in found.grips)
    assert first.curve.length == pytest.approx(39.0) and second.curve.length == pytest.approx(57.0)
