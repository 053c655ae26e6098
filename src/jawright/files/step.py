"""STEP files to plain data: frame, schema, units, validation properties, and the solids in them.

``read`` runs the whole of it in the reading child. No meaning is attached here.
"""

from __future__ import annotations

import math
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files import child, limits
from jawright.files.annotations import Annotations, from_plain, is_tolerance, read_annotations
from jawright.files.beside import beside
from jawright.files.measures import length_units, measure
from jawright.files.part21 import Ref, Statement, Value, frame, schema, statements
from jawright.files.placed import changed

_MEASURES = {"volume measure": "volume", "surface area measure": "area", "wetted area measure": "area"}
SEW = kernel.SEW
FUSE_MOST = 12
"""Most solids of one file for which it is tried whether they are one part in pieces."""


@dataclass(frozen=True, slots=True)
class Body:
    """One solid of the file: size along X, Y, Z [mm], and whether it is exact, closed and valid."""

    size: tuple[float, float, float]
    exact: bool
    valid: bool


@dataclass(frozen=True, slots=True)
class StepFile:
    """What a STEP file holds, and the chosen solid in it (``shape`` empty when none was)."""

    schema: str
    unit: str  # length units in words, that of the solids first: "inch and mm"
    bodies: tuple[Body, ...]
    fuse: bool  # the several solids touch and join into one
    chosen: int | None  # 1-based; 0 when all were joined
    shape: bytes
    volume: float  # [mm³]
    area: float  # [mm²]
    box: tuple[float, float, float, float, float, float]
    faces: tuple[kernel.SolidFace, ...]
    file_volumes: tuple[float, ...]  # of whole parts, as the file says [mm³]
    file_areas: tuple[float, ...]  # [mm²]
    tolerances: int  # geometric tolerances counted in the text
    annotations: Annotations
    loose_faces: int
    loose_edges: int
    loose_size: tuple[float, float, float]  # box of everything when there is no solid [mm]
    repaired: bool  # the solids were made from loose faces
    joined: bool  # the faces' entity numbers could be told
    changed: str = ""  # how a placement changes the solid, "mirrored" or "to 2 times its size"
    drawn_to: str = ""  # drawing standard that its text mentions, "ASME" or "ISO"; "" for none or both


def read(path: Path, *, body: int | None) -> StepFile:
    """Read a STEP file in the child. Raises ``file-…`` errors, ``value-bad`` for no such body."""
    # the child keeps the folder it was started in, so the path must not lean on ours
    arguments = {"path": str(path.absolute()), "name": path.name, "body": body}
    value, blob = child.run("jawright.files.step:work", arguments, where=path.name)
    value["bodies"] = tuple(Body(tuple(b["size"]), b["exact"], b["valid"]) for b in value["bodies"])
    value["faces"] = tuple(kernel.SolidFace(**{k: _tuples(v) for k, v in f.items()}) for f in value["faces"])
    told = from_plain(value.pop("annotations"))
    plain = {k: _tuples(v) for k, v in value.items()}
    return StepFile(shape=blob, annotations=told, **plain)


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value


# ---- in the child --------------------------------------------------------------------------


def work(path: str, name: str, body: int | None) -> tuple[dict[str, Any], bytes]:
    """The answer of the child for ``read``."""
    text = Path(path).read_bytes().decode("utf-8", "replace")
    frame(text, name)
    reading = beside(lambda: _read_text(text))
    found = kernel.read_step(path, limits.SOLIDS)
    bodies = [_body(s) for s in found.solids]
    fused = _fused(found.solids) if 2 <= len(found.solids) <= FUSE_MOST and body in (None, 0) else None
    shape, ranks, chosen = _choose(found.solids, fused, body, name)
    faces = _measured(shape) if shape else []
    said = reading()
    ids = _step_ids(said.pop("numbers"), said.pop("faces"), ranks, found.entities)
    _place(said["annotations"], found.solids, chosen)
    value: dict[str, Any] = {
        "bodies": bodies,
        "fuse": fused is not None,
        "chosen": chosen,
        "loose_faces": found.loose_faces,
        "loose_edges": found.loose_edges,
        "loose_size": found.loose_size,
        "repaired": found.repaired,
        "joined": ids is not None,
        "volume": 0.0,
        "area": 0.0,
        "box": (0.0,) * 6,
        "faces": faces,
        **said,
    }
    if shape:
        value["volume"], value["area"] = kernel.volume(shape), kernel.area(shape)
        ends = list(zip(*(f["box"] for f in faces), strict=True))
        value["box"] = [min(e) for e in ends[:3]] + [max(e) for e in ends[3:]]
        for face, number in zip(faces, ids or (), strict=False):
            face["step_id"] = number
    return value, shape


