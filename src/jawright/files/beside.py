"""A second process beside the reading one, for work that does not wait for it.

The reading child is a fork already, so a further fork of it costs little and knows all that it knows.
Its answer comes back as JSON; it keeps the limits of the child, and is ended with it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from typing import Any

from jawright.errors import JawrightError


def beside(work: Callable[[], Any]) -> Callable[[], Any]:
    """Start ``work``; what is returned waits for its JSON-able answer. Raises as the work does.

    Lists come back for tuples. Where a process cannot fork, the work is done when its answer is asked for.
    Raises ``file-broken`` when the process ends without an answer.
    """
    if not hasattr(os, "fork"):
        return work
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        with os.fdopen(theirs, "wb") as pipe:
            pipe.write(_answer(work))
        os._exit(0)
    os.close(theirs)

    def wait() -> Any:
        with os.fdopen(ours, "rb") as pipe:
            data = pipe.read()
        os.waitpid(child, 0)
        try:
            answer = json.loads(data)
        except ValueError as end:
            raise JawrightError("file-broken", what="a part of the reader ended without an answer") from end
        if "error" in answer:
            code, what, where, todo = answer["error"]
            raise JawrightError(code, what=what, where=where, todo=todo)
        return answer["value"]

    return wait


def _answer(work: Callable[[], Any]) -> bytes:
    try:
        return json.dumps({"value": work()}).encode()
    except JawrightError as e:
        return json.dumps({"error": [e.code, e.what, e.where, e.todo]}).encode()
    except Exception as e:  # a foreign file must never show a traceback
        what = f"the reader stopped with {type(e).__name__}"
        return json.dumps({"error": ["file-broken", what, "", ""]}).encode()
