"""A plate from a drawing: outline and thickness become a solid like any other."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import asdict

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files.findings import Finding
from jawright.geometry.profile import Region
from jawright.part.holes import find_holes
from jawright.part.model import Face, Part

THINNEST = 0.05
"""Thinnest plate [mm]: below it is foil. Common practice, no source."""


def make_plate(
    region: Region,
    unit: str,
    findings: Sequence[Finding],
    *,
    file: str,
    data: bytes,
    thickness: float | None,
) -> Part:
    """The part whose outline is ``region`` [mm], standing on Z = 0, ``thickness`` [mm] high.

    ``unit`` is the length unit of the drawing in words, ``data`` the bytes of its file. Raises
    ``key-missing`` without a thickness, ``part-flat`` for one that is none, ``geometry`` for an
    outline that makes no solid.
    """
    if thickness is None:
        raise JawrightError(
            "key-missing",
            what="a drawing gives only the outline of a plate: its thickness is missing",
            where=file,
            todo='add thickness = "12 mm" to the part in the job',
        )
    if thickness < THINNEST:
        raise JawrightError(
            "part-flat",
            what=f"a plate {thickness:g} mm thick has nothing to hold",
            where=file,
            todo="check the thickness in the job and its unit",
        )
    shape = kernel.extrude(region, 0.0, thickness)
    faces = tuple(Face(**asdict(f)) for f in kernel.faces(shape))
    return Part(
        name=file.rpartition(".")[0] or file,
        file=file,
        sha256=hashlib.sha256(data).hexdigest(),
        format="dxf",
        unit=unit,
        shape=shape,
        faces=faces,
        holes=find_holes(shape, faces),
        box=kernel.box(shape),
        volume=kernel.volume(shape),
        area=kernel.area(shape),
        file_volume=None,
        file_area=None,
        findings=tuple(findings),
        outline=region,
    )
