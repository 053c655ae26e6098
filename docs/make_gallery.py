"""Plan the gallery's jobs and write docs/gallery.md: `python docs/make_gallery.py [PARTS_FOLDER]`.

First come nineteen kinds of part that examples/make_kinds.py builds, each with a picture, planned by the
jobs in examples/kinds. With a PARTS_FOLDER the real part files follow; without one the page's rows of
real parts are kept as they stand.

The jobs stand in tests/gallery/jobs; the part files are not part of this repository
(tests/parts/README.md). Each part is planned in the demo workshop and ends in a plan or in one
sentence why it cannot be held this way.
"""

from __future__ import annotations

import importlib
import shutil
import sys
import tempfile
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.hold.view import GRIP
from jawright.job.read import read_job
from jawright.papers.feet_view import feet_view
from jawright.papers.plan_view import plan_view
from jawright.part.read import read_part
from jawright.record import Record
from jawright.shop.read import read_shop

ROOT = Path(__file__).resolve().parent.parent
JOBS = ROOT / "tests" / "gallery" / "jobs"
SHOP = ROOT / "src" / "jawright" / "data" / "demo" / "shop.toml"
PAGE = ROOT / "docs" / "gallery.md"
PICTURES = ROOT / "docs" / "img" / "gallery"
KINDS = ROOT / "examples" / "kinds"
SHOPS = {"long-bar": "two-vises-shop.toml", "tall-plate": "thin-parallels-shop.toml"}
"""Kinds that ask for more than the demo workshop owns."""
REAL = "## Real parts"
ABOUT_REAL = "Part files of other people and outlines of plates. The files are not in this repository."


@dataclass(frozen=True, slots=True)
class Shown:
    """One row of the gallery."""

    title: str
    slug: str
    outcome: str
    decision: str
    numbers: str
    record: Record | None


