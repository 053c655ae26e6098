"""Write docs/validation.md from tests/published: what is checked, against whom, ours beside theirs.

`python docs/make_validation.py` runs those tests once and notes every number they compare;
`--check` says instead whether the page has drifted. Nothing on the page is typed by hand: source and
status stand in each test's docstring, the printed number and its tolerance in its assertion.
"""

from __future__ import annotations

import ast
import contextlib
import io
import math
import os
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import zip_longest
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from jawright import handbook

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests" / "published"
PAGE = ROOT / "docs" / "validation.md"
SHOWN = 3
"""Comparisons of one test that are written out; the rest is counted."""
MOST_DIGITS = 9
"""Agreement beyond this is rounding and differs between machines."""
NO_SOURCE = "common practice, no source"
OWN = "own rule"
"""Of a test that only sees that bad input is refused."""
HABITS = ("defaults", "proof_rules", "friction", "cutting_speed", "cutting_force", "verify_limits")
"""Tables in which figures without a source may stand."""
TABLE = ROOT / "docs" / "part_files.md"
"""Written by make_part_table.py from the files themselves, since they are not in this repository."""
PARTS = "JAWRIGHT_PARTS"
"""Names the folder of the public part files, which are not kept in this repository."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One number as the source has it, and ours."""

    theirs: float
    ours: float
    tolerance: float

    @property
    def digits(self) -> int | None:
        """Matching significant digits; None where the source says zero."""
        if self.theirs == 0.0:
            return None
        off = abs(self.ours - self.theirs) / abs(self.theirs)
        return MOST_DIGITS if off < 10.0**-MOST_DIGITS else max(0, math.floor(-math.log10(off)))


@dataclass(slots=True)
class Check:
    """One published test."""

    file: str
    name: str
    text: str
    module: str
    cases: int = 0
    outcome: set[str] = field(default_factory=set)
    pairs: list[Pair] = field(default_factory=list)

    @property
    def status(self) -> str:
        """How the source was had, in the words of the test's own docstring, else of its file's."""
        silent = not self.text and not self.pairs and "skipped" not in self.outcome
        if silent or self.text.lower().startswith(OWN):
            return OWN
        for text in (self.text, self.module):
            found = [word for word, pattern in STATUS if re.search(pattern, text)]
            if found:
                return ", ".join(found)
        return "not said"


STATUS = (
    ("READ", r"\bread\b"),
    ("MEMORY", r"from memory"),
    (NO_SOURCE, r"common practice"),
    ("DERIVED", r"\bderived\b|by hand|closed form|\bcomputed\b"),
)


class Seen:
    """Stands in for ``pytest.approx``: compares as it does and notes the numbers that agreed."""

    __array_ufunc__ = None
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, inner: Any, expected: Any, bounds: tuple[Any, Any], note: Recorder) -> None:
        self.inner, self.expected, self.bounds, self.note = inner, expected, bounds, note

    def __eq__(self, actual: object) -> bool:
        same = bool(self.inner == actual)
        if same:
            self.note.keep(self.expected, actual, self.bounds)
        return same

    def __repr__(self) -> str:
        return repr(self.inner)


class Recorder:
    """A pytest plugin: which published tests ran, how they ended, what they compared."""

    def __init__(self) -> None:
        self.checks: dict[str, Check] = {}
        self.now: Check | None = None
        self.real = pytest.approx

    def approx(self, expected: Any, rel: Any = None, abs: Any = None, nan_ok: bool = False) -> Seen:
        return Seen(self.real(expected, rel=rel, abs=abs, nan_ok=nan_ok), expected, (rel, abs), self)

    def keep(self, expected: Any, actual: Any, bounds: tuple[Any, Any]) -> None:
        theirs, ours = list(numbers(expected)), list(numbers(actual))
        if self.now is not None and len(theirs) == len(ours):
            self.now.pairs += [Pair(t, o, allowed(t, *bounds)) for t, o in zip(theirs, ours, strict=True)]

    def pytest_deselected(self, items: list[pytest.Item]) -> None:
        """Tests on part files that are not here: told, with the place where they run."""
        for item in items:
            if item.get_closest_marker("long") is None:
                self.pytest_runtest_setup(item)
                assert self.now is not None
                self.now.outcome.add("skipped")

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        name = item.name.split("[")[0]
        key = f"{item.path.name}::{name}"
        if key not in self.checks:
            assert isinstance(item, pytest.Function)
            text = " ".join((item.function.__doc__ or "").split())
            self.checks[key] = Check(item.path.name, name, text, item.module.__doc__ or "")
        self.now = self.checks[key]
        self.now.cases += 1

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if self.now is not None and (report.when == "call" or report.outcome != "passed"):
            self.now.outcome.add(report.outcome)


def numbers(value: Any) -> Iterator[float]:
    """The numbers of a scalar, sequence or array, in order."""
    if isinstance(value, np.ndarray):
        yield from (float(v) for v in value.ravel())
    elif isinstance(value, list | tuple):
        for v in value:
            yield from numbers(v)
    elif isinstance(value, int | float | np.number) and not isinstance(value, bool):
        yield float(value)


