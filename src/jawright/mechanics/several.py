"""How one clamp force spreads over several parts side by side between two stiff jaws."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from jawright.errors import JawrightError

Floats = NDArray[np.float64]
STEPS = 30
"""Halvings of the turn: it is then known to a billionth of the play."""


def shares(over: Floats, x: Floats, *, stiffness: float, force: float, yaw: float) -> Floats:
    """Share of the clamp force that each of several parts gets, the jaws being stiff.

    The moving jaw closes by t and turns by w, \\|w\\| <= ``yaw``; part k is squeezed by
    s_k = over_k + t + w x_k where that is positive and pushes back with stiffness s_k. The pushes
    add up to the force and, while the jaw is free to turn, have no moment about the screw at x = 0.
    For a given turn the closing follows from the
    force; the moment rises steadily with the turn, which is found by halving.

    Parameters: ``over`` (m, n) how much longer than the mean each part is in the closing direction
    [mm], one row per clamping; ``x`` (n,) where they stand [mm]; ``stiffness`` of one part [N/mm];
    ``force`` [N]; ``yaw`` [rad]. Returns (m, n) shares, each row adds up to 1.
    Raises ``geometry`` when stiffness or force is not above 0.
    Valid for: stiff jaws; a jaw that bends between the parts evens the shares out, so that they are
    the unequal end. Source: equilibrium of a rigid body on one-sided springs; no closed form.

    >>> shares(np.array([[0.0, 0.0]]), np.array([-20.0, 20.0]), stiffness=1e5, force=1000.0, yaw=1e-3)
    array([[0.5, 0.5]])
    """
    return closed(over, x, stiffness=stiffness, force=force, yaw=yaw)[0]


def closed(
    over: Floats, x: Floats, *, stiffness: float, force: float, yaw: float
) -> tuple[Floats, Floats, Floats]:
    """Where the moving jaw comes to stand: (shares (m, n), its turn (m,) [rad], air (m, n) [mm]).

    The air is what stays between jaw and each part: 0 where it presses. Parameters, errors, valid for and
    source as ``shares``.

    >>> share, turn, air = closed(
    ...     np.array([[-0.1, 0.1]]), np.array([-20.0, 20.0]), stiffness=1e5, force=1000.0, yaw=1e-3
    ... )
    >>> turn.round(5), air.round(3)
    (array([-0.001]), array([[0.15, 0.  ]]))
    """
    if not (stiffness > 0 and force > 0):
        raise JawrightError("geometry", what="stiffness and clamp force must be above zero")
    m, n = over.shape
    turn = np.zeros(m)
    if n >= 2 and yaw > 0:
        low, high = np.full(m, -yaw), np.full(m, yaw)
        for _ in range(STEPS):  # the moment falls steadily with the turn: halve the interval
            turn = 0.5 * (low + high)
            s = _squeeze(over + turn[:, None] * x, force / stiffness)
            moment = s @ x
            low, high = np.where(moment < 0, turn, low), np.where(moment < 0, high, turn)
    place = over + turn[:, None] * x
    s = _squeeze(place, force / stiffness)
    travel = (s - place).max(axis=1, where=s > 0, initial=-np.inf)
    air = np.maximum(0.0, -(place + travel[:, None]))
    return np.asarray(s * (stiffness / force)), turn, np.asarray(air)


def _squeeze(over: Floats, total: float) -> Floats:
    """Squeezes max(0, over + t) whose sum is ``total``: the longest parts first, as water fills a bed."""
    n = over.shape[1]
    falling = -np.sort(-over, axis=1)
    count = np.arange(1, n + 1)
    travel = (total - np.cumsum(falling, axis=1)) / count
    bears = falling + travel > 0
    last = bears.sum(axis=1) - 1
    t = travel[np.arange(len(over)), last]
    return np.asarray(np.maximum(0.0, over + t[:, None]))


def block_stiffness(*, E: float, length: float, area: float, jaw_E: float, jaw_nu: float) -> float:
    """Push per squeeze [N/mm] of a part between two stiff jaws that yield only where they touch it.

    1/k = length/(E area) + 2 (1 - nu²)/(2 E_jaw a), a = sqrt(area/pi): a bar in compression, and on each
    side a round rigid punch on a half space.
    ``length`` in the closing direction [mm], ``area`` of contact [mm²], moduli [MPa].
    Returns N/mm. Raises ``geometry`` for sizes not above 0.
    Source: bar, any handbook; punch, K. L. Johnson, Contact Mechanics, 1985, section 3.4.
    Valid for: contact patches small against the jaw's thickness.
    """
    if min(E, length, area, jaw_E) <= 0:
        raise JawrightError("geometry", what="sizes and moduli must be above zero")
    bar = length / (E * area)
    punch = (1 - jaw_nu**2) / (2 * jaw_E * math.sqrt(area / math.pi))
    return 1.0 / (bar + 2 * punch)
