"""Routes of the clampings of a part that takes several: their drawings and files, below the sheet."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from jawright.doors.web import plans, show
from jawright.doors.web.given import listed, made, sent, size, svg
from jawright.doors.web.render import done
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.store import UnknownJobError
from jawright.papers.content import Content
from jawright.papers.sheet import CAPTIONS
from jawright.record import Clamping, Record
from jawright.units import System

router = APIRouter(tags=["sheet"])


def shown(here: Rooms, job_id: str, record: Record, c: Content, system: System) -> list[dict[str, Any]]:
    """Each clamping of a part that takes several: what is told of it, its drawing and its files."""
    out = []
    for n, (one, facts) in enumerate(zip(record.clampings, c.clampings, strict=True), 1):
        own = show.clamping_record(here.store, job_id, one.folder)
        svgs = made(own, system).svgs if own is not None else {}
        stamp = show.planned(here.store, job_id).stamp
        at = f"/jobs/{job_id}/clamping/{n}"
        out.append(
            {
                "number": n,
                "one": one,
                "facts": facts,
                "picture": {
                    "href": f"{at}/drawing/plan.svg?of={stamp}&in={system}",
                    "words": CAPTIONS["plan"],
                    "size": size(svgs["plan"]),
                }
                if "plan" in svgs
                else None,
                "sheet": f"{at}/file/setup-sheet.html" if own is not None else "",
                "glance": made(own, system).content.glance if own is not None else None,
                "open": f"{at}/open" if own is not None else "",
                "files": listed(here.store.path(job_id) / "result" / one.folder, at),
            }
        )
    return out


def _clamping(here: Rooms, job_id: str, number: int) -> Clamping:
    """The clamping of the last plan with this number."""
    record = show.record_of(here.store, job_id)
    if record is None or not 1 <= number <= len(record.clampings):
        raise UnknownJobError
    return record.clampings[number - 1]


@router.post("/jobs/{job_id}/clamping/{number}/open")
def clamping_open(request: Request, job_id: str, number: int, here: Here) -> Response:
    """One clamping of the last plan as a job of its own: for the machine, first article and diagnosis."""
    own = here.store.path(job_id)
    with here.store.lock:
        made_of = plans.opened(
            here.store, own / "result" / _clamping(here, job_id, number).folder, own / "shop.toml"
        )
    return done(request, f"/jobs/{made_of}/sheet")


@router.get("/jobs/{job_id}/clamping/{number}/drawing/{name}.svg")
def clamping_drawing(
    job_id: str,
    number: int,
    name: str,
    here: Here,
    system: Annotated[System | None, Query(alias="in")] = None,
) -> Response:
    """One drawing of one clamping of the last plan."""
    own = show.clamping_record(here.store, job_id, _clamping(here, job_id, number).folder)
    svgs = made(own, system or own.job.units).svgs if own else {}
    if name not in svgs:
        raise UnknownJobError
    return svg(svgs[name])


@router.get("/jobs/{job_id}/clamping/{number}/file/{name}")
def clamping_file(job_id: str, number: int, name: str, here: Here) -> Response:
    """One file of one clamping of the last plan."""
    folder = _clamping(here, job_id, number).folder
    return sent(here.store.path(job_id) / "result" / folder, name)
