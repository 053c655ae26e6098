"""A level of the part is cut once for all designs of a stance, and lies where a cut in the vise would."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import union_all

from jawright import kernel
from jawright.geometry.frame import standing
from jawright.geometry.polygon import to_polygon
from jawright.part.read import read_part
from jawright.proof.metal import CHORD, cut_at
from samples import hold
from test_conductor import DEMO


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.3, -0.2, 0.9)])
@pytest.mark.parametrize("turn", [0.0, 0.7, math.pi, 5.1])
def test_a_turned_and_shifted_level_is_the_cut_in_the_vise(
    up: tuple[float, float, float], turn: float
) -> None:
    part = read_part(DEMO / "pawl.step", unit="", thickness=None)
    move = standing(up, turn=turn, shift=(3.7, -11.3, 40.1))
    base = hold()
    held = replace(base, stance=replace(base.stance, up=up, turn=turn, move=move))
    box = kernel.box(part.shape, move)
    for share in (0.2, 0.55, 0.9):
        z = box[2] + share * (box[5] - box[2])
        mine = cut_at(part, held, z)
        direct = union_all([to_polygon(r, CHORD) for r in kernel.section(part.shape, move, z).regions])
        assert direct.area > 1.0
        # both are chords within CHORD of the same outline
        assert mine.symmetric_difference(direct).area <= 2 * CHORD * direct.length


def test_a_move_that_is_not_that_of_its_stance_is_cut_where_it_stands() -> None:
    part = read_part(DEMO / "pawl.step", unit="", thickness=None)
    base = hold()
    move = standing((0.0, 1.0, 0.0), turn=0.4, shift=(0.0, 0.0, 10.0))
    held = replace(base, stance=replace(base.stance, up=(0.0, 0.0, 1.0), move=move))
    box = kernel.box(part.shape, move)
    z = (box[2] + box[5]) / 2
    direct = union_all([to_polygon(r, CHORD) for r in kernel.section(part.shape, move, z).regions])
    assert cut_at(part, held, z).equals(direct)
