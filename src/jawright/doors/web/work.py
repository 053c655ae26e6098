"""The worker: a process of its own that plans and looks at parts, so that long work can be stopped at once.

It reads one JSON line per task from standard input and answers with JSON lines: ``step`` while it
goes, then ``done``, ``error`` (one of ours) or ``defect``.
"""

from __future__ import annotations

import json
import os
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jawright.conductor import plan
from jawright.doors.web.inputs import ABOUT, digest
from jawright.doors.web.look import look
from jawright.errors import JawrightError
from jawright.files import child
from jawright.job.read import read_job
from jawright.papers import bundle
from jawright.papers.jaw_files import jaw_files
from jawright.papers.questions import is_ready
from jawright.shop.read import read_shop

Step = Callable[[str], None]


def plan_job(folder: Path, say: Step) -> dict[str, Any]:
    """Plan the job in a folder and leave its result there, whole or not at all."""
    inputs = digest((folder / "job.toml").read_text("utf-8"), (folder / "shop.toml").read_text("utf-8"))
    job, shop = read_job(folder / "job.toml"), read_shop(folder / "shop.toml")
    record = plan(job, shop, progress=say)
    say("writing the papers")
    about = {
        "inputs": inputs,
        "decision": record.decision.sentence,
        "verdict": record.verdict,
        "ready": is_ready(record),
        "made": record.made,
    }
    extra = {**jaw_files(record), ABOUT: (json.dumps(about, ensure_ascii=False) + "\n").encode()}
    bundle.write(record, folder / "result", extra)
    return {"ready": about["ready"], "verdict": record.verdict}


def look_at(folder: Path, say: Step) -> dict[str, Any]:
    """Read the part of a job, and leave its faces, holes, print and mesh beside it."""
    say("reading the part")
    return look(folder)


TASKS: dict[str, Callable[[Path, Step], dict[str, Any]]] = {"plan": plan_job, "look": look_at}


def serve() -> None:
    """Take tasks until standard input ends."""
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # what a library prints must not look like an answer

    def answer(**message: Any) -> None:
        out.write(json.dumps(message) + "\n")
        out.flush()

    child.warm()
    answer(up=True)
    for line in sys.stdin:
        task = json.loads(line)
        try:
            answer(done=TASKS[task["kind"]](Path(task["folder"]), lambda text: answer(step=text)))
        except JawrightError as e:
            answer(error={"code": e.code, "what": e.what, "where": e.where, "todo": e.todo})
        except Exception:
            answer(defect=traceback.format_exc())
