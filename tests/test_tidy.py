"""The repository's own rules: who imports whom, how long things get, what is documented."""

from __future__ import annotations

import ast
import importlib.metadata
import importlib.util
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import jawright
from jawright.errors import CODES

ROOT = Path(__file__).resolve().parent.parent
SRC = ROOT / "src" / "jawright"

# docs/architecture.md, refined: a room imports only from rooms with a smaller number
ORDER = {
    "data": 0,
    "errors": 0,
    "same": 0,
    "beside": 1,
    "units": 1,
    "told": 2,
    "geometry": 1,
    "statistics": 1,
    "handbook": 2,
    "mechanics": 2,
    "kernel": 2,
    "files": 3,
    "shop": 4,
    "job": 4,
    "part": 5,
    "hold": 6,
    "jaws": 7,
    "proof": 8,
    "choose": 9,
    "cost": 9,
    "cutting": 10,
    "verify": 10,
    "record": 11,
    "record_units": 12,
    "record_json": 13,
    "record_schema": 14,
    "papers": 15,
    "tries": 11,
    "trial": 12,
    "begun": 13,
    "weigh": 12,
    "lighter": 12,
    "vary": 13,
    "carry": 14,
    "clamping_jobs": 14,
    "clamping_choice": 15,
    "clamping_plans": 15,
    "made_blanks": 14,
    "pins": 14,
    "decide": 15,
    "blank_wanted": 14,
    "wanting": 15,
    "conductor": 16,
    "live": 16,
    "rack": 17,
    "floor": 17,
    "doors": 18,
    "__main__": 19,
    "__init__": 20,  # the Python door
}
OPEN_DOORS = ("doors", "__main__", "__init__")  # may import late, for the time it takes to start
KERNEL = "OCP"

MODULE_LINES = 400
FUNCTION_LINES = 60
POSITIONAL = 5


def modules() -> list[Path]:
    found = sorted(SRC.rglob("*.py"))
    assert len(found) > 50  # a glob that finds nothing proves nothing
    return found


def room(path: Path) -> str:
    return path.relative_to(SRC).parts[0].removesuffix(".py")


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def imports(path: Path) -> Iterator[tuple[str, bool, int]]:
    """Every imported module: its dotted name, whether the import is at the top, its line."""
    body = list(tree(path).body)
    # what only the type checker reads costs nothing at start
    body += [n for b in body if isinstance(b, ast.If) and "TYPE_CHECKING" in ast.dump(b.test) for n in b.body]
    top = {id(n) for n in body}
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)}:{node.lineno}: relative import"
            names = [node.module or ""]
            if node.module == "jawright":
                names = [f"jawright.{a.name}" for a in node.names]
        elif isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        else:
            continue
        for name in names:
            yield name, id(node) in top, node.lineno


def show(problems: list[str]) -> str:
    return "\n".join(["", *problems])


def test_every_room_has_its_rank() -> None:
    assert {room(p) for p in modules()} <= set(ORDER), {room(p) for p in modules()} - set(ORDER)


def test_imports_point_one_way() -> None:
    problems = []
    for path in modules():
        mine = room(path)
        for name, _, line in imports(path):
            if not name.startswith("jawright."):
                continue
            other = name.split(".")[1]
            if other in (mine, "__version__"):
                continue
            if other not in ORDER:
                problems.append(f"{name_of(path)}:{line}: {name} is no room of ours")
            elif ORDER[other] >= ORDER[mine]:
                problems.append(f"{name_of(path)}:{line}: {mine} may not import {other}")
    assert not problems, show(problems)


def test_the_reader_and_the_writer_of_programs_share_no_code() -> None:
    for a, b in (("cutting", "verify"), ("verify", "cutting")):
        for path in (p for p in modules() if room(p) == a):
            wrong = [n for n, _, _ in imports(path) if n.startswith(f"jawright.{b}")]
            assert not wrong, f"{name_of(path)} imports {wrong}"


def test_imports_stand_at_the_top() -> None:
    """Late imports hide cycles; the standard library's may wait, as some of it is not on every system."""
    late = [
        f"{name_of(p)}:{line}: {name}"
        for p in modules()
        if room(p) not in OPEN_DOORS
        for name, top, line in imports(p)
        if not top and name.split(".")[0] not in sys.stdlib_module_names
    ]
    assert not late, show(late)


def test_only_the_kernel_room_touches_the_solid_kernel() -> None:
    users = {room(p) for p in modules() for name, _, _ in imports(p) if name.split(".")[0] == KERNEL}
    assert users == {"kernel"}


