"""Routes of the sheet: the record of the last plan, its drawings and files, and the knobs on it."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from jawright import units
from jawright.doors.web import answers, clampings, edit, forms, news, show
from jawright.doors.web.given import listed, made, sent, size, svg
from jawright.doors.web.inputs import ABOUT
from jawright.doors.web.render import page, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.store import UnknownJobError
from jawright.papers.content import WORDS
from jawright.papers.measure import Reader
from jawright.papers.sheet import CAPTIONS
from jawright.papers.show import Answer
from jawright.proof import clamp
from jawright.proof.model import ASK, QUESTIONS
from jawright.record import Record
from jawright.units import System
from jawright.units import show as words

router = APIRouter(tags=["sheet"])

KNOBS: dict[str, tuple[str, ...]] = {
    "loads": ("turn", "kind", "wrong_way"),
    "sits": ("fixed_jaw_datum", "stop", "floor"),
    "grips": ("spacer_height", "torque", "jaw_material"),
    "holds": ("torque", "grip_depth", "parts"),
    "locates": ("turn", "fixed_jaw_datum"),
    "clears": ("shift", "jaw_cutter", "blank"),
}
"""What can be turned when the answer to a question is not good enough: keys of [hold]."""

TRIED = (
    "turn", "shift", "grip_depth", "torque", "up", "kind", "fixed_jaw_datum", "stop", "spacer_height",
    "jaw_cutter", "jaw_material", "blank",
)  # fmt: skip
"""What can be tried on the sheet with the drawings following at once: keys of [hold]."""

PICTURES: dict[str, tuple[str, ...]] = {
    "loads": ("plan",),
    "sits": ("home", "front"),
    "grips": ("stack", "front"),
    "holds": ("front",),
    "locates": ("plan",),
    "clears": ("front",),
}
"""The drawing that shows a question best; the first there is."""

SPEAKS = ("fail", "unknown", "caution", "pass", "")
"""The order in which the proofs of a question speak."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One of the six questions: its proofs, its drawing, and what can be turned."""

    name: str
    ask: str
    answer: Answer
    picture: str
    knobs: tuple[forms.Field, ...]


@router.get("/jobs/{job_id}/sheet")
@router.get("/jobs/{job_id}/sheet.json")
def sheet(request: Request, job_id: str, here: Here) -> Response:
    """The sheet of the last plan, with its knobs."""
    record = show.record_of(here.store, job_id)
    run = show.run_of(here.runner, job_id)
    if record is None and run is None:
        return RedirectResponse(f"/jobs/{job_id}", status_code=303)
    data = answers.data_of(here.store, job_id)
    system = system_of(request, data.get("job", {}).get("units", "mm"))
    shows: dict[str, Any] = {
        "title": str(data.get("job", {}).get("name", job_id)),
        "id": job_id,
        "units": system,
        "name": str(data.get("job", {}).get("name", job_id)),
        "run": run,
        "planned": show.planned(here.store, job_id),
        "can_undo": here.store.job(job_id).can(-1),
        "can_redo": here.store.job(job_id).can(1),
        "held": record is not None,
        "clampings": [],
        "words_of": WORDS,
        "so_far": None,
        "slides": {},
    }
    known = show.so_far(here.store, here.runner, job_id)
    if known is not None:
        shows["so_far"] = _so_far(job_id, *known, system)
    elif record is not None:
        shows |= _shown(here, job_id, record, data, system)
    return page(request, "sheet.html", shows)


def _pictures(job_id: str, svgs: dict[str, str], system: System, of: str) -> dict[str, dict[str, Any]]:
    return {
        name: {
            "href": f"/jobs/{job_id}/drawing/{name}.svg?{of}&in={system}",
            "words": CAPTIONS.get(name, name),
            "size": size(svg),
        }
        for name, svg in svgs.items()
    }


def _so_far(job_id: str, record: Record, stamp: str, system: System) -> dict[str, Any]:
    """What a plan that goes on knows: its drawings, and the questions that are answered already."""
    m = made(record, system)
    pictures = _pictures(job_id, m.svgs, system, f"so-far={stamp}")
    asked = []
    for q, answer in zip(QUESTIONS, m.content.answers, strict=True):
        picture = next((p for p in PICTURES[q] if p in pictures), "")
        lines = sorted(answer.lines, key=lambda p: SPEAKS.index(p.level))
        asked.append(Asked(q, ASK[q], replace(answer, lines=tuple(lines)), picture, ()))
    return {"c": m.content, "pictures": pictures, "asked": asked, "answered": bool(record.proofs)}


def _shown(here: Rooms, job_id: str, record: Record, data: edit.Data, system: System) -> dict[str, Any]:
    m = made(record, system)
    stamp = show.planned(here.store, job_id).stamp
    pictures = _pictures(job_id, m.svgs, system, f"of={stamp}")
    known = answers.choices(answers.shop_of(here.store), data)["hold"]
    section = edit.section_of("hold", edit.JOB)
    asked = []
    for q, answer in zip(QUESTIONS, m.content.answers, strict=True):
        knobs = forms.fields(
            section, data.get("hold", {}), system=system, prefix="hold.", only=KNOBS[q], choices=known
        )
        picture = next((p for p in PICTURES[q] if p in pictures), "")
        lines = sorted(answer.lines, key=lambda p: SPEAKS.index(p.level))
        asked.append(Asked(q, ASK[q], replace(answer, lines=tuple(lines)), picture, knobs))
    pinned = forms.fields(section, data.get("hold", {}), system=system, prefix="hold.", choices=known)
    return {
        "c": m.content,
        "pictures": pictures,
        "asked": [] if record.clampings else asked,  # each clamping answers them on its own sheet
        "clampings": clampings.shown(here, job_id, record, m.content, system),
        "pinned": [f for f in pinned if any(f.values)],
        "chosen": chosen(record, system),
        "cut_here": record.program is not None,
        "tried": forms.fields(
            section, data.get("hold", {}), system=system, prefix="hold.", only=TRIED, choices=known
        ),
        "slides": slides(record, system) if record.hold is not None else {},
        "downloads": files(here, job_id),
        "rack_news": news.since(here.store, job_id, record),
        "pair_news": news.of_pair(here.store, record),
    }


