"""The page on an empty folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from doors.web.served import Page


@pytest.fixture
def web(tmp_path: Path) -> Page:
    return Page(tmp_path / "jobs here")
