"""Seating against a general linear-program solver, hand cases, and exact geometry by brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog, minimize

from jawright.mechanics.seat import SeatResult, seat

# Two on the fixed jaw, one at the stop, one in the middle of the floating jaw.
POINTS = np.array([[-20.0, 0.0], [20.0, 0.0], [-30.0, -10.0], [5.0, -20.0]])
NORMALS = np.array([[0.0, -1.0], [0.0, -1.0], [1.0, 0.0], [0.0, 1.0]])
RIDE = np.array([0.0, 0.0, 0.0, 1.0])
PUSH = (-0.1, 0.0)


def random_layout(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Contacts round an ellipse with normals tilted at random: any set of locators."""
    n = int(rng.integers(6, 14))
    a = rng.uniform(0, 2 * np.pi, n)
    points = np.column_stack([40 * np.cos(a), 15 * np.sin(a)])
    normals = -np.column_stack([np.cos(a) / 40, np.sin(a) / 15])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    t = rng.normal(0, 0.1, n)
    c, s = np.cos(t), np.sin(t)
    turned = np.column_stack([c * normals[:, 0] - s * normals[:, 1], s * normals[:, 0] + c * normals[:, 1]])
    return points, turned, (points[:, 1] < 0).astype(float)


def by_highs(
    points: np.ndarray, normals: np.ndarray, ride: np.ndarray, gaps: np.ndarray, **how: object
) -> tuple[str, np.ndarray, float]:
    """The same program, one sample, by an independent solver."""
    push, yaw, play = how["push"], float(how["yaw"]), float(how["play"])  # type: ignore[arg-type]
    turn = normals[:, 1] * points[:, 0] - normals[:, 0] * points[:, 1]
    rows = np.column_stack([normals, turn, -ride * normals[:, 1], -ride * turn, -ride * normals[:, 0]])
    at = points.mean(axis=0)
    gain = np.array([push[0], push[1], push[1] * at[0] - push[0] * at[1], 1.0, 0.0, 0.0])  # type: ignore[index]
    tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
    for options in (tight, {}):  # the solver gives up on a few cases at the tight setting
        r = linprog(
            -gain,
            A_ub=-rows,
            b_ub=gaps,
            bounds=[(None, None)] * 4 + [(-yaw, yaw), (-play, play)],
            method="highs",
            options=options,
        )
        if r.status != 4:
            break
    status = {0: "solved", 2: "no room", 3: "escapes", 4: "gave up"}[r.status]
    return status, r.x, -r.fun if r.status == 0 else math.nan


def compare(cases: int, seed: int) -> dict[str, int]:
    rng = np.random.default_rng(seed)
    seen = {"solved": 0, "no room": 0, "escapes": 0, "gave up": 0}
    for case in range(cases):
        points, normals, ride = random_layout(rng)
        gaps = rng.uniform(-0.05, 0.1, (1, len(points)))
        yaw, play = (1e-3, 0.02) if case % 2 else (0.0, 0.0)
        push = (-0.03, 0.01)
        got = seat(points, normals, ride, gaps, push=push, yaw=yaw, side_play=play, exact=False, lie=0.0)
        status, x, best = by_highs(points, normals, ride, gaps[0], push=push, yaw=yaw, play=play)
        seen[status] += 1
        if status == "gave up":
            continue
        assert bool(got.unsolved[0]) == (status != "solved"), (case, status)
        if status == "solved":
            mine = np.array([*got.pose[0], got.travel[0], got.yaw[0], got.side[0]])
            at = points.mean(axis=0)
            gain = np.array([push[0], push[1], push[1] * at[0] - push[0] * at[1], 1.0, 0, 0])
            assert gain @ mine == pytest.approx(best, abs=1e-9)
            assert mine == pytest.approx(x, abs=1e-8)
        elif status == "escapes":
            assert got.escapes
    return seen


def test_agrees_with_a_general_solver_one_by_one() -> None:
    seen = compare(300, 11)
    assert seen["solved"] >= 200
    assert seen["escapes"] >= 5


@pytest.mark.long
def test_agrees_with_a_general_solver_on_many() -> None:
    seen = compare(2600, 12)
    assert seen["solved"] >= 2000
    assert seen["gave up"] <= 5


def test_a_population_is_the_same_as_its_parts_one_by_one() -> None:
    rng = np.random.default_rng(3)
    points, normals, ride = random_layout(rng)
    gaps = rng.normal(0, 0.02, (4000, len(points)))
    together = seat(points, normals, ride, gaps, push=PUSH, yaw=3e-4, side_play=0.02)
    assert len(together.bases) > 5
    for k in range(0, 4000, 211):
        alone = seat(points, normals, ride, gaps[k : k + 1], push=PUSH, yaw=3e-4, side_play=0.02)
        assert together.pose[k] == pytest.approx(alone.pose[0], abs=1e-11)
        assert together.unsolved[k] == alone.unsolved[0]
    again = seat(points, normals, ride, gaps, push=PUSH, yaw=3e-4, side_play=0.02)
    assert again.pose.tobytes() == together.pose.tobytes()


