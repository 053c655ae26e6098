"""Routes of the list of jobs and of one job's questions."""

from __future__ import annotations

import asyncio
import contextlib
import json
import re
from collections.abc import AsyncIterator
from urllib.parse import unquote

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from jawright.doors.web import answers, edit, own, show
from jawright.doors.web.faces import told_in
from jawright.doors.web.guard import BODY_BYTES
from jawright.doors.web.render import Fields, done, one, page, sent, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.doors.web.runner import Run
from jawright.doors.web.store import UnknownJobError, demo
from jawright.doors.web.uses import use
from jawright.errors import JawrightError
from jawright.files.toml_out import dump
from jawright.units import System, counted

router = APIRouter(tags=["jobs"])

SUFFIX = {".step": ".step", ".stp": ".step", ".p21": ".step", ".dxf": ".dxf"}
NAME_LETTERS = 80


@router.get("/jobs")
@router.get("/jobs.json")
def job_list(request: Request, here: Here) -> Response:
    """All jobs with picture, verdict and decision."""
    cards = [show.card(here.store, here.runner, i) for i in here.store.ids()]
    return page(request, "jobs.html", {"title": "Jobs", "cards": cards})


@router.post("/jobs")
async def new_job(request: Request, here: Here) -> Response:
    """A new job from a part file, sent as it is with its name in the header ``x-file-name``.

    Raises ``file-too-large``, ``file-empty`` or ``file-not-step`` for what is no part file.
    """
    name = unquote(request.headers.get("x-file-name", ""))[:200]
    length = request.headers.get("content-length", "")
    if length and ((stated := counted(length)) is None or stated > BODY_BYTES):
        raise JawrightError(
            "file-too-large", what=f"the file is larger than {BODY_BYTES // 10**6} MB", where=name
        )
    suffix = SUFFIX.get(re.sub(r"^.*(?=\.)", "", name.lower()), "")
    data = await request.body()
    if not data:
        raise JawrightError("file-empty", what="the file is empty", where=name, todo="export it again")
    if not suffix:
        raise JawrightError(
            "file-not-step",
            what="this is neither a STEP nor a DXF file by its name",
            where=name,
            todo="drop a file that ends in .step, .stp or .dxf",
        )
    title = _title(name)
    text = dump({"job": {"name": title}, "part": {"file": f"part{suffix}"}})
    job_id = here.store.create(title, data, text, suffix=suffix)
    here.look(job_id)
    return done(request, f"/jobs/{job_id}")


@router.post("/demo")
def new_demo(request: Request, here: Here) -> Response:
    """The built-in demo as a job of its own."""
    data = edit.plain_lengths(edit.parse(demo("pawl.toml").decode()), edit.JOB)
    data["part"]["file"] = "part.step"
    job_id = here.store.create("ratchet pawl", demo("pawl.step"), dump(data), suffix=".step")
    here.look(job_id)
    return done(request, f"/jobs/{job_id}")


def _title(name: str) -> str:
    stem = re.sub(r"\.[^.]*$", "", re.sub(r"^.*[/\\]", "", name))
    words = re.sub(r"[\x00-\x1f\x7f]+", " ", stem).replace("_", " ").strip()[:NAME_LETTERS]
    return words or "Unnamed part"


@router.get("/jobs/{job_id}")
@router.get("/jobs/{job_id}.json")
def one_job(request: Request, job_id: str, here: Here) -> Response:
    """The questions of one job, with what is answered and what the part shows."""
    if not answers.is_seen(here.store, job_id):
        run = here.runner.of(f"look {job_id}")
        if run is None or run.state in ("done", "stopped"):
            here.look(job_id)
    elif not show.planned(here.store, job_id).fresh:
        here.ahead(job_id)
    system = _system(request, here, job_id)
    return page(request, "job.html", answers.shows(here.store, here.runner, job_id, system))


def _system(request: Request, here: Rooms, job_id: str) -> System:
    return system_of(request, answers.unit_of(here.store, job_id))


@router.get("/jobs/{job_id}/part.json")
def part(request: Request, job_id: str, here: Here) -> Response:
    """The part as the page shows it: faces, holes and a mesh, lengths in mm; empty until it is read.

    Words are in the reader's unit.
    """
    return JSONResponse(told_in(answers.seen(here.store, job_id), _system(request, here, job_id)))


@router.get("/jobs/{job_id}/sight.svg")
def sight(job_id: str, here: Here) -> Response:
    """The part by itself, seen slantwise, as the list shows a job that is not planned yet."""
    path = here.store.path(job_id) / "sight.svg"
    if not path.is_file():
        raise UnknownJobError
    own = "default-src 'none'; style-src 'unsafe-inline'"
    return Response(
        path.read_bytes(),
        media_type="image/svg+xml",
        headers={"cache-control": "no-cache", "content-security-policy": own},
    )


@router.post("/jobs/{job_id}/set")
async def set_values(request: Request, job_id: str, here: Here) -> Response:
    """Change answers: fields are named section.key, or section.number.key for rows; "then=plan" plans."""
    fields = await sent(request)
    then = one(fields, "then")
    system = _system(request, here, job_id)
    fields = own.taken(fields, "part.material", system)
    answers.change(here.store, job_id, lambda d: answers.put_fields(d, fields, system))
    _look_again(here, job_id)
    if then == "plan":
        here.plan(job_id)
        return done(request, f"/jobs/{job_id}/sheet")
    return done(request, f"/jobs/{job_id}")


