"""Run tasks in worker processes: few at once, each with its progress, each stopped at once when asked."""

from __future__ import annotations

import contextlib
import json
import os
import re
import select
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from jawright.errors import JawrightError

START = "import sys; sys.path[:] = sys.argv[1:]; from jawright.doors.web.work import serve; serve()"
"""What a worker runs; it finds modules where this process does."""

AT_ONCE = 2
"""Tasks that run at the same time; the others wait."""
WAITING = 16
"""Tasks that may wait; one more is refused."""
LONGEST_S = 900.0
"""Time one task may take [s]."""

TURN_S = 10.0
"""Time a question waits for its turn [s]."""
ANSWER_S = 60.0
"""Time the answer to a question may take [s]; the first starts a worker and meshes the jaws."""

State = Literal["waiting", "running", "done", "failed", "stopped"]
FAR = (("reading the part", 0.05), ("trying stances", 0.1), ("designing", 0.35), ("writing the papers", 0.9))
"""How far a plan is when a step begins, from the demo's."""
FAR_SO_FAR = (0.0, 0.4, 0.7)
"""And when a design, and then its proofs, are known."""
OPEN: tuple[State, ...] = ("waiting", "running")


def _far(step: str) -> float:
    """How far a plan is when a step begins; each clamping of a part that takes two is a plan of its own."""
    one = re.match(r"clamping (\d) of (\d): ", step)
    far = max((f for begins, f in FAR if step[one.end() if one else 0 :].startswith(begins)), default=0.0)
    if one is None:
        return far
    first, last = FAR[1][1], FAR[-1][1]
    return first + (last - first) * (int(one[1]) - 1 + far) / int(one[2])


class BusyError(Exception):
    """Too many tasks wait."""


@dataclass(eq=False)
class Run:
    """One task: what it said so far and how it ended."""

    key: str
    kind: str
    folder: Path
    state: State = "waiting"
    steps: list[str] = field(default_factory=list)
    error: dict[str, str] | None = None
    result: dict[str, Any] | None = None
    process: subprocess.Popen[str] | None = None
    so_far: int = 0  # times that what is known was left in the folder

    @property
    def open(self) -> bool:
        """Whether it is waiting or at work."""
        return self.state in OPEN

    @property
    def share(self) -> float:
        """About how far it is, a share of the whole: a bar that moves by itself would cost a core."""
        known = FAR_SO_FAR[min(self.so_far, len(FAR_SO_FAR) - 1)]
        return max([known, *map(_far, self.steps)])

    def shown(self) -> dict[str, Any]:
        """The run for a page."""
        return {
            "kind": self.kind,
            "state": self.state,
            "steps": list(self.steps),
            "error": self.error,
            "so_far": self.so_far,
            "share": self.share,
        }


