"""The part by itself, seen slantwise: what stands on the list of jobs before anything is planned.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

TURN, TILT = -0.65, 0.6
"""The view [rad]: as the page shows a part first."""
PLAIN = np.array([239.0, 227.0, 192.0])
"""The part's color on our drawings."""
MOST = 6000
"""Triangles of a mesh that is drawn; a finer one is no picture for a list."""


def part_view(
    points: NDArray[Any],
    corners: NDArray[Any],
    owner: NDArray[Any],
    *,
    wide: float = 120.0,
    high: float = 76.0,
) -> str:
    """SVG of a mesh (points (n, 3), corners (m, 3), face of each triangle (m,)); "" when it is too fine.

    Far triangles are drawn first, those that look away not at all; a side between two faces is inked.
    """
    if not 0 < len(corners) <= MOST:
        return ""
    s, c = math.sin(TILT), math.cos(TILT)
    away = np.array([math.sin(TURN) * c, -math.cos(TURN) * c, s])
    up = np.array([-math.sin(TURN) * s, math.cos(TURN) * s, c])
    right = np.cross(up, away)
    flat = np.stack([points @ right, -(points @ up)], axis=1)
    low, size = flat.min(axis=0), np.ptp(flat, axis=0)
    scale = min((wide - 8) / max(size[0], 1e-9), (high - 8) / max(size[1], 1e-9))
    flat = (flat - low - size / 2) * scale + [wide / 2, high / 2]
    a, b, d = (points[corners[:, k]] for k in range(3))
    normal = np.cross(b - a, d - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    seen = np.flatnonzero(normal @ away > 1e-6)
    order = seen[np.argsort(((a + b + d) @ away)[seen], kind="stable")]
    inked = _inked(corners, owner)
    light = 0.72 + 0.28 * np.clip(normal @ (0.5 * up + 0.8 * away + 0.2 * right), 0.0, 1.0)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" role="img">'
        '<g stroke-width="0.25" stroke-linejoin="round" stroke-linecap="round">'
    ]
    for t in order:
        fill = "#" + "".join(f"{int(v):02x}" for v in PLAIN * light[t])
        p = [f"{x:.2f},{y:.2f}" for x, y in flat[corners[t]]]
        out.append(f'<path d="M{p[0]}L{p[1]}L{p[2]}Z" fill="{fill}" stroke="{fill}"/>')
        for k in range(3):
            if inked[t, k]:
                out.append(f'<path d="M{p[k]}L{p[(k + 1) % 3]}" stroke="#1b1f24" stroke-width="0.5"/>')
    return "".join([*out, "</g></svg>\n"])


def _inked(corners: NDArray[Any], owner: NDArray[Any]) -> NDArray[np.bool_]:
    """Sides (m, 3) of triangles that no other triangle of the same face shares."""
    ends = np.sort(np.stack([corners, np.roll(corners, -1, axis=1)], axis=2), axis=2)
    whole = np.concatenate([ends, np.broadcast_to(owner[:, None, None], (*corners.shape, 1))], axis=2)
    _, number, count = np.unique(whole.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True)
    return np.asarray(count[number.ravel()].reshape(corners.shape) == 1)
