"""Put the tables of keys, defaults, error codes and commands into the reference pages.

`python docs/make_reference.py` rewrites what stands between `<!-- name -->` and `<!-- end -->`
in docs/reference from the program's own declarations; a test checks that nothing has drifted.
"""

from __future__ import annotations

import argparse
import importlib
import inspect
import math
import re
import tempfile
from pathlib import Path

from fastapi import FastAPI

from jawright import handbook, units
from jawright.doors.cli.arguments import parser
from jawright.doors.web.app import create_app
from jawright.errors import CODES
from jawright.files.schema import Key, Section
from jawright.job import schema as job_schema
from jawright.rack import schema as rack_schema
from jawright.shop import schema as shop_schema
from jawright.shop.defaults import fixed, shown

PAGES = Path(__file__).resolve().parent / "reference"
BLOCK = re.compile(r"<!-- (?P<name>[a-z]+) -->\n.*?<!-- end -->", re.S)


def table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    lines += ["| " + " | ".join(c.replace("|", "\\|") for c in row) + " |" for row in rows]
    return "\n".join(lines)


def bound(key: Key, value: float) -> str:
    unit = units.INSIDE.get("length" if key.kind == "point" else key.band or key.kind, "")
    return f"{math.degrees(value):g} deg" if unit == "rad" else f"{value:.10g} {unit}".strip()


def kind(key: Key) -> str:
    """What may be written, in words."""
    text = {
        "integer": "whole number",
        "number": "number",
        "flag": "true or false",
        "texts": "list of texts",
        "point": "[x, y, z] lengths",
        "direction": '"+Z" or [x, y, z]',
        "band": f"{key.band}: one value or [low, set, high]",
        "pairs": "list of [" + ", ".join(key.pair) + "]",
        "word": " or ".join(f'"{w}"' for w in key.words),
    }.get(key.kind, key.kind)
    limits = []
    if key.above is not None:
        limits.append(f"above {bound(key, key.above)}")
    if key.least is not None:
        limits.append(f"from {bound(key, key.least)}")
    if key.most is not None:
        limits.append(f"to {bound(key, key.most)}")
    return f"{text}; {' '.join(limits)}" if limits else text


def default(section: Section, key: Key) -> str:
    if key.required:
        return "**required**"
    row = handbook.table("defaults").get(section.name, {}).get(key.name)
    if row is None:
        return key.default or "not given"
    return row["rule"] if "rule" in row else shown(fixed(section), key.name)


def keys(sections: tuple[Section, ...]) -> str:
    parts = []
    for s in sections:
        head = f"[[{s.name}]]" if s.many else f"[{s.name}]"
        rows = [(f"`{k.name}`", k.help, kind(k), default(s, k)) for k in s.keys]
        parts.append(f"### {head}\n\n{s.help}\n\n{table(('key', 'meaning', 'value', 'when left out'), rows)}")
    return "\n\n".join(parts)


def defaults() -> str:
    rows = []
    for section in (*shop_schema.SECTIONS, job_schema.INCOMING):
        for key in section.keys:
            entry = handbook.table("defaults").get(section.name, {}).get(key.name)
            if entry is not None:
                rows.append((f"`{section.name}.{key.name}`", default(section, key), entry["basis"]))
    return table(("key", "stands in", "basis"), rows)


def materials() -> str:
    rows = []
    for name in handbook.materials():
        m = handbook.material(name)
        strength = "none" if m.yield_min is None else f"{m.yield_min:g} MPa, {m.yield_basis}"
        cut = "unknown" if m.kc11 is None else f"{m.kc11:g} MPa, {m.mc:g}"
        rows.append(
            (
                name,
                f"{m.E / 1000:g} GPa",
                strength,
                m.hardness,
                f"{m.cte * 1e6:g}",
                cut,
                f"{m.source} ({m.status})",
            )
        )
    heads = ("material", "E", "yield to compute with", "hardness", "expansion 10⁻⁶/K", "kc1.1, mc", "source")
    return table(heads, rows)


def codes() -> str:
    return table(("code", "meaning"), [(f"`{code}`", meaning) for code, meaning in CODES.items()])


def commands() -> str:
    top = parser()
    parts = []
    for action in top._actions:
        if not isinstance(action, argparse._SubParsersAction):
            continue
        helps = {a.dest: a.help or "" for a in action._choices_actions}
        for name, sub in action.choices.items():
            parts += command(f"jawright {name}", helps[name], sub)
    rows = [(option(a), a.help or "") for a in top._actions if a.option_strings]
    parts.append("### Before the command\n\n" + table(("option", "meaning"), rows))
    return "\n\n".join(parts)