class Runner:
    """Starts, watches and stops runs. One run for each key at a time."""

    def __init__(self, address: str = "", decided: Callable[[Path], None] | None = None) -> None:
        self._address = address  # of the page, printed as a code on the sheets
        self._decided = decided  # called with the folder of a plan that is done but for its papers
        self._lock = threading.Condition()
        self._runs: dict[str, Run] = {}
        self._queue: list[Run] = []
        self._active = 0
        self._idle: list[subprocess.Popen[str]] = []
        self._closed = False
        self._ears: set[Callable[[], object]] = set()

    @contextlib.contextmanager
    def heard(self, ear: Callable[[], object]) -> Iterator[None]:
        """Context in which ``ear`` is called, from any thread, whenever a run said something or ended."""
        with self._lock:
            self._ears.add(ear)
        try:
            yield
        finally:
            with self._lock:
                self._ears.discard(ear)

    def _tell(self) -> None:
        self._lock.notify_all()
        for ear in self._ears:
            ear()

    def warm(self) -> None:
        """Start one worker ahead, so that the first task finds it ready."""
        with self._lock:
            if not self._idle and not self._closed:
                self._idle.append(_worker())

    def start(self, key: str, kind: str, folder: Path) -> Run:
        """Start a task, or give the one of the same key that has not ended. Raises ``BusyError``."""
        with self._lock:
            old = self._runs.get(key)
            if old is not None and old.open:
                return old
            if len(self._queue) >= WAITING or self._closed:
                raise BusyError
            run = Run(key, kind, folder)
            self._runs[key] = run
            self._queue.append(run)
            self._next()
            self._tell()
            return run

    def ahead(self, folder: Path) -> None:
        """Let a worker that has nothing to do begin the plan of a job; none is started for it."""
        with self._lock:
            if self._idle and not self._closed and not self._queue and hasattr(os, "fork"):
                _hint(self._idle[-1], {"kind": "ahead", "folder": str(folder)})

    def of(self, key: str) -> Run | None:
        """The last run of a job, None when there was none."""
        return self._runs.get(key)

    def stop(self, key: str) -> bool:
        """Stop the task of a key; False when none goes on."""
        with self._lock:
            run = self._runs.get(key)
            if run is None or not run.open:
                return False
            run.state = "stopped"
            if run in self._queue:
                self._queue.remove(run)
            if run.process is not None:
                _end(run.process)
            self._tell()
            return True

    def wait(self, run: Run, *, said: int, seconds: float) -> None:
        """Return when the run said more than ``said`` steps, ended, or after some seconds."""
        with self._lock:
            self._lock.wait_for(lambda: len(run.steps) > said or not run.open, timeout=seconds)

    def close(self) -> None:
        """Stop everything; nothing starts after it."""
        with self._lock:
            self._closed = True
            self._queue.clear()
            for run in self._runs.values():
                if run.open:
                    run.state = "stopped"
                if run.process is not None:
                    _end(run.process)
            for process in self._idle:
                _end(process)
            self._idle.clear()
            self._tell()

    def _next(self) -> None:
        while self._queue and self._active < AT_ONCE:
            run = self._queue.pop(0)
            self._active += 1
            run.state = "running"
            run.process = self._idle.pop() if self._idle else _worker()
            threading.Thread(target=self._watch, args=(run,), daemon=True).start()

    def _watch(self, run: Run) -> None:
        process = run.process
        assert process is not None
        alarm = threading.Timer(LONGEST_S, _end, (process,))
        alarm.daemon = True
        alarm.start()
        try:
            ended = self._converse(process, run)
        finally:
            alarm.cancel()
        with self._lock:
            run.process = None
            if run.open:  # the process is gone without a last word
                run.state, run.error = "failed", _defect("the work ended without an answer")
            self._active -= 1
            if ended and not self._closed and not self._idle:
                self._idle.append(process)
            else:
                _end(process)
            self._next()
            self._tell()

    def _converse(self, process: subprocess.Popen[str], run: Run) -> bool:
        """Give the task and take what comes; True when the worker is good for another one."""
        assert process.stdin is not None and process.stdout is not None
        try:
            task = {"kind": run.kind, "folder": str(run.folder), "address": self._address}
            process.stdin.write(json.dumps(task) + "\n")
            process.stdin.flush()
            for line in process.stdout:
                message = json.loads(line)
                with self._lock:
                    if not run.open:
                        return False
                    if "step" in message:
                        run.steps.append(str(message["step"]))
                    elif "so_far" in message:
                        run.so_far += 1
                    elif "decided" in message:
                        if self._decided is not None:
                            threading.Thread(target=self._decided, args=(run.folder,), daemon=True).start()
                        continue
                    elif "done" in message:
                        run.state, run.result = "done", message["done"]
                    elif "error" in message:
                        run.state, run.error = "failed", message["error"]
                    elif "defect" in message:
                        print(message["defect"], file=sys.stderr)
                        run.state, run.error = "failed", _defect("a defect of the program, not of your input")
                    self._tell()
                    if not run.open:
                        return True
        except (OSError, ValueError):
            return False
        return False


class Talk:
    """One worker that answers questions about plans at once."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._process: subprocess.Popen[str] | None = None

    def warm(self) -> None:
        """Start the worker ahead, so that the first question finds it ready."""
        with self._turn:
            if self._process is None:
                self._process = _worker()

    def ask(self, kind: str, folder: Path, **what: Any) -> dict[str, Any]:
        """The answer to one question. Raises ``JawrightError`` as the worker does, ``BusyError`` when it is
        not the asker's turn in time."""
        if not self._turn.acquire(timeout=TURN_S):
            raise BusyError
        try:
            message = self._said({"kind": kind, "folder": str(folder), **what})
        finally:
            self._turn.release()
        if "done" in message:
            done: dict[str, Any] = message["done"]
            return done
        if "error" in message:
            e = message["error"]
            raise JawrightError(e["code"], what=e["what"], where=e["where"], todo=e["todo"])
        print(message.get("defect", ""), file=sys.stderr)
        raise JawrightError("value-bad", what="this could not be worked out", todo="plan the job again")

    def _said(self, task: dict[str, Any]) -> dict[str, Any]:
        process = self._process
        if process is None or process.poll() is not None:
            process = self._process = _worker()
        assert process.stdin is not None and process.stdout is not None
        alarm = threading.Timer(ANSWER_S, _end, (process,))
        alarm.daemon = True
        alarm.start()
        try:
            process.stdin.write(json.dumps(task) + "\n")
            process.stdin.flush()
            for line in process.stdout:
                message: dict[str, Any] = json.loads(line)
                if "up" not in message:
                    return message
        except (OSError, ValueError):
            pass
        finally:
            alarm.cancel()
        self._process = None
        _end(process)
        return {}

    def close(self) -> None:
        """Let the worker go."""
        if self._process is not None:
            _end(self._process)


def _hint(process: subprocess.Popen[str], task: dict[str, str]) -> None:
    """Tell a worker something, unless it is so far behind that this would have to wait."""
    assert process.stdin is not None
    with contextlib.suppress(OSError, ValueError):
        if select.select([], [process.stdin], [], 0)[1]:
            process.stdin.write(json.dumps(task) + "\n")
            process.stdin.flush()


def _defect(what: str) -> dict[str, str]:
    return {"code": "", "what": what, "where": "", "todo": "try again; its details stand in the terminal"}


def _worker() -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", START, *sys.path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        start_new_session=True,  # so that its own children end with it
    )


def _end(process: subprocess.Popen[str]) -> None:
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except (OSError, AttributeError):
        process.kill()
    threading.Thread(target=process.wait, daemon=True).start()
