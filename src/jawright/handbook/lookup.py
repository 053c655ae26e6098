"""What every table of the handbook is read with: the file, the nearest name, the refusal.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from jawright.errors import JawrightError


@dataclass(frozen=True, slots=True)
class Range:
    """A number known as low / set / high with its basis."""

    low: float
    set: float
    high: float
    basis: str

    def times(self, factor: float) -> Range:
        """Every figure times a positive factor."""
        return Range(self.low * factor, self.set * factor, self.high * factor, self.basis)


@cache
def table(name: str) -> dict[str, Any]:
    """A table of ``jawright/data`` as plain data; treat it as read-only."""
    text = resources.files("jawright.data").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def plain(text: str) -> str:
    """Letters and digits only, case aside: how spellings are compared."""
    return "".join(c for c in text.casefold() if c.isalnum())


def nearest(word: str, words: list[str]) -> str:
    """The word of ``words`` that looks most like ``word``; "" when none does."""
    spelled = {plain(w): w for w in words}
    hit = difflib.get_close_matches(plain(word), list(spelled), n=1, cutoff=0.5)
    return spelled[hit[0]] if hit else ""


def refuse(
    word: str, words: list[str], *, what: str, where: str, near: str = "", own: str = ""
) -> JawrightError:
    """The error for a word that no row of a table has; ``near`` the likely one, ``own`` another way."""
    near = near or nearest(word, words)
    hint = f'did you mean "{near}"? known: ' if near else "known: "
    return JawrightError(
        "value-bad",
        what=f'"{word}" is not {what} in the handbook',
        where=where,
        todo=hint + ", ".join(words) + own,
    )
