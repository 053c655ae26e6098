"""Tests on real part files run only where the folder of those files is named (tests/parts/README.md)."""

from __future__ import annotations

import inspect
import re

import pytest
from hypothesis import settings

from parts.real import FOLDER

# a busy machine is no fault of what is tested
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")

ASKS = re.compile(r"\breal\(")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out, and count, the tests that ask for a real part file when there is none."""
    if FOLDER:
        return
    asks = [i for i in items if isinstance(i, pytest.Function) and ASKS.search(inspect.getsource(i.function))]
    if asks:
        config.hook.pytest_deselected(items=asks)
        items[:] = [i for i in items if i not in asks]
