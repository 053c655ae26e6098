"""The benchmark of how cost grows: its fit and its picture, in small."""

from __future__ import annotations

import importlib.util
import sys
import time
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

import pytest

BENCH = Path(__file__).resolve().parents[1] / "benchmarks" / "growth_bench.py"


@pytest.fixture(scope="module")
def growth() -> ModuleType:
    spec = importlib.util.spec_from_file_location("growth_bench", BENCH)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["growth_bench"] = module
    spec.loader.exec_module(module)
    return module


def test_the_power_is_that_of_the_work(
    growth: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Work whose processor time is exactly the square of its size."""
    now = [0.0]
    monkeypatch.setattr(time, "process_time", lambda: now[0])

    def make(n: int, _: Path) -> object:
        def work() -> None:
            now[0] += 1e-3 * n * n

        return work

    found = growth.measured("squares", make, (10, 20, 40, 80), tmp_path)
    assert found.power == pytest.approx(2.0, abs=1e-6)
    assert found.seconds == pytest.approx((0.1, 0.4, 1.6, 6.4))
    drawn = ElementTree.fromstring(growth.svg([found]))
    assert "power 2.00" in "".join(drawn.itertext())


def test_every_way_is_set_up_and_answers(growth: ModuleType, tmp_path: Path) -> None:
    for what, make, full, small in growth.WAYS:
        assert len(full) == 4 and len(small) == 3, what
        assert make(small[0], tmp_path)() is not None, what
