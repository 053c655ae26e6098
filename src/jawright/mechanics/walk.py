"""Quasi-static walk with Coulomb contacts: does the part go home by itself when the jaw closes?

From a starting offset and turn the jaw closes in small steps. At each step:

- if forces inside the friction cones of the contacts that touch can balance a push of the jaw, the
  part may stick there: it **jams** unless it is home (the cautious reading: sticking, where it is
  possible, is taken to happen);
- one that sticks between two contacts whose line lies in both their friction cones **wedges**: it stays
  when the push is taken away;
- otherwise the part makes the least move (sum of squares, turns scaled by the size of the layout)
  that lets the jaw go on. Source: least-dissipation motion of a part that drags on its floor
  (Peshkin and Sanderson, IEEE J. Robotics Autom. 5 (1989), minimum power principle).

First depth: each contact stays the pair of bodies it is at home (a point of the part against the
straight wall it belongs to), and the floor's own friction is left out of the balance.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from jawright.mechanics.closure import cone_edges

Floats = NDArray[np.float64]
End = Literal["home", "jams", "wedges", "escapes", "unsettled"]

TOUCH = 1e-4  # [mm] a contact this near touches
STEP = 0.25  # [mm] longest closing step
STEPS = 200
LOST = 20.0  # [mm] farther from home than this it will not come back


@dataclass(frozen=True, slots=True)
class Walk:
    """How one walk ended: ``pose`` (dx, dy, turn) [mm, rad], the contacts that touch, the worst air left."""

    start: tuple[float, float, float]
    end: End
    pose: tuple[float, float, float]
    touching: tuple[int, ...]
    air: float  # largest gap at a locating contact [mm]


class _Layout:
    def __init__(
        self, points: Floats, normals: Floats, ride: Floats, gaps: Floats, locates: NDArray[np.bool_]
    ) -> None:
        self.points, self.normals, self.ride, self.gaps = points, normals, ride, gaps
        self.locates = locates
        self.center = points.mean(axis=0)
        self.arm = points - self.center
        self.length = float(np.sqrt((self.arm**2).sum(axis=1).mean())) or 1.0
        self.jaw = ride * normals[:, 1]

    def slack(self, q: Floats, travel: float) -> Floats:
        c, s = np.cos(q[2] / self.length), np.sin(q[2] / self.length)
        mx = q[0] + (c - 1) * self.arm[:, 0] - s * self.arm[:, 1]
        my = q[1] + s * self.arm[:, 0] + (c - 1) * self.arm[:, 1]
        return np.asarray(self.gaps + self.normals[:, 0] * mx + self.normals[:, 1] * my - self.jaw * travel)

    def rows(self, q: Floats, which: NDArray[np.intp]) -> Floats:
        """d(slack)/d(q), the turn scaled to mm."""
        c, s = np.cos(q[2] / self.length), np.sin(q[2] / self.length)
        ax = c * self.arm[which, 0] - s * self.arm[which, 1]
        ay = s * self.arm[which, 0] + c * self.arm[which, 1]
        n = self.normals[which]
        return np.column_stack([n, (n[:, 1] * ax - n[:, 0] * ay) / self.length])


def sticks(normals: Floats, arms: Floats, driven: NDArray[np.bool_], friction: float) -> bool:
    """Whether friction can hold the part while the jaw pushes.

    Parameters: ``normals`` (k, 2), ``arms`` (k, 2) of the touching contacts (any length unit), ``driven``
    (k,) those on the closing jaw. The balance: edge forces f >= 0, no resultant, and a jaw force of 1
    along its closing direction.
    """
    edges = cone_edges(normals, friction)
    at = np.repeat(arms, 2, axis=0)
    moment = at[:, 0] * edges[:, 1] - at[:, 1] * edges[:, 0]
    drive = np.repeat(driven, 2) * edges[:, 1]
    a = np.vstack([edges.T, moment, drive])
    _, left = nnls(a, np.array([0.0, 0.0, 0.0, 1.0]))
    return bool(left < 1e-7)


def wedged(normals: Floats, places: Floats, friction: float) -> bool:
    """Whether two of the contacts (k, 2) face each other within both their friction cones.

    Such a pair carries a force of its own, with no push at all. Source: antipodal contacts (Nguyen, Int. J.
    Robotics Research 7 (1988)); wedging (Whitney, J. Dyn. Syst. Meas. Control 104 (1982)).
    """
    least = 1.0 / np.hypot(1.0, friction) - 1e-12
    for i in range(len(normals)):
        for j in range(i):
            way = places[j] - places[i]
            far = float(np.hypot(*way))
            if far > 1e-9 and way @ normals[i] >= least * far and -(way @ normals[j]) >= least * far:
                return True
    return False


def _least_move(rows: Floats, need: Floats) -> Floats | None:
    """Smallest v with ``rows v >= need``; None when there is none (Lawson and Hanson's LDP)."""
    a = np.vstack([rows.T, need])
    b = np.zeros(len(a))
    b[-1] = 1.0
    u, left = nnls(a, b)
    if left < 1e-9:
        return None
    r = a @ u - b
    return np.asarray(-r[:-1] / r[-1])


def walk(
    points: Floats,
    normals: Floats,
    floating: Floats,
    *,
    start: tuple[float, float, float],
    friction: float,
    locates: NDArray[np.bool_] | None = None,
    gaps: Floats | None = None,
    home: float = 0.02,
) -> Walk:
    """Close the jaw on a part that starts off by ``start`` = (dx, dy, turn) [mm, rad] from nominal.

    Parameters: contacts as in ``mechanics.seat.seat``; ``locates`` (n,) marks contacts that must touch
    at home (default: all that stand still); ``home`` is the air [mm] still called home. A start that
    lies inside a fixed wall is first drawn back by the least move that frees it.

    Valid for: starts of a few mm and degrees, where each contact still meets its own wall.
    """
    ride = np.asarray(floating, dtype=float)
    lay = _Layout(
        np.asarray(points, dtype=float),
        np.asarray(normals, dtype=float),
        ride,
        np.zeros(len(points)) if gaps is None else np.asarray(gaps, dtype=float),
        (ride == 0) if locates is None else np.asarray(locates, dtype=bool),
    )
    q = _free_start(lay, start)
    if q is None:
        return Walk(start, "unsettled", start, (), float("inf"))
    travel = _touching_travel(lay, q)
    for _ in range(STEPS):
        slack = lay.slack(q, travel)
        touch = np.flatnonzero(slack < TOUCH)
        air = float(slack[lay.locates].max()) if lay.locates.any() else 0.0
        if not (np.abs(lay.jaw[touch]) > 0).any():
            travel = _touching_travel(lay, q)
            slack = lay.slack(q, travel)
            touch = np.flatnonzero(slack < TOUCH)
            if not (np.abs(lay.jaw[touch]) > 0).any():
                return _ended(lay, start, "escapes", q, touch=touch, air=air)
        rows = lay.rows(q, touch)
        c, s = np.cos(q[2] / lay.length), np.sin(q[2] / lay.length)
        arms = lay.arm[touch] @ np.array([[c, s], [-s, c]]) / lay.length
        v = None
        if not sticks(lay.normals[touch], arms, np.abs(lay.jaw[touch]) > 0, friction):
            v = _least_move(rows, lay.jaw[touch])
        if v is None:
            end: End = (
                "home" if air <= home else "wedges" if wedged(lay.normals[touch], arms, friction) else "jams"
            )
            return _ended(lay, start, end, q, touch=touch, air=air)
        step = _step(lay, q, slack, touch, v)
        q = q + step * v
        travel += step
        q = _onto(lay, q, travel)
        if np.abs(q).max() > LOST:
            return _ended(lay, start, "escapes", q, touch=touch, air=air)
    return _ended(lay, start, "unsettled", q, touch=np.flatnonzero(lay.slack(q, travel) < TOUCH), air=air)


def _ended(
    lay: _Layout,
    start: tuple[float, float, float],
    end: End,
    q: Floats,
    *,
    touch: NDArray[np.intp],
    air: float,
) -> Walk:
    turn = float(q[2] / lay.length)
    c, s = np.cos(turn), np.sin(turn)
    cx, cy = lay.center
    pose = (float(q[0] + cx - (c * cx - s * cy)), float(q[1] + cy - (s * cx + c * cy)), turn)
    return Walk(start, end, pose, tuple(int(i) for i in touch), air)


def _free_start(lay: _Layout, start: tuple[float, float, float]) -> Floats | None:
    cx, cy = lay.center
    dx, dy, turn = start
    c, s = np.cos(turn), np.sin(turn)
    q = np.array([dx - cx + (c * cx - s * cy), dy - cy + (s * cx + c * cy), turn * lay.length])
    still = np.flatnonzero(lay.ride == 0)
    if not len(still):
        return q
    for _ in range(20):
        slack = lay.slack(q, 0.0)[still]
        if slack.min() >= -1e-9:
            return q
        rows = lay.rows(q, still)[:, :2]  # drawn back without turning
        move = _least_move(rows, -slack + 1e-12)
        if move is None:
            return None
        q[:2] += move
    return q if lay.slack(q, 0.0)[still].min() >= -TOUCH else None


def _touching_travel(lay: _Layout, q: Floats) -> float:
    """Closing travel at which the first floating contact touches."""
    moving = np.flatnonzero(lay.jaw > 1e-9)
    if not len(moving):
        return 0.0
    return float((lay.slack(q, 0.0)[moving] / lay.jaw[moving]).min())


def _step(lay: _Layout, q: Floats, slack: Floats, touch: NDArray[np.intp], v: Floats) -> float:
    free = np.ones(len(slack), dtype=bool)
    free[touch] = False
    rest = np.flatnonzero(free)
    if not len(rest):
        return STEP
    rate = lay.rows(q, rest) @ v - lay.jaw[rest]
    closing = rate < -1e-9
    if not closing.any():
        return STEP
    return float(min(STEP, (slack[rest][closing] / -rate[closing]).min()))


def _onto(lay: _Layout, q: Floats, travel: float) -> Floats:
    """Take out what the finite turn let a touching contact sink in."""
    for _ in range(3):
        slack = lay.slack(q, travel)
        deep = np.flatnonzero(slack < -1e-9)
        if not len(deep):
            break
        move = _least_move(lay.rows(q, deep), -slack[deep])
        if move is None:
            break
        q = q + move
    return q
