"""Plan the gallery's jobs and write docs/gallery.md: `python docs/make_gallery.py PARTS_FOLDER`.

The jobs stand in tests/gallery/jobs; the part files are not part of this repository
(tests/parts/README.md). Each part is planned in the demo workshop and ends in a plan or in one
sentence why it cannot be held this way.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

from jawright.conductor import plan
from jawright.errors import JawrightError
from jawright.job.read import read_job
from jawright.record import Record
from jawright.shop.read import read_shop

ROOT = Path(__file__).resolve().parent.parent
JOBS = ROOT / "tests" / "gallery" / "jobs"
SHOP = ROOT / "src" / "jawright" / "data" / "demo" / "shop.toml"
PAGE = ROOT / "docs" / "gallery.md"


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
    outcome = "ready" if record.ready else f"not ready ({len(bad)} open)"
    return Shown(title, slug, outcome, record.decision.sentence, _numbers(record), record)


def _numbers(record: Record) -> str:
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


def page(rows: list[Shown]) -> str:
    """The page as Markdown."""
    lines = [
        "# Gallery",
        "",
        "Real part files of other people and outlines of plates, planned in the demo workshop by",
        "`python docs/make_gallery.py PARTS_FOLDER`. Each ends in a plan or in one sentence why it cannot",
        "be held this way. The files themselves are not in this repository.",
        "",
        "| part | outcome | decision | numbers |",
        "| --- | --- | --- | --- |",
    ]
    for r in rows:
        cells = [r.title, r.outcome, r.decision, r.numbers]
        lines.append("| " + " | ".join(c.replace("|", "\\|").replace("\n", " ") for c in cells) + " |")
    return "\n".join(lines) + "\n"


def main() -> None:
    rows = run(Path(sys.argv[1]))
    PAGE.write_text(page(rows), encoding="utf-8")
    print(page(rows))


if __name__ == "__main__":
    main()
