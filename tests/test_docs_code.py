"""Every command, TOML block and Python block of the pages is understood; the how-tos run as written."""

from __future__ import annotations

import ast
import re
import shlex
import shutil
import textwrap
import tomllib
from collections.abc import Iterator
from pathlib import Path

import ezdxf
import numpy as np
import pytest

import jawright
from jawright.doors.cli.arguments import parser
from jawright.doors.cli.main import main
from jawright.job.schema import SECTIONS as JOB
from jawright.shop.readings import SECTIONS as READINGS
from jawright.shop.schema import SECTIONS as SHOP

ROOT = Path(__file__).resolve().parent.parent
HOWTO = ROOT / "docs" / "howto"


def pages() -> list[Path]:
    found = [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "examples").glob("*.md")]
    return sorted(p for p in found if p.name not in ("year.md", "CHANGELOG.md"))


def fenced(text: str) -> Iterator[tuple[str, str]]:
    """(language, code) of the fenced blocks."""
    yield from re.findall(r"^```(\w*)\n(.*?)^```", text, re.M | re.S)


def indented(text: str) -> Iterator[str]:
    """Code of the blocks set in by four spaces, outside fences and lists."""
    bare = re.sub(r"^```.*?^```", "", text, flags=re.M | re.S)
    for block in re.findall(r"(?:^    .*\n(?:\s*\n(?=    ))?)+", bare, re.M):
        yield textwrap.dedent(block)


def commands(page: Path) -> list[str]:
    """Lines that begin with ``jawright``, in order."""
    text = page.read_text(encoding="utf-8")
    lines = [line.strip() for line in text.splitlines() if re.match(r"(?: {4,7}|\$ )?jawright [a-z]", line)]
    return [line.removeprefix("$ ").split("  #")[0] for line in lines]


def tomls(page: Path) -> list[str]:
    text = page.read_text(encoding="utf-8")
    found = [code for language, code in fenced(text) if language == "toml"]
    return found + [b for b in indented(text) if re.search(r"^\[+\w+\]+\s*(#.*)?$", b, re.M) and " = " in b]


def test_pages_hold_code() -> None:
    """The search for it has not gone blind."""
    assert sum(len(commands(p)) for p in pages()) > 20
    assert sum(len(tomls(p)) for p in pages()) > 10


@pytest.mark.parametrize("page", pages(), ids=lambda p: str(p.relative_to(ROOT)))
def test_every_command_is_one(page: Path) -> None:
    for line in commands(page):
        if "`" in line:
            continue  # a word in a sentence
        try:
            parser().parse_args(shlex.split(line)[1:])
        except SystemExit as end:
            raise AssertionError(f"{page.name}: {line}") from end


def known(path: Path) -> dict[str, set[str]]:
    """Keys by section, of all files a page may show."""
    out: dict[str, set[str]] = {}
    for s in (*JOB, *SHOP, *READINGS):
        out.setdefault(s.name, set()).update(k.name for k in s.keys)
    return out


@pytest.mark.parametrize("page", [p for p in pages() if tomls(p)], ids=lambda p: str(p.relative_to(ROOT)))
def test_every_toml_block_has_known_keys(page: Path) -> None:
    keys = known(page)
    every = {k for names in keys.values() for k in names} | {"units"}
    for code in tomls(page):
        data = tomllib.loads(code)
        for name, value in data.items():
            if name not in keys:
                assert name in every, f"{page.name}: {name}"
                continue
            for row in value if isinstance(value, list) else [value]:
                if isinstance(row, dict):
                    assert set(row) <= keys[name], f"{page.name}: [{name}] {sorted(set(row) - keys[name])}"


@pytest.mark.parametrize("page", pages(), ids=lambda p: str(p.relative_to(ROOT)))
def test_every_python_block_calls_what_there_is(page: Path) -> None:
    for language, code in fenced(page.read_text(encoding="utf-8")):
        if language != "python":
            continue
        for node in ast.walk(ast.parse(code)):
            if isinstance(node, ast.Attribute) and getattr(node.value, "id", "") == "jawright":
                assert hasattr(jawright, node.attr), f"{page.name}: jawright.{node.attr}"


# --- the how-tos, command by command


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with everything the pages name: two jobs, the shop, a drawing, a photo, a run, readings."""
    for name in ("pawl.step", "pawl.toml", "shop.toml"):
        shutil.copy(ROOT / "examples" / "demo" / name, tmp_path / name)
    tall = (
        (tmp_path / "pawl.toml")
        .read_text("utf-8")
        .replace('vise = "V150"', 'vise = "V150"\nblank = "A40x60"')
    )
    (tmp_path / "pawl.toml").write_text(tall, "utf-8")
    (tmp_path / "lever.toml").write_text(
        tall.replace('blank = "A40x60"', "").replace("DW-114", "DW-206"), "utf-8"
    )
    drawing = ezdxf.new("R2000", setup=False)
    drawing.header["$INSUNITS"] = 4
    drawing.modelspace().add_lwpolyline([(-30, -18), (30, -18), (30, 12), (-30, 12)], close=True)
    drawing.saveas(tmp_path / "pocket.dxf")
    (tmp_path / "jaws.jpg").write_bytes(b"photo")
    rng = np.random.default_rng(4)
    rows = [f"{k},{42 + s:.3f},{a:.4f},{b:.4f}" for k, (s, a, b) in enumerate(rng.normal(0, 0.02, (40, 3)))]
    head = "part,size_mm,pin_hole_1_x_mm,pin_hole_2_x_mm"
    (tmp_path / "run.csv").write_text("\n".join([head, *rows]) + "\n", "utf-8")
    sheet = HOWTO.parent / "measure-your-vise.md"
    (tmp_path / "readings.toml").write_text(_more_steps(tomls(sheet)[0]), "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("JAWRIGHT_RACK", raising=False)
    return tmp_path


def _more_steps(text: str) -> str:
    """The page's two readings "and so on": three more torques."""
    for torque, low, high in ((30, 0.009, 0.016), (40, 0.012, 0.022), (50, 0.015, 0.027)):
        text += f'\n[[reading]]\ntorque = "{torque} N·m"\nlow = {low}\nhigh = {high}\n'
    return text


def test_the_vise_is_calibrated_as_the_page_says(shelf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (line,) = [c for c in commands(HOWTO.parent / "measure-your-vise.md") if "calibrate" in c]
    assert main(shlex.split(line)[1:]) == 0
    assert "tilt_stiffness" in capsys.readouterr().out


@pytest.mark.long
def test_the_rack_and_the_floor_as_the_pages_say(shelf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All of rack.md, then diagnose.md with the plan and the register that rack.md leaves."""
    assert main(["plan", "pawl.toml", "--out", "out/pawl"]) in (0, 1)
    for page in ("rack.md", "diagnose.md"):
        for line in commands(HOWTO / page):
            code = main(shlex.split(line)[1:])
            said = capsys.readouterr()
            assert code in (0, 1), f"{page}: {line}\n{said.err}"
    assert (shelf / "out" / "lever" / "setup-sheet.pdf").exists()
    assert (shelf / "out" / "pawl" / "first-article-1.json").exists()
    assert sorted(p.name for p in shelf.glob("rack*")) == ["rack-copy.db", "rack.db", "rack.json"]
