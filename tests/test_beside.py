"""Work on a second core: its answer, its errors, and what it is told only after it began."""

from __future__ import annotations

import gc
import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from jawright.beside import Beside, Told, unswept
from jawright.errors import JawrightError
from jawright.mechanics import gap


@pytest.fixture(params=[1, 2])
def cores(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr(os, "cpu_count", lambda: request.param)
    return int(request.param)


def test_what_is_told_late_reaches_the_work(cores: int) -> None:
    told: Told[float | None] = Told()
    work = Beside(lambda: (told.heard(), told.heard()), patient=True)
    told.tell(18.5)
    assert work.result() == (18.5, 18.5)
    nothing: Told[float | None] = Told()
    other = Beside(nothing.heard)
    nothing.tell(None)
    assert other.result() is None


def test_work_that_is_never_told_ends_when_it_is_dropped(cores: int) -> None:
    told: Told[float] = Told()
    work = Beside(told.heard)
    started = time.monotonic()
    work.drop()
    assert time.monotonic() - started < 30


@pytest.mark.usefixtures("cores")
def test_pipes_are_closed_again() -> None:
    def held() -> int:
        return len(list(Path("/proc/self/fd").iterdir()))

    def once() -> None:
        told: Told[int] = Told()
        work = Beside(told.heard)
        told.tell(1)
        assert work.result() == 1

    once()
    before = held()
    for _ in range(20):
        once()
    assert held() <= before


def test_an_error_of_ours_keeps_its_words(cores: int) -> None:
    def fails() -> None:
        raise JawrightError("geometry", what="it cannot be cut", where="pocket", todo="another stance")

    with pytest.raises(JawrightError, match="it cannot be cut") as got:
        Beside(fails).result()
    assert (got.value.code, got.value.where, got.value.todo) == ("geometry", "pocket", "another stance")


def test_patient_work_is_nicer_than_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    here = os.nice(0)
    assert Beside(lambda: os.nice(0), patient=True).result() > here
    assert Beside(lambda: os.nice(0)).result() == here


def test_garbage_is_searched_for_again_when_the_last_is_done() -> None:
    assert gc.isenabled()
    with unswept():
        assert not gc.isenabled()
        with ThreadPoolExecutor(1) as pool:
            pool.submit(_once_unswept).result()
        assert not gc.isenabled(), "another one that ended did not end this one"
    assert gc.isenabled()


def test_garbage_is_left_alone_where_it_was_not_searched_for() -> None:
    gc.disable()
    try:
        _once_unswept()
        assert not gc.isenabled()
    finally:
        gc.enable()


def _once_unswept() -> None:
    with unswept():
        assert not gc.isenabled()


def test_whether_an_answer_comes_soon_is_told_without_taking_it() -> None:
    told: Told[int] = Told()
    work = Beside(told.heard)
    assert not work.within(0.01)
    told.tell(7)
    assert work.within(30.0) and work.within(0.0)
    assert work.result() == 7
    assert not work.within(0.0), "there is nothing to wait for any more"


def test_solvers_work_in_a_child_of_a_process_that_used_them() -> None:
    """A pool of threads that a solver keeps is not there in a forked child: solving there waited for ever."""
    n = 400  # large enough for the solver to share out
    rng = np.random.default_rng(5)
    half = rng.normal(size=(n, n))
    moves = np.zeros((n, 7))
    moves[:, 6] = -1.0
    problem = gap.Problem(
        half.T @ half + np.eye(n),
        np.zeros(n),
        moves,
        np.diag([1.0] * 6 + [0.0]),
        np.array([0.0] * 6 + [1000.0]),
        np.zeros(n, dtype=bool),
    )
    here = gap.general(problem)
    work = Beside(lambda: gap.general(problem))
    assert not hasattr(os, "fork") or (os.cpu_count() or 1) < 2 or work.within(30.0)
    assert np.array_equal(work.result().force, here.force)