def chosen(record: Record, system: System) -> dict[str, str]:
    """What the plan chose for each knob, in words."""
    hold, jaws = record.hold, record.jaws
    if hold is None:
        return {}
    r = Reader(system)
    out = {
        "kind": hold.kind,
        "turn": words(hold.stance.turn, "angle", system, digits=1),
        "shift": r.size(hold.stance.shift),
        "grip_depth": r.size(hold.grip_depth),
        "vise": hold.vise.id,
        "parts": str(1 + len(hold.beside)),
    }
    if jaws is not None:
        out["blank"] = jaws.fixed.blank.id
        out["spacer_height"] = r.size(jaws.stack.height)
        out["jaw_cutter"] = jaws.cutter
        out["jaw_material"] = jaws.fixed.blank.material
    on_fixed = [d.letter for d in hold.datums if d.seat == "fixed"]
    if on_fixed:
        out["fixed_jaw_datum"] = ", ".join(on_fixed)
    if record.torque is not None:
        out["torque"] = r.torque(record.torque[1])
    stops = [c.normal[0] for c in hold.contacts if c.on == "stop"]
    if stops:
        out["stop"] = "-X" if sum(stops) > 0 else "+X"
    return out


def slides(record: Record, system: System) -> dict[str, dict[str, float | str]]:
    """Sliders of what is tried on the sheet, in the reader's unit: ends, step, and where the plan stands."""
    hold = record.hold
    assert hold is not None
    turn = units.reading(hold.stance.turn, "angle", system)[0]
    turn = (turn + 180.0) % 360.0 - 180.0
    half, unit = units.reading(hold.vise.jaw_width / 2, "length", system)
    shift = units.reading(hold.stance.shift, "length", system)[0]
    digits = 1 if system == "mm" else 2
    high = max(hold.part_top - hold.floor, hold.grip_depth)
    deep, depth = (units.reading(v, "length", system)[0] for v in (high, hold.grip_depth))
    most, of = units.reading(clamp.torque_limit(hold.vise), "torque", system)
    torque = record.torque[1] if record.torque else clamp.torque_limit(hold.vise) / 2
    return {
        "grip_depth": {
            "low": round(deep / 12, digits + 1),
            "high": round(deep, digits),
            "step": 10.0**-digits * 5,
            "now": round(depth, digits + 1),
            "unit": unit,
        },
        "torque": {
            "low": 1,
            "high": round(most),
            "step": 1,
            "now": round(units.reading(torque, "torque", system)[0]),
            "unit": of,
        },
        "turn": {"low": -180, "high": 180, "step": 0.5, "now": round(turn, 1), "unit": "deg"},
        "shift": {
            "low": round(-half, digits),
            "high": round(half, digits),
            "step": 10.0**-digits * 5,
            "now": round(shift, digits),
            "unit": unit,
        },
    }


@router.get("/jobs/{job_id}/drawing/{name}.svg")
def drawing(
    job_id: str,
    name: str,
    here: Here,
    system: Annotated[System | None, Query(alias="in")] = None,
    so_far: Annotated[str, Query(alias="so-far", max_length=40)] = "",
) -> Response:
    """One drawing of the last plan, in mm or inch; in the job's own unit when not said.

    With ``so-far`` of the plan that goes on, when it has come to drawings.
    """
    known = show.so_far(here.store, here.runner, job_id) if so_far else None
    record = known[0] if known else show.record_of(here.store, job_id)
    svgs = made(record, system or record.job.units).svgs if record else {}
    if name not in svgs:
        raise UnknownJobError
    return svg(svgs[name])


def files(here: Rooms, job_id: str) -> list[dict[str, str]]:
    """The files of the last plan, in the words of the shop."""
    return listed(here.store.path(job_id) / "result", f"/jobs/{job_id}")


@router.get("/jobs/{job_id}/file/{name}")
def file(job_id: str, name: str, here: Here) -> Response:
    """One file of the last plan."""
    return sent(here.store.path(job_id) / "result", name)


def _models(folder: Path) -> list[Path]:
    """The model of the part as it comes, when the job names one."""
    text = (folder / "job.toml").read_text("utf-8")
    return [p for p in sorted(folder.glob("incoming-*.step")) if p.name in text]


@router.get("/jobs/{job_id}/package.zip")
def package(job_id: str, here: Here) -> Response:
    """The whole folder of the last plan with the job, the shop and the part it came from."""
    folder = here.store.path(job_id)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        whole = folder / "result"
        for path in sorted(whole.rglob("*")) if whole.is_dir() else []:
            if path.is_file() and path.name != ABOUT:
                z.write(path, f"{job_id}/{path.relative_to(whole).as_posix()}")
        for path in (
            folder / "job.toml",
            folder / "shop.toml",
            *sorted(folder.glob("part.*")),
            *_models(folder),
        ):
            if path.is_file():
                z.write(path, f"{job_id}/{path.name}")
    return Response(
        out.getvalue(),
        media_type="application/zip",
        headers={"content-disposition": f'attachment; filename="{job_id}.zip"'},
    )
