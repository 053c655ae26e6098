"""STEP files in and out. Reading crashes on some damaged files: it belongs into the reading child."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
from OCP.BRepLib import BRepLib
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_Reader, STEPControl_StepModelType, STEPControl_Writer
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from jawright.errors import JawrightError
from jawright.kernel.border import (
    EDGE,
    FACE,
    SHELL,
    SOLID,
    Box,
    loose_box,
    open_shape,
    pack,
    parts,
    tight_box,
)
from jawright.kernel.measure import exact, sound_bytes


@dataclass(frozen=True, slots=True)
class ReadSolid:
    """One solid of an exchange file, measured; ``ranks`` are those of its faces' entities in the file.

    ``place`` is where its assembly puts the part it belongs to: three rows of a 3 by 4 matrix [1, mm].
    """

    shape: bytes
    valid: bool
    exact: bool
    box: Box
    ranks: tuple[int | None, ...]
    place: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ReadFile:
    """What an exchange file holds: solids, and loose geometry beside them, which no measurement uses."""

    solids: tuple[ReadSolid, ...]
    entities: int  # how many the kernel counted: must equal the statements in the file
    loose_faces: int
    loose_edges: int
    loose_size: tuple[float, float, float]  # box of everything when there is no solid [mm]
    repaired: bool  # the solids were made from loose faces that close


def read_step(path: str, most: int) -> ReadFile:
    """Solids of a STEP file [mm], at most ``most``. Crashes on some damaged files: run it in a child.

    Raises ``file-broken`` when it cannot be read, ``part-several-solids`` when there are more.
    """
    reader = STEPControl_Reader()
    if reader.ReadFile(path) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise JawrightError("file-broken", what="the solid kernel cannot read the file")
    reader.TransferRoots()
    shape = reader.OneShape()
    if shape is None or shape.IsNull():
        return ReadFile((), reader.WS().Model().NbEntities(), 0, 0, (0.0, 0.0, 0.0), False)
    bodies = _bodies(shape)
    repaired = not bodies
    if repaired:
        bodies = _sewn(shape)
    if len(bodies) > most:
        raise JawrightError(
            "part-several-solids",
            what=f"the file holds {len(bodies)} solids, more than the limit of {most}",
            todo="export the one part alone",
        )
    model, transfer = reader.WS().Model(), reader.WS().TransferReader()
    # kept alive, as identity is the join: the model's own search by entity does not find them
    entities = [model.Value(i) for i in range(1, model.NbEntities() + 1)]
    rank = {id(e): i for i, e in enumerate(entities)}
    found = []
    for body in bodies:
        ranks = tuple(rank.get(id(_entity(transfer, f))) for f in parts(body, FACE))
        found.append(_measured(body, ranks, alone=len(bodies) == 1))
    size = (0.0, 0.0, 0.0)
    if not bodies:
        b = loose_box(shape)
        size = (b[3] - b[0], b[4] - b[1], b[5] - b[2])
    loose = (0, 0) if repaired and bodies else _loose(shape)
    return ReadFile(tuple(found), len(entities), *loose, size, repaired and bool(bodies))


def _entity(transfer: Any, face: Any) -> Any:
    """The entity a face was made from; in an assembly it was made where its part stands by itself."""
    found = transfer.EntityFromShapeResult(face, 1)
    return found if found is not None else transfer.EntityFromShapeResult(face.Located(TopLoc_Location()), 1)


SEW = 1e-3
"""Largest gap between loose faces that are sewn into a solid [mm]: a tenth of what a machine holds."""


def _sewn(shape: Any) -> list[Any]:
    """Solids from loose faces that close, when a file has faces but no solid; tessellated ones are left."""
    faces = parts(shape, FACE)
    if not faces or not exact(shape):
        return []
    sewing = BRepBuilderAPI_Sewing(SEW)
    for face in faces:
        sewing.Add(face)
    sewing.Perform()
    made = []
    for shell in parts(sewing.SewedShape(), SHELL):
        if BRep_Tool.IsClosed_s(shell):
            solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell(shell)).Solid()
            BRepLib.OrientClosedSolid_s(solid)
            made.append(solid)
    return made


def _bodies(shape: Any) -> list[Any]:
    walk = TopExp_Explorer(shape, SOLID)
    found = []
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    return found


def _loose(shape: Any) -> tuple[int, int]:
    counts = []
    for kind, within in ((FACE, SOLID), (EDGE, FACE)):
        walk, count = TopExp_Explorer(shape, kind, within), 0
        while walk.More():
            count += 1
            walk.Next()
        counts.append(count)
    return counts[0], counts[1]


def _measured(body: Any, ranks: tuple[int | None, ...], *, alone: bool) -> ReadSolid:
    """The solid with what messages need; one that is alone and sound gets its exact box from its faces.

    Soundness is judged on the shape as it comes back out of its bytes, the one that is used.
    Writing swaps the two sides of some seams, which on rare faces the check takes amiss; a
    second passage swaps them back.
    """
    curved = exact(body)
    data = pack(body)
    good = False
    if curved:
        for _ in range(2):
            good = sound_bytes(data)
            if good:
                break
            data = pack(open_shape(data).shape)
    bounds = tight_box(body) if curved and not (good and alone) else loose_box(body)
    return ReadSolid(data, good, curved, bounds, ranks, _place(body))


def _place(body: Any) -> tuple[float, ...]:
    moved = body.Location().Transformation()
    return tuple(moved.Value(i, j) for i in range(1, 4) for j in range(1, 5))


def step_text(shapes: dict[str, bytes], *, title: str) -> bytes:
    """ISO 10303-21 text (AP214 schema, mm) of named shapes: same shapes, same bytes.

    The header carries no author, program path or clock: its time stamp is fixed.

    Raises ``file-write`` when a shape cannot be written.
    """
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer = STEPControl_Writer()
    for i, data in enumerate(shapes.values()):
        Interface_Static.SetCVal_s("write.step.product.name", f"body{i}")
        writer.Transfer(open_shape(data).shape, STEPControl_StepModelType.STEPControl_AsIs)
    out = io.BytesIO()
    if writer.WriteStream(out) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise JawrightError("file-write", what="the solid kernel could not write a STEP text")
    return _with_names(_with_header(out.getvalue(), title), list(shapes))


def write_step(shapes: dict[str, bytes], path: Path) -> None:
    """Write ``step_text`` to a file, whole or not at all. Raises ``file-write``."""
    beside = path.with_name(path.name + ".part")
    try:
        beside.write_bytes(step_text(shapes, title=path.name))
        beside.replace(path)
    except OSError as e:
        beside.unlink(missing_ok=True)
        raise JawrightError(
            "file-write", what=f"the STEP file cannot be written: {e.strerror}", where=str(path)
        ) from e


_HEADER = """HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME({title},'2000-01-01T00:00:00',(''),(''),'','','');
"""


def _with_header(text: bytes, title: str) -> bytes:
    """The text under a header of our own: the kernel's tells the time and its maker."""
    start, end = text.index(b"HEADER;"), text.index(b"ENDSEC;")
    schema = re.search(rb"FILE_SCHEMA\s*\(.*?\)\s*\)\s*;", text[start:end], re.S)
    assert schema is not None
    head = _HEADER.format(title=_quoted(title)).encode() + schema.group(0) + b"\n"
    return text[:start] + head + text[end:]


def _with_names(text: bytes, names: list[str]) -> bytes:
    """The text with product names put in: the kernel appends a count of all it ever wrote."""

    def put(found: re.Match[bytes]) -> bytes:
        name = _quoted(names[int(found.group(1))]).encode()
        return b"PRODUCT(" + name + b"," + name + b","

    return re.sub(rb"PRODUCT\('body(\d+) \d+','body\1 \d+',", put, text)


def _quoted(words: str) -> str:
    """A string of ISO 10303-21: apostrophes doubled, other than ASCII letters as \\X2\\ code points."""
    out = []
    for letter in words:
        code = ord(letter)
        if letter in "'\\":
            out.append(letter * 2)
        elif 32 <= code < 127:
            out.append(letter)
        elif code < 0x10000:
            out.append(f"\\X2\\{code:04X}\\X0\\")
        else:
            out.append(f"\\X4\\{code:08X}\\X0\\")
    return "'" + "".join(out) + "'"
