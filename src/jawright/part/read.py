"""Read a part file: a STEP solid, or a drawing of a plate with its thickness."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

from jawright.errors import JawrightError
from jawright.files import child, limits, step
from jawright.files.dxf import Drawing, read_outline
from jawright.files.findings import Finding
from jawright.geometry.profile import Region
from jawright.part.holes import find_holes
from jawright.part.model import Face, Part
from jawright.part.plate import make_plate
from jawright.part.print import read_print

INTEGRITY = 1e-3
"""Largest relative difference of volume or area from the file's own that is accepted.

Public test files read by the open kernel differ by at most 2.1e-4 when read well and by
3.5 % when a face is lost.
"""
FLAT = 1e-4
"""Thickness [mm] below which a part is a sheet of paper."""
_EXPORT = "export it again as a solid from the program it was drawn in"


def read_part(path: Path, *, unit: str = "", thickness: float | None = None, body: int | None = None) -> Part:
    """The part in a file.

    Parameters
    ----------
    path : a STEP file, or a DXF drawing of a plate's outline.
    unit : "mm", "inch" or "m", for a drawing that does not say its unit.
    thickness : of the plate in a drawing [mm].
    body : which solid or outline of several, 1-based; 0 joins solids that touch into one.

    Raises ``file-missing``, ``file-empty``, ``file-too-large``, ``file-not-step``, ``file-broken``,
    ``part-no-solid``, ``part-several-solids``, ``part-not-exact``, ``part-integrity``, ``part-flat``;
    for drawings also those of ``files.dxf.read_outline``.
    """
    child.warm()
    data = _bytes(path)
    if _kind(path, data) == "dxf":
        return _read_drawing(path, data, unit=unit, thickness=thickness, body=body)
    ignored = [
        (f"{word} is ignored: a STEP file says it itself", "job")
        for word, given in (("unit", bool(unit)), ("thickness", thickness is not None))
        if given
    ]
    return _read_solid(path, data, body, ignored)


def _bytes(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        most = limits.DXF_BYTES if path.suffix.lower() == ".dxf" else limits.STEP_BYTES
        if size > most:
            raise JawrightError(
                "file-too-large",
                what=f"the file has {size / 1e6:.0f} MB, the limit is {most / 1e6:.0f} MB",
                where=path.name,
                todo="export the one part alone, without drawings and assemblies",
            )
        data = path.read_bytes()
    except OSError as e:
        raise JawrightError(
            "file-missing",
            what=f"the part file cannot be read: {e.strerror or 'unknown reason'}",
            where=str(path),
            todo="check the path in the job",
        ) from e
    if not data.strip(b" \t\r\n\0"):
        raise JawrightError("file-empty", what="the file is empty", where=path.name, todo=_EXPORT)
    return data


def _kind(path: Path, data: bytes) -> str:
    """ "step" or "dxf": by what is in the file first, by its suffix only where that does not tell."""
    head = data[:400].lstrip(b"\xef\xbb\xbf \t\r\n")
    if head.startswith(b"ISO-10303-21"):
        return "step"
    words = head.split()
    if words[:2] == [b"0", b"SECTION"] or words[:1] == [b"999"]:
        return "dxf"
    return "dxf" if path.suffix.lower() == ".dxf" else "step"


def _read_drawing(path: Path, data: bytes, *, unit: str, thickness: float | None, body: int | None) -> Part:
    """The plate of a drawing, standing on Z = 0 in the drawing's own X and Y."""
    drawing, findings = read_outline(path, unit=unit)
    region, beside = _chosen_outline(drawing, body, path.name)
    if beside:
        findings += (Finding(len(findings) + 1, "ignored", f"{beside} other outline(s) of the drawing"),)
    try:
        return make_plate(region, drawing.unit, findings, file=path.name, data=data, thickness=thickness)
    except JawrightError as e:
        if e.code != "geometry":
            raise
        place = f" {e.where}" if e.where else ""
        raise JawrightError(
            e.code,
            what=f"the outline makes no solid: {e.what}{place}",
            where=path.name,
            todo="look for places where outlines touch, and draw them apart",
        ) from e


def _chosen_outline(drawing: Drawing, body: int | None, name: str) -> tuple[Region, int]:
    """The outline asked for, and how many others there are."""
    found = drawing.regions
    if body is None and len(found) > 1:
        listed = []
        for i, r in enumerate(found, 1):
            b = r.outer.box
            listed.append(
                f"{i}: {b[2] - b[0]:.1f} × {b[3] - b[1]:.1f} mm, lower left at ({b[0]:.1f}, {b[1]:.1f}) mm"
            )
        raise JawrightError(
            "part-several-solids",
            what=f"the drawing holds {len(found)} separate outlines ({'; '.join(listed[:9])}"
            + ("; …)" if len(listed) > 9 else ")"),
            where=name,
            todo=f"choose one with body = 1 to {len(found)}, largest first",
        )
    number = body or 1
    if not 1 <= number <= len(found) or body == 0:
        raise JawrightError(
            "value-bad",
            what=f"body = {body} is not in the drawing: it holds {len(found)} outline(s)",
            where=name,
            todo=f"choose body = 1 to {len(found)}",
        )
    return found[number - 1], len(found) - 1


