"""Flatness and roundness of what is cut squeezed: by the spring alone, never a plain pass."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample_block as block

from jawright.job.model import ToleranceAsk
from jawright.proof import locates
from jawright.proof.gives import Gives
from jawright.proof.model import Proof
from proof.test_gives import FORCE, soft

BORE, FACE = block.hold().features[1].name, block.hold().features[0].name


def answer(ask: ToleranceAsk, found: Gives | str, monkeypatch: pytest.MonkeyPatch) -> Proof:
    locates.study.cache_clear()
    monkeypatch.setattr(locates.gives, "of", lambda *_: found)
    h = replace(block.hold(), tolerances=(ask,))
    return locates.prove(h, None, None, block.job(profile=0.0), block.quiet_shop())[0]


@pytest.mark.parametrize(
    ("kind", "name", "zone", "verdict"),
    [
        ("flatness", FACE, 0.02, "caution"),  # 0.004 at the set force, 0.006 at the high one
        ("flatness", FACE, 0.005, "caution"),
        ("flatness", FACE, 0.003, "fail"),
        ("circularity", BORE, 0.02, "caution"),
        ("cylindricity", BORE, 0.004, "fail"),  # half of 0.01
        ("straightness", BORE, 0.02, "unknown"),
        ("circularity", FACE, 0.02, "unknown"),
    ],
)
def test_form_by_spring(
    kind: str, name: str, zone: float, verdict: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    g = replace(soft({}), flat={FACE: 0.004 / FORCE}, oval={BORE: 0.010 / FORCE})
    p = answer(ToleranceAsk(name, kind, zone, (), False), g, monkeypatch)
    assert p.verdict == verdict
    if verdict != "unknown":
        want = 0.004 if kind == "flatness" else 0.005
        assert (p.low, p.set, p.high) == pytest.approx((want / 2, want, 1.5 * want))
        assert "measure it on the first part" in p.sentence


def test_form_without_a_known_spring_is_unknown(monkeypatch: pytest.MonkeyPatch) -> None:
    flat = ToleranceAsk(FACE, "flatness", 0.02, (), False)
    assert answer(flat, "the clamp force is not known", monkeypatch).verdict == "unknown"
    assert answer(flat, "", monkeypatch).verdict == "unknown"
    blind = replace(soft({}), oval={BORE: 1e-9}, unread={BORE: "its wall is thin"})
    assert answer(ToleranceAsk(BORE, "circularity", 0.02, (), False), blind, monkeypatch).verdict == "unknown"
