"""Plates made from an outline and a thickness."""

from __future__ import annotations

import math

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files.findings import Finding
from jawright.geometry.profile import Region, circle
from jawright.part.band import grip_band
from jawright.part.model import Part
from jawright.part.plate import make_plate
from samples import pawl_outline

REGION = Region(pawl_outline(), (circle((13.0, -8.0), 5.0).reversed(),))


def plate(thickness: float | None) -> Part:
    noted = (Finding(1, "noted", "layer 0 only"),)
    return make_plate(REGION, "inch", noted, file="pawl.v2.dxf", data=b"0\nEOF\n", thickness=thickness)


def test_a_plate_is_a_solid_like_any_other() -> None:
    part = plate(12.0)
    assert (part.name, part.file, part.format, part.unit) == ("pawl.v2", "pawl.v2.dxf", "dxf", "inch")
    assert part.outline is REGION
    assert part.volume == pytest.approx(12.0 * REGION.area, rel=1e-9)
    assert part.area == pytest.approx(
        2 * REGION.area + 12.0 * (REGION.outer.perimeter + 10 * math.pi), rel=1e-9
    )
    assert kernel.is_valid(part.shape)
    assert [(h.through, round(h.diameter, 9)) for h in part.holes] == [(True, 10.0)]
    assert part.findings[0].what == "layer 0 only"


def test_its_grip_band_is_the_outline_of_the_drawing() -> None:
    band = grip_band(plate(12.0), (0.0, 0.0, 1.0), 0.0, 6.0)
    assert band.kind == "prismatic" and band.fit_bound == 0.0
    assert band.outline[0].area == pytest.approx(REGION.area, rel=1e-9)
    assert len(band.outline[0].outer.curves) == len(REGION.outer.curves)


@pytest.mark.parametrize(
    ("thickness", "code"), [(None, "key-missing"), (0.0, "part-flat"), (-3.0, "part-flat")]
)
def test_no_thickness_no_plate(thickness: float | None, code: str) -> None:
    with pytest.raises(JawrightError) as e:
        plate(thickness)
    assert e.value.code == code and str(e.value).startswith("pawl.v2.dxf: ")
