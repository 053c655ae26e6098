"""Work done beside the main work, on a second core, where the system can fork; else in turn.

A fork costs a few milliseconds and starts with everything loaded, where a fresh process would
import for seconds. The answer comes back pickled through a pipe. Same work, same answer, wherever
it runs.
"""

from __future__ import annotations

import gc
import os
import pickle
import select
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import cache
from threading import Lock
from typing import BinaryIO, Generic, TypeVar

from threadpoolctl import ThreadpoolController

from jawright.errors import JawrightError

T = TypeVar("T")
PATIENCE = 1
"""How much nicer patient work is. With 5 it was still at work alone, a core idle, when all else was done."""


@cache
def _libraries() -> ThreadpoolController:
    """The linear algebra libraries of this process: looking for them takes milliseconds, so once."""
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[object]:
    """Context in which sums are made in one order: the same bytes on any machine, and no waiting for threads.

    With work beside on the second core, the threads of the linear algebra library made small
    solves and products up to a hundred times slower.
    """
    context: AbstractContextManager[object] = _libraries().limit(limits=1, user_api="blas")
    return context


class _Putting:
    """How many put the search for garbage off, and whether it was on before the first did."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.count = 0
        self.was = False
        if hasattr(os, "register_at_fork"):
            os.register_at_fork(after_in_child=self._anew)

    def _anew(self) -> None:
        self.lock = Lock()  # another thread may have held it as this process was forked off


_putting = _Putting()


@contextmanager
def unswept() -> Iterator[None]:
    """Context in which no garbage is searched for: for work that builds much that stays and leaves no cycles.

    The search walks over all that was built so far again and again: a tenth of the time of trying
    stances. What has no cycles is freed all the same. May be entered by several threads at once.
    """
    with _putting.lock:
        if _putting.count == 0:
            _putting.was = gc.isenabled()
            gc.disable()
        _putting.count += 1
    try:
        yield
    finally:
        with _putting.lock:
            _putting.count -= 1
            if _putting.count == 0 and _putting.was:
                gc.enable()


class Told(Generic[T]):
    """A value that work under way needs late, and that is known only after the work began.

    Make it before the work, ``tell`` it once, and let the work ask with ``heard``, which waits.
    """

    def __init__(self) -> None:
        self._known: list[T] = []
        self._read, self._write = os.pipe() if hasattr(os, "fork") else (-1, -1)

    def tell(self, value: T) -> None:
        """Say it, to this process and to those forked off since it was made."""
        self._known.append(value)
        if self._write >= 0:
            os.write(self._write, pickle.dumps(value))  # far below what a pipe holds, so never waits

    def heard(self) -> T:
        """The value. Raises ``EOFError`` when whoever would tell it is gone."""
        if not self._known:
            os.close(self._write)  # the child's own end would keep it waiting for ever
            self._write = -1
            with os.fdopen(os.dup(self._read), "rb") as pipe:
                self._known.append(pickle.load(pipe))
        return self._known[0]

    def __del__(self) -> None:
        for end in (self._read, self._write):
            if end >= 0:
                os.close(end)


class Beside(Generic[T]):
    """One piece of work under way; ask for its ``result`` once, or ``drop`` it.

    Work that is ``patient`` lets others go first where there are more of them than cores.
    """

    def __init__(self, work: Callable[[], T], *, patient: bool = False) -> None:
        self._work = work
        self._patient = patient
        self._pid = 0
        self._pipe: BinaryIO | None = None
        if hasattr(os, "fork") and (os.cpu_count() or 1) > 1:
            self._start()

    def _start(self) -> None:
        sys.stdout.flush()
        sys.stderr.flush()
        read, write = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(read)
            code = 1
            try:
                gc.disable()  # it ends before a search for garbage would pay
                if self._patient:
                    os.nice(PATIENCE)
                with os.fdopen(write, "wb") as pipe:
                    pickle.dump(_done(self._work), pipe, protocol=pickle.HIGHEST_PROTOCOL)
                code = 0
            finally:
                os._exit(code)  # the parent's open files and exit handlers are not the child's
        os.close(write)
        self._pid, self._pipe = pid, os.fdopen(read, "rb")

    def result(self) -> T:
        """What the work gave; raises what it raised. Done here when the other process was lost."""
        if self._pipe is None:
            return self._work()
        with self._pipe as pipe:
            data = pipe.read()
        self._pipe = None
        os.waitpid(self._pid, 0)
        if not data:
            return self._work()
        good, value = pickle.loads(data)
        if good:
            return value  # type: ignore[no-any-return]
        if isinstance(value, tuple):
            code, what, where, todo = value
            raise JawrightError(code, what=what, where=where, todo=todo)
        return self._work()  # anything else is raised here, with its own traceback

    def within(self, seconds: float) -> bool:
        """Whether its answer comes within so many seconds [s]; False where it is not under way."""
        return self._pipe is not None and bool(select.select([self._pipe], [], [], seconds)[0])

    def drop(self) -> None:
        """Let go of work whose answer is not wanted."""
        if self._pipe is not None:
            self._pipe.close()
            self._pipe = None
            os.kill(self._pid, signal.SIGKILL)
            os.waitpid(self._pid, 0)

    def __del__(self) -> None:
        self.drop()


def _done(work: Callable[[], T]) -> tuple[bool, object]:
    try:
        return True, work()
    except JawrightError as error:
        return False, (error.code, error.what, error.where, error.todo)
    except Exception as error:
        return False, repr(error)
