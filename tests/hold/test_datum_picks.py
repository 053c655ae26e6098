"""Faces picked as datums: an outside cylinder is a round, two walls are a width, others are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold.resolve import Ask, resolve
from jawright.job.read import read_job
from jawright.part.read import read_part
from part.shapes import written

HEAD = 'units = "mm"\n[job]\nquantity = 5\n[part]\nfile = "p.step"\nmaterial = "6061-T6"\n'
BORE = '[[feature]]\nname = "bore"\nkind = "bore"\nat = [5, 0, 6]\n'


def asked(folder: Path, shape: bytes, more: str) -> Ask:
    written(folder, "p.step", shape)
    (folder / "job.toml").write_text(HEAD + more, encoding="utf-8")
    return resolve(read_part(folder / "p.step"), read_job(folder / "job.toml"))


def disc() -> bytes:
    body = kernel.extrude(Region(circle((3.0, -2.0), 20.0)), 0.0, 12.0)
    return kernel.cut(body, kernel.cylinder((0.0, 0.0, -1.0), (0.0, 0.0, 1.0), 5.0, 14.0))


def plate() -> bytes:
    body = kernel.extrude(Region(rectangle(-30.0, -10.0, 30.0, 14.0)), 0.0, 12.0)
    return kernel.cut(body, kernel.cylinder((0.0, 0.0, -1.0), (0.0, 0.0, 1.0), 5.0, 14.0))


def test_an_outside_cylinder_is_a_round_about_its_own_axis(tmp_path: Path) -> None:
    ask = asked(tmp_path, disc(), '[[datum]]\nletter = "A"\nat = [23, -2, 6]\n' + BORE)
    (a,) = ask.datums
    assert a.kind == "round"
    assert a.point == pytest.approx((3.0, -2.0, 6.0))
    assert abs(a.normal[2]) == pytest.approx(1.0)


def test_two_walls_are_a_width_with_its_middle(tmp_path: Path) -> None:
    datum = '[[datum]]\nletter = "A"\nat = [12, 14, 6]\nopposite = [-9, -10, 6]\nsize = "0.1 mm"\n'
    ask = asked(tmp_path, plate(), datum + BORE)
    (a,) = ask.datums
    assert a.kind == "width" and len(a.faces) == 2
    assert a.point[1] == pytest.approx(2.0)
    assert a.normal == pytest.approx((0.0, 1.0, 0.0))
    assert a.words == "middle of 24.0 mm between +Y and -Y"


@pytest.mark.parametrize("other", ["[30, 0, 6]", "[12, 14, 3]", "[5, 0, 6]"])
def test_walls_that_are_not_opposite_are_refused(tmp_path: Path, other: str) -> None:
    datum = f'[[datum]]\nletter = "A"\nat = [12, 14, 6]\nopposite = {other}\n'
    with pytest.raises(JawrightError, match="not opposite planes"):
        asked(tmp_path, plate(), datum + BORE)


def test_a_common_datum_is_read_and_its_letters_are_known(tmp_path: Path) -> None:
    datums = "".join(
        f'[[datum]]\nletter = "{x}"\nat = {at}\n' for x, at in (("A", "[12, 14, 6]"), ("B", "[-12, 14, 6]"))
    )
    ask = 'zone = "0.1 mm"\nfeature = "bore"\nkind = "position"\n'
    got = asked(tmp_path, plate(), datums + BORE + f'[[tolerance]]\n{ask}datums = ["A-B"]\n')
    assert got.tolerances[0].datums == ("A-B",)
    with pytest.raises(JawrightError, match="datum C is not picked"):
        asked(tmp_path, plate(), datums + BORE + f'[[tolerance]]\n{ask}datums = ["A-C"]\n')
    with pytest.raises(JawrightError, match="datum A stands twice"):
        asked(tmp_path, plate(), datums + BORE + f'[[tolerance]]\n{ask}datums = ["A-B", "A"]\n')