def allowed(theirs: float, rel: Any, absolute: Any) -> float:
    """The tolerance a comparison grants one number, as ``pytest.approx`` documents it."""
    if rel is None and absolute is not None:
        return float(absolute)
    share = abs(theirs) * float(1e-6 if rel is None else rel)
    return max(share, float(1e-12 if absolute is None else absolute))


def collect() -> list[Check]:
    """Run the published tests and give what they checked, in the order of the files."""
    recorder = Recorder()
    given = os.environ.pop(PARTS, None)  # the page must not depend on files that are not in the repository
    pytest.approx = recorder.approx  # type: ignore[assignment]
    try:
        with contextlib.redirect_stdout(io.StringIO()) as said:
            pytest.main(
                [
                    *map(str, sorted(TESTS.glob("test_*.py"))),
                    "-q",
                    "-p",
                    "no:xdist",
                    "-p",
                    "no:cacheprovider",
                    "-m",
                    "not long",
                ],
                plugins=[recorder],
            )
    finally:
        pytest.approx = recorder.real
        if given is not None:
            os.environ[PARTS] = given
    failed = [k for k, c in recorder.checks.items() if "failed" in c.outcome]
    if failed or not recorder.checks:
        raise SystemExit(f"published tests fail: {failed}\n{said.getvalue()[-2000:]}")
    return list(recorder.checks.values())


def shown(value: float) -> str:
    text = f"{value:.8g}"
    return "0" if text == "-0" else text


def beside(pair: Pair) -> str:
    """Ours with as many digits as theirs has."""
    theirs = shown(pair.theirs)
    if pair.theirs == 0.0:
        return "0" if abs(pair.ours) <= pair.tolerance else shown(pair.ours)
    if "e" in theirs:
        digits = theirs.split("e")[0].replace(".", "").lstrip("-")
        return f"{pair.ours:.{len(digits) - 1}e}"
    text = f"{pair.ours:.{len(theirs.partition('.')[2])}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def words(name: str) -> str:
    text = name.removeprefix("test_").replace("_", " ")
    return text[:1].upper() + text[1:]


def cell(text: str) -> str:
    return text.replace("|", "\\|")


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    heads = tuple(heads)
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    return "\n".join(lines + ["| " + " | ".join(cell(c) for c in row) + " |" for row in rows])


def numbers_of(check: Check) -> str:
    """Theirs and ours: the first few that differ from each other, then how many more there are."""
    if "skipped" in check.outcome:
        return "runs where the files are present"
    if not check.pairs:
        return "exact, or a rule"
    first = list(dict.fromkeys((shown(p.theirs), beside(p), f"{p.tolerance:.2g}") for p in check.pairs))
    lines = [f"{t} / {o} (± {tol})" for t, o, tol in first[:SHOWN]]
    more = len(check.pairs) - len(lines)
    return "<br>".join(lines + ([f"and {more} more"] if more > 0 else []))


def digits(check: Check) -> str:
    had = [d for p in check.pairs if (d := p.digits) is not None]
    if not had:
        return ""
    return f"{min(had)}{'+' if min(had) == MOST_DIGITS else ''}"


def files(checks: list[Check]) -> str:
    """One section a file of tests."""
    parts = []
    for file in sorted({c.file for c in checks}):
        module = ast.get_docstring(ast.parse((TESTS / file).read_text(encoding="utf-8"))) or ""
        head, _, rest = module.partition("\n\n")
        rows = [
            (
                words(c.name),
                c.text or ("" if c.status == OWN else "see above"),
                c.status,
                numbers_of(c),
                digits(c),
            )
            for c in checks
            if c.file == file
        ]
        heads = ("check", "source", "status", "theirs / ours (tolerance)", "digits")
        parts.append(
            f"### {' '.join(head.split()).rstrip('.')}\n\n`tests/published/{file}`\n\n"
            f"{' '.join(rest.split())}\n\n{table(heads, rows)}"
        )
    return "\n\n".join(parts)


def summary(checks: list[Check]) -> str:
    rows = []
    for status in (*(s for s, _ in STATUS), OWN, "not said"):
        mine = [c for c in checks if status in c.status]
        rows.append((status, str(len(mine)), str(sum(len(c.pairs) for c in mine))))
    rows.append(("all", str(len(checks)), str(sum(len(c.pairs) for c in checks))))
    return table(("status", "checks", "numbers compared"), rows)


def part_files() -> str:
    """What the NIST test cases state, as the test has it."""
    file = TESTS / "test_step_validation_properties.py"
    tree = ast.parse(file.read_text(encoding="utf-8"))
    values = {
        node.targets[0].id: ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.targets[0], ast.Name)
        and node.targets[0].id in ("STATED", "ACCEPTED")
    }
    rows = [
        (
            "NIST " + "-".join(name.split("_")[1:3]).upper(),
            f"{volume:.4f}",
            f"{area:.4f}",
            str(count),
            f"{values['ACCEPTED']:g}",
        )
        for name, volume, area, count in values["STATED"]
    ]
    return table(
        (
            "test case",
            "volume stated [mm³]",
            "area stated [mm²]",
            "tolerances in its text",
            "difference allowed",
        ),
        rows,
    )