def _read_solid(path: Path, data: bytes, body: int | None, ignored: list[tuple[str, str]]) -> Part:
    held = step.read(path, body=body)
    name = path.name
    if not held.shape:
        _refuse(held, name)
    if held.changed:
        raise JawrightError(
            "part-integrity",
            what=f"the file places the solid {held.changed}; solids are read turned and moved only, "
            "so this would be another part",
            where=name,
            todo="export the part itself, at its own size and hand, without assembly",
        )
    _check_size(held, name)
    file_volume = _integrity("volume", held.volume, held.file_volumes, unit="mm³", name=name)
    file_area = _integrity("area", held.area, held.file_areas, unit="mm²", name=name)
    faces = tuple(Face(**{k.name: getattr(f, k.name) for k in fields(f)}) for f in held.faces)
    said = read_print(held.annotations, faces, held.shape, counted=held.tolerances, drawn_to=held.drawn_to)
    return Part(
        name=path.stem,
        file=name,
        sha256=hashlib.sha256(data).hexdigest(),
        format="step",
        unit=held.unit or "unknown",
        shape=held.shape,
        faces=faces,
        holes=find_holes(held.shape, faces),
        box=held.box,
        volume=held.volume,
        area=held.area,
        file_volume=file_volume,
        file_area=file_area,
        datums=said.datums,
        tolerances=said.tolerances,
        tolerances_in_file=held.tolerances,
        findings=_findings(held, file_volume, ignored, said.notes),
        dimensions=said.dimensions,
    )


def _size_words(size: tuple[float, float, float]) -> str:
    return " × ".join(f"{s:.1f}" for s in size) + " mm"


def _refuse(held: step.StepFile, name: str) -> None:
    """Say why a file gives no shape."""
    bodies = held.bodies
    if not bodies:
        if held.loose_faces and min(held.loose_size) < FLAT:
            raise JawrightError(
                "part-flat",
                what=f"the file holds a flat sheet without thickness ({_size_words(held.loose_size)})",
                where=name,
                todo=_EXPORT,
            )
        beside = [
            f"{n} loose {w}" for n, w in ((held.loose_faces, "faces"), (held.loose_edges, "edges")) if n
        ]
        raise JawrightError(
            "part-no-solid",
            what="the file holds no solid" + (f", only {' and '.join(beside)}" if beside else ""),
            where=name,
            todo=_EXPORT,
        )
    if held.chosen is None:
        listed = "; ".join(f"{i}: {_size_words(b.size)}" for i, b in enumerate(bodies, 1))
        choose = f"choose one with body = 1 to {len(bodies)}"
        if held.fuse:
            choose += ", or body = 0: they touch and join into one part"
        raise JawrightError(
            "part-several-solids",
            what=f"the file holds {len(bodies)} solids ({listed})",
            where=name,
            todo=choose,
        )
    body = bodies[held.chosen - 1]
    if min(body.size) < FLAT:
        raise JawrightError(
            "part-flat",
            what=f"the part has no thickness ({_size_words(body.size)})",
            where=name,
            todo=_EXPORT,
        )
    what = (
        "the solid is not closed or crosses itself"
        if body.exact
        else "the part is a net of triangles, not an exact solid"
    )
    if not held.tolerances:
        what += ", and the file holds no semantic tolerances"
    raise JawrightError("part-not-exact", what=what, where=name, todo=_EXPORT)


def _check_size(held: step.StepFile, name: str) -> None:
    b = held.box
    size = (b[3] - b[0], b[4] - b[1], b[5] - b[2])
    if min(size) < FLAT:
        raise JawrightError(
            "part-flat", what=f"the part has no thickness ({_size_words(size)})", where=name, todo=_EXPORT
        )


def _integrity(word: str, ours: float, theirs: tuple[float, ...], *, unit: str, name: str) -> float | None:
    """The file's own value, after checking that the solid read agrees with it."""
    if not theirs:
        return None
    own = min(theirs, key=lambda v: abs(v - ours))  # an assembly states its parts as well
    off = (ours - own) / own if own else math.inf
    if abs(off) > INTEGRITY:
        raise JawrightError(
            "part-integrity",
            what=f"the solid read has a {word} of {ours:.6g} {unit}, but the file says {own:.6g} {unit}"
            f" ({100 * off:+.2g} %): something of the part was lost in reading",
            where=name,
            todo="export it again, in another STEP version if there is one",
        )
    return own


def _findings(
    held: step.StepFile,
    file_volume: float | None,
    ignored: list[tuple[str, str]],
    notes: Sequence[tuple[str, str]],
) -> tuple[Finding, ...]:
    out: list[Finding] = []

    def add(level: str, what: str, where: str = "") -> None:
        out.append(Finding(len(out) + 1, level, what, where))  # type: ignore[arg-type]

    for what, where in ignored:
        add("ignored", what, where)
    if held.repaired:
        add(
            "repaired",
            f"the file holds faces but no solid; they close within {step.SEW:g} mm and were joined",
        )
    if held.chosen == 0:
        add("repaired", f"{len(held.bodies)} solids that touch were joined into one")
    elif len(held.bodies) > 1:
        add("ignored", f"{len(held.bodies) - 1} other solid(s) of the file")
    if held.loose_faces or held.loose_edges:
        loose = f"{held.loose_faces} faces and {held.loose_edges} edges"
        add("ignored", f"{loose} beside the solid (annotations or help lines)")
    if file_volume is None:
        add("noted", "the file does not state its own volume, so the reading cannot be checked against it")
    else:
        off = (held.volume - file_volume) / file_volume
        add("noted", f"volume read differs from the file's own by {off:+.1e} of it")
    if not held.unit:
        add("noted", "the file does not state a length unit; millimeters are taken")
    if not held.joined and held.chosen != 0:
        add("noted", "faces could not be matched with the entities of the file")
    for level, what in notes:
        add(level, what)
    return tuple(out)
