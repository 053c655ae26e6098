"""``jawright vise calibrate``: files of readings in, lines for the shop file out, bad ones refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from jawright.doors.cli import main
from jawright.errors import JawrightError
from jawright.shop.readings import read_readings
from jawright.units import parse
from published.test_mount import readings

FILE = """units = "mm"
[setup]
vise = "V150"
low = 10
high = 42
bar = 25
"""


def write(folder: Path, rows: list[str], head: str = FILE) -> Path:
    path = folder / "readings.toml"
    path.write_text(head + "".join(f"[[reading]]\n{r}\n" for r in rows), encoding="utf-8")
    return path


def steps(key: str) -> list[str]:
    force, low, high = readings(8e8, 4e5, 0.0003, 5)
    unit = {"force": 'force = "{:.0f} N"', "torque": 'torque = "{:.3f} N·m"'}[key]
    scale = 1.0 if key == "force" else 1 / 250.0
    return [
        unit.format(f * scale) + f"\nlow = {a:.5f}\nhigh = {b:.5f}"
        for f, a, b in zip(force, low, high, strict=True)
    ]


@pytest.mark.parametrize("key", ["force", "torque"])
def test_command_prints_lines_for_the_shop_file(
    key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path, steps(key))
    assert main.main(["vise", "calibrate", str(path)]) == 0
    out = capsys.readouterr().out
    assert 'tilt_stiffness = ["' in out and 'push_stiffness = ["' in out
    assert "95 % intervals" in out and "V150" in out
    assert ("load cell" in out) == (key == "force")
    band = next(line for line in out.splitlines() if line.startswith("tilt_stiffness"))
    low, mid, high = (float(v.split(" ")[0]) for v in band.split('"')[1::2])
    assert low < mid < high
    if key == "force":
        assert low < 8e8 < high


@pytest.mark.parametrize(
    ("rows", "match"),
    [
        (["low = 0\nhigh = 0"], "torque or a force"),
        (['force = "1 kN"\ntorque = "5 N·m"\nlow = 0\nhigh = 0'], "torque or a force"),
        (['force = "1 kN"\nlow = 0\nhigh = 0', 'torque = "5 N·m"\nlow = 0\nhigh = 0'], "some readings"),
        (['force = "1 kN"\nlow = 0\nhigh = 9'], "at most"),
    ],
)
def test_bad_readings_are_refused(rows: list[str], match: str, tmp_path: Path) -> None:
    with pytest.raises(JawrightError, match=match):
        read_readings(write(tmp_path, rows))


def test_unknown_vise_is_refused_in_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, steps("force"), FILE.replace("V150", "V9"))
    assert main.main(["vise", "calibrate", str(path)]) == 2
    assert "the shop has no vise V9" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("bar = 25", "bar = 400", "the jaws of vise V150 end at"),
        ("high = 42", "high = 15", "5.0 mm apart"),
        ('torque = "', 'torque = "1', "at most; check the reading"),
    ],
)
def test_heights_and_torques_the_vise_cannot_have(
    old: str, new: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path, steps("torque"))
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    assert main.main(["vise", "calibrate", str(path)]) == 2
    err = capsys.readouterr().err
    assert says in err and "Traceback" not in err


def test_a_force_in_the_wrong_unit_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, [r.replace(" N", "00 N", 1) for r in steps("force")[:6]])
    assert main.main(["vise", "calibrate", str(path)]) == 2
    assert "check the unit of the force" in capsys.readouterr().err


def test_an_inch_shop_is_answered_in_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same readings written in inches and pounds: the same mount, and no millimeter on the screen."""
    force, low, high = readings(8e8, 4e5, 0.0003, 5)
    head = FILE.replace('"mm"', '"inch"').replace("= 10", "= 0.39370").replace("= 42", "= 1.65354")
    head = head.replace("= 25", "= 0.98425")
    rows = [
        f'force = "{f / 4.4482216:.3f} lbf"\nlow = {a / 25.4:.7f}\nhigh = {b / 25.4:.7f}'
        for f, a, b in zip(force, low, high, strict=True)
    ]
    inch = write(tmp_path, rows, head)
    assert main.main(["vise", "calibrate", str(inch)]) == 0
    out = capsys.readouterr().out
    assert "lbf·in/rad" in out and "lbf/in" in out and " mm" not in out and "N/mm" not in out
    lines = {v.split(" = ")[0]: v for v in out.splitlines() if "_stiffness = [" in v}
    mm = write(tmp_path, steps("force"))
    assert main.main(["vise", "calibrate", str(mm)]) == 0
    for line in (v for v in capsys.readouterr().out.splitlines() if "_stiffness = [" in v):
        name = line.split(" = ")[0]
        kind = "turning stiffness" if name.startswith("tilt") else "stiffness"
        for a, b in zip(line.split('"')[1::2], lines[name].split('"')[1::2], strict=True):
            assert parse(b, kind) == pytest.approx(parse(a, kind), rel=0.01)
    assert main.main(["vise", "calibrate", str(mm), "--units", "inch"]) == 0
    assert "lbf·in/rad" in capsys.readouterr().out


def test_an_inch_slip_is_refused_in_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head = (
        FILE.replace('"mm"', '"inch"')
        .replace("= 10", "= 0.4")
        .replace("= 42", "= 1.65")
        .replace("= 25", "= 9")
    )
    path = write(tmp_path, ['force = "500 lbf"\nlow = 0.0001\nhigh = 0.0002'] * 4, head)
    assert main.main(["vise", "calibrate", str(path)]) == 2
    err = capsys.readouterr().err
    assert "bar lies 9.00 in over the bed" in err and " mm" not in err
