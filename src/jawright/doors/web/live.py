"""Routes that answer while something is being turned on the sheet; nothing is kept by them."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from jawright import units
from jawright.doors.web import answers
from jawright.doors.web.render import one, sent, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.files.toml_out import dump
from jawright.papers.measure import Reader
from jawright.part.pick import direction
from jawright.proof.model import QUESTIONS
from jawright.units import System

router = APIRouter(tags=["live"])


def _system(request: Request, here: Rooms, job_id: str) -> System:
    return system_of(request, answers.unit_of(here.store, job_id))


def _short(mm: float, r: Reader) -> str:
    """A taper in words: nought is never claimed."""
    least = 0.001 if r.units == "mm" else 0.00254
    return f"less than {r.place(least)}" if abs(mm) < least / 2 else r.place(mm)


def _left(got: dict[str, Any], system: System) -> dict[str, Any]:
    r = Reader(system)
    return {
        "height_mm": got["height"],
        "height": r.size(got["height"]),
        # a vise that no wrench closes is asked by its force
        "torque": "as set" if got["torque"] == got["force"] else r.torque(got["torque"]),
        "force": units.show(got["force"], "force", system),
        "taper_mm": got["taper"],
        "taper": _short(abs(got["taper"]), r),
        "way": "open upward" if got["taper"] >= 0 else "close upward",
        "shift": r.place(got["shift"]),
        "limit": r.place(got["limit"]),
        "within": got["within"],
        "word": "within the limit" if got["within"] else "over the limit",
    }


@router.get("/jobs/{job_id}/live/heights.json")
def heights(request: Request, job_id: str, here: Here) -> Response:
    """How the taper goes with the height of the spacers, and which stacks the shop's parallels make."""
    system = _system(request, here, job_id)
    r = Reader(system)
    got = here.talk.ask("heights", here.store.path(job_id))
    return JSONResponse(
        {
            "low_mm": got["low"],
            "high_mm": got["high"],
            "low": r.size(got["low"]),
            "high": r.size(got["high"]),
            "limit_mm": got["limit"],
            "limit": r.place(got["limit"]),
            "now": _left(got["now"], system),
            "curve_mm": got["curve"],
            "owned": [
                {
                    "words": o["words"],
                    "height_mm": o["height"],
                    "height": r.size(o["height"]),
                    "taper": _short(abs(o["taper"]), r),
                }
                for o in got["owned"]
            ],
        }
    )


@router.post("/jobs/{job_id}/live/spacers")
async def spacers(request: Request, job_id: str, here: Here) -> Response:
    """Taper and wall shift for another height of the spacers or another torque, as the form has them."""
    fields = await sent(request)
    system = _system(request, here, job_id)
    given = {}
    for name, kind in (("spacer_height", "length"), ("torque", "torque")):
        text = one(fields, f"hold.{name}")
        value = None if text == "" else units.parse(_plain(text, kind, system), kind, where=f"hold.{name}")
        given["height" if kind == "length" else "torque"] = value
    folder = here.store.path(job_id)
    got = await run_in_threadpool(lambda: here.talk.ask("spacers", folder, **given))
    return JSONResponse(_left(got, system))


def _plain(text: str, kind: str, system: System) -> str:
    """A plain number is in the unit the page shows."""
    try:
        float(text)
    except ValueError:
        return text
    return f"{text} {units.read_unit(kind, system)}"


@router.post("/jobs/{job_id}/live/turned")
async def turned(request: Request, job_id: str, here: Here) -> Response:
    """The hold as the form's pins would have it: its drawings, and the proofs of each question in "ask"."""
    fields = await sent(request)
    system = _system(request, here, job_id)
    data = answers.data_of(here.store, job_id)
    answers.put_fields(data, {k: v for k, v in fields.items() if k.startswith("hold.")}, system)
    folder, text = here.store.path(job_id), dump(data)
    asked = [q for q in QUESTIONS if q in fields.get("ask", [])]
    got = await run_in_threadpool(
        lambda: here.talk.ask("turned", folder, job=text, units=system, asked=asked)
    )
    r = Reader(system)
    hold = got["hold"]
    return JSONResponse(
        {
            "plan": got["plan"],
            "front": got["front"],
            "answers": got["answers"],
            **_figures(got),
            "turn": units.show(hold["turn"], "angle", system, digits=1),
            "shift": r.size(hold["shift"]),
            "grip_depth": r.size(hold["grip_depth"]),
            "spacer_height": "" if hold["spacer_height"] is None else r.size(hold["spacer_height"]),
        }
    )


def _figures(got: dict[str, Any]) -> dict[str, str]:
    return {
        "good": "unknown" if got["good"] is None else f"{got['good']:.1%}",
        "margin": "unknown" if got["margin"] is None else f"{got['margin']:.2f}",
    }


@router.get("/jobs/{job_id}/live/rivals.json")
def rivals(request: Request, job_id: str, here: Here) -> Response:
    """The best stances that are told apart, each designed and drawn, with what its quick proofs say."""
    system = _system(request, here, job_id)
    r = Reader(system)
    got = here.talk.ask("rivals", here.store.path(job_id), units=system)["rivals"]
    return JSONResponse({"rivals": [_rival(v, r) for v in got]})


def _rival(v: dict[str, Any], r: Reader) -> dict[str, Any]:
    turn = units.show(v["turn"], "angle", r.units, digits=3)
    pins = {"hold.kind": v["kind"], "hold.turn": turn, "hold.shift": r.place(v["shift"])}
    pins["hold.up"] = direction(v["up"]) if len(direction(v["up"])) == 2 else ", ".join(map(str, v["up"]))
    same = {k: v[k] for k in ("rank", "kind", "chosen", "reason", "plan", "answers", "why_not")}
    at = {"turn": units.show(v["turn"], "angle", r.units, digits=1), "shift": r.size(v["shift"])}
    return {**same, **at, **_figures(v), "pins": pins}


@router.get("/jobs/{job_id}/live/solids.json")
def solids(job_id: str, here: Here) -> Response:
    """Part and jaws as meshes in the vise frame [mm], and how far each point moves in use [µm]."""
    return JSONResponse(here.talk.ask("solids", here.store.path(job_id)))


@router.get("/jobs/{job_id}/live/moves.json")
def moves(job_id: str, here: Here) -> Response:
    """The jaw program as the independent reader carries it out, in the vise frame [mm]."""
    return JSONResponse(here.talk.ask("moves", here.store.path(job_id)))
