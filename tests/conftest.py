"""Tests on real part files run only where the folder of those files is named (tests/parts/README.md)."""

from __future__ import annotations

import inspect
import re

import pytest
from hypothesis import settings

from parts.real import FOLDER

# A busy machine is no fault of what is tested. The same examples every time: a change is judged by what it
# changes. New ones are sought by `make test-long`, which asks for the profile "seeking".
settings.register_profile("patient", deadline=None, derandomize=True)
settings.register_profile("seeking", deadline=None, print_blob=True)
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
