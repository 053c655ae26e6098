"""Routes of the rack: the jaws that exist, what is cut in them, who has them, and what they offer a job."""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from jawright import units
from jawright.doors.web import show
from jawright.doors.web.inputs import digest
from jawright.doors.web.render import done, one, page, sent, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.store import RACK, UnknownJobError, note
from jawright.errors import JawrightError
from jawright.papers.measure import Reader
from jawright.papers.questions import WORDS
from jawright.rack import entry, label
from jawright.rack.model import STATUSES, Cut, Pair, Reseat, Side
from jawright.rack.store import Rack

router = APIRouter(tags=["rack"])

FOUND = "found.json"
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._ -]{0,39}")
LONGEST = 200


def rack_of(here: Rooms) -> Rack:
    """The register of the page's folder."""
    return Rack(here.store.folder / RACK)


def _clock(at: str) -> str:
    """A moment of the register as it is read: 2026-11-28 21:17 UTC."""
    return f"{at[:10]} {at[11:16]} UTC" if len(at) > 15 else at


def _cut(c: Cut) -> str:
    return " ".join(w for w in (c.part_number, c.revision, c.operation) if w) or "unnamed"


def _row(p: Pair) -> dict[str, str]:
    free = f"{p.free_side} side free" if p.free_side else ""
    return {
        "id": p.id,
        "cut": ", ".join(filter(None, [*(f"{c.side}: {_cut(c)}" for c in p.cuts), free])) or "nothing cut",
        "blank": f"{p.blank.id}, {p.blank.material}",
        "where": f"out to {p.out_to} since {p.out_since[:10]}" if p.out_to else p.place or "place not given",
        "status": p.status + (f": {p.why}" if p.why else ""),
        "level": "pass" if p.status == "usable" else "fail" if p.status == "dead" else "caution",
        "run": str(p.parts_run),
    }


@router.get("/rack")
@router.get("/rack.json")
def pairs(request: Request, here: Here, q: str = "") -> Response:
    """Every pair, or those whose id, part, blank or place holds the words asked for; a whole id is gone to.

    A reader of labels types the id and ends it: the pair's own page is there, its first field waiting.
    """
    with rack_of(here) as rack:
        rows = [_row(p) for p in rack.all()]
    asked = q.strip().lower()[:LONGEST]
    meant = [r["id"] for r in rows if r["id"].lower() == asked]
    if len(meant) == 1 and not request.url.path.endswith(".json"):
        return RedirectResponse(f"/rack/{meant[0]}", status_code=303)
    rows = [r for r in rows if asked in " ".join(r.values()).lower()]
    jobs = []
    for job_id in here.store.ids():
        last = show.planned(here.store, job_id)
        if last.there:
            jobs.append({"id": job_id, "name": show.card(here.store, here.runner, job_id).name})
    return page(request, "rack.html", {"title": "Rack", "rows": rows, "q": asked, "jobs": jobs})


@router.post("/rack/add")
async def add(request: Request, here: Here) -> Response:
    """Put the jaws of a job's last plan on the rack.

    Raises ``value-bad`` without a planned job, or for an id that is no id.
    """
    fields = await sent(request)
    record = show.record_of(here.store, one(fields, "job"))
    if record is None:
        raise JawrightError("value-bad", what="choose a planned job", where="job", todo="plan the job first")
    pair_id = one(fields, "id")
    if pair_id and not NAME.fullmatch(pair_id):
        raise JawrightError(
            "value-bad", what="a set id has up to 40 letters, digits, points and dashes", where="id"
        )
    side: Side = "back" if one(fields, "side") == "back" else "front"
    new = entry.from_record(record, pair_id=pair_id, place=one(fields, "place")[:LONGEST], side=side)
    with rack_of(here) as rack:
        kept = rack.add(new, f"added from the plan of {record.job.name}")
    return done(request, f"/rack/{kept.id}")


@router.get("/rack/find")
@router.get("/rack/find.json")
def found(request: Request, here: Here, job: str = "") -> Response:
    """What the rack offers for a job, as it was last searched."""
    if not job:
        return RedirectResponse("/rack", status_code=303)
    folder = here.store.path(job)
    kept = note(folder, FOUND)
    run = here.runner.of(f"find {job}")
    now = digest(here.store.job(job).text(), here.store.shop.text())
    shows = {
        "title": "On the rack",
        "id": job,
        "name": show.card(here.store, here.runner, job).name,
        "planned": show.planned(here.store, job),
        "run": None if run is None or run.state == "done" else run.shown(),
        "kept": bool(kept),
        "fresh": kept.get("inputs") == now,
        "offers": [{**o, "word": WORDS.get(o["level"], "")} for o in kept.get("offers", [])],
        "further": kept.get("further", []),
        "refused": kept.get("refused", []),
    }
    return page(request, "rack_find.html", shows)


