"""The worker: a process of its own that plans and looks at parts, so that long work can be stopped at once.

It reads one JSON line per task from standard input and answers with JSON lines: ``step`` while it
goes, then ``done``, ``error`` (one of ours) or ``defect``.
"""

from __future__ import annotations

import contextlib
import gc
import json
import os
import sys
import traceback
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any, Protocol

from jawright import begun, record_json
from jawright.beside import Beside, unswept
from jawright.conductor import whole
from jawright.doors.web import bench
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.look import look
from jawright.doors.web.news import rack_now
from jawright.doors.web.store import DECIDED, RACK, SO_FAR, keep, put
from jawright.errors import JawrightError
from jawright.files import child
from jawright.jaws.kept import Kept
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.papers import bundle
from jawright.papers.jaw_files import jaw_files
from jawright.part.model import Part
from jawright.rack import stock
from jawright.rack.offer import find
from jawright.rack.store import Rack
from jawright.record import Record, Whole
from jawright.shop.model import Shop
from jawright.shop.read import read_shop


class Step(Protocol):
    """Says what is done now, or that what is known ``so_far``, or was ``decided``, lies in the folder."""

    def __call__(self, text: str = "", *, so_far: bool = False, decided: bool = False) -> None: ...


Told = tuple[str, str, str]
_begun: dict[Told, begun.Begun] = {}
"""What was begun before anybody asked for it: at most one, by folder, job text and shop text."""


def begin(folder: Path, looked: tuple[Job, Part] | None = None) -> None:
    """Begin the plan of a job while its questions are still being read; what was begun before is let go.

    ``looked`` is the job as far as it goes and its part, where it was read just now. What is wrong with it is
    told when the plan is asked for.
    """
    shop = folder.parent.parent / "shop.toml"
    told = (str(folder), (folder / "job.toml").read_text("utf-8"), shop.read_text("utf-8"))
    if told in _begun:
        return
    _begun.clear()
    with contextlib.suppress(JawrightError):
        job = read_job(folder / "job.toml")
        part = looked[1] if looked is not None and _names(looked[0]) == _names(job) else None
        _begun[told] = begun.begin(job, read_shop(shop), ahead=True, part=part)


def _names(job: Job) -> tuple[object, ...]:
    return job.part_file, job.part_unit, job.thickness, job.body


def plan_job(folder: Path, say: Step, address: str = "") -> dict[str, Any]:
    """Plan the job in a folder and leave its result there, whole or not at all; meanwhile what is known."""
    texts = ((folder / "job.toml").read_text("utf-8"), (folder / "shop.toml").read_text("utf-8"))
    ready = _begun.pop((str(folder), *texts), None)
    _begun.clear()
    inputs = digest(*texts)
    job, shop = read_job(folder / "job.toml"), read_shop(folder / "shop.toml")

    def shown(record: Record) -> None:
        put(folder / SO_FAR, record_json.dumps(record).encode())
        say(so_far=True)

    try:
        planned = whole(job, shop, kept=_kept(folder, job, shop), progress=say, shown=shown, begun=ready)
        say("writing the papers")
        with unswept():
            text = record_json.dumps(planned.record)
            put(folder / DECIDED, text.encode())
            say(decided=True)
            about = _papers(planned, folder, inputs, text, address)
    finally:
        for name in (SO_FAR, DECIDED):
            (folder / name).unlink(missing_ok=True)
    return {"ready": about["ready"], "verdict": planned.record.verdict}


def _papers(planned: Whole, folder: Path, inputs: dict[str, str], text: str, address: str) -> dict[str, Any]:
    """Leave the result of a plan in its folder, its record as ``text``; what the list of jobs shows of it."""
    record = planned.record
    solids = Beside(lambda: jaw_files(record))  # the kernel works while the sheet is set
    about = {**about_of(record, inputs, text), "rack": rack_now(folder.parent.parent)}
    card = (json.dumps(about, ensure_ascii=False) + "\n").encode()

    def more() -> dict[str, bytes]:
        return {**solids.result(), ABOUT: card}

    bundle.write(record, folder / "result", more, address=address, text=text, clampings=planned.clampings)
    return about


