"""Run a reader of foreign files in a child process with memory, time and size limits.

Damaged exchange files crash the solid kernel now and then, so it never opens one in the
process of the user. A small server process loads the kernel once; each job runs in a fork
of it, so that a crash costs one fork and the next file finds the kernel warm.

The standard library's fork server is not used because it imports the caller's main module
again in each child, which runs unguarded user scripts twice, and because it hands answers
back pickled: an answer of a process that opened a hostile file is read here as plain JSON
and bytes only.
"""

from __future__ import annotations

import atexit
import contextlib
import importlib
import json
import os
import select
import signal
import struct
import subprocess
import sys
import threading
import time
from typing import IO, Any, Never

from jawright.errors import CODES, JawrightError
from jawright.files import limits

_HEAD = struct.Struct("<II")  # length of the JSON text, length of the bytes after it
_ADVICE = "open the file in the program it came from and export it again"

START = "import sys; sys.path[:] = sys.argv[1:]; from jawright.files.child import serve; serve(%s)"
"""What the server process runs; it finds modules where this process does."""

READERS = ("jawright.files.step", "jawright.files.dxf_child")
"""Loaded before anybody asks for them where there is time; else when they are asked for."""

Answer = tuple[dict[str, Any], bytes]


def run(reader: str, arguments: dict[str, Any], *, where: str) -> Answer:
    """Answer of ``reader`` ("package.module:function") for ``arguments``, run in a limited child.

    The reader takes the JSON-able ``arguments`` as keywords and returns a JSON-able dict and
    bytes. ``where`` is the file's name for messages. Raises the reader's own ``JawrightError``;
    ``file-broken`` when the child crashes, hangs past its limits or runs into an error of its own.
    """
    with _lock:
        try:
            return _ask({"reader": reader, "arguments": arguments}, where)
        except (OSError, EOFError, ValueError) as end:
            _stop()
            raise JawrightError(
                "file-broken",
                what="the process that read the file ended without an answer",
                where=where,
                todo=_ADVICE,
            ) from end


def warm() -> None:
    """Start the server process without waiting for it, so that the first file finds it ready."""
    with _lock:
        _server(READERS)


_lock = threading.Lock()
_process: subprocess.Popen[bytes] | None = None


