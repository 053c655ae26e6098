"""How often a run's cause is named rightly, by number of parts and by noise: docs/theory/diagnosis.md.

`python benchmarks/diagnosis_table.py` simulates runs of known cause and rewrites the page's tables.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from floor.simulate import CAUSES, judge, make
from jawright.floor.diagnose import diagnose

PAGE = Path(__file__).resolve().parents[1] / "docs" / "theory" / "diagnosis.md"
PARTS = (5, 10, 15, 20, 30, 60, 120)
STRENGTHS = (0.5, 1.0, 2.0)
NOISES = (0.002, 0.004, 0.008, 0.016)
EACH = 130
MANY = 2002
"""Runs of the one figure that is asked for: 60 parts, scatter 0.004 mm."""


def tally(*, parts: int, strength: float = 1.0, noise: float = 0.004, count: int = EACH) -> Counter[str]:
    """Verdicts over ``count`` runs, every cause in turn."""
    seen: Counter[str] = Counter()
    for k in range(count):
        run = make(CAUSES[k % len(CAUSES)], f"table {k}", parts=parts, strength=strength, noise=noise)
        said = judge(run, diagnose(run.run))
        seen[said] += 1
        seen[f"{said} {run.cause}"] += 1
    return seen


def cell(seen: Counter[str]) -> str:
    """Right / left open / wrong, in percent."""
    return " / ".join(f"{100 * seen[w] / EACH:.0f}" for w in ("right", "unsure", "wrong"))


def by_parts() -> str:
    heads = ["parts", *(f"effects × {s:g}" for s in STRENGTHS)]
    rows = [[str(n), *(cell(tally(parts=n, strength=s)) for s in STRENGTHS)] for n in PARTS]
    return table(heads, rows)


def by_noise() -> str:
    """Effects of a fixed size against growing scatter: 5 to 9 times 0.004 mm whatever the noise."""
    rows = [
        [f"{1000 * s:g} µm", cell(tally(parts=60, strength=0.004 / s, noise=s)), f"{s / 0.03:.2f}"]
        for s in NOISES
    ]
    return table(["scatter, one sigma", "right / open / wrong", "of the sizes' sigma"], rows)


def by_cause() -> str:
    """The many runs, cause by cause and in all."""
    seen = tally(parts=60, count=MANY)
    each = MANY // len(CAUSES)
    words = ("right", "unsure", "wrong")
    rows = [[c, *(f"{100 * seen[f'{w} {c}'] / each:.1f}" for w in words)] for c in CAUSES]
    rows.append([f"all {MANY:,}", *(f"{100 * seen[w] / MANY:.1f}" for w in words)])
    return table(["cause", "right %", "left open %", "wrong %"], rows)


def table(heads: list[str], rows: list[list[str]]) -> str:
    """As Markdown."""
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    return "\n".join([*lines, *("| " + " | ".join(r) + " |" for r in rows)])


def main() -> None:
    """Write the tables between their marks."""
    text = PAGE.read_text(encoding="utf-8")
    for name, made in (("parts", by_parts), ("noise", by_noise), ("cause", by_cause)):
        block = f"<!-- {name} -->\n\n{made()}\n\n<!-- end -->"
        text, hits = re.subn(rf"<!-- {name} -->\n.*?<!-- end -->", lambda _, b=block: b, text, flags=re.S)
        assert hits == 1, name
    PAGE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