def _kept(folder: Path, job: Job, shop: Shop) -> tuple[Kept, ...]:
    """Pairs on the page's rack worth trying as they are; none where there is no rack yet."""
    path = folder.parent.parent / RACK
    if not path.exists():
        return ()
    with Rack(path) as rack:
        return stock.short_list(rack, job, shop)


def look_at(folder: Path, say: Step, _: str = "") -> dict[str, Any]:
    """Read the part of a job, and leave its faces, holes, print and mesh beside it.

    The plan of a job that answers all questions itself begins meanwhile: no need to wait for its page.
    """
    say("reading the part")

    def read(job: Job, part: Part) -> None:
        with contextlib.suppress(Exception):  # a defect shows when the plan is asked for
            begin(folder, (job, part))

    return look(folder, read)


def find_for(folder: Path, say: Step, _: str = "") -> dict[str, Any]:
    """Search the rack for a job, prove what fits, and leave the offers beside the job."""
    inputs = digest((folder / "job.toml").read_text("utf-8"), (folder / "shop.toml").read_text("utf-8"))
    job, shop = read_job(folder / "job.toml"), read_shop(folder / "shop.toml")
    with Rack(folder.parent.parent / RACK) as rack:
        found = find(rack, job, shop, say=say)
    offers = [
        {
            "pair": o.pair,
            "kind": o.kind,
            "side": o.side,
            "place": o.place,
            "sentence": o.sentence,
            "level": o.verdict,
            "cost": f"{o.minutes:.0f} min, {o.money:.0f} {shop.rates.currency} for the lot",
            "new": ""
            if o.new_money is None or o.new_minutes is None
            else f"a new pair {o.new_minutes:.0f} min, {o.new_money:.0f} {shop.rates.currency}",
            "recuts": o.recuts,
            "worst": [f"{p.name}: {p.sentence}" for p in o.proofs if p.verdict in ("fail", "unknown")],
        }
        for o in found.offers
    ]
    further = [f"{a.pair}, {a.side} side" for a in found.further[:20]]
    keep(
        folder,
        "found.json",
        {"inputs": inputs, "offers": offers, "further": further, "refused": list(found.refused)},
    )
    return {"offers": len(offers)}


TASKS: dict[str, Callable[[Path, Step, str], dict[str, Any]]] = {
    "plan": plan_job,
    "look": look_at,
    "find": find_for,
}
AHEAD = "ahead"
"""A task without an answer: whoever plans the job next is served sooner."""
QUESTIONS: dict[str, Callable[[Path, dict[str, Any]], dict[str, Any]]] = {
    "heights": bench.heights,
    "spacers": bench.spacers,
    "turned": bench.turned,
    "rivals": bench.rivals,
    "solids": bench.solids,
    "moves": bench.moves,
}
"""Answered from what is kept in the worker, at once."""


def serve() -> None:
    """Take tasks until standard input ends."""
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # what a library prints must not look like an answer

    def answer(**message: Any) -> None:
        out.write(json.dumps(message) + "\n")
        out.flush()

    def step(text: str = "", *, so_far: bool = False, decided: bool = False) -> None:
        answer(**({"so_far": True} if so_far else {"decided": True} if decided else {"step": text}))

    child.warm()
    import_module("jawright.kernel.level")  # else each process that is forked off loads it anew
    gc.freeze()  # what was loaded stays: collections, and the pages of forked children, need not look at it
    answer(up=True)
    for line in sys.stdin:
        task = json.loads(line)
        try:
            kind, folder = task["kind"], Path(task["folder"])
            if kind == AHEAD:
                with contextlib.suppress(Exception):  # a defect shows when the plan is asked for
                    begin(folder)
            elif kind in QUESTIONS:
                answer(done=QUESTIONS[kind](folder, task))
            else:
                answer(done=TASKS[kind](folder, step, task.get("address", "")))
        except JawrightError as e:
            answer(error={"code": e.code, "what": e.what, "where": e.where, "todo": e.todo})
        except Exception:
            answer(defect=traceback.format_exc())