def _server(readers: tuple[str, ...] = ()) -> subprocess.Popen[bytes]:
    global _process  # noqa: PLW0603 (one server for the whole process)
    if _process is not None and _process.poll() is not None:
        _stop()
    if _process is None:
        _process = subprocess.Popen(
            [sys.executable, "-c", START % f"{readers}", *sys.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        )
    return _process


def _stop() -> None:
    global _process  # noqa: PLW0603
    if _process is None:
        return
    _process.kill()
    _process.wait()
    for pipe in (_process.stdin, _process.stdout):
        if pipe is not None:
            try:
                pipe.close()
            except OSError:
                continue
    _process = None


@atexit.register
def _end() -> None:
    with _lock:
        _stop()


def _ask(request: dict[str, Any], where: str) -> Answer:
    server = _server()
    assert server.stdin is not None and server.stdout is not None
    # the server has its own, shorter time limit; this one is for a server that hangs itself
    guard = threading.Timer(limits.CHILD_WALL_S + 30.0, server.kill)
    guard.daemon = True
    guard.start()
    try:
        _write(server.stdin, request, b"")
        answer, blob = _read(server.stdout)
    finally:
        guard.cancel()
    error = answer.get("error")
    if error is not None:
        _refuse(error, where)
    value = answer["value"]
    if not isinstance(value, dict):
        raise ValueError("an answer must be a dict")
    return value, blob


def _refuse(error: Any, where: str) -> Never:
    code, what, place, todo = (str(error[k]) for k in ("code", "what", "where", "todo"))
    raise JawrightError(
        code if code in CODES else "file-broken", what=what, where=place or where, todo=todo or _ADVICE
    )


def _write(pipe: IO[bytes], value: dict[str, Any], blob: bytes) -> None:
    text = json.dumps(value).encode()
    pipe.write(_HEAD.pack(len(text), len(blob)) + text)
    pipe.write(blob)
    pipe.flush()


def _read(pipe: IO[bytes]) -> Answer:
    a, b = _HEAD.unpack(_exactly(pipe, _HEAD.size))
    if a + b > limits.ANSWER_BYTES:
        raise ValueError("the answer is too large")
    value = json.loads(_exactly(pipe, a))
    if not isinstance(value, dict):
        raise ValueError("an answer must be a dict")
    return value, _exactly(pipe, b)


def _exactly(pipe: IO[bytes], count: int) -> bytes:
    data = pipe.read(count)
    if len(data) != count:
        raise EOFError("the pipe ended")
    return data


# ---- in the server process ----------------------------------------------------------------


def serve(readers: tuple[str, ...] = ()) -> None:
    """Answer requests on standard input until it ends, ``readers`` loaded. In the server process only."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides when to stop
    source, sink = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)  # the kernel writes to standard output when it feels like it
    for name in ("jawright.kernel", *readers):
        importlib.import_module(name)
    while True:
        try:
            request, _ = _read(source)
        except EOFError:
            return
        _load(request)
        frame = _forked(request) if hasattr(os, "fork") else _work(request)
        sink.write(frame)
        sink.flush()


def _load(request: dict[str, Any]) -> None:
    """Load the reader once for all forks; one that cannot be loaded is told by the fork."""
    try:
        importlib.import_module(request["reader"].split(":")[0])
    except Exception:
        return


def _work(request: dict[str, Any]) -> bytes:
    try:
        module, function = request["reader"].split(":")
        value, blob = getattr(importlib.import_module(module), function)(**request["arguments"])
        text = json.dumps({"value": value}).encode()
    except JawrightError as e:
        return _problem(e.code, e.what, e.where, e.todo)
    except MemoryError:
        return _problem("file-broken", "reading the file needs more memory than the limit")
    except Exception as e:  # a foreign file must never show a traceback
        return _problem("file-broken", f"the reader stopped with {type(e).__name__}")
    return _HEAD.pack(len(text), len(blob)) + text + bytes(blob)


def _problem(code: str, what: str, where: str = "", todo: str = "") -> bytes:
    text = json.dumps({"error": {"code": code, "what": what, "where": where, "todo": todo}}).encode()
    return _HEAD.pack(len(text), 0) + text


def _forked(request: dict[str, Any]) -> bytes:
    """The answer of a fork of this process, or what became of it."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)  # what it starts is ended with it
        os.close(ours)
        _limit()
        with os.fdopen(theirs, "wb") as pipe:
            pipe.write(_work(request))
        os._exit(0)
    os.close(theirs)
    data, late = _collect(ours)
    if late:
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(child, signal.SIGKILL)  # whatever it started and left behind
    if late:
        return _problem("file-broken", f"reading the file took more than {limits.CHILD_WALL_S:.0f} s")
    if os.WIFSIGNALED(status):
        if os.WTERMSIG(status) == signal.SIGXCPU:
            return _problem("file-broken", f"reading the file took more than {limits.CHILD_CPU_S} s")
        return _problem("file-broken", "the solid kernel crashed on the file")
    whole = len(data) >= _HEAD.size and len(data) == _HEAD.size + sum(_HEAD.unpack_from(data))
    return data if whole else _problem("file-broken", "the reader ended without an answer")


def _collect(source: int) -> tuple[bytes, bool]:
    """Everything that comes through ``source``, and whether time ran out before its end."""
    parts: list[bytes] = []
    end = time.monotonic() + limits.CHILD_WALL_S
    try:
        while (left := end - time.monotonic()) > 0:
            ready, _, _ = select.select([source], [], [], left)
            if ready:
                chunk = os.read(source, 1 << 20)
                if not chunk:
                    return b"".join(parts), False
                parts.append(chunk)
        return b"", True
    finally:
        os.close(source)


def _limit() -> None:
    import resource  # noqa: PLC0415 (POSIX only; elsewhere the time limit alone stands)

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    cpu = limits.CHILD_CPU_S
    resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu + 2))
    memory = limits.CHILD_MEMORY_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