def nominal(**how: object) -> SeatResult:
    args = {"push": PUSH} | how
    return seat(POINTS, NORMALS, RIDE, np.zeros((1, 4)), **args)  # type: ignore[arg-type]


def test_perfect_part_sits_where_it_was_drawn() -> None:
    r = nominal()
    assert r.located
    assert r.pose[0] == pytest.approx([0, 0, 0], abs=1e-12)
    assert r.active[0].all()
    # Levers: the floating jaw pushes 1 at x = 5 between locators at -20 and 20.
    force = dict(zip(r.bases[0].rows, r.bases[0].force, strict=True))
    assert force[3] == pytest.approx(1.0)
    assert force[2] == pytest.approx(0.1)
    assert force[0] + force[1] == pytest.approx(1.0)


def test_bigger_part_moves_away_from_fixed_jaw_and_stop() -> None:
    """All walls 0.05 out: off the stop by 0.05, off the fixed jaw by 0.05, jaw back by 0.10."""
    r = seat(POINTS, NORMALS, RIDE, np.full((1, 4), -0.05), push=PUSH)
    assert r.pose[0] == pytest.approx([0.05, -0.05, 0.0], abs=1e-12)
    assert r.travel[0] == pytest.approx(-0.10, abs=1e-12)


def test_one_locator_high_turns_the_part() -> None:
    r = seat(POINTS, NORMALS, RIDE, np.array([[0.0, -0.02, 0.0, 0.0]]), push=PUSH)
    assert r.pose[0, 2] == pytest.approx(-0.02 / 40, rel=1e-6)


def test_sensitivity_is_the_slope_of_the_pose() -> None:
    r = nominal()
    per_gap = r.bases[0].per_gap
    for k in range(4):
        gaps = np.zeros((2, 4))
        gaps[0, k], gaps[1, k] = 1e-4, -1e-4
        pose = seat(POINTS, NORMALS, RIDE, gaps, push=PUSH, exact=False).pose
        assert (pose[0] - pose[1]) / 2e-4 == pytest.approx(per_gap[:, k], abs=1e-9)


def test_no_stop_is_not_located() -> None:
    keep = [0, 1, 3]
    r = seat(POINTS[keep], NORMALS[keep], RIDE[keep], np.zeros((1, 3)))
    assert not r.located
    assert [f.words for f in r.free] == ["slides along X"]


def test_stop_without_a_push_is_not_located() -> None:
    r = nominal(push=(0.0, 0.0))
    assert [f.words for f in r.free] == ["slides along X"]
    assert not r.unsolved.any()


def test_push_with_nothing_to_stop_it_escapes() -> None:
    keep = [0, 1, 3]
    r = seat(POINTS[keep], NORMALS[keep], RIDE[keep], np.zeros((1, 3)), push=PUSH)
    assert [f.words for f in r.escapes] == ["slides along X"]
    assert not r.located


def test_jaw_that_closes_on_nothing_clamps_nothing() -> None:
    r = seat(POINTS[:3], NORMALS[:3], RIDE[:3], np.zeros((1, 3)), push=PUSH)
    assert r.unsolved.all()
    assert r.escapes[0].words == "is not touched by the floating jaw"


def test_single_locator_on_the_fixed_jaw_leaves_a_turn() -> None:
    points = np.array([[0.0, 0.0], [-30.0, -10.0], [0.0, -20.0]])
    normals = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0]])
    r = seat(points, normals, np.array([0.0, 0.0, 1.0]), np.zeros((1, 3)), push=PUSH)
    assert not r.located
    assert "turns about Z" in r.free[0].words


def test_part_wider_than_a_fixed_slot_has_no_room() -> None:
    points = np.vstack([POINTS, [[30.0, -10.0]]])
    normals = np.vstack([NORMALS, [[-1.0, 0.0]]])
    gaps = np.array([[0.0, 0.0, -0.02, 0.0, -0.02], [0.0, 0.0, -0.02, 0.0, 0.03]])
    r = seat(points, normals, np.append(RIDE, 0.0), gaps, push=PUSH)
    assert list(r.unsolved) == [True, False]
    assert np.isnan(r.pose[0]).all()


def test_yaw_of_the_floating_jaw_is_limited() -> None:
    """An off-center part racks the jaw until its play is used up; the part itself stays on its locators."""
    points = np.array([[20.0, 0.0], [60.0, 0.0], [10.0, -10.0], [40.0, -20.0]])
    r = seat(points, NORMALS, RIDE, np.zeros((1, 4)), push=PUSH, yaw=3e-4)
    assert abs(r.yaw[0]) == pytest.approx(3e-4, rel=1e-9)
    assert r.pose[0] == pytest.approx([0, 0, 0], abs=1e-5)
    assert r.travel[0] == pytest.approx(40 * 3e-4, rel=1e-3)


