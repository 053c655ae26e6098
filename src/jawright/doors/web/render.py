"""Draw what a page shows: as HTML by its template, or as its JSON twin."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, is_dataclass
from typing import Any
from urllib.parse import parse_qsl

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from jawright.errors import JawrightError
from jawright.papers.questions import WORDS
from jawright.told import error_in, told
from jawright.units import System

MOST_FIELDS = 1000

TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("jawright.doors.web"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.globals["WORDS"] = WORDS


def warm() -> None:
    """Make all templates ready, so that the first who asks for a page does not wait for it."""
    for name in TEMPLATES.list_templates(extensions=["html"]):
        TEMPLATES.get_template(name)


def system_of(request: Request, own: object = "mm") -> System:
    """The unit the reader wants to see, kept in a cookie; the job's own stands in."""
    wanted = request.cookies.get("units", "")
    return "inch" if (wanted if wanted in ("mm", "inch") else own) == "inch" else "mm"


def look_of(request: Request) -> str:
    """Light, dark, or as the device says."""
    wanted = request.cookies.get("look", "")
    return wanted if wanted in ("light", "dark") else "device"


RUNS = ("run", "looking")
"""Names under which a template gets a run."""


def page(request: Request, template: str, shows: Mapping[str, Any], *, status: int = 200) -> Response:
    """A page, or its JSON twin when the address ends so."""
    if request.url.path.endswith(".json"):
        return JSONResponse(plain(dict(shows)), status_code=status)
    shows = {"units": system_of(request), **shows}
    shows = {k: _told(v, shows["units"]) if k in RUNS else v for k, v in shows.items()}
    text = TEMPLATES.get_template(template).render(**shows, look=look_of(request), path=request.url.path)
    return HTMLResponse(text, status_code=status, headers={"cache-control": "no-store"})


def _told(run: Any, system: System) -> Any:
    """A run as a page shows it, with what went wrong in the reader's unit."""
    if not run or not run["error"]:
        return run
    was = run["error"]
    return run | {"error": was | {k: told(was[k], system) for k in ("what", "where", "todo")}}


def plain(value: Any) -> Any:
    """Dataclasses and tuples as dictionaries and lists."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    return value


Fields = dict[str, list[str]]


async def sent(request: Request) -> Fields:
    """The fields of a form, each with its texts in order. A form is the only kind of body that is taken.

    Raises ``value-bad`` for any other.
    """
    body = await request.body()
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    if body and kind != "application/x-www-form-urlencoded":
        raise JawrightError("value-bad", what="this takes a form and nothing else")
    out: Fields = {}
    try:
        pairs = parse_qsl(
            body.decode("utf-8"), keep_blank_values=True, max_num_fields=MOST_FIELDS, encoding="utf-8"
        )
    except ValueError:
        raise JawrightError("value-bad", what="the form cannot be read") from None
    for name, text in pairs:
        out.setdefault(name, []).append(text.replace("\r\n", "\n"))
    return out


def one(fields: Fields, name: str, default: str = "") -> str:
    """The one text of a field."""
    return fields.get(name, [default])[0].strip()


def wants_json(request: Request) -> bool:
    """Whether our own script asks, rather than the browser for a new page."""
    return "application/json" in request.headers.get("accept", "")


def done(request: Request, to: str) -> Response:
    """After a change: on to a page of ours, or, for our own script, the address to show."""
    assert to.startswith("/") and not to.startswith("//")
    if wants_json(request):
        return JSONResponse({"go": to})
    return RedirectResponse(to, status_code=303)


def problem_of(error: JawrightError) -> dict[str, str]:
    """An error for the field concerned: ``field`` is the name the form gave it, "" when none is meant."""
    place = error.where.rpartition(": ")[2]
    hit = re.fullmatch(r"([a-z]+)(?: (\d+))?\.([a-z_]+)", place)
    field, what = "", error.what
    if hit:
        what = re.sub(rf"^{hit[3]}\b", hit[3].replace("_", " "), what)  # as its label says it
        field = f"{hit[1]}.{hit[3]}" if hit[2] is None else f"{hit[1]}.{int(hit[2]) - 1}.{hit[3]}"
    return {
        "code": error.code,
        "what": what[:1].upper() + what[1:],
        "where": error.where,
        "todo": error.todo[:1].upper() + error.todo[1:],
        "field": field,
    }


def refused(request: Request, error: JawrightError) -> Response:
    """An error of the user's: for the script as JSON, else as a page that says what to do."""
    problem = problem_of(error_in(error, system_of(request)))
    if wants_json(request):
        return JSONResponse({"problem": problem}, status_code=422)
    return page(
        request,
        "problem.html",
        {"title": "Something is wrong", "problem": problem, "back": "/jobs"},
        status=422,
    )
