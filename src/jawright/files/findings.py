"""Numbered findings of the readers: what was repaired, ignored or is fatal, and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a reader noticed. ``level``: repaired, ignored, noted or fatal."""

    number: int
    level: Literal["noted", "repaired", "ignored", "fatal"]
    what: str
    where: str = ""
