"""The described interface is the whole of it, and the page itself uses nothing else."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from doors.web.served import Page

ROOT = Path(__file__).resolve().parents[3]
TEMPLATES = ROOT / "src" / "jawright" / "doors" / "web" / "templates"
STEMS = {  # written in one place, ended in another
    "/jobs/word/live": ("/jobs/word/live/heights.json", "/jobs/word/live/spacers"),
    "/jobs/word/machineword": ("/jobs/word/machine", "/jobs/word/machine/steps", "/jobs/word/machine/wrong"),
}
APART = ("/static", "/specimen", "/openapi.json")  # files and a page of samples


def _known(web: Page) -> list[re.Pattern[str]]:
    paths = web.get("/openapi.json").json()["paths"]
    assert len(paths) > 50
    return [re.compile(re.sub(r"\\{[a-z_]+\\}", "[^/]+", re.escape(p))) for p in paths]


def _addresses() -> set[tuple[str, str]]:
    """Addresses written in templates and scripts, what is filled in replaced by a word."""
    out = set()
    for path in [*TEMPLATES.glob("*.html"), *(ROOT / "web" / "src").glob("*.ts")]:
        text = path.read_text("utf-8")
        if path.suffix == ".html":
            text = re.sub(r"\{%.*?%\}", "", text)
            text = re.sub(r"\{\{.*?\}\}", "word", text)
            found = re.findall(r'(?:action|href|src|data-[a-z]+)="(/[^"]*)"', text)
        else:
            found = re.findall(
                r'["`](/(?:jobs|shop|rack|view|demo)[^"`]*)["`]', re.sub(r"\$\{.*?\}", "word", text)
            )
        out |= {(path.name, re.split(r"[?#]", f)[0]) for f in found}
    return out


def test_the_page_uses_what_is_described_and_nothing_else(web: Page) -> None:
    known, found = _known(web), _addresses()
    assert len(found) > 60
    strangers = [
        (name, at) for name, stem in sorted(found) for at in STEMS.get(stem, (stem,))
        if at != "/" and not at.startswith(APART) and not any(k.fullmatch(at) for k in known)
    ]  # fmt: skip
    assert strangers == []


def test_every_route_says_what_it_does(web: Page) -> None:
    described = web.get("/openapi.json").json()
    for path, methods in described["paths"].items():
        for method, route in methods.items():
            assert len(route.get("description", "")) > 10, (method, path)
            assert "422" in route["responses"], (method, path)


@pytest.mark.parametrize("path", ["/jobs", "/rack", "/shop/vises", "/shop/vises/0", "/shop/machine"])
def test_a_page_has_its_twin(web: Page, path: str) -> None:
    assert web.get(f"{path}.json").headers["content-type"] == "application/json"