def run(parts: Path) -> list[Shown]:
    """Plan every job; the part file is looked for by its name below ``parts``."""
    shop = read_shop(SHOP)
    rows = []
    for path in sorted(JOBS.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        head = tomllib.loads(text)
        name = head["part"]["file"]
        found = sorted(parts.rglob(name))
        if not found:
            raise SystemExit(f"{name} is not under {parts}")
        with tempfile.TemporaryDirectory() as folder:
            shutil.copy(found[0], Path(folder) / name)
            (Path(folder) / "job.toml").write_text(text, encoding="utf-8")
            print(f"{head['job']['part_number']} {head['job']['name']}", file=sys.stderr, flush=True)
            rows.append(_one(head["job"], Path(folder) / "job.toml", shop))
    return sorted(rows, key=lambda r: r.slug)


def _one(job: dict[str, str], path: Path, shop) -> Shown:  # type: ignore[no-untyped-def]
    title, slug = job["name"], job["part_number"].lower()
    try:
        record = plan(read_job(path), shop, made="2026-01-01")
    except JawrightError as error:
        said = f"{error.what}; {error.todo}" if error.todo else error.what
        return Shown(title, slug, "refused", said, "", None)
    bad = [p for p in record.proofs if p.verdict in ("fail", "unknown")]
    still = len(bad) + len(record.between) + sum(not c.ready for c in record.clampings)
    outcome = "ready" if record.ready else f"not ready ({still} open)"
    return Shown(title, slug, outcome, record.decision.sentence, _numbers(record), record)


def _numbers(record: Record) -> str:
    if record.decision.kind == "two clampings":
        said = [f"clamping {n} {c.verdict}" for n, c in enumerate(record.clampings, 1)]
        between = [f"Between them: {b}" for b in record.between]
        return " ".join((*record.decision.points[:3], f"Planned: {', '.join(said) or 'neither'}.", *between))
    parts = []
    if record.torque:
        parts.append("torque {:.0f} – {:.0f} – {:.0f} N·m".format(*record.torque))
    if record.hold:
        parts.append(f"grip {record.hold.grip_depth:.1f} mm")
    v = record.verification
    if v is not None and record.program is not None:
        state = "verified" if v.verified else "NOT verified"
        parts.append(f"program {record.program.minutes:.1f} min, {state}")
    worst = [p for p in record.proofs if p.verdict == "fail"] or [
        p for p in record.proofs if p.verdict == "unknown"
    ]
    if worst:
        parts.append(f"open: {worst[0].question}, {worst[0].name}: {worst[0].sentence}")
    return "; ".join(parts)


def kinds() -> list[Shown]:
    """Plan every kind of part; each record becomes a picture in docs/img/gallery."""
    sys.path.insert(0, str(ROOT / "examples"))
    make = importlib.import_module("make_kinds")
    demo = read_shop(SHOP)
    own = {kind: read_shop(KINDS / file) for kind, file in SHOPS.items()}
    PICTURES.mkdir(parents=True, exist_ok=True)
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for path in make.write(Path(folder)):
            text = path.read_text(encoding="utf-8")
            job = tomllib.loads(text)["job"]
            (Path(folder) / path.name).write_text(text, encoding="utf-8")
            print(f"{path.stem}: {job['name']}", file=sys.stderr, flush=True)
            row = replace(_one(job, Path(folder) / path.name, own.get(path.stem, demo)), slug=path.stem)
            target = PICTURES / f"{path.stem}.svg"
            if row.record is not None and row.record.hold is not None:
                target.write_text(plan_view(row.record), encoding="utf-8")
            else:
                target.write_text(refused_view(path, Path(folder)), encoding="utf-8")
            rows.append(row)
    return rows


def refused_view(job_path: Path, folder: Path) -> str:
    """What cannot be held, as seen from above: everything within the grip, and what of it stands apart."""
    job = read_job(folder / job_path.name)
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    up = job.up or (0.0, 0.0, 1.0)
    return feet_view(part, up, grip=GRIP)


def told(rows: list[Shown]) -> str:
    """The kinds as Markdown: picture, decision and numbers of each."""
    lines = []
    for r in rows:
        lines += [f"### {r.title}", "", f"![{r.title}](img/gallery/{r.slug}.svg)", ""]
        lines += [f"{r.outcome.capitalize()}. {r.decision}", ""]
        if r.numbers:
            lines += [r.numbers.strip().rstrip(".") + ".", ""]
    return "\n".join(lines)


def page(rows: list[Shown], *, shown: list[Shown], kept: str) -> str:
    """The page as Markdown; ``kept`` stands for the real parts when there are no ``rows`` of them."""
    lines = [
        "# Gallery",
        "",
        "Planned in the demo workshop by `python docs/make_gallery.py PARTS_FOLDER`. Each part ends in a",
        "plan or in one sentence why it cannot be held this way.",
        "",
        "## Kinds of part",
        "",
        "Invented parts of a dinghy winch, built by `examples/make_kinds.py`; their jobs stand in",
        "`examples/kinds`. The long bar and the thin rib have a workshop of their own there, with two vises",
        "in line and with thin parallels.",
        "",
        told(shown),
    ]
    if not rows:
        return "\n".join(lines) + kept
    lines += [
        REAL,
        "",
        ABOUT_REAL,
        "",
        "| part | outcome | decision | numbers |",
        "| --- | --- | --- | --- |",
    ]
    for r in rows:
        cells = [r.title, r.outcome, r.decision, r.numbers]
        lines.append("| " + " | ".join(c.replace("|", "\\|").replace("\n", " ") for c in cells) + " |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write the page; real parts only when their folder is named."""
    old = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
    at = old.find(REAL) if REAL in old else old.find("| part | outcome")
    kept = old[at:] if at >= 0 else ""
    if kept and not kept.startswith(REAL):
        kept = f"{REAL}\n\n{ABOUT_REAL}\n\n{kept}"
    shown = kinds()
    rows = run(Path(sys.argv[1])) if len(sys.argv) > 1 else []
    PAGE.write_text(page(rows, shown=shown, kept=kept), encoding="utf-8")


if __name__ == "__main__":
    main()
