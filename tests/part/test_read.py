"""Part files in, one proven solid out, or one sentence why not."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files.part21 import Ref, Statement, statements
from jawright.part.read import read_part
from part.shapes import block, pawl, rewritten, shifted, turned, with_properties, written


def refused(path: Path, code: str, **options: object) -> str:
    with pytest.raises(JawrightError) as e:
        read_part(path, **options)  # type: ignore[arg-type]
    assert e.value.code == code, str(e.value)
    assert "Traceback" not in str(e.value)
    return str(e.value)


def test_a_solid_comes_back_as_written(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "pawl.step", pawl()))
    assert part.name == "pawl" and part.file == "pawl.step" and part.format == "step"
    assert part.unit == "mm"
    assert part.volume == pytest.approx(kernel.volume(pawl()), rel=1e-9)
    assert part.box == pytest.approx((-30.0, -20.0, 0.0, 25.0, 6.0, 12.0), abs=1e-6)
    assert part.size == pytest.approx((55.0, 26.0, 12.0), abs=1e-6)
    assert part.file_volume is None and part.file_area is None
    assert part.tolerances_in_file == 0
    assert [f.index for f in part.faces] == list(range(len(part.faces)))
    assert len(part.sha256) == 64
    (hole,) = part.holes
    assert (hole.diameter, hole.depth, hole.through) == (pytest.approx(10.0), pytest.approx(12.0), True)


def test_every_face_knows_its_entity_in_the_file(tmp_path: Path) -> None:
    path = written(tmp_path, "pawl.step", pawl())
    text = path.read_text(encoding="ascii")
    ids = [f.step_id for f in read_part(path).faces]
    assert len(set(ids)) == len(ids)
    assert all(f"#{i} = ADVANCED_FACE" in text for i in ids)


def surface_of(entities: dict[int, Statement], face: int) -> Statement:
    """The surface statement behind an ADVANCED_FACE."""
    ref = entities[face].args("ADVANCED_FACE")[2]
    assert isinstance(ref, Ref)
    return entities[ref.id]


WORDS = {
    "plane": "PLANE",
    "cylinder": "CYLINDRICAL_SURFACE",
    "cone": "CONICAL_SURFACE",
    "sphere": "SPHERICAL_SURFACE",
    "torus": "TOROIDAL_SURFACE",
}


def test_the_entity_of_a_face_has_its_surface(tmp_path: Path) -> None:
    """The file's own text is the witness: kind and radius of each face stand in its entity."""
    ring = kernel.torus((-10.0, -5.0, 12.0), (0.0, 0.0, 1.0), 4.0, 1.5)
    shape = kernel.cut(pawl(), ring, kernel.cone((20.0, 0.0, 12.0), (0.0, 0.0, -1.0), 3.0, 4.0))
    shape = kernel.fuse(shape, kernel.ball((-20.0, 0.0, 12.0), 3.0))
    path = written(tmp_path, "many.step", shape)
    entities = statements(path.read_text(encoding="ascii"))
    faces = read_part(path).faces
    assert {f.kind for f in faces} == set(WORDS)
    for face in faces:
        assert face.step_id is not None
        surface = surface_of(entities, face.step_id)
        assert surface.type == WORDS[face.kind]
        if face.kind in ("cylinder", "sphere"):
            assert surface.args()[2] == pytest.approx(face.radius)
        if face.kind == "torus":
            assert surface.args()[3] == pytest.approx(face.radius)


def test_reading_twice_gives_the_same_part(tmp_path: Path) -> None:
    path = written(tmp_path, "pawl.step", pawl())
    assert read_part(path) == read_part(path)


def test_suffix_does_not_matter_content_does(tmp_path: Path) -> None:
    path = written(tmp_path, "part.txt", block(10.0, 20.0, 30.0))
    assert read_part(path).size == pytest.approx((10.0, 20.0, 30.0), abs=1e-6)


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("empty.step", b"", "file-empty"),
        ("blank.step", b" \n \n", "file-empty"),
        ("letter.step", b"Dear machinist,\nplease find the part on page two.\n", "file-not-step"),
        ("binary.stp", bytes(range(256)) * 4, "file-not-step"),
        ("part.stl", b"solid x\nendsolid x\n", "file-not-step"),
        ("head.step", b"ISO-10303-21;\nHEADER;\n", "file-broken"),
    ],
)
def test_what_is_no_step_file_is_refused(tmp_path: Path, name: str, content: bytes, code: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert name in refused(path, code)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    refused(tmp_path / "none.step", "file-missing")
    refused(tmp_path, "file-missing")


def test_a_file_over_the_limit_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, "pawl.step", pawl())
    monkeypatch.setattr("jawright.files.limits.STEP_BYTES", 1000)
    refused(path, "file-too-large")


def test_half_a_file_is_called_cut_off(tmp_path: Path) -> None:
    path = written(tmp_path, "pawl.step", pawl())
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    assert "cut off" in refused(path, "file-broken")


def test_two_solids_are_asked_about_with_their_sizes(tmp_path: Path) -> None:
    path = written(tmp_path, "two.step", block(10.0, 20.0, 30.0), block(5.0, 5.0, 5.0, at=(50.0, 0.0, 0.0)))
    words = refused(path, "part-several-solids")
    assert "1: 10.0 × 20.0 × 30.0 mm; 2: 5.0 × 5.0 × 5.0 mm" in words
    assert "body = 1 to 2" in words and "body = 0" not in words
    assert read_part(path, body=2).volume == pytest.approx(125.0, rel=1e-9)
    assert any("1 other solid" in f.what for f in read_part(path, body=2).findings)
    assert "body = 3" in refused(path, "value-bad", body=3)
    assert "do not join" in refused(path, "value-bad", body=0)