@router.post("/jobs/{job_id}/find")
def find(request: Request, job_id: str, here: Here) -> Response:
    """Search the rack for a job and prove what fits."""
    here.find(job_id)
    return done(request, f"/rack/find?job={job_id}")


def _pair(here: Rooms, pair_id: str) -> tuple[Pair, tuple[Any, ...], tuple[Reseat, ...]]:
    with rack_of(here) as rack:
        if pair_id not in rack.ids():
            raise UnknownJobError
        return rack.get(pair_id), rack.history(pair_id), rack.reseats(pair_id)


def _off(v: float | None, r: Reader) -> str:
    return "not measured" if v is None else r.place(v)


def _hole(c: Cut, r: Reader) -> str:
    hole = c.jaws.tooling_hole
    if hole is None:
        return "none"
    x, y = hole.center
    return f"Ø{r.size(hole.diameter)} at X {r.place(x)}, Y {r.place(y)}"


@router.get("/rack/{pair_id}/label.svg")
def paper_label(pair_id: str, here: Here) -> Response:
    """A label to print and stick on the pair."""
    pair, _, _ = _pair(here, pair_id)
    return Response(label.svg(pair), media_type="image/svg+xml", headers={"cache-control": "no-cache"})


@router.get("/rack/{pair_id}")
@router.get("/rack/{pair_id}.json")
def one_pair(request: Request, pair_id: str, here: Here) -> Response:
    """One pair: what is cut in it, where it is, what was done to it."""
    pair, history, seats = _pair(here, pair_id.removesuffix(".json"))
    system = system_of(request)
    r = Reader(system)
    b = pair.blank
    size = " × ".join(r.size(v, unit=False) for v in (b.length, b.thickness, pair.height))
    shows = {
        "title": pair.id,
        "units": system,
        "row": _row(pair),
        "out": bool(pair.out_to),
        "size": f"{size} {r.length_unit}",
        "vise": pair.vise or "not given",
        "note": pair.note,
        "cuts": [
            {
                "side": c.side,
                "name": _cut(c),
                "made": c.made,
                "deep": r.size(c.jaws.top - c.jaws.floor),
                "gap": r.size(c.jaws.gap),
                "torque": "not given" if c.torque is None else r.torque(c.torque),
                "hole": _hole(c, r),
            }
            for c in pair.cuts
        ],
        "seats": [{"at": _clock(s.at), **{a: _off(getattr(s, a), r) for a in "xyz"}} for s in seats],
        "history": [asdict(c) | {"at": _clock(c.at)} for c in reversed(history)],
        "statuses": STATUSES,
        "unit": r.length_unit,
    }
    return page(request, "rack_pair.html", shows)


@router.post("/rack/{pair_id}/{do}")
async def change(request: Request, pair_id: str, do: str, here: Here) -> Response:
    """Check a pair out or in, keep where its tooling hole was found, or take it off the register.

    Raises ``key-missing`` when nobody takes it, ``value-bad`` for a count of parts that is none.
    """
    fields = await sent(request)
    _pair(here, pair_id)
    system = system_of(request)
    with rack_of(here) as rack:
        match do:
            case "out":
                to = one(fields, "to")[:LONGEST]
                if not to:
                    raise JawrightError("key-missing", what="who takes it is not given", where="to")
                rack.out(pair_id, to)
            case "in":
                parts = units.counted(one(fields, "parts", "0") or "0", 7)
                if parts is None:
                    raise JawrightError("value-bad", what="parts run is a whole number", where="parts")
                rack.back(
                    pair_id,
                    parts=parts,
                    status=one(fields, "status"),
                    why=one(fields, "why")[:LONGEST],
                    place=one(fields, "place")[:LONGEST],
                )
            case "seat":
                x, y = (_length(one(fields, a), a, system) for a in "xy")
                z = one(fields, "z")
                rack.reseated(pair_id, x, y, _length(z, "z", system) if z else None)
            case "remove":
                rack.remove(pair_id, one(fields, "why")[:LONGEST] or "taken off on the page")
                return done(request, "/rack")
            case _:
                raise UnknownJobError
    return done(request, f"/rack/{pair_id}")


def _length(text: str, name: str, system: units.System) -> float:
    plain = text.replace(",", ".")
    if re.fullmatch(r"[+-]?\d*\.?\d+", plain):
        plain = f"{plain} {units.read_unit('length', system)}"
    return units.parse(plain, "length", where=name)
