"""Every public function says what it gives, in which unit, and what it refuses."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

SRC = Path(__file__).parent.parent / "src" / "jawright"
UNIT = re.compile(
    r"\[[^\]]+\]|\bmm\b|\bunits?\b|°|\brad\b|\bN\b|\bshares?\b|\bµm\b|\bminutes\b|\bseconds\b|MPa|\bkg\b"
    r"|rev/min|\bpercent\b|%|dimensionless"
)
NUMBERS = re.compile(r"\bfloat\b|NDArray|\bFloats\b|\bVec3\b|\bPoint\b")
Function = ast.FunctionDef | ast.AsyncFunctionDef


def public() -> Iterator[tuple[str, ast.Module, ast.ClassDef | None, Function | ast.ClassDef]]:
    """Name, module, class and node of all that a reader may call."""
    for path in sorted(SRC.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        room = str(path.relative_to(SRC))
        for node in tree.body:
            if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
                yield f"{room}: {node.name}", tree, None, node
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                for inner in node.body:
                    if isinstance(inner, Function) and not inner.name.startswith("_"):
                        yield f"{room}: {node.name}.{inner.name}", tree, node, inner


ALL = list(public())


def test_there_is_something_to_look_at() -> None:
    assert len(ALL) > 1000


def test_all_that_is_public_is_described() -> None:
    assert [name for name, _, _, node in ALL if not ast.get_docstring(node)] == []


def test_numbers_have_a_unit() -> None:
    """In the function's own words, its class's or its module's."""
    bare = []
    for name, module, owner, node in ALL:
        if isinstance(node, ast.ClassDef):
            continue
        given = [a.annotation for a in (*node.args.args, *node.args.kwonlyargs) if a.annotation]
        words = [ast.unparse(a) for a in (*given, node.returns) if a is not None]
        said = " ".join(ast.get_docstring(n) or "" for n in (node, module, *([owner] if owner else [])))
        if any(NUMBERS.search(w) for w in words) and not UNIT.search(said):
            bare.append(name)
    assert bare == []


def test_what_is_refused_is_said() -> None:
    """A function that raises an error of ours itself tells so."""
    silent = []
    for name, _, _, node in ALL:
        if isinstance(node, ast.ClassDef):
            continue
        raised = [
            n
            for n in ast.walk(node)
            if isinstance(n, ast.Raise)
            and isinstance(n.exc, ast.Call)
            and getattr(n.exc.func, "id", "") == "JawrightError"
        ]
        if raised and not re.search(r"[Rr]aise|[Ee]rror|[Rr]efuse", ast.get_docstring(node) or ""):
            silent.append(name)
    assert silent == []


@pytest.mark.parametrize("room", ["mechanics", "statistics"])
def test_formulas_have_a_source(room: str) -> None:
    """Every module of formulas names where they come from, or that they are its own."""
    without = []
    for path in sorted((SRC / room).glob("*.py")):
        text = path.read_text(encoding="utf-8")
        if "def " in text and not re.search(r"[Ss]ource|\(\d{4}\)|definition|derived|exact", text):
            without.append(path.name)
    assert without == []
