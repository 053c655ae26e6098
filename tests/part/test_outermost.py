"""The outermost of several cuts, also where their fitted outlines leave no exact union."""

from __future__ import annotations

import pytest
from tests.parts.real import real

from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, union
from jawright.geometry.profile import Region, circle, rectangle
from jawright.kernel import Section
from jawright.part import band
from jawright.part.read import read_part


def cut(*regions: Region, bound: float) -> Section:
    return Section(tuple(regions), tuple((0,) for _ in regions), tuple(() for _ in regions), bound)


CUTS = [
    difference(Region(rectangle(0.0, 0.0, 40.0, 20.0)), Region(circle((10.0, 19.0), 3.0)))[0],
    Region(rectangle(5.0, -1.0, 35.0, 21.0)),
]


def _failing(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    left = [times]

    def refuses(*shapes: object) -> tuple[Region, ...]:
        if left[0] > 0:
            left[0] -= 1
            raise JawrightError("geometry", what="a chain of curves does not close")
        return union(*shapes)  # type: ignore[arg-type]

    monkeypatch.setattr(band, "union", refuses)


@pytest.mark.parametrize(("times", "grown"), [(0, 0.0), (1, 2e-4), (2, 5e-4), (3, 1e-3)])
def test_cuts_are_parted_by_less_than_a_micrometer(
    monkeypatch: pytest.MonkeyPatch, times: int, grown: float
) -> None:
    true = union(CUTS)
    _failing(monkeypatch, times)
    (one,), by = band._outermost([cut(c, bound=8e-4) for c in CUTS])
    assert by == pytest.approx(grown)
    # never smaller than the truth, and larger by no more than the growth along its outline
    assert 0.0 <= one.area - true[0].area <= by * 1.01 * sum(c.length for c in true[0].outer.curves) + 1e-9
    assert all(
        0.0 <= v - w <= by + 1e-9 for v, w in zip(one.outer.box[2:], true[0].outer.box[2:], strict=True)
    )
    assert all(
        0.0 <= w - v <= by + 1e-9 for v, w in zip(one.outer.box[:2], true[0].outer.box[:2], strict=True)
    )


def test_exact_cuts_are_never_grown(monkeypatch: pytest.MonkeyPatch) -> None:
    _failing(monkeypatch, 1)
    with pytest.raises(JawrightError, match="does not close"):
        band._outermost([cut(c, bound=0.0) for c in CUTS])


def test_what_no_growth_parts_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    _failing(monkeypatch, 100)
    with pytest.raises(JawrightError, match="does not close"):
        band._outermost([cut(c, bound=8e-4) for c in CUTS])


@pytest.mark.long
def test_a_curved_fork_has_an_outline() -> None:
    """Thirty-nine cuts of a real part whose fitted walls run within rounding of one another."""
    found = band.grip_band(read_part(real("fork-01.step")), (-1.0, 0.0, 0.0), 0.0, 4.725)
    assert found.kind == "free-form"
    assert 0.0 < found.fit_bound < 2.5e-3