FEW_FACES = 60
"""Faces under which a second process does not pay."""


def _measured(shape: bytes) -> list[dict[str, Any]]:
    """The faces of a solid, the second half of many measured by a process beside this one."""
    count = kernel.face_count(shape)
    if count < FEW_FACES:
        return [asdict(f) for f in kernel.faces(shape)]
    half = count // 2
    others = beside(lambda: [asdict(f) for f in kernel.faces(shape, half, count)])
    return [asdict(f) for f in kernel.faces(shape, 0, half)] + list(others())


def _read_text(text: str) -> dict[str, Any]:
    """All that the text says, without the kernel; numbers of its statements and of its faces."""
    entities = statements(text)
    volumes, areas = validation_properties(entities)
    return {
        "numbers": list(entities),
        "faces": [n for n, s in entities.items() if "ADVANCED_FACE" in s.types or "FACE_SURFACE" in s.types],
        "schema": schema(text),
        "unit": length_units(entities),
        "drawn_to": drawing_standard(text),
        "changed": changed(entities),
        "tolerances": count_tolerances(entities),
        "annotations": asdict(read_annotations(entities)),
        "file_volumes": volumes,
        "file_areas": areas,
    }


def _place(told: dict[str, Any], solids: tuple[kernel.ReadSolid, ...], chosen: int | None) -> None:
    """Move the places of datum targets with the part they are on.

    Targets are written in the part's own coordinates; an assembly places the part. They are left out
    where parts placed differently were joined into one: whose they are is not known.
    """
    held = solids if chosen == 0 else solids[chosen - 1 : chosen] if chosen else ()
    places = {s.place for s in held}
    for datum in told["datums"] if places else ():
        points = [[moved(places, p) for p in one] for one in datum["points"]]
        datum["points"] = points if len(places) == 1 else []


def moved(places: set[tuple[float, ...]], point: tuple[float, ...]) -> tuple[float, ...]:
    """A point [mm] of a part in the coordinates of the assembly that places it once."""
    m = next(iter(places))
    return tuple(sum(m[4 * i + k] * point[k] for k in range(3)) + m[4 * i + 3] for i in range(3))


def _body(solid: kernel.ReadSolid) -> dict[str, Any]:
    b = solid.box
    size = (b[3] - b[0], b[4] - b[1], b[5] - b[2])
    return {"size": size, "exact": solid.exact, "valid": solid.valid}


def _fused(solids: tuple[kernel.ReadSolid, ...]) -> bytes | None:
    """All solids as one, when they touch and join into one."""
    if not all(s.valid for s in solids):
        return None
    try:
        whole = kernel.fuse(*(s.shape for s in solids))
    except JawrightError:
        return None
    return whole if len(kernel.solids(whole)) == 1 else None


def _choose(
    solids: tuple[kernel.ReadSolid, ...], fused: bytes | None, body: int | None, name: str
) -> tuple[bytes, tuple[int | None, ...], int | None]:
    """The shape asked for, ranks of its faces' entities, and its number."""
    if body is None and len(solids) != 1:
        return b"", (), None
    if body == 0 and len(solids) > 1:
        if fused is None:
            raise JawrightError(
                "value-bad",
                what=f"body = 0 joins the {len(solids)} solids of the file, but they do not join into one",
                where=name,
                todo=f"choose one of them with body = 1 to {len(solids)}",
            )
        return fused, (None,) * len(kernel.faces(fused)), 0
    number = body or 1
    if solids and not 1 <= number <= len(solids):
        raise JawrightError(
            "value-bad",
            what=f"body = {number} is not in the file: it holds {len(solids)} solid(s)",
            where=name,
            todo=f"choose body = 1 to {len(solids)}",
        )
    if not solids or not solids[number - 1].valid:
        return b"", (), number if solids else None
    chosen = solids[number - 1]
    return chosen.shape, chosen.ranks, number


