"""The pages a stranger follows: code in them runs, links lead somewhere, figures are current."""

from __future__ import annotations

import ast
import re
import shutil
import struct
import subprocess
import sys
from pathlib import Path
from urllib.parse import unquote

import pytest

from jawright import units
from jawright.doors.cli.main import main
from jawright.job.read import read_job
from jawright.shop.read import read_shop

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"
TUTORIAL = DOCS / "start" / "first-plan.md"
README = ROOT / "README.md"


def blocks(page: Path, language: str) -> list[str]:
    found = re.findall(rf"^```{language}\n(.*?)^```", page.read_text(encoding="utf-8"), re.M | re.S)
    assert found, f"{page.name} has no {language} block"
    return found


def pages() -> list[Path]:
    found = [*ROOT.glob("*.md"), *DOCS.rglob("*.md"), *(ROOT / "examples").glob("*.md")]
    assert len(found) > 15
    return sorted(found)


@pytest.mark.parametrize("page", pages(), ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.S)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        place, _, anchor = target.partition("#")
        if re.match(r"[a-z]+:", place):
            continue
        path = (page.parent / unquote(place)).resolve() if place else page
        assert path.exists(), f"{page.name}: {target}"
        if anchor and path.suffix == ".md":
            heads = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.M)
            slugs = {re.sub(r"[^\w\- ]", "", h.lower()).strip().replace(" ", "-") for h in heads}
            assert anchor in slugs, f"{page.name}: {target}"


# --- what a new user types


