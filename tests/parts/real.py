"""Finds the real part files the tests run on; see README.md beside it."""

from __future__ import annotations

import os
from pathlib import Path

FOLDER = os.environ.get("JAWRIGHT_PARTS", "")


def real(name: str) -> Path:
    """The file, anywhere under the folder of real part files; tests that ask are left out without one."""
    assert FOLDER, "set JAWRIGHT_PARTS to the folder of real part files (tests/parts/README.md)"
    found = sorted(Path(FOLDER).rglob(name))
    assert found, f"{name} is not under the folder of real part files"
    return found[0]