def habits(value: Any, path: str) -> Iterator[tuple[str, str, str]]:
    """Every row of a table whose basis is common practice: place, value, basis."""
    if isinstance(value, list):
        for n, v in enumerate(value):
            label = v.get("pair") or v.get("name") or n if isinstance(v, dict) else n
            yield from habits(v, f"{path}: {label}")
    if not isinstance(value, dict):
        return
    said = next((t for k in ("basis", "source") if NO_SOURCE in (t := str(value.get(k, "")))), "")
    if said:
        plain = {
            k: v
            for k, v in value.items()
            if k not in ("basis", "source", "status", "pair", "name", "aliases")
        }
        figure = plain.pop("value", None) or plain.pop("band", None) or plain.pop("rule", None)
        text = (
            spelled(figure)
            if figure is not None
            else ", ".join(f"{k} {spelled(v)}" for k, v in plain.items() if not isinstance(v, dict))
        )
        yield path, text or "the whole table", said
    for k, v in value.items():
        yield from habits(v, f"{path}.{k}" if path else k)


def spelled(value: Any) -> str:
    if isinstance(value, list):
        return " / ".join(spelled(v) for v in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def constants() -> list[tuple[str, str, str]]:
    """Constants of the program that carry the words in the comment or text beside them."""
    rows = []
    root = ROOT / "src" / "jawright"
    for path in sorted(root.rglob("*.py")):
        source = path.read_text(encoding="utf-8")
        body = ast.parse(source).body
        for node, after in zip(body, [*body, None][1:], strict=True):
            if not (isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)):
                continue
            text = " ".join(source.splitlines()[node.lineno - 1 : node.end_lineno])
            said = text.partition("#")[2].removesuffix(" )").strip()
            if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant):
                said = str(after.value.value)
            if "common practice" in said and "no source" in said:
                where = ".".join(path.relative_to(root).with_suffix("").parts)
                rows.append(
                    (f"{where}.{node.targets[0].id}", ast.unparse(node.value), " ".join(said.split()))
                )
    return rows


def page(checks: list[Check]) -> str:
    tables = [row for name in HABITS for row in habits(handbook.table(name), name)]
    return f"""# Validation

Written by `python docs/make_validation.py` from `tests/published`; a test fails when it drifts.
Every number below was compared in this run: as the source has it, ours, and what the test allows.

| status | means |
| --- | --- |
| READ | the source's own text, or a public copy or reproduction of it, was opened |
| MEMORY | quoted from memory of the named source and computed again; look at the edition before citing it |
| DERIVED | follows from the named formula by hand or in closed form; no number was printed |
| {NO_SOURCE} | a trade habit, no published source known |
| {OWN} | no outside number: bad input is refused, an unknown is said |

"digits" is the least number of matching significant digits among the check's numbers ({MOST_DIGITS}+: all of
them). Numbers that came out of this tool are not evidence and stand in `tests/golden`.

{summary(checks)}

## Checks

{files(checks)}

## Public part files

Solids are read by the kernel and compared with what the files themselves state. The files are test cases
of the National Institute of Standards and Technology (public domain). They are not kept in this
repository; the tests run where `{PARTS}` names a folder that holds them, and are left out elsewhere.
A part whose kernel volume or area differs from the stated one by more than 1e-3 is refused.

{part_files()}

All public part files at hand, numbered by kind and size: what was read of each against what its text
holds. Bodies that touch were joined where the reader offers it; a unit that a drawing does not say was
given. "off" is relative. Datums are counted by letter. Times are what all processes worked
together, the reading one warm; two run side by side.
Written by `python docs/make_part_table.py PARTS_FOLDER`.

{TABLE.read_text(encoding="utf-8").strip()}

## Common practice, no source

These figures are habits of the trade. No published source was found for them; replace them by what
your shop measures. Those of the first table can be set in a job or shop file or are listed with each proof
that uses them.

{table(("figure", "value", "basis"), tables)}

The program also has these, at the place named:

{table(("figure", "value", "said beside it"), constants())}
"""


NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
LAST_CELL = re.compile(r"\| \d\+? \|$", re.M)


def drift(old: str, new: str) -> str:
    """The first line in which two pages differ by more than how machines round; "" when none does."""
    for a, b in zip_longest(*(LAST_CELL.sub("| |", t).splitlines() for t in (old, new)), fillvalue=""):
        same = NUMBER.sub("#", a) == NUMBER.sub("#", b)
        pairs = zip(NUMBER.findall(a), NUMBER.findall(b), strict=False)
        if not same or any(
            not math.isclose(float(x), float(y), rel_tol=1e-4, abs_tol=1e-6) for x, y in pairs
        ):
            return f"was: {a[:200]}\nnow: {b[:200]}"
    return ""


def main(argv: list[str]) -> int:
    text = page(collect())
    if "--check" in argv:
        changed = drift(PAGE.read_text(encoding="utf-8"), text)
        print(
            f"run: python docs/make_validation.py\n{changed}" if changed else "docs/validation.md is current"
        )
        return 1 if changed else 0
    PAGE.write_text(text, encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
