"""Routes of the shop: one page a kind, each thing a form made from the shop file's own declarations."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from jawright import handbook, units
from jawright.doors.web import edit, forms, own
from jawright.doors.web.render import Fields, done, one, page, sent, system_of
from jawright.doors.web.rooms import Here, Rooms
from jawright.errors import JawrightError
from jawright.files.schema import Section
from jawright.files.toml_out import dump
from jawright.shop import schema

router = APIRouter(tags=["shop"])


@dataclass(frozen=True, slots=True)
class Kind:
    """One page of the shop."""

    path: str
    name: str  # as the menu says it
    one: str  # a single one
    section: Section
    columns: tuple[str, ...] = ()  # of the table, for a kind there are many of


KINDS = (
    Kind("vises", "Vises", "vise", schema.VISE, ("id", "jaw_width", "opening", "hard_jaw_height", "bolt")),
    Kind("in-line", "Vises in line", "row of vises", schema.IN_LINE, ("id", "vise", "count", "pitch")),
    Kind(
        "blanks",
        "Jaw blanks",
        "jaw blank",
        schema.BLANK,
        ("id", "material", "length", "thickness", "height", "stock"),
    ),
    Kind(
        "parallels",
        "Parallels",
        "parallel",
        schema.PARALLEL,
        ("id", "height", "thickness", "length", "count"),
    ),
    Kind("stops", "Side stops", "side stop", schema.STOP, ("id", "low", "high", "reach", "tip")),
    Kind(
        "cutters",
        "Cutters",
        "cutter",
        schema.CUTTER,
        ("number", "id", "kind", "diameter", "corner_radius", "reach"),
    ),
    Kind("machine", "Mill", "mill", schema.MACHINE),
    Kind("program", "Program text", "program text", schema.NC),
    Kind("rates", "Rates", "rates", schema.RATES),
    Kind("scatter", "Scatter", "scatter", schema.SCATTER),
    Kind("name", "Name of the shop", "name", schema.SHOP),
)
BY_PATH = {k.path: k for k in KINDS}


def _kind(path: str) -> Kind:
    if path not in BY_PATH:
        raise JawrightError("value-bad", what="the shop has no such page", todo="choose one in the menu")
    return BY_PATH[path]


def _words(kind: Kind) -> dict[str, tuple[str, ...]]:
    return {"material": handbook.materials()} if kind.path == "blanks" else {}


def _data(here: Rooms) -> edit.Data:
    return edit.plain_lengths(edit.parse(here.store.shop.text()), edit.SHOP)


def _shows(here: Rooms, kind: Kind) -> dict[str, Any]:
    menu = [{"path": k.path, "name": k.name} for k in KINDS]
    return {
        "title": kind.name,
        "menu": menu,
        "kind": {"path": kind.path, "name": kind.name, "one": kind.one, "help": kind.section.help},
        "can_undo": here.store.shop.can(-1),
        "can_redo": here.store.shop.can(1),
    }


@router.get("/shop/{path}")
@router.get("/shop/{path}.json")
def of_kind(request: Request, path: str, here: Here) -> Response:
    """All things of one kind, or the one form of a kind there is one of."""
    kind, system = _kind(path), system_of(request)
    found = _data(here).get(kind.section.name, [] if kind.section.many else {})
    shows = _shows(here, kind)
    if not kind.section.many:
        shows["fields"] = forms.fields(kind.section, found, system=system)
        return page(request, "shop_one.html", shows)
    keys = [edit.key_of(kind.section, c) for c in kind.columns]
    shows["heads"] = [forms.label_of(k) for k in keys]
    shows["rows"] = [
        {"number": i, "cells": [edit.shown(k, row.get(k.name), system)[0] for k in keys]}
        for i, row in enumerate(found)
    ]
    return page(request, "shop_many.html", shows)


@router.get("/shop/{path}/{number}")
@router.get("/shop/{path}/{number}.json")
def one_of(request: Request, path: str, number: str, here: Here, like: int = -1) -> Response:
    """The form of one thing; the number "new" is an empty one, or one like another."""
    kind, system = _kind(path), system_of(request)
    rows: list[dict[str, Any]] = _data(here).get(kind.section.name, [])
    new = number == "new"
    if new:
        row = dict(rows[like]) if 0 <= like < len(rows) else {}
        row.pop("id", None)
        if "number" in row:
            row["number"] = max(int(r.get("number", 0)) for r in rows) + 1
    else:
        row = _row(rows, number, kind)
    shows = _shows(here, kind) | {
        "fields": forms.fields(kind.section, row, system=system, choices=_words(kind)),
        "number": number,
        "own": own.fields_of(str(row.get("material", "")), system) if kind.path == "blanks" else (),
        "new": new,
        "id": str(row.get("id", "")),
    }
    return page(request, "shop_one.html", shows)


def _row(rows: list[dict[str, Any]], number: str, kind: Kind) -> dict[str, Any]:
    at = units.counted(number)
    if at is None or at >= len(rows):
        raise JawrightError("value-bad", what=f"there is no such {kind.one}", todo="choose one in the list")
    return rows[at]


@router.post("/shop/undo")
@router.post("/shop/redo")
async def step_back(request: Request, here: Here) -> Response:
    """Go to the version of the shop before, or after."""
    fields = await sent(request)
    with here.store.lock:
        here.store.shop.step(-1 if request.url.path.endswith("undo") else 1)
    return done(request, f"/shop/{_kind(one(fields, 'path', 'vises')).path}")


@router.post("/shop/{path}")
async def set_one(request: Request, path: str, here: Here) -> Response:
    """Change the one form of a kind there is one of."""
    kind, fields = _kind(path), await sent(request)
    with here.store.lock:
        data = _data(here)
        _put(data.setdefault(kind.section.name, {}), kind, fields, system_of(request))
        _keep(here, data)
    return done(request, f"/shop/{path}")


@router.post("/shop/{path}/{number}")
async def set_row(request: Request, path: str, number: str, here: Here) -> Response:
    """Change one thing, add it (number "new"), or take it out (do=remove).

    Raises ``value-bad`` where there is only one.
    """
    kind, fields = _kind(path), await sent(request)
    if not kind.section.many:
        raise JawrightError("value-bad", what=f"there is only one {kind.one}")
    with here.store.lock:
        data = _data(here)
        rows: list[dict[str, Any]] = data.setdefault(kind.section.name, [])
        if number == "new":
            rows.append({})
            at = len(rows) - 1
        else:
            _same(_row(rows, number, kind), one(fields, "was"), kind)
            at = int(number)
        if one(fields, "do") == "remove":
            del rows[at]
            if not rows:
                del data[kind.section.name]
        else:
            _put(rows[at], kind, fields, system_of(request))
        try:
            _keep(here, data)
        except JawrightError as e:
            raise _at_field(e, at) from None
    return done(request, f"/shop/{path}")


def _same(row: Mapping[str, Any], was: str, kind: Kind) -> None:
    """Somebody else may have changed the list meanwhile."""
    if was and was != row.get("id"):
        raise JawrightError(
            "value-bad", what=f"the list of {kind.name.lower()} changed meanwhile", todo="go back to the list"
        )


def _put(row: dict[str, Any], kind: Kind, fields: Fields, system: units.System) -> None:
    names = {k.name for k in kind.section.keys}
    if kind.path == "blanks":
        fields = own.taken(fields, "material", system)
    given = {k: v for k, v in fields.items() if k in names}
    was = {k: fields[f"was.{k}"] for k in given if f"was.{k}" in fields}
    edit.put_values(row, kind.section, given, system, was)


def _keep(here: Rooms, data: edit.Data) -> None:
    text = dump({k: v for k, v in data.items() if v != {}})
    edit.check_shop(text, here.store.folder)
    here.store.shop.write(text)


def _at_field(error: JawrightError, at: int) -> JawrightError:
    """The place as the form names it: "vise 2.lift" becomes the field "lift"."""
    where = error.where.rpartition(".")[2] if f" {at + 1}." in error.where else error.where
    lacks = re.match(r'"(\w+)" is missing', error.what)
    where = lacks[1] if lacks else where
    return JawrightError(error.code, what=error.what, where=f"shop.{where}", todo=error.todo)
