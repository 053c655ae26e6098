"""Routes of the screen at the machine: read at two meters, touched with gloves, safe from stray touches."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from textwrap import shorten
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from jawright import units
from jawright.doors.web import news, show
from jawright.doors.web.given import made
from jawright.doors.web.render import done, one, page, sent
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.store import UnknownJobError, keep, note
from jawright.errors import JawrightError
from jawright.floor import wrong
from jawright.floor.adjust import Advice, Characteristic, advise, outside
from jawright.floor.measured import characteristics
from jawright.floor.symptoms import SYMPTOMS, Reading, symptom
from jawright.papers.measure import Reader
from jawright.record import Record
from jawright.units import System

router = APIRouter(tags=["machine"])

MOST_PARTS = 100_000
KEPT = "floor.json"
NOTE = 64
"""Letters of a second line on the first screen; what is longer stands in the steps in full."""


def _start(here: Rooms, job_id: str, at: str) -> tuple[dict[str, Any], Record | None]:
    """What every screen shows, and the record it stands on; no record when the sheet is old or absent."""
    record = show.record_of(here.store, job_id)
    last = show.planned(here.store, job_id)
    shows: dict[str, Any] = {
        "title": "At the machine",
        "id": job_id,
        "at": at,
        "planned": last,
        "held": False,
        "clampings": 0,
        "pair_news": "",
    }
    if record is None or not last.there:
        return shows, None
    system = record.job.units
    shows |= {
        "held": record.hold is not None and last.fresh,
        "clampings": len(record.clampings) if last.fresh else 0,
        "number": record.job.part_number or record.job.name,
        "revision": record.job.revision,
        "operation": record.job.operation,
        "job_units": system,
        "ready": last.ready,
        "pair_news": news.of_pair(here.store, record),
        "reasons": made(record, system).content.reasons,
    }
    return shows, record if record.hold is not None and last.fresh else None


@router.get("/jobs/{job_id}/machine")
@router.get("/jobs/{job_id}/machine.json")
def first(request: Request, job_id: str, here: Here) -> Response:
    """The first screen: picture, jaws, torque, stop corner, work offset. Nothing else."""
    shows, record = _start(here, job_id, "picture")
    if record is not None:
        shows["facts"] = [
            replace(f, note=shorten(f.note, NOTE, placeholder=" … see the steps"))
            for f in made(record, record.job.units).content.first
        ]
        shows["picture"] = (
            f"/jobs/{job_id}/drawing/plan.svg?of={shows['planned'].stamp}&in={record.job.units}"
        )
    return page(request, "machine.html", shows)


# ---------------------------------------------------------------- steps


def _floor(here: Rooms, job_id: str, stamp: str) -> dict[str, Any]:
    """What was ticked and measured; ticks belong to one plan and start anew with the next."""
    found = note(here.store.path(job_id), KEPT)
    if found.get("plan") != stamp:
        found = {**found, "plan": stamp, "ticked": []}
    return {"parts": {}, "moved": {}, **found}


@router.get("/jobs/{job_id}/machine/steps")
@router.get("/jobs/{job_id}/machine/steps.json")
def steps(request: Request, job_id: str, here: Here, at: int = -1) -> Response:
    """The setup, one step at a time."""
    shows, record = _start(here, job_id, "steps")
    if record is not None:
        items = made(record, record.job.units).content.steps
        ticked = [n for n in _floor(here, job_id, shows["planned"].stamp)["ticked"] if n < len(items)]
        open_ = [n for n in range(len(items)) if n not in ticked]
        n = at if 0 <= at < len(items) else (open_[0] if open_ else len(items) - 1)
        shows |= {"items": items, "n": n, "ticked": ticked, "all_done": not open_}
    return page(request, "machine_steps.html", shows)


@router.post("/jobs/{job_id}/machine/steps")
async def tick(request: Request, job_id: str, here: Here) -> Response:
    """Tick a step off, or take the tick back. Raises ``value-bad`` for a step that is not there."""
    fields = await sent(request)
    shows, record = _start(here, job_id, "steps")
    if record is None:
        return done(request, f"/jobs/{job_id}/machine")
    count = len(made(record, record.job.units).content.steps)
    n = units.counted(one(fields, "step"))
    if n is None or n >= count:
        raise JawrightError("value-bad", what="there is no such step", todo="show the steps again")
    with here.store.lock:
        found = _floor(here, job_id, shows["planned"].stamp)
        ticked = set(found["ticked"])
        ticked = ticked - {n} if one(fields, "do") == "untick" else ticked | {n}
        keep(here.store.path(job_id), KEPT, {**found, "ticked": sorted(ticked)})
    to = n if one(fields, "do") == "untick" else min(n + 1, count - 1)
    return done(request, f"/jobs/{job_id}/machine/steps?at={to}")


# ---------------------------------------------------------------- measuring


def limits_of(c: Characteristic, r: Reader) -> str:
    """The limits of a characteristic in words."""
    if c.low is None or c.high is None:
        return f"nominal {r.place(c.nominal)}, limits by the print" if c.nominal else "limits by the print"
    if len(c.axes) > 1:
        return f"X and Y from nominal, within Ø{r.place(c.high - c.low)}"
    return r.span(c.low, c.high)


def _parts(found: dict[str, Any], number: int) -> list[list[float]]:
    return [list(map(float, row)) for row in found["parts"].get(str(number), [])]


def _since(found: dict[str, Any], number: int) -> list[list[float]]:
    """Readings since the offset was last moved for this characteristic."""
    return _parts(found, number)[int(found["moved"].get(str(number), 0)) :]


@router.get("/jobs/{job_id}/machine/measure")
@router.get("/jobs/{job_id}/machine/measure.json")
def measure(request: Request, job_id: str, here: Here) -> Response:
    """What is measured on each part, and how it stands."""
    shows, record = _start(here, job_id, "measure")
    if record is not None:
        r = Reader(record.job.units)
        found = _floor(here, job_id, shows["planned"].stamp)
        rows = []
        for c in characteristics(record):
            advice = advise(c, _since(found, c.number))
            rows.append(
                {
                    "number": c.number,
                    "feature": c.feature,
                    "what": c.what,
                    "limits": limits_of(c, r),
                    "count": len(_parts(found, c.number)),
                    "word": advice.word if _parts(found, c.number) else "not measured yet",
                }
            )
        shows["rows"] = rows
    return page(request, "machine_measure.html", shows)


@router.get("/jobs/{job_id}/machine/measure/{number}")
@router.get("/jobs/{job_id}/machine/measure/{number}.json")
def measure_one(request: Request, job_id: str, number: int, here: Here) -> Response:
    """One characteristic: limits, what came so far, what to do, and a pad for the next part."""
    shows, record = _start(here, job_id, "measure")
    if record is not None:
        shows |= _measured(here, job_id, shows["planned"].stamp, record, number)
    return page(request, "machine_one.html", shows)


def _characteristic(record: Record, number: int) -> Characteristic:
    for c in characteristics(record):
        if c.number == number:
            return c
    raise UnknownJobError


def _measured(here: Rooms, job_id: str, stamp: str, record: Record, number: int) -> dict[str, Any]:
    c, r = _characteristic(record, number), Reader(record.job.units)
    found = _floor(here, job_id, stamp)
    rows, moved = _parts(found, number), int(found["moved"].get(str(number), 0))
    advice = advise(c, rows[moved:])
    last = []
    for i, row in list(enumerate(rows))[-4:]:
        past = outside(c, row)
        word = "outside" if past > 0 else "inside" if c.low is not None else "kept"
        last.append({"part": i + 1, "words": _row_words(c, row, r), "word": word, "old": i < moved})
    return {
        "c": c,
        "limits": limits_of(c, r),
        "last": last[::-1],
        "next": len(rows) + 1,
        "advice": advice.word,
        "sentence": _sentence(c, advice, r),
        "moves": [
            {"axis": a, "words": _signed(m, r)} for a, m in zip(c.axes, advice.moves, strict=False) if m
        ],
        "unit": r.length_unit,
    }


def _row_words(c: Characteristic, row: Sequence[float], r: Reader) -> str:
    """One reading: a length, or a length along each axis."""
    if len(row) < 2:
        return " ".join(r.place(v) for v in row)
    return ", ".join(f"{a} {r.place(v)}" for a, v in zip(c.axes, row, strict=False))


def _signed(mm: float, r: Reader) -> str:
    text = r.place(mm)
    return text if text.startswith("-") else f"+{text}"


def _sentence(c: Characteristic, advice: Advice, r: Reader) -> str:
    mean = _row_words(c, advice.mean, r)
    match advice.word:
        case "stop":
            return (
                f"The last part is {r.place(advice.outside)} outside. Set it aside, wipe the seat, measure "
                "it again. Outside twice: stop the run."
            )
        case "measure more":
            return f"{advice.parts} of 3 parts since the offset was last moved. Nothing is due on fewer."
        case "move it":
            return f"The mean of three is {mean}, further off than their scatter explains."
        case "kept, not judged":
            return "No limit is typed in the job, so nothing is judged."
        case _ if not c.follows:
            return "No offset changes this one. When it goes the wrong way, use: something is wrong."
        case _:
            return f"The mean of three is {mean}; what remains is scatter, and moving would add to it."


@router.post("/jobs/{job_id}/machine/measure/{number}")
async def entered(request: Request, job_id: str, number: int, here: Here) -> Response:
    """A reading is checked first and kept by a second touch; the last can be taken back."""
    fields = await sent(request)
    shows, record = _start(here, job_id, "measure")
    if record is None:
        return done(request, f"/jobs/{job_id}/machine")
    c, do = _characteristic(record, number), one(fields, "do")
    if do in ("check", "keep"):
        row = [_length(one(fields, f"reading{k}"), record.job.units) for k in range(len(c.axes))]
        if do == "check":
            r = Reader(record.job.units)
            shows |= _measured(here, job_id, shows["planned"].stamp, record, number)
            shows |= {
                "entered": [one(fields, f"reading{k}") for k in range(len(c.axes))],
                "entered_words": _row_words(c, row, r),
                "far": _far(c, row),
            }
            return page(request, "machine_keep.html", shows)
    with here.store.lock:
        found = _floor(here, job_id, shows["planned"].stamp)
        rows, moved = _parts(found, number), int(found["moved"].get(str(number), 0))
        if do == "keep" and len(rows) < MOST_PARTS:
            rows.append(row)
        elif do == "back" and rows:
            rows.pop()
        elif do == "moved":
            moved = len(rows)
        found["parts"][str(number)] = rows
        found["moved"][str(number)] = min(moved, len(rows))
        keep(here.store.path(job_id), KEPT, found)
    return done(request, f"/jobs/{job_id}/machine/measure/{number}")


def _length(text: str, system: System) -> float:
    return _quantity(text, "length", system, "the reading")


def _quantity(text: str, kind: str, system: System, what: str) -> float:
    plain = text.replace(",", ".").replace("−", "-")
    if re.fullmatch(r"[+-]?\d*\.?\d+", plain):
        plain = f"{plain} {'min' if kind == 'time' else units.read_unit(kind, system)}"
    value = units.parse(plain, kind, where=what)
    if abs(value) > 1e7:
        raise JawrightError("value-bad", what=f"{text} is not a sensible reading", where=what)
    return value


FAR = 20.0
"""A reading this many tolerances off is more likely mistyped."""


def _far(c: Characteristic, row: list[float]) -> bool:
    if c.low is None or c.high is None:
        return c.nominal > 0 and abs(row[0] - c.nominal) > 0.2 * c.nominal
    return outside(c, row) > FAR * (c.high - c.low)


# ---------------------------------------------------------------- something is wrong


@router.get("/jobs/{job_id}/machine/wrong")
@router.get("/jobs/{job_id}/machine/wrong.json")
def what_is_wrong(request: Request, job_id: str, here: Here) -> Response:
    """Eight pictures."""
    shows, _ = _start(here, job_id, "wrong")
    shows["symptoms"] = SYMPTOMS
    return page(request, "machine_wrong.html", shows)


@router.get("/jobs/{job_id}/machine/wrong/{key}")
def readings(request: Request, job_id: str, key: str, here: Here, *, a: str = "", b: str = "") -> Response:
    """Two readings for one picture, and the answer once they are given."""
    shows, record = _start(here, job_id, "wrong")
    found = symptom(key)
    if found is None:
        return RedirectResponse(f"/jobs/{job_id}/machine/wrong", status_code=303)
    shows |= {"symptom": found, "given": (a, b), "answer": None, "problem": None, "asked": []}
    if record is not None:
        system = record.job.units
        shows["asked"] = [_asked(x, system) for x in found.readings]
        if a or b:
            try:
                values = (_value(a, found.readings[0], system), _value(b, found.readings[1], system))
                shows["answer"] = wrong.answer(record, key, values, system)
            except JawrightError as e:
                shows["problem"] = {"what": e.what, "where": e.where, "todo": e.todo}
    return page(request, "machine_answer.html", shows)


def _asked(reading: Reading, system: System) -> dict[str, str]:
    unit = "min" if reading.kind == "time" else units.read_unit(reading.kind, system)
    return {"label": reading.label, "how": reading.how, "unit": unit}


def _value(text: str, reading: Reading, system: System) -> float:
    return _quantity(text, reading.kind, system, reading.label.lower())
