"""The answers of a job: what the page shows of them, and how one click or field changes them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from jawright import handbook, units
from jawright.doors.web import edit, forms, own, show
from jawright.doors.web.faces import face_near, in_file, point, size_words, told_in
from jawright.doors.web.inputs import part_key
from jawright.doors.web.render import Fields, one
from jawright.doors.web.runner import Runner
from jawright.doors.web.store import Store, note
from jawright.doors.web.uses import FACE_USES, HOLE_USES, LETTERS, makeable
from jawright.errors import JawrightError
from jawright.files.toml_out import dump
from jawright.job import schema
from jawright.job.gaps import check_names
from jawright.shop.model import Shop

ROWS = {"datum": schema.DATUM, "feature": schema.FEATURE, "tolerance": schema.TOLERANCE}
PINS = (
    "kind", "turn", "shift", "blank", "grip_depth", "torque", "stop", "fixed_jaw_datum", "spacer_height",
    "spacers", "jaw_cutter", "jaw_material", "wrong_way", "floor", "parts", "mirrored", "spacing",
    "marks_allowed",
)  # fmt: skip
"""What may be pinned about the hold, beside the two questions of it: keys of [hold]."""

ASKABLE = ("position", "profile of a surface", "parallelism", "perpendicularity", "flatness", "distance")
"""Kinds of tolerance that are offered beside a picked face; all others are in the list."""


def seen(store: Store, job_id: str) -> dict[str, Any]:
    """The part as last looked at; empty when it was not, or was another."""
    found = note(store.path(job_id), "seen.json")
    try:
        return found if found.get("key") == part_key(store.path(job_id)) else {}
    except (JawrightError, OSError):
        return {}


def is_seen(store: Store, job_id: str) -> bool:
    """Whether the job's answers were opened at the machine."""
    return bool(seen(store, job_id))


def data_of(store: Store, job_id: str) -> edit.Data:
    """The job as plain data, a unit on every length."""
    return edit.plain_lengths(edit.parse(store.job(job_id).text()), edit.JOB)


def unit_of(store: Store, job_id: str) -> str:
    """The unit the job's papers are written in."""
    return str(data_of(store, job_id).get("job", {}).get("units", "mm"))


def shop_of(store: Store) -> Shop:
    """The shop as its file says; raises the errors of that file."""
    return edit.check_shop(store.shop.text(), store.folder)


def choices(shop: Shop | None, data: edit.Data) -> dict[str, dict[str, tuple[str, ...]]]:
    """Words for keys whose answers the shop, the handbook or the job itself knows, by section."""
    names = tuple(str(f.get("name", "")) for f in data.get("feature", []) if isinstance(f, dict))
    return {
        "part": {"material": handbook.materials()},
        "hold": {
            "vise": tuple(v.id for v in shop.vises) if shop else (),
            "blank": tuple(b.id for b in shop.blanks) if shop else (),
            "up": ("+Z", "-Z", "+X", "-X", "+Y", "-Y"),
            "jaw_cutter": tuple(c.id for c in shop.cutters if c.kind == "end mill") if shop else (),
            "jaw_material": tuple(sorted({b.material for b in shop.blanks})) if shop else (),
            "fixed_jaw_datum": LETTERS,
        },
        "feature": {"cutter": tuple(c.id for c in shop.cutters) if shop else ()},
        "tolerance": {"feature": names},
        "datum": {"letter": LETTERS},
    }


