"""Routes of what comes back from the floor: the first article, and what the measurements of a run mean."""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from jawright import units
from jawright.doors.web import answers, show
from jawright.doors.web.machine import KEPT, limits_of
from jawright.doors.web.render import Fields, done, one, page, sent, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.store import keep, note
from jawright.errors import JawrightError
from jawright.floor import first as article
from jawright.floor.diagnose import diagnose
from jawright.floor.expected import from_record
from jawright.floor.gauging import gauge_words
from jawright.floor.measured import characteristics
from jawright.floor.model import Diagnosis
from jawright.floor.run import parse_run
from jawright.papers.measure import Reader
from jawright.papers.restated import restated
from jawright.record import Record
from jawright.told import words
from jawright.units import System

router = APIRouter(tags=["floor"])

MOST_TEXT = 150_000
"""Letters of a table that is typed or pasted."""

WORDS = {"in": "IN", "out": "OUT", "not proven": "NOT PROVEN"}
LEVELS = {"in": "pass", "out": "fail", "not proven": "caution"}


def _shows(request: Request, here: Rooms, job_id: str) -> tuple[dict[str, Any], Record | None]:
    record = show.record_of(here.store, job_id)
    system = system_of(request, answers.unit_of(here.store, job_id))
    card = show.card(here.store, here.runner, job_id)
    return {
        "id": job_id,
        "name": card.name,
        "units": system,
        "planned": show.planned(here.store, job_id),
        "clampings": len(record.clampings) if record is not None else 0,
    }, record


# ---------------------------------------------------------------- first article


@router.get("/jobs/{job_id}/first")
@router.get("/jobs/{job_id}/first.json")
def first(request: Request, job_id: str, here: Here) -> Response:
    """The first article's table, each result judged with the uncertainty of its gauge."""
    shows, record = _shows(request, here, job_id)
    if record is None:
        return RedirectResponse(f"/jobs/{job_id}", status_code=303)
    r = Reader(shows["units"])
    kept = note(here.store.path(job_id), KEPT).get("first", {})
    table = characteristics(record)
    judged = article.judge_all(table, [_result(c.number, kept) for c in table if str(c.number) in kept])
    rows = []
    for c, j in zip(table, judged, strict=True):
        own = kept.get(str(c.number), {})
        rows.append(
            {
                "number": c.number,
                "feature": c.feature,
                "what": c.what,
                "limits": limits_of(c, r),
                "open": c.low is None and c.high is None,
                "low": _place(own.get("low"), r),
                "high": _place(own.get("high"), r),
                "axes": c.axes,
                "values": [r.place(v, unit=False) for v in own.get("readings", [])] + [""] * len(c.axes),
                "unsure": _place(own.get("uncertainty"), r),
                "level": LEVELS.get(j.judgment or "", "unknown" if own else ""),
                "word": WORDS.get(j.judgment or "", "UNKNOWN" if own else ""),
                "why": j.why if own else "",
            }
        )
    done_ = [x for x in rows if x["word"]]
    good = all(x["level"] == "pass" for x in rows) and bool(rows)
    shows |= {
        "title": "First article",
        "rows": rows,
        "unit": r.length_unit,
        "typed": len(done_),
        "good": good,
    }
    return page(request, "first.html", shows)


def _result(number: int, kept: dict[str, Any]) -> article.Result:
    row = kept[str(number)]
    return article.Result(
        number,
        tuple(map(float, row["readings"])),
        row.get("uncertainty"),
        None,
        low=row.get("low"),
        high=row.get("high"),
    )


def _place(mm: float | None, r: Reader) -> str:
    return "" if mm is None else r.place(mm, unit=False)


@router.post("/jobs/{job_id}/first")
async def typed(request: Request, job_id: str, here: Here) -> Response:
    """Keep results: ``reading.N`` once or twice, ``unsure.N`` of the gauge, ``low.N`` and ``high.N``."""
    fields = await sent(request)
    shows, record = _shows(request, here, job_id)
    if record is None:
        return done(request, f"/jobs/{job_id}")
    numbers = {c.number: c for c in characteristics(record)}
    rows: dict[str, dict[str, Any]] = {}
    for number, c in numbers.items():
        texts = [t.strip() for t in fields.get(f"reading.{number}", [])][: len(c.axes)]
        if any(texts):
            rows[str(number)] = {
                "readings": [_length(t, f"reading {number}", shows["units"]) for t in texts if t],
                "uncertainty": _uncertainty(fields, number, shows["units"]),
                "low": _maybe(one(fields, f"low.{number}"), f"lower limit {number}", shows["units"]),
                "high": _maybe(one(fields, f"high.{number}"), f"upper limit {number}", shows["units"]),
            }
    with here.store.lock:
        found = note(here.store.path(job_id), KEPT)
        keep(here.store.path(job_id), KEPT, {**found, "first": rows})
    return done(request, f"/jobs/{job_id}/first")


def _uncertainty(fields: Fields, number: int, system: System) -> float | None:
    text = one(fields, f"unsure.{number}")
    if not text:
        return None
    value = _length(text, f"uncertainty {number}", system)
    if value < 0:
        raise JawrightError("value-bad", what="an uncertainty is not negative", where=f"uncertainty {number}")
    return value