def _step_ids(
    numbers: list[int], faces: list[int], ranks: tuple[int | None, ...], counted: int
) -> list[int] | None:
    """Entity numbers of the faces: the kernel's i-th entity is the file's i-th statement.

    None when that cannot be relied on: other counts, or a face that is no face in the file.
    """
    if counted != len(numbers) or not ranks or any(r is None for r in ranks):
        return None
    ids = [numbers[r] for r in ranks if r is not None]
    return ids if set(ids) <= set(faces) else None


# ---- meaning of the text, without the kernel ------------------------------------------------


_STANDARDS = {
    "ASME": re.compile(r"ASME[ _-]?Y ?14|_asme\d", re.I),
    "ISO": re.compile(r"\bISO[ _-]?(?:1101|5459|8015|1660|14405|2692)\b", re.I),
}


def drawing_standard(text: str) -> str:
    """The drawing standard that the text mentions; "" when it mentions none or both."""
    found = [name for name, words in _STANDARDS.items() if words.search(text)]
    return found[0] if len(found) == 1 else ""


def count_tolerances(entities: dict[int, Statement]) -> int:
    """Geometric tolerances in the text, read or not: entities of any ``…_TOLERANCE`` but plus-minus."""
    return sum(is_tolerance(s) for s in entities.values())


def validation_properties(entities: dict[int, Statement]) -> tuple[list[float], list[float]]:
    """Volumes [mm³] and surface areas [mm²] of whole parts that the file states of itself.

    Source: geometric validation properties of ISO 10303 files: a property definition of that
    name, for the product or for a solid in it, represented by measures named "volume measure"
    and "surface area measure" or "wetted area measure". Those of single faces and of presentation
    are left out.
    """
    owner: dict[int, int] = {}  # representation to property definition
    for s in entities.values():
        if "PROPERTY_DEFINITION_REPRESENTATION" in s.types:
            args = s.args("PROPERTY_DEFINITION_REPRESENTATION")
            if len(args) == 2 and isinstance(args[0], Ref) and isinstance(args[1], Ref):
                owner[args[1].id] = args[0].id
    whole: dict[str, list[float]] = {"volume": [], "area": []}
    of_body: dict[str, list[float]] = {"volume": [], "area": []}
    solid_owners: set[int] = set()
    pending: list[tuple[str, float, int, str]] = []
    for rep, prop in owner.items():
        kind, target = _property(entities, prop)
        if kind is None or rep not in entities:
            continue
        for item in _items(entities[rep]):
            name = _MEASURES.get(_item_name(entities, item), "")
            if not name:
                continue
            value = measure(entities, item, 3 if name == "volume" else 2)
            if not math.isfinite(value):
                continue
            if name == "volume":
                solid_owners.add(target)
            pending.append((name, value, target, kind))
    for name, value, target, kind in pending:
        if kind.startswith("PRODUCT_DEFINITION"):
            whole[name].append(value)
        elif target in solid_owners:  # an area of something that also has a volume
            of_body[name].append(value)
    volumes, areas = ((whole[n] or of_body[n]) for n in ("volume", "area"))
    return sorted(set(volumes)), sorted(set(areas))


def _property(entities: dict[int, Statement], number: int) -> tuple[str | None, int]:
    """Type and number of what a geometric validation property is about."""
    args = entities[number].args() if number in entities else ()
    if len(args) < 3 or args[0] != "geometric validation property" or not isinstance(args[2], Ref):
        return None, 0
    target = entities.get(args[2].id)
    return (target.types[0] if target and target.types else None), args[2].id


def _items(representation: Statement) -> tuple[Value, ...]:
    for kind in representation.types:
        for a in representation.args(kind):
            if isinstance(a, tuple):
                return a
    return ()


def _item_name(entities: dict[int, Statement], ref: Value) -> str:
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    if held is None:
        return ""
    for kind in ("MEASURE_REPRESENTATION_ITEM", "REPRESENTATION_ITEM"):
        for a in held.args(kind)[:1]:
            if isinstance(a, str):
                return a.lower()
    return ""