def command(name: str, help: str, sub: argparse.ArgumentParser) -> list[str]:
    """A command's section, and those of its actions when it has any."""
    rows = [
        (option(a), a.help or "")
        for a in sub._actions
        if a.dest != "help" and not isinstance(a, argparse._SubParsersAction)
    ]
    body = "\n\n" + table(("option", "meaning"), rows) if rows else ""
    parts = [f"### {name}\n\n{help[:1].upper()}{help[1:]}.{body}"]
    for action in sub._actions:
        if isinstance(action, argparse._SubParsersAction):
            helps = {a.dest: a.help or "" for a in action._choices_actions}
            for below, parser_ in action.choices.items():
                parts += command(f"{name} {below}", helps[below], parser_)
    return parts


def option(a: argparse.Action) -> str:
    name = a.option_strings[-1] if a.option_strings else ""
    value = str(a.metavar or "") if not a.choices else "|".join(map(str, a.choices))
    return f"`{' '.join(filter(None, (name, value)))}`"


API: tuple[tuple[str, str], ...] = (
    ("Plan", "jawright plan"),
    ("Plan", "jawright read_job"),
    ("Plan", "jawright read_shop"),
    ("Record and papers", "jawright.record_json load"),
    ("Record and papers", "jawright.record_json dumps"),
    ("Record and papers", "jawright.papers.jaw_files jaw_files"),
    ("Record and papers", "jawright.papers.bundle write"),
    ("The jaw program", "jawright.verify.check check"),
    ("The rack", "jawright.rack.store Rack"),
    ("The rack", "jawright.rack.entry from_record"),
    ("The rack", "jawright.rack.stock short_list"),
    ("The rack", "jawright.rack.offer find"),
    ("Measurements", "jawright.floor.run read_run"),
    ("Measurements", "jawright.floor.expected from_record"),
    ("Measurements", "jawright.floor.diagnose diagnose"),
    ("Measurements", "jawright.floor.sources compare"),
)
"""What a script may call: chapter, module and name."""


def api() -> str:
    """Signature and docstring of each."""
    out: list[str] = []
    for chapter, place in API:
        module, name = place.split()
        thing = getattr(importlib.import_module(module), name)
        if f"## {chapter}" not in out:
            out.append(f"## {chapter}")
        said = (
            inspect.getdoc(thing.__init__ if inspect.isclass(thing) else thing) or inspect.getdoc(thing) or ""
        )
        call = re.sub(r"<function .*? at \w+>", "...", f"{name}{inspect.signature(thing)}")
        call = re.sub(r"(: |-> )'([^']*)'", r"\1\2", call)  # annotations are kept as text
        out += [f"### {module}.{name}", f"```text\n{call}\n\n{said}\n```"]
    return "\n\n".join(out)


def routes() -> str:
    """The interface of the page as it describes itself."""
    with tempfile.TemporaryDirectory() as folder:
        served = create_app(Path(folder), hosts=frozenset({"reference"})).app
        assert isinstance(served, FastAPI)
        found = served.openapi()["paths"]
    rows = []
    for path, methods in found.items():
        if path.endswith(".json") and path.removesuffix(".json") in found:
            continue  # the twin of a page
        for method, route in methods.items():
            twin = "yes" if method == "get" and f"{path}.json" in found else ""
            words = " ".join(str(route.get("description", "")).replace("``", "`").split())
            rows.append((f"`{method.upper()} {path}`", twin, words))
    return table(("Route", "JSON twin", "What it does"), sorted(rows, key=lambda r: r[0].split(" ")[1]))


BLOCKS = {
    "api": api,
    "jobkeys": lambda: keys(job_schema.SECTIONS),
    "shopkeys": lambda: keys(shop_schema.SECTIONS),
    "defaults": defaults,
    "materials": materials,
    "codes": codes,
    "commands": commands,
    "routes": routes,
    "rackschema": lambda: f"```sql{rack_schema.SCHEMA}```",
}


def render(text: str) -> str:
    """The page with every block written anew."""
    return BLOCK.sub(lambda m: f"<!-- {m['name']} -->\n\n{BLOCKS[m['name']]()}\n\n<!-- end -->", text)


if __name__ == "__main__":
    for page in sorted(PAGES.glob("*.md")):
        text = page.read_text(encoding="utf-8")
        if render(text) != text:
            page.write_text(render(text), encoding="utf-8")
            print(f"rewrote {page.name}")