def shows(store: Store, runner: Runner, job_id: str, system: units.System) -> dict[str, Any]:
    """Everything the page of a job shows."""
    data = data_of(store, job_id)
    part = told_in(seen(store, job_id), system)
    shop = shop_of(store)
    known = choices(shop, data)
    run = runner.of(f"look {job_id}")
    looking = None if part or run is None else run.shown()

    def some(name: str, *keys: str) -> tuple[forms.Field, ...]:
        section = edit.section_of(name, edit.JOB)
        row = data.get(name, {})
        return forms.fields(
            section, row, system=system, prefix=f"{name}.", only=keys, choices=known.get(name)
        )

    head = data.get("job", {})
    drawing = str(data.get("part", {}).get("file", "")).endswith(".dxf")
    missing = [f"{s}.{k}" for s, k in edit.missing(data)]
    told, file_fields = _of_the_file(
        looking["error"] if looking else None,
        some("part", *(("thickness", "unit") if drawing else ("body",))),
    )
    if told and looking:
        looking, missing = {**looking, "error": told}, [told["where"], *missing]
    return {
        "title": str(head.get("name", job_id)),
        "id": job_id,
        "units": system,
        "name": str(head.get("name", job_id)),
        "head": some("job", "name", "part_number", "revision", "operation", "units", "notes"),
        "part": {k: v for k, v in part.items() if k not in ("mesh", "key")},
        "size": size_words(part, system),
        "looking": looking,
        "drawing": drawing,
        "file_fields": file_fields,
        "up": some("hold", "up"),
        "material": some("part", "material"),
        "own": own.fields_of(str(data.get("part", {}).get("material", "")), system),
        "quantity": some("job", "quantity"),
        "vise": some("hold", "vise"),
        "pins": some("hold", *PINS),
        "incoming": some("incoming", *(k.name for k in schema.INCOMING.keys if k.name != "model")),
        "incoming_model": str(data.get("incoming", {}).get("model", "")),
        "in_file": in_file(part, system),
        "askable": ASKABLE,
        "datums": _datums(data, part),
        "letters": LETTERS,
        "makeable": makeable(data, part),
        "features": _rows(data, "feature", system, known),
        "tolerances": _rows(data, "tolerance", system, known),
        "new_tolerance": forms.fields(
            schema.TOLERANCE, {}, system=system, prefix="tolerance.new.", choices=known["tolerance"]
        ),
        "hole_uses": HOLE_USES,
        "face_uses": FACE_USES,
        "missing": missing,
        "can_undo": store.job(job_id).can(-1),
        "can_redo": store.job(job_id).can(1),
        "planned": show.planned(store, job_id),
        "run": show.run_of(runner, job_id),
    }


ANSWERED_BY = {
    "key-missing": ("part.thickness", "Type how thick the plate is"),
    "part-unit-unknown": ("part.unit", "Measure the part, then choose the unit it was drawn in"),
    "part-several-solids": ("part.body", "Type the number of the one this job is about"),
}
"""What a part file leaves open that a field of the first question answers."""


def _of_the_file(
    error: dict[str, str] | None, fields: tuple[forms.Field, ...]
) -> tuple[dict[str, str] | None, tuple[forms.Field, ...]]:
    """An error of reading told at the field that answers it, in words of the page; None when none does."""
    name, todo = ANSWERED_BY.get(error["code"], ("", "")) if error else ("", "")
    if not error or name not in {f.name for f in fields}:
        return None, fields
    what = error["what"][:1].upper() + error["what"][1:]
    told = {**error, "what": what, "where": name, "todo": f"{todo}, under “Which part?” beside this"}
    return told, tuple(replace(f, problem=what, todo=todo) if f.name == name else f for f in fields)


def _rows(
    data: edit.Data, name: str, system: units.System, known: Mapping[str, Mapping[str, tuple[str, ...]]]
) -> list[dict[str, Any]]:
    section = ROWS[name]
    return [
        {
            "number": i,
            "name": str(row.get("name", row.get("feature", ""))),
            "kind": str(row.get("kind", "")),
            "fields": forms.fields(
                section, row, system=system, prefix=f"{name}.{i}.", choices=known.get(name)
            ),
        }
        for i, row in enumerate(data.get(name, []))
    ]