@pytest.fixture
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the repository's examples in it, and the job file as the tutorial builds it."""
    shutil.copytree(ROOT / "examples", tmp_path / "examples", symlinks=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def follow(page: Path, *, plan: bool) -> list[int]:
    """Do what the page's sh blocks say; the exit codes of the jawright commands."""
    codes = []
    for line in "".join(blocks(page, "sh")).splitlines():
        command, *rest = line.split()
        if command == "mkdir":
            Path(rest[0]).mkdir()
        elif command == "cp":
            shutil.copy(*rest)
        else:
            assert command == "jawright", line
            Path("pawl-job/lever.toml").write_text("\n".join(blocks(page, "toml")), encoding="utf-8")
            if rest[0] != "plan" or plan:
                codes.append(main(rest))
    return codes


def test_the_tutorial_reads_its_part_and_job(workshop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert follow(TUTORIAL, plan=False) == [0, 0]
    said = capsys.readouterr().out
    for word in ("72.00", "datum A", "datum B", "datum C", "pin hole 1", "pivot bore"):
        assert word in said


@pytest.mark.long
def test_the_tutorial_plans(workshop: Path) -> None:
    codes = follow(TUTORIAL, plan=True)
    assert codes[:2] == [0, 0] and codes[2] in (0, 1)
    assert (workshop / "pawl-job" / "plan" / "setup-sheet.pdf").stat().st_size > 10_000
    (code,) = blocks(TUTORIAL, "python")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], cwd=workshop, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert {line.split()[0] for line in done.stdout.splitlines()} == {
        "loads", "sits", "grips", "holds", "locates", "clears"
    }  # fmt: skip


def test_the_readme_job_is_understood(workshop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(workshop / "examples" / "demo" / "pawl.step", "lever.step")
    shutil.copy(workshop / "examples" / "demo" / "shop.toml", "shop.toml")
    (text,) = blocks(README, "toml")
    Path("lever.toml").write_text(text, encoding="utf-8")
    assert main(["check", "lever.toml"]) == 0
    assert "position Ø0.100 mm to A|B|C" in capsys.readouterr().out
    (code,) = blocks(README, "python")
    names = {n.attr for n in ast.walk(ast.parse(code)) if isinstance(n, ast.Attribute)}
    assert {"plan", "read_job", "read_shop"} <= names
    assert read_job(Path("lever.toml")).quantity == 20
    assert read_shop(Path("shop.toml")).vises


def test_the_readme_names_targets_that_exist() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for target in re.findall(r"^    make (\S+)", README.read_text(encoding="utf-8"), re.M):
        assert re.search(rf"^{target}:", makefile, re.M), target


def test_the_picture_is_a_light_png() -> None:
    data = (DOCS / "img" / "setup-sheet.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    assert width >= 800 and 1.3 < height / width < 1.5  # an upright page
    assert len(data) < 300_000


# --- generated pages and lists


def test_the_validation_page_has_every_published_check() -> None:
    """By name and by what its docstring says of the source; the numbers are compared by the long test."""
    page = (DOCS / "validation.md").read_text(encoding="utf-8")
    told = set(re.findall(r"^\| ([^|]+) \| ((?:[^|]|\\\|)*?) \| [^|]+ \| [^|]* \| \d?\+? ?\|$", page, re.M))
    expected = set()
    for path in (ROOT / "tests" / "published").glob("test_*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                if any("mark.long" in ast.unparse(d) for d in node.decorator_list):
                    continue
                name = node.name.removeprefix("test_").replace("_", " ")
                text = " ".join((ast.get_docstring(node) or "").split()).replace("|", "\\|")
                expected.add((name[:1].upper() + name[1:], text))
    assert len(expected) > 150
    lost = {e for e in expected if e not in told and (e[1] or not any(n == e[0] for n, _ in told))}
    assert not lost, f"run: python docs/make_validation.py; not on the page: {sorted(lost)[:5]}"
    gone = {n for n, _ in told} - {n for n, _ in expected} - {"check"}
    assert not gone, f"run: python docs/make_validation.py; no such tests: {sorted(gone)[:5]}"


@pytest.mark.long
def test_the_validation_page_is_current() -> None:
    done = subprocess.run(
        [sys.executable, str(DOCS / "make_validation.py"), "--check"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_published_check_says_how_its_source_was_had() -> None:
    rows = (DOCS / "validation.md").read_text(encoding="utf-8").splitlines()
    silent = [r for r in rows if "| not said |" in r and not r.startswith("| not said | 0 |")]
    assert not silent, "\n".join(["name source and status in the test's docstring:", *silent])


def test_the_site_lists_every_page() -> None:
    listed = set(re.findall(r"- ([\w/-]+\.md)", (ROOT / "mkdocs.yml").read_text(encoding="utf-8")))
    have = {str(p.relative_to(DOCS)) for p in DOCS.rglob("*.md") if p.parent.name != "decisions"}
    assert listed == have


def test_decisions_are_numbered_without_gaps() -> None:
    names = sorted(p.name for p in (DOCS / "decisions").glob("*.md"))
    assert [n[:5] for n in names] == [f"{k:04d}-" for k in range(1, len(names) + 1)]


PROOF_CALLS = re.compile(r"""["'](loads|sits|grips|holds|locates|clears)["'],\s*f?["']([^"'{,]+)""")


def test_the_glossary_has_every_proof_and_unit() -> None:
    page = (DOCS / "glossary.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (loads|sits|grips|holds|locates|clears) \| ([^|]+?) \|", page, re.M)
    found = set()
    for path in (ROOT / "src" / "jawright" / "proof").glob("*.py"):
        found |= set(PROOF_CALLS.findall(path.read_text(encoding="utf-8")))
    questions = {"loads", "sits", "grips", "holds", "locates", "clears"}
    said = {(q, n.strip()) for q, n in found if n.strip() not in questions}
    assert len(said) > 10
    assert not said - set(rows), f"not in the glossary: {sorted(said - set(rows))}"
    for kind in ("length", "angle", "force", "torque", "pressure", "stiffness", "turning stiffness", "time"):
        (row,) = re.findall(rf"^\| {kind} \| \S+ \| (.+) \|$", page, re.M)
        for unit in units.KINDS[kind]:
            assert unit in row, (kind, unit)


def test_every_locked_library_has_its_license_listed() -> None:
    """Those for development too."""
    page = (ROOT / "THIRD-PARTY-LICENSES.md").read_text("utf-8")
    listed = set(re.findall(r"^\| ([a-z0-9-]+) \| .+ \| .+ \|$", page, re.M))
    lines = re.findall(r"^([a-z0-9-]+)==(.*)$", (ROOT / "requirements.lock").read_text("utf-8"), re.M)
    # what is only for Python inside a browser is never installed with us
    locked = {name for name, rest in lines if "sys_platform == 'emscripten'" not in rest}
    assert len(locked) > 40
    assert locked <= listed, f"not in THIRD-PARTY-LICENSES.md: {sorted(locked - listed)}"
    for name in page.splitlines():
        assert "UNKNOWN" not in name
