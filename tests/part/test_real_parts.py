"""Real part files of others: each is read whole, or refused with the right sentence."""

from __future__ import annotations

import dataclasses

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files.part21 import statements
from jawright.geometry.frame import Vec3, standing
from jawright.part.band import grip_band
from jawright.part.read import read_part
from part.test_read import WORDS, surface_of
from parts.real import real


@dataclasses.dataclass(frozen=True)
class Expected:
    """What was found when the collection was made: sizes [mm], unit, faces, round-hole diameters [mm]."""

    name: str
    size: Vec3
    unit: str
    faces: int
    holes: int


READ = [
    Expected("lever-01.step", (280.0, 120.0, 20.0), "mm", 48, 16),
    Expected("mounting-plate-01.step", (152.4, 12.7, 254.0), "m", 15, 5),
    Expected("hex-nut-01.step", (15.88, 13.75, 6.76), "m", 9, 1),
    Expected("round-base-01.step", (40.0, 5.0, 40.0), "mm", 11, 1),
    Expected("fork-01.step", (13.5, 16.78, 62.5), "mm", 118, 5),
    Expected("finger-link-01.step", (16.2, 58.44, 14.62), "m", 59, -1),
    Expected("arm-joint-01.step", (59.8, 84.2, 46.0), "mm", 229, -1),
    Expected("flange-hub-01.step", (45.64, 45.64, 25.0), "mm", 24, -1),
    Expected("nist_ctc_01_asme1_ap203.stp", (800.0, 450.0, 150.0), "mm", 139, -1),
    Expected("nist_ctc_03_asme1_ap203.stp", (302.96, 485.44, 162.68), "inch", 139, -1),
    Expected("nist_ctc_01_asme1_ap242-e1.stp", (800.0, 450.0, 150.0), "mm", 117, 10),
    Expected("nist_ctc_03_asme1_ap242-e2.stp", (302.96, 485.44, 162.69), "mm", 120, -1),
    Expected("nist_ftc_06_asme1_ap242-e2.stp", (304.8, 97.79, 247.65), "mm", 187, -1),
    Expected("nist_stc_07_asme1_ap242-e3.stp", (311.61, 135.89, 222.71), "inch", 304, -1),
]


@pytest.mark.parametrize("e", READ, ids=lambda e: e.name)
def test_it_is_read_whole(e: Expected) -> None:
    part = read_part(real(e.name))
    assert part.size == pytest.approx(e.size, abs=0.006)
    assert part.unit == e.unit
    assert len(part.faces) == e.faces
    assert e.holes in (-1, len(part.holes))
    assert kernel.is_valid(part.shape)
    assert all(f.step_id is not None for f in part.faces)
    assert sum(f.area for f in part.faces) == pytest.approx(part.area, rel=1e-9)


@pytest.mark.parametrize(
    "name", ["fork-01.step", "nist_ftc_06_asme1_ap242-e2.stp", "nist_ctc_01_asme1_ap203.stp"]
)
def test_the_entity_of_a_face_has_its_surface(name: str) -> None:
    entities = statements(real(name).read_text(encoding="utf-8"))
    for face in read_part(real(name)).faces:
        assert face.step_id is not None
        surface = surface_of(entities, face.step_id)
        if face.kind != "other":
            assert surface.type == WORDS[face.kind]
        if face.kind == "cylinder" and face.radius is not None:
            assert surface.args()[2] == pytest.approx(face.radius, rel=1e-6)


def test_three_touching_bodies_are_offered_as_one() -> None:
    path = real("bracket-02.step")
    with pytest.raises(JawrightError, match="3 solids") as e:
        read_part(path)
    assert e.value.code == "part-several-solids" and "body = 0" in e.value.todo
    part = read_part(path, body=0)
    assert part.size == pytest.approx((135.92, 69.25, 152.4), abs=0.006)
    whole = sum(read_part(path, body=i).volume for i in (1, 2, 3))
    assert part.volume == pytest.approx(whole, rel=1e-6)


def test_a_net_of_triangles_is_told_not_used() -> None:
    with pytest.raises(JawrightError, match="net of triangles") as e:
        read_part(real("nist_ftc_08_asme1_ap242-e1-tg.stp"))
    assert e.value.code == "part-not-exact"


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)])
@pytest.mark.parametrize("name", ["lever-01.step", "fork-01.step", "nist_ftc_06_asme1_ap242-e2.stp"])
def test_sections_add_up_to_the_volume(name: str, up: Vec3) -> None:
    """Simpson's rule over level cuts comes near the volume: no region is lost or turned inside out."""
    part = read_part(real(name))
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    b = kernel.box(part.shape, move)
    n = 24
    step = (b[5] - b[2]) / n
    areas = [
        sum(r.area for r in kernel.section(part.shape, move, b[2] + (k + 0.5) * step).regions)
        for k in range(n)
    ]
    assert sum(areas) * step == pytest.approx(part.volume, rel=0.05)


@pytest.mark.parametrize(
    ("name", "up", "kind"),
    [
        ("lever-01.step", (0.0, 0.0, 1.0), "prismatic"),
        ("mounting-plate-01.step", (0.0, 1.0, 0.0), "prismatic"),
        ("hex-nut-01.step", (0.0, 0.0, 1.0), "prismatic"),
    ],
)
def test_grip_bands_of_plates_are_prismatic(name: str, up: Vec3, kind: str) -> None:
    band = grip_band(read_part(real(name)), up, 0.0, 5.0)
    assert band.kind == kind and band.fit_bound == 0.0
    assert all(-1 not in s for s in band.sources)
