"""Drawings of others: sizes, openings, units and troubles as found when the collection was made."""

from __future__ import annotations

import dataclasses

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.part.read import read_part
from parts.real import real

INCH = 25.4


@dataclasses.dataclass(frozen=True)
class Expected:
    """Size in the file's own unit, its size [mm], and openings in the outline."""

    name: str
    size: tuple[float, float]
    unit: str
    scale: float
    openings: int


READ = [
    Expected("profile-ears-01.dxf", (16.5, 8.0), "inch", INCH, 2),
    Expected("profile-panel-01.dxf", (410.0, 409.0), "mm", 1.0, 39),
    Expected("profile-plate-01.dxf", (20.0, 8.0), "mm", 1.0, 10),
    Expected("profile-octagon-01.dxf", (14.0, 14.0), "inch", INCH, 23),
    Expected("profile-channel-01.dxf", (3.67, 12.0), "inch", INCH, 0),
]


@pytest.mark.parametrize("e", READ, ids=lambda e: e.name)
def test_it_becomes_a_plate(e: Expected) -> None:
    part = read_part(real(e.name), thickness=12.0)
    assert part.outline is not None and part.unit == e.unit
    assert part.size[:2] == pytest.approx([e.scale * s for s in e.size], abs=1e-3 * e.scale)
    assert len(part.outline.holes) == e.openings
    assert part.volume == pytest.approx(12.0 * part.outline.area, rel=1e-9)
    assert kernel.is_valid(part.shape)


def test_a_file_without_unit_is_asked_about() -> None:
    path = real("profile-tongue-01.dxf")
    with pytest.raises(JawrightError, match=r"2 × 5 mm drawn in mm, 50\.8 × 127 mm drawn") as e:
        read_part(path, thickness=3.0)
    assert e.value.code == "part-unit-unknown"
    assert read_part(path, unit="inch", thickness=3.0).size == pytest.approx((50.8, 127.0, 3.0))


def test_an_outline_with_bad_nodes_is_refused_with_both_places() -> None:
    with pytest.raises(JawrightError, match=r"\(1.0000, 0.0000\).*\(1.1000, 0.0000\)") as e:
        read_part(real("profile-openloop-01.dxf"), unit="inch", thickness=3.0)
    assert e.value.code == "part-outline-crossing"


def test_notes_and_dimensions_are_listed() -> None:
    part = read_part(real("profile-panel-01.dxf"), thickness=3.0)
    ignored = [f.what for f in part.findings if f.level == "ignored"]
    assert ignored == ["no part of the outline: 22 dimensions, 31 points, 5 texts"]