def test_modules_stay_short() -> None:
    long = []
    for path in modules():
        lines = len(path.read_text(encoding="utf-8").splitlines())
        limit = 250 if path.name == "plan.py" and path.parent == SRC else MODULE_LINES
        if lines > limit:
            long.append(f"{name_of(path)}: {lines} lines, {limit} allowed")
    assert not long, show(long)


def functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of statements: docstring, comments and blank lines do not count."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    lines: set[int] = set()
    for statement in body:
        for node in ast.walk(statement):
            if isinstance(node, ast.stmt):
                end = node.lineno if hasattr(node, "body") else node.end_lineno or node.lineno
                lines.update(range(node.lineno, end + 1))
    return len(lines)


def test_functions_stay_short() -> None:
    long = [
        f"{name_of(p)}:{f.lineno}: {f.name} has {code_lines(f)} lines of code, {FUNCTION_LINES} allowed"
        for p in modules()
        for f in functions(p)
        if code_lines(f) > FUNCTION_LINES
    ]
    assert not long, show(long)


def test_few_parameters_go_by_position() -> None:
    many = []
    for path in modules():
        for f in functions(path):
            names = [a.arg for a in (*f.args.posonlyargs, *f.args.args)]
            if names[:1] in (["self"], ["cls"]):
                names = names[1:]
            if len(names) > POSITIONAL:
                many.append(f"{name_of(path)}:{f.lineno}: {f.name} takes {len(names)}, {POSITIONAL} allowed")
    assert not many, show(many)


def test_modules_and_public_names_say_what_they_are() -> None:
    silent = []
    for path in modules():
        if tree(path).body and ast.get_docstring(tree(path)) is None:
            silent.append(f"{name_of(path)}: the module has no docstring")
        for node in tree(path).body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
                continue
            # a plain two-line function may speak for itself; anything longer has a docstring
            size = (node.end_lineno or node.lineno) - node.lineno
            if ast.get_docstring(node) is None and size > 6:
                silent.append(f"{name_of(path)}:{node.lineno}: {node.name} has no docstring")
    assert not silent, show(silent)


# --- errors and reference pages


def codes_raised() -> dict[str, list[str]]:
    """Every error code that stands as a literal first argument of a JawrightError or of a helper."""
    found: dict[str, list[str]] = {}
    for path in modules():
        if path.name == "errors.py":
            continue
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Constant) and node.value in CODES:
                found.setdefault(str(node.value), []).append(name_of(path))
    return found


def test_error_codes_are_known_and_used() -> None:
    for path in modules():
        for node in ast.walk(tree(path)):
            if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "JawrightError"):
                continue
            first = node.args[0] if node.args else next(k.value for k in node.keywords if k.arg == "code")
            if isinstance(first, ast.Constant):
                assert first.value in CODES, f"{name_of(path)}:{node.lineno}: {first.value}"
    unused = set(CODES) - set(codes_raised())
    assert not unused, f"codes that nothing raises: {sorted(unused)}"


def test_error_codes_are_documented() -> None:
    page = (ROOT / "docs" / "reference" / "errors.md").read_text(encoding="utf-8")
    documented = re.findall(r"^\| `([a-z-]+)` \|", page, re.M)
    assert documented == list(CODES)


def reference_pages() -> list[Path]:
    return sorted((ROOT / "docs" / "reference").glob("*.md"))


@pytest.mark.parametrize("page", reference_pages(), ids=lambda p: p.name)
def test_reference_pages_say_what_the_program_does(page: Path) -> None:
    spec = importlib.util.spec_from_file_location("make_reference", ROOT / "docs" / "make_reference.py")
    assert spec is not None and spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    text = page.read_text(encoding="utf-8")
    assert maker.render(text) == text, f"run: python docs/make_reference.py ({page.name} has drifted)"


def test_the_reference_covers_every_declaration() -> None:
    pages = {p.name: p.read_text(encoding="utf-8") for p in reference_pages()}
    for name, block in {
        "job.md": "jobkeys",
        "shop.md": "shopkeys",
        "defaults.md": "defaults",
        "errors.md": "codes",
        "cli.md": "commands",
    }.items():
        assert f"<!-- {block} -->" in pages[name]


# --- what never stands in a file

TEXTS = {
    ".py",
    ".md",
    ".toml",
    ".lock",
    ".typ",
    ".html",
    ".css",
    ".js",
    ".ts",
    ".json",
    ".yml",
    ".yaml",
    ".cfg",
    ".txt",
    "",
}
FOREIGN = (
    "tests/parts/",
    "tests/nc/",
    "tests/hostile/",
    "src/jawright/data/fonts/",
    "LICENSE",
    "THIRD-PARTY",
)
ME = "tests/test_tidy.py"