def test_solids_that_touch_are_offered_as_one(tmp_path: Path) -> None:
    path = written(tmp_path, "two.step", block(10.0, 20.0, 30.0), block(5.0, 20.0, 30.0, at=(10.0, 0.0, 0.0)))
    assert "body = 0: they touch and join into one part" in refused(path, "part-several-solids")
    part = read_part(path, body=0)
    assert part.volume == pytest.approx(9000.0, rel=1e-9)
    assert len(part.faces) == 6
    assert all(f.step_id is None for f in part.faces)
    assert any(f.level == "repaired" for f in part.findings)


def test_rotated_and_far_off_parts_are_read_alike(tmp_path: Path) -> None:
    shape = turned(pawl(), math.radians(37), shift=(5000.0, -8000.0, 3000.0))
    part = read_part(written(tmp_path, "far.step", shape))
    assert part.volume == pytest.approx(kernel.volume(pawl()), rel=1e-8)
    (hole,) = part.holes
    assert hole.diameter == pytest.approx(10.0) and hole.through


MILLIMETER = "SI_UNIT(.MILLI.,.METRE.)"


def test_meters_and_inches_are_brought_to_millimeters(tmp_path: Path) -> None:
    path = rewritten(written(tmp_path, "m.step", block(1.0, 2.0, 3.0)), (MILLIMETER, "SI_UNIT($,.METRE.)"))
    part = read_part(path)
    assert part.unit == "m"
    assert part.size == pytest.approx((1000.0, 2000.0, 3000.0), rel=1e-9)


def test_the_files_own_volume_is_compared(tmp_path: Path) -> None:
    part = read_part(with_properties(tmp_path, 6000.0, 2200.0))
    assert (part.file_volume, part.file_area) == (6000.0, 2200.0)
    assert any("differs from the file's own" in f.what for f in part.findings)
    read_part(with_properties(tmp_path, 6005.0, 2201.0))  # 8.3e-4 and 4.5e-4: still accepted


@pytest.mark.parametrize(("volume", "area", "word"), [(6007.0, 2200.0, "volume"), (6000.0, 2190.0, "area")])
def test_a_part_that_lost_something_is_refused(tmp_path: Path, volume: float, area: float, word: str) -> None:
    words = refused(with_properties(tmp_path, volume, area), "part-integrity")
    assert word in words and "lost in reading" in words


def test_a_file_without_geometry_says_so(tmp_path: Path) -> None:
    path = written(tmp_path, "none.step", block(1.0, 1.0, 1.0))
    text = path.read_text(encoding="ascii")
    data = text[text.index("DATA;") : text.index("ENDSEC;", text.index("DATA;"))]
    path.write_text(text.replace(data, "DATA;\n#1=DIRECTION('',(0.,0.,1.));\n"), encoding="ascii")
    assert "holds no solid" in refused(path, "part-no-solid")


def loose(folder: Path, faces: str) -> Path:
    """The block of 10 × 20 × 30 as a shell of loose faces: ``faces`` keeps all, or all but one, or one."""
    path = written(folder, "loose.step", block(10.0, 20.0, 30.0))
    text = path.read_text(encoding="ascii")
    shell = text[text.index("CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(") :]
    held = "".join(shell[: shell.index("))")].split()).split(",")
    kept = {"all": held, "most": held[1:], "one": held[:1]}[faces]
    old = text[text.index("CLOSED_SHELL") : text.index(";", text.index("CLOSED_SHELL"))]
    text = text.replace(old, f"OPEN_SHELL('',({','.join(kept)}))")
    text = text.replace("MANIFOLD_SOLID_BREP('',#", "SHELL_BASED_SURFACE_MODEL('',(#", 1)
    start = text.index("SHELL_BASED_SURFACE_MODEL")
    end = text.index(")", start)
    text = text[:end] + ")" + text[end:]
    path.write_text(
        text.replace("ADVANCED_BREP_SHAPE_REPRESENTATION", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION"),
        encoding="ascii",
    )
    return path


def test_loose_faces_that_close_are_joined_and_it_is_said(tmp_path: Path) -> None:
    part = read_part(loose(tmp_path, "all"))
    assert part.volume == pytest.approx(6000.0, rel=1e-9)
    assert any(f.level == "repaired" and "joined" in f.what for f in part.findings)


def test_an_open_skin_is_no_solid(tmp_path: Path) -> None:
    assert "only 5 loose faces" in refused(loose(tmp_path, "most"), "part-no-solid")


def test_a_sheet_without_thickness_is_flat(tmp_path: Path) -> None:
    assert "without thickness" in refused(loose(tmp_path, "one"), "part-flat")


def test_answers_meant_for_drawings_are_named_as_ignored(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "pawl.step", pawl()), unit="inch", thickness=3.0)
    ignored = [f.what for f in part.findings if f.level == "ignored"]
    assert len(ignored) == 2 and "unit" in ignored[0] and "thickness" in ignored[1]
    assert part.size == pytest.approx((55.0, 26.0, 12.0), abs=1e-6)


def test_findings_are_numbered_in_order(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "pawl.step", shifted(pawl(), (1.0, 2.0, 3.0))), unit="mm")
    assert [f.number for f in part.findings] == list(range(1, len(part.findings) + 1))
