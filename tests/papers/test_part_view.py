"""The picture of a part by itself: what looks away is not drawn, and every face is inked round."""

from __future__ import annotations

import re

import numpy as np

from jawright.papers.part_view import MOST, part_view

SQUARE = np.array([[0, 1, 2], [0, 2, 3]])
FACES = (  # a block of 4 by 3 by 2, each face with points of its own, seen from outside anticlockwise
    [(0, 0, 2), (4, 0, 2), (4, 3, 2), (0, 3, 2)],
    [(0, 0, 0), (0, 3, 0), (4, 3, 0), (4, 0, 0)],
    [(0, 0, 0), (4, 0, 0), (4, 0, 2), (0, 0, 2)],
    [(0, 3, 0), (0, 3, 2), (4, 3, 2), (4, 3, 0)],
    [(0, 0, 0), (0, 0, 2), (0, 3, 2), (0, 3, 0)],
    [(4, 0, 0), (4, 3, 0), (4, 3, 2), (4, 0, 2)],
)


def test_a_block_shows_three_faces() -> None:
    points = np.array([p for f in FACES for p in f], float)
    corners = np.concatenate([SQUARE + 4 * k for k in range(6)])
    svg = part_view(points, corners, np.repeat(np.arange(6), 2), wide=100.0, high=60.0)
    assert svg.count('Z" fill=') == 6  # two triangles a face
    assert svg.count('stroke-width="0.5"') == 12  # four sides a face, no diagonals
    shades = set(re.findall(r'fill="(#[0-9a-f]{6})"', svg))
    assert len(shades) == 3  # told apart by light
    at = np.array([[float(v) for v in p.split(",")] for p in re.findall(r"-?[\d.]+,-?[\d.]+", svg)])
    assert at.min() > 0 and at[:, 0].max() < 100 and at[:, 1].max() < 60
    assert np.isclose(at[:, 0].min() + at[:, 0].max(), 100.0, atol=0.02)


def test_nothing_and_far_too_much_are_no_picture() -> None:
    one = np.zeros((1, 3), dtype=int)
    assert part_view(np.zeros((3, 3)), one[:0], np.zeros(0, int)) == ""
    assert part_view(np.zeros((3, 3)), np.repeat(one, MOST + 1, axis=0), np.zeros(MOST + 1, int)) == ""
