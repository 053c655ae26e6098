"""Advice keeps to what the job leaves open, or names the pin that would have to go."""

from __future__ import annotations

import math
from dataclasses import replace

from jawright import decide
from jawright.job.model import HoldAsk
from jawright.job.pinned import another_turn, let_go, other_face
from proof.sample_job import job


def test_another_face_is_no_advice_where_all_were_tried() -> None:
    free, pinned = replace(job(), up=None), replace(job(), up=(0.0, 0.0, 1.0))
    assert other_face(free) == "every face was tried on top"
    assert "[hold] up" in other_face(pinned)
    for j in (free, pinned):
        said = decide._no_vise_option(None, [], j).sentence
        assert other_face(j) in said and "stand it on another face" not in said


def test_a_turn_that_is_pinned_is_not_proposed_away_in_silence() -> None:
    todo = "turn the part round"
    assert another_turn(job(), todo) == todo
    turned = replace(job(), hold=HoldAsk(turn=math.pi))
    assert another_turn(turned, todo) == f"{todo}, for which the pin [hold] turn would have to go"
    both = replace(job(), hold=HoldAsk(turn=math.pi, fixed_jaw_datum="B"))
    assert "turn and fixed_jaw_datum" in another_turn(both, todo)


def test_what_narrows_the_search_is_named_before_a_plate_is() -> None:
    turned = replace(job(), hold=HoldAsk(turn=0.1, fixed_jaw_datum="B"))
    said = decide._no_vise_option(None, [], turned).sentence
    assert "Without the pins [hold] turn and fixed_jaw_datum more ways are tried. Hold it on a plate" in said
    assert let_go(job()) == "" and "Without" not in decide._no_vise_option(None, [], job()).sentence