def _datums(data: edit.Data, part: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Datums of the job, else those of the part file, with the face in words."""
    faces = {f["index"]: f for f in part.get("faces", [])}
    out = []
    for i, d in enumerate(data.get("datum", [])):
        face = face_near(part, point(d.get("at")))
        words = faces[face]["words"] if face is not None else "a point of its own"
        out.append({"letter": d.get("letter", "?"), "words": words, "number": i, "face": face, "of": "job"})
    if not out:
        for d in part.get("datums", []):
            face = d["faces"][0] if d["faces"] else None
            words = faces[face]["words"] if face in faces else "not understood"
            out.append(
                {"letter": d["letter"], "words": words, "number": None, "face": face, "of": "part file"}
            )
    return out


# ---------------------------------------------------------------- changing


def change(store: Store, job_id: str, how: Callable[[edit.Data], None]) -> None:
    """Change a job's data, check it by its reader, and keep the new version. Raises what that raises."""
    with store.lock:
        versions, folder = store.job(job_id), store.path(job_id)
        data = edit.plain_lengths(edit.parse(versions.text()), edit.JOB)
        how(data)
        text = dump(data)
        job, shop = edit.draft_job(text, folder), shop_of(store)
        try:
            check_names(
                job,
                vises=[v.id for v in shop.vises],
                blanks=[b.id for b in shop.blanks],
                cutters=[c.id for c in shop.cutters],
                parallels=[p.id for p in shop.parallels],
            )
        except JawrightError as e:
            raise _at_row(e, data) from None
        versions.write(text)


def drop_incoming(data: edit.Data) -> None:
    """Plan again without a model of the part as it comes."""
    data.get("incoming", {}).pop("model", None)


EDITABLE = ("job", "part", "hold", "incoming")


def _at_row(error: JawrightError, data: edit.Data) -> JawrightError:
    """The place as a form names it: 'feature "bore" cutter' is the cutter of the second feature, say."""
    where = error.where.partition(".toml: ")[2] or error.where
    hit = re.fullmatch(r'feature "(.*)" (\w+)', where, re.S)
    names = [str(f.get("name", "")) for f in data.get("feature", [])]
    if hit and hit[1] in names:
        where = f"feature {names.index(hit[1]) + 1}.{hit[2]}"
    return JawrightError(error.code, what=error.what, where=where, todo=error.todo)


PATHS = {("part", "file"), ("incoming", "model")}
"""Keys that name a file: a path is never taken from a form."""


def put_fields(data: edit.Data, fields: Fields, system: units.System) -> None:
    """Put form fields named ``section.key`` or ``section.number.key`` into the data.

    A field named ``was.`` and the same holds what the form said when it was drawn.

    Raises ``key-unknown`` for a section that a form does not change, ``value-bad`` for a file.
    """
    rows: dict[tuple[str, int | None], dict[str, list[str]]] = {}
    for name, texts in fields.items():
        hit = re.fullmatch(r"([a-z]+)\.(?:(\d{1,3})\.)?([a-z_]+)", name)
        if hit:
            rows.setdefault((hit[1], int(hit[2]) if hit[2] else None), {})[hit[3]] = texts
    for (section_name, number), given in rows.items():
        section = edit.section_of(section_name, edit.JOB)
        if any((section_name, k) in PATHS for k in given):
            raise JawrightError("value-bad", what="a file is not changed by name")
        at = section_name if number is None else f"{section_name}.{number}"
        was = {k: fields[f"was.{at}.{k}"] for k in given if f"was.{at}.{k}" in fields}
        if number is None and section_name in EDITABLE:
            edit.put_values(data.setdefault(section_name, {}), section, given, system, was)
        elif number is not None and section_name in ROWS:
            _put_row(data, section_name, number, given, system, was=was)
        else:
            raise JawrightError("key-unknown", what=f'"{section_name}" is not changed this way')


def _put_row(
    data: edit.Data,
    name: str,
    number: int,
    given: dict[str, list[str]],
    system: units.System,
    *,
    was: dict[str, list[str]] | None = None,
) -> None:
    found = data.get(name, [])
    if number >= len(found):
        raise JawrightError("value-bad", what=f"there is no {name} {number + 1}", todo="show the page again")
    old = found[number].get("name")
    edit.put_values(found[number], ROWS[name], _datum_list(name, given), system, _datum_list(name, was or {}))
    new = found[number].get("name")
    if name == "feature" and old != new:
        for t in data.get("tolerance", []):
            if t.get("feature") == old and new:
                t["feature"] = new


def _datum_list(name: str, given: dict[str, list[str]]) -> dict[str, list[str]]:
    """Letters of a tolerance may be typed in one line: A, B, C or A|B|C."""
    if name == "tolerance" and "datums" in given:
        letters = re.findall(r"[^\s,;|]+", " ".join(given["datums"]))
        return {**given, "datums": ["\n".join(letters)]}
    return given


def change_rows(data: edit.Data, fields: Fields, system: units.System) -> None:
    """Add, take out or move a row.

    Raises ``key-unknown`` for what has no rows, ``value-bad`` for a row that is not there.
    """
    name, do = one(fields, "of"), one(fields, "do")
    if name not in ROWS:
        raise JawrightError("key-unknown", what=f'"{name}" has no rows')
    found = data.setdefault(name, [])
    if do == "add":
        found.append({})
        given = {k.rpartition(".")[2]: v for k, v in fields.items() if k.startswith(f"{name}.new.")}
        _put_row(data, name, len(found) - 1, given, system)
        return
    number = units.counted(one(fields, "number"))
    if number is None or number >= len(found):
        raise JawrightError("value-bad", what=f"there is no such {name}", todo="show the page again")
    if do == "remove":
        _remove(data, name, number)
    elif do in ("earlier", "later"):
        other = number + (-1 if do == "earlier" else 1)
        if 0 <= other < len(found):
            found[number], found[other] = found[other], found[number]
    if not data[name]:
        del data[name]


def _remove(data: edit.Data, name: str, number: int) -> None:
    gone = data[name].pop(number)
    if name == "feature":
        data["tolerance"] = [t for t in data.get("tolerance", []) if t.get("feature") != gone.get("name")]
        if not data["tolerance"]:
            del data["tolerance"]