def _maybe(text: str, where: str, system: System) -> float | None:
    return _length(text, where, system) if text else None


def _length(text: str, where: str, system: System) -> float:
    plain = text.replace(",", ".").replace("−", "-")
    if re.fullmatch(r"[+-]?\d*\.?\d+", plain):
        plain = f"{plain} {units.read_unit('length', system)}"
    value = units.parse(plain, "length", where=where)
    if abs(value) > 1e5:
        raise JawrightError("value-bad", what=f"{text} is not a sensible reading", where=where)
    return value


# ---------------------------------------------------------------- diagnosis


@router.get("/jobs/{job_id}/diagnosis")
@router.get("/jobs/{job_id}/diagnosis.json")
def meaning(request: Request, job_id: str, here: Here) -> Response:
    """What the measurements of a run mean: a named cause, or the two things to measure next."""
    shows, record = _shows(request, here, job_id)
    kept = note(here.store.path(job_id), KEPT)
    run = kept.get("run", {})
    text, gauge = str(run.get("text", "")), run.get("gauge")
    r = Reader(shows["units"])
    shows |= {
        "title": "Diagnosis",
        "text": text,
        "gauge": "" if gauge is None else r.place(gauge),
        "at_machine": record is not None and _from_machine(record, kept).count("\n") > 1,
        "said": None,
        "problem": None,
    }
    if text:
        try:
            expected = from_record(record) if record is not None else ()
            said = diagnose(parse_run(text, "the table"), expected=expected, gauge=gauge)
            shows["said"] = _said(said, r, gauge)
        except JawrightError as e:
            shows["problem"] = {"what": e.what, "where": e.where, "todo": e.todo}
    return page(request, "diagnosis.html", shows)


@router.post("/jobs/{job_id}/diagnosis")
async def asked(request: Request, job_id: str, here: Here) -> Response:
    """Keep a run's table as text, or take the readings kept at the machine; the answer is on the page.

    Raises ``file-too-large`` for a table that is too long.
    """
    fields = await sent(request)
    shows, record = _shows(request, here, job_id)
    with here.store.lock:
        kept = note(here.store.path(job_id), KEPT)
        text = one(fields, "text")
        if one(fields, "do") == "machine" and record is not None:
            text = _from_machine(record, kept)
        if len(text) > MOST_TEXT:
            raise JawrightError(
                "file-too-large", what=f"the table has more than {MOST_TEXT} letters", where="text",
                todo='use "jawright diagnose" for long runs',
            )  # fmt: skip
        gauge = one(fields, "gauge")
        run = {"text": text, "gauge": _length(gauge, "gauge", shows["units"]) if gauge else None}
        keep(here.store.path(job_id), KEPT, {**kept, "run": run})
    return done(request, f"/jobs/{job_id}/diagnosis")


def _from_machine(record: Record, kept: dict[str, Any]) -> str:
    """The readings kept at the machine as a run's table, one row a part."""
    columns: dict[str, list[float]] = {}
    for c in characteristics(record):
        rows = kept.get("parts", {}).get(str(c.number), [])
        stem = "_".join(re.findall(r"[a-z0-9]+", f"{c.feature} {c.what}".lower()))
        for k, axis in enumerate(c.axes):
            values = [float(row[k]) for row in rows if k < len(row)]
            if values:
                columns[f"{stem}_{axis.lower()}_mm" if axis else f"{stem}_mm"] = values
    count = max(map(len, columns.values()), default=0)
    lines = [",".join(["part", *columns])]
    for n in range(count):
        cells = (f"{v[n]:.5f}" if n < len(v) else "" for v in columns.values())
        lines.append(",".join([str(n + 1), *cells]))
    return "\n".join(lines) + "\n"


def _said(said: Diagnosis, r: Reader, gauge: float | None) -> dict[str, Any]:
    width = next((2 * s.tolerance for s in said.seen if s.tolerance), 0.0)
    return {
        "count": said.count,
        "enough": said.enough,
        "seen": [
            {
                "series": s.series,
                "count": s.count,
                "mean": r.place(s.mean),
                "sd": units.show(s.sd, "length", r.units, digits=4 if r.units == "mm" else 5),
                "low": r.place(s.low),
                "high": r.place(s.high),
                "tolerance": "not given" if s.tolerance is None else f"±{r.place(s.tolerance)}",
            }
            for s in said.seen
        ],
        "sure": [restated(n, r.units, "mm") for n in said.named if n.sure],
        "perhaps": [words(n.sentence, r.units, "mm") for n in said.named if not n.sure],
        "corrections": [words(c.sentence, r.units, "mm") for c in said.corrections],
        "measure": [words(m, r.units, "mm") for m in said.measure],
        "signals": [f"{s.series}, part {s.part}: {s.rule}" for s in said.signals[:12]],
        "false_alarm": f"{said.false_alarm:.0f}",
        "notes": [
            words(n, r.units, "mm")
            for n in (*said.notes, *filter(None, [gauge_words(gauge, width) if gauge else ""]))
        ],
    }