@router.post("/jobs/{job_id}/pick")
async def pick(request: Request, job_id: str, here: Here) -> Response:
    """Use a face or hole of the part: as a datum, as the face that is up, or as a feature to make."""
    fields = await sent(request)
    seen = answers.seen(here.store, job_id)
    answers.change(
        here.store, job_id, lambda d: use(d, seen, face=one(fields, "face"), use_as=one(fields, "as"))
    )
    return done(request, f"/jobs/{job_id}")


@router.post("/jobs/{job_id}/incoming")
async def incoming(request: Request, job_id: str, here: Here) -> Response:
    """The part as it comes from the first side, as a STEP solid sent as ``POST /jobs`` takes a part.

    An empty body takes the model out again.

    Raises ``file-not-step`` when it is none.
    """
    here.store.path(job_id)
    name = unquote(request.headers.get("x-file-name", ""))[:200]
    data = await request.body()
    if not data:
        answers.change(here.store, job_id, answers.drop_incoming)
        return done(request, f"/jobs/{job_id}")
    if (
        SUFFIX.get(re.sub(r"^.*(?=\.)", "", name.lower()), "") != ".step"
        or b"ISO-10303-21" not in data[:2000]
    ):
        raise JawrightError(
            "file-not-step", what="this is not a STEP file", where=name,
            todo="export the part as it leaves the first side as a STEP solid, in the finished part's place",
        )  # fmt: skip
    file = here.store.beside(job_id, data)
    answers.change(here.store, job_id, lambda d: d.setdefault("incoming", {}).update(model=file))
    return done(request, f"/jobs/{job_id}")


@router.post("/jobs/{job_id}/rows")
async def rows(request: Request, job_id: str, here: Here) -> Response:
    """Add a row to datum, feature or tolerance, take one out, or move a feature earlier or later."""
    fields = await sent(request)
    system = _system(request, here, job_id)
    answers.change(here.store, job_id, lambda d: answers.change_rows(d, fields, system))
    return done(request, f"/jobs/{job_id}")


@router.post("/jobs/{job_id}/undo")
@router.post("/jobs/{job_id}/redo")
async def step_back(request: Request, job_id: str, here: Here) -> Response:
    """Go to the version of the job before, or after; the field "back" may be "sheet"."""
    fields = await sent(request)
    with here.store.lock:
        here.store.job(job_id).step(-1 if request.url.path.endswith("undo") else 1)
    _look_again(here, job_id)
    return done(request, _back(job_id, fields))


def _look_again(here: Rooms, job_id: str) -> None:
    """Read the part anew when an answer changed what is read of it: thickness, unit, which solid."""
    if not answers.is_seen(here.store, job_id):
        here.runner.stop(f"look {job_id}")
        here.look(job_id)


def _back(job_id: str, fields: Fields) -> str:
    return f"/jobs/{job_id}" + ("/sheet" if one(fields, "back") == "sheet" else "")


@router.post("/jobs/{job_id}/away")
def put_away(request: Request, job_id: str, here: Here) -> Response:
    """Take a job off the list; its folder is kept under put-away."""
    here.runner.stop(f"plan {job_id}")
    here.runner.stop(f"look {job_id}")
    here.store.put_away(job_id)
    return done(request, "/jobs")


@router.post("/jobs/{job_id}/plan")
def plan(request: Request, job_id: str, here: Here) -> Response:
    """Plan the job as it stands."""
    here.plan(job_id)
    return done(request, f"/jobs/{job_id}/sheet")


@router.post("/jobs/{job_id}/stop")
async def stop(request: Request, job_id: str, here: Here) -> Response:
    """Stop planning, or with "what=find" the search of the rack; what was found before stays as it was.

    The field "back" may be "sheet".
    """
    fields = await sent(request)
    here.store.path(job_id)
    if one(fields, "what") == "find":
        here.runner.stop(f"find {job_id}")
        return done(request, f"/rack/find?job={job_id}")
    here.runner.stop(f"plan {job_id}")
    return done(request, _back(job_id, fields))


@router.get("/jobs/{job_id}/progress")
def progress(job_id: str, here: Here, kind: str = "plan") -> Response:
    """Server-sent events: the run after each step, until it ends."""
    here.store.path(job_id)
    kind = kind if kind in ("look", "find") else "plan"
    return StreamingResponse(
        _events(here, f"{kind} {job_id}"),
        media_type="text/event-stream",
        headers={"cache-control": "no-store"},
    )


QUIET_S = 10.0


async def _events(here: Rooms, key: str) -> AsyncIterator[str]:
    loop, news, last = asyncio.get_running_loop(), asyncio.Event(), ""

    def ear() -> None:
        with contextlib.suppress(RuntimeError):  # the server is going
            loop.call_soon_threadsafe(news.set)

    with here.runner.heard(ear):
        while True:
            news.clear()
            run: Run | None = here.runner.of(key)
            text = json.dumps(run.shown() if run else {"state": "none", "steps": [], "error": None})
            if text != last:
                last = text
                yield f"data: {text}\n\n"
            if run is None or not run.open:
                return
            try:
                await asyncio.wait_for(news.wait(), QUIET_S)
            except TimeoutError:  # keeps the line open, and finds out that the reader has left
                yield ": still at it\n\n"
