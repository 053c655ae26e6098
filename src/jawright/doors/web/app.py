"""The local server: its routes, its guard, and what it says when something goes wrong."""

from __future__ import annotations

import sys
import threading
import traceback
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.staticfiles import StaticFiles

import jawright
from jawright.doors.web import clampings, floor, jobs, live, machine, rack, rooms, sheet, shop, show
from jawright.doors.web.described import describe
from jawright.doors.web.guard import Guard
from jawright.doors.web.render import one, page, refused, sent, warm
from jawright.doors.web.runner import BusyError, Runner, Talk
from jawright.doors.web.specimen import shows as specimen_of
from jawright.doors.web.store import Store, UnknownJobError
from jawright.doors.web.token import Gate
from jawright.errors import JawrightError

STATIC = Path(__file__).parent / "static"


def create_app(
    folder: Path,
    *,
    hosts: frozenset[str],
    runner: Runner | None = None,
    address: str = "",
    gate: Gate | None = None,
) -> Guard:
    """The page on the jobs below ``folder``, answering to ``hosts`` only.

    ``address`` is printed as a code on the sheets; a ``gate`` asks everybody for the token.

    Raises ``file-write`` when the folder cannot be made.
    """
    try:
        store, work, talk = Store(folder), runner or Runner(address, show.decided), Talk()
    except OSError as e:
        raise JawrightError(
            "file-write", what=f"the folder cannot be used ({e.strerror})", where=str(folder)
        ) from e

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        work.warm()
        talk.warm()
        threading.Thread(target=warm, daemon=True).start()
        yield
        work.close()
        talk.close()

    app = FastAPI(
        title="Jawright page",
        version=jawright.__version__,
        description="Local interface of the page. Everything it does, the page itself does through it.",
        lifespan=life,
        docs_url=None,
        redoc_url=None,
    )
    app.state.rooms = rooms.Rooms(store, work, talk)
    app.add_middleware(GZipMiddleware, minimum_size=2000, compresslevel=5)  # leaves event streams alone
    for part in (jobs, sheet, clampings, live, shop, machine, floor, rack):
        app.include_router(part.router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    _root(app)
    _failures(app)
    describe(app)
    return Guard(app, hosts=hosts, gate=gate)  # outermost, so that nothing answers before it


def _root(app: FastAPI) -> None:
    @app.get("/", include_in_schema=False)
    def root() -> Response:
        return RedirectResponse("/jobs", status_code=307)

    @app.get("/r/{name}", tags=["machine"])
    def scanned(request: Request, name: str) -> Response:
        """The code on a printed sheet: on to the screen at the machine, when that sheet is the last one."""
        here: rooms.Rooms = request.app.state.rooms
        job = show.named(here.store, name)
        if job:
            return RedirectResponse(f"/jobs/{job}/machine", status_code=307)
        return _said(
            request,
            404,
            "This sheet is not the last one of any job here",
            "The job was planned again since it was printed, or it belongs to another server. "
            "Take the sheet away and print the present one",
        )

    @app.get("/specimen", include_in_schema=False)
    def specimen(request: Request) -> Response:
        """Each component in each state, to be looked at."""
        return page(request, "specimen.html", specimen_of())

    @app.post("/view", tags=["view"])
    async def view(request: Request) -> Response:
        """Choose the unit to read in, and light or dark; goes back to the page it came from."""
        fields = await sent(request)
        back = one(fields, "back", "/jobs")
        if not back.startswith("/") or back.startswith("//") or "\\" in back:
            back = "/jobs"
        answer = RedirectResponse(back, status_code=303)
        for name, words in (("units", ("mm", "inch")), ("look", ("light", "dark", "device"))):
            if one(fields, name) in words:
                answer.set_cookie(name, one(fields, name), max_age=10**8, samesite="strict", httponly=True)
        return answer


def _failures(app: FastAPI) -> None:
    @app.exception_handler(JawrightError)
    def ours(request: Request, error: JawrightError) -> Response:
        return refused(request, error)

    @app.exception_handler(UnknownJobError)
    def unknown(request: Request, _: UnknownJobError) -> Response:
        return _said(request, 404, "There is no such job", "Go back to the list of jobs")

    @app.exception_handler(BusyError)
    def busy(request: Request, _: BusyError) -> Response:
        return _said(request, 503, "Too much is going on already", "Wait until a plan ends, or stop one")

    @app.exception_handler(HTTPException)
    def other(request: Request, error: HTTPException) -> Response:
        what = "There is nothing here" if error.status_code == 404 else str(error.detail)
        return _said(request, error.status_code, what, "Go back to the list of jobs")

    @app.exception_handler(Exception)
    def defect(request: Request, error: Exception) -> Response:
        traceback.print_exception(error, file=sys.stderr)
        return _said(
            request, 500, "A defect of the program, not of your input", "Its details stand in the terminal"
        )


def _said(request: Request, status: int, what: str, todo: str) -> Response:
    problem = {"code": "", "what": what, "where": "", "todo": todo, "field": ""}
    if request.url.path.endswith(".json") or "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"problem": problem}, status_code=status)
    return page(
        request,
        "problem.html",
        {"title": "Something is wrong", "problem": problem, "back": "/jobs"},
        status=status,
    )