@cache
def tracked() -> tuple[tuple[str, str], ...]:
    """Name and text of every text file of the repository, foreign data apart."""
    git = shutil.which("git")
    assert git is not None, "git is needed to list the files"
    listed = subprocess.run(
        [git, "-C", str(ROOT), "ls-files", "--cached", "--others", "--exclude-standard"],
        capture_output=True, text=True, check=True,
    ).stdout.split("\n")  # fmt: skip
    found = []
    for name in filter(None, listed):
        path = ROOT / name
        if path.suffix in TEXTS and not name.startswith(FOREIGN) and name != ME and path.is_file():
            found.append((name, path.read_text(encoding="utf-8")))
    assert len(found) > 100
    return tuple(found)


def hits(pattern: re.Pattern[str], *, but: tuple[str, ...] = ()) -> list[str]:
    return [
        f"{name}:{number}: {line.strip()[:120]}"
        for name, text in tracked()
        if name not in but
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_no_two_test_files_have_one_name() -> None:
    """They are imported by name, and which of the two is found depends on the order."""
    names = sorted(p.name for p in (ROOT / "tests").rglob("test_*.py"))
    assert names == sorted(set(names))


def test_no_machine_paths_and_no_registry_hosts() -> None:
    paths = hits(re.compile(r"(?<![\w.~<])/(work|home|tmp|root|Users)/(?!somebody)\w"))
    hosts = hits(
        re.compile(r"pypi\.org|pythonhosted|registry\.npmjs|crates\.io|index-url|proxy\.golang", re.I)
    )
    assert not paths + hosts, show(paths + hosts)


BRITISH = re.compile(
    r"\b(aluminium|colour(?:s|ed)?|centres?|centred|grey|licence|programmes?|favourite|favours?|behaviours?"
    r"|honours?|neighbours?|(?:milli|centi|micro|nano)?metres?|litres?|vice(?= jaw| bed|s\b)|(?:un)?labelled"
    r"|labelling|modell(?:ed|ing)|travell(?:ed|ing)|cancell(?:ed|ing)|catalogues?|defence|artefacts?"
    r"|(?:optim|minim|maxim|normal|initial|serial|recogn|summar|real|organ|visual|util|parametr|discret|linear"
    r"|synchron|memor|emphas|standard|general|special|final|local|character|categor)is(?:e|ed|es|ing|ation)"
    r"|analys(?:e|ed|es|ing)|mould|plough|tyre|sceptical|manoeuvre|judgement|whilst|moulding)\b",
    re.I,
)  # fmt: skip


def test_spelling_is_american() -> None:
    wrong = [
        line
        for line in hits(BRITISH)
        # what a user may type, and a word of ISO 10303
        if "aliases" not in line and "METRE" not in line
    ]
    assert not wrong, show(wrong)


def test_the_spelling_list_finds_what_it_should() -> None:
    for word in (
        "aluminium",
        "colour",
        "centre",
        "millimetres",
        "minimised",
        "modelled",
        "licence",
        "analyse",
    ):
        assert BRITISH.search(f"the {word} of it"), word
    for word in (
        "aluminum",
        "color",
        "center",
        "millimeters",
        "minimized",
        "modeled",
        "analysis",
        "parameter",
        "colored",
    ):
        assert not BRITISH.search(f"the {word} of it"), word


# --- what comes with it


def test_every_library_has_its_license_listed() -> None:
    """What is installed with us, down to what our libraries need in turn."""
    listed = set(
        re.findall(r"^\| ([a-z0-9-]+) \|", (ROOT / "THIRD-PARTY-LICENSES.md").read_text("utf-8"), re.M)
    )
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    waiting, needed = list(project["dependencies"]), set()
    while waiting:
        requirement = waiting.pop()
        name = re.split(r"[ ;\[<>=!~(]", requirement, maxsplit=1)[0].lower().replace("_", "-")
        if name in needed or "extra ==" in requirement:
            continue
        try:
            waiting += importlib.metadata.requires(name) or []
        except importlib.metadata.PackageNotFoundError:
            assert "python_version" in requirement or "implementation" in requirement, requirement
            continue
        needed.add(name)
    assert len(needed) >= len(project["dependencies"])
    assert needed <= listed, f"not in THIRD-PARTY-LICENSES.md: {sorted(needed - listed)}"


def test_the_changelog_knows_this_version() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert f"\n## {project['version']}" in (ROOT / "CHANGELOG.md").read_text("utf-8")
    assert project["version"] == jawright.__version__