def test_v_in_the_floating_jaw_locates_no_better_than_its_side_play() -> None:
    """A V in the floating jaw and no stop: the part goes along with the jaw's side play."""
    h = math.sqrt(0.5)
    points = np.array([[-20.0, 0.0], [20.0, 0.0], [-7.0, -13.0], [7.0, -13.0]])
    normals = np.array([[0.0, -1.0], [0.0, -1.0], [h, h], [-h, h]])
    ride = np.array([0.0, 0.0, 1.0, 1.0])
    tight = seat(points, normals, ride, np.zeros((1, 4)))
    assert tight.located
    for sign in (-1, 1):
        r = seat(points, normals, ride, np.zeros((1, 4)), push=(sign * 0.05, 0.0), side_play=0.02)
        assert r.pose[0, 0] == pytest.approx(sign * 0.02, abs=1e-9)


def test_tapered_part_between_stiff_flats_lies_on_the_fixed_jaw() -> None:
    """Thick end clamped, the other end free to rest on either flat: it rests on the one that stands still."""
    points = np.array([[-20.0, 0.0], [20.0, 0.0], [-30.0, -10.0], [-20.0, -20.0], [20.0, -20.0]])
    normals = np.array([[0.0, -1.0], [0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    gaps = np.array([[0.0, 0.01, 0.0, 0.0, 0.01], [0.01, 0.0, 0.0, 0.01, 0.0]])
    r = seat(points, normals, np.array([0, 0, 0, 1.0, 1.0]), gaps, push=PUSH)
    assert r.located
    assert r.pose[:, 2] == pytest.approx([0.01 / 40, -0.01 / 40], rel=1e-3)


def compare_exact(count: int, seed: int) -> float:
    """Largest difference of the closing position [mm] to a minimization with the exact rotation.

    No linearization, another optimizer, on random layouts of straight walls: two rests and a third wall on
    the fixed jaw's side, a stop, two grips; gaps of ± 0.4 mm turn the part by up to a degree.
    """
    rng = np.random.default_rng(seed)
    worst = 0.0
    for _ in range(count):
        points = POINTS + rng.uniform(-4.0, 4.0, POINTS.shape)
        tilt = rng.uniform(-0.04, 0.04, len(points))
        c, s = np.cos(tilt), np.sin(tilt)
        normals = np.column_stack(
            [c * NORMALS[:, 0] - s * NORMALS[:, 1], s * NORMALS[:, 0] + c * NORMALS[:, 1]]
        )
        g = rng.uniform(-0.4, 0.4, len(points))
        got = seat(points, normals, RIDE, g[None], push=PUSH)
        center = points.mean(axis=0)

        def air(
            x: np.ndarray, g: np.ndarray = g, p: np.ndarray = points, n: np.ndarray = normals
        ) -> np.ndarray:
            c, s = math.cos(x[2]), math.sin(x[2])
            mx = c * p[:, 0] - s * p[:, 1] + x[0] - p[:, 0]
            my = s * p[:, 0] + c * p[:, 1] + x[1] - p[:, 1]
            return g + n[:, 0] * mx + n[:, 1] * my - RIDE * n[:, 1] * x[3]

        def goal(x: np.ndarray, center: np.ndarray = center) -> float:
            c, s = math.cos(x[2]), math.sin(x[2])
            return float(-x[3] - PUSH[0] * (c * center[0] - s * center[1] + x[0] - center[0]))

        best = minimize(
            goal,
            np.zeros(4),
            constraints=[{"type": "ineq", "fun": air}],
            method="SLSQP",
            options={"ftol": 1e-15, "maxiter": 400},
        )
        mine = np.array([*got.pose[0], got.travel[0]])
        assert np.abs(air(mine)[got.active[0]]).max() < 1e-10
        assert air(mine).min() > -1e-10
        worst = max(worst, abs(mine[3] - best.x[3]))
    return worst


def test_finite_turn_against_exact_geometry() -> None:
    assert compare_exact(12, 5) < 1e-6


@pytest.mark.long
def test_finite_turn_against_exact_geometry_on_many() -> None:
    assert compare_exact(200, 6) < 1e-6


def test_gaps_must_fit_the_contacts() -> None:
    with pytest.raises(ValueError, match="agree"):
        seat(POINTS, NORMALS, RIDE, np.zeros((1, 3)))
    with pytest.raises(ValueError, match="finite"):
        seat(POINTS, NORMALS, RIDE, np.full((1, 4), np.nan))
