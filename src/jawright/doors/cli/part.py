"""``jawright part``: read a part file and print what was understood."""

from __future__ import annotations

import argparse
import json
import math
from collections import Counter
from dataclasses import asdict
from pathlib import Path

from jawright import units
from jawright.doors.cli import part_features, screen
from jawright.files.schema import AXES
from jawright.geometry.frame import Vec3
from jawright.part.model import Dimension, Part
from jawright.part.print import limits_words
from jawright.part.read import read_part
from jawright.units import show


def run(args: argparse.Namespace) -> int:
    """Read and print; 0."""
    thickness = None
    if args.thickness is not None:
        thickness = units.parse(args.thickness, "length", where="--thickness")
    part = read_part(Path(args.file), unit=args.unit, thickness=thickness, body=args.body)
    up = AXES[args.up]
    print(_json(part, up) if args.json else "\n".join(_lines(part, up, args.units)))
    return 0


def _json(part: Part, up: Vec3) -> str:
    """The part's data apart from the kernel's bytes; lengths in mm, areas in mm², as the keys say."""
    data = {
        "name": part.name,
        "file": part.file,
        "sha256": part.sha256,
        "format": part.format,
        "unit_of_file": part.unit,
        "size_mm": list(part.size),
        "box_mm": list(part.box),
        "volume_mm3": part.volume,
        "area_mm2": part.area,
        "file_volume_mm3": part.file_volume,
        "file_area_mm2": part.file_area,
        "faces": [
            {
                "index": f.index,
                "kind": f.kind,
                "area_mm2": f.area,
                "center_mm": f.center,
                "normal": f.normal,
                "radius_mm": f.radius,
                "hollow": f.hollow,
            }
            for f in part.faces
        ],
        "holes": [
            {
                "faces": h.faces,
                "axis": h.axis,
                "mouth_mm": h.mouth,
                "diameter_mm": h.diameter,
                "depth_mm": h.depth,
                "through": h.through,
            }
            for h in part.holes
        ],
        "features": part_features.data(part, up),
        "datums": [asdict(d) for d in part.datums],
        "tolerances": [
            {
                "kind": t.kind,
                "zone_mm": t.zone,
                "diametral": t.diametral,
                "datums": t.datums,
                "material": t.material,
                "faces": t.faces,
                "source": t.source,
                "modifiers": t.modifiers,
            }
            for t in part.tolerances
        ],
        "dimensions": [_dimension(d) for d in part.dimensions],
        "tolerances_in_file": part.tolerances_in_file,
        "findings": [asdict(f) for f in part.findings],
    }
    return json.dumps(data, indent=2, ensure_ascii=False)


def _dimension(d: Dimension) -> dict[str, object]:
    """Deviations are signed; an angle is given in degrees, a length in mm, as the keys say."""
    unit, scale = ("deg", math.degrees(1.0)) if d.kind == "angle" else ("mm", 1.0)
    values = {"nominal": d.nominal, "lower": d.lower, "upper": d.upper}
    sizes: dict[str, object] = {f"{k}_{unit}": v * scale for k, v in values.items()}
    return {"kind": d.kind, **sizes, "faces": d.faces, "source": d.source}


def _lines(part: Part, up: Vec3, system: units.System) -> list[str]:
    digits = 3 if system == "mm" else 4
    kinds = Counter(f.kind for f in part.faces)
    rows = [
        ("part", f"{part.name} from {part.file}, written in {part.unit or 'no unit'}"),
        ("size", " × ".join(show(v, "length", system, digits=digits) for v in part.size)),
        ("volume", show(part.volume, "volume", system) + _against(part.volume, part.file_volume)),
        ("area", show(part.area, "area", system) + _against(part.area, part.file_area)),
        ("faces", f"{len(part.faces)}: " + ", ".join(f"{n} {k}" for k, n in kinds.most_common())),
    ]
    rows += part_features.lines(part, up, system)
    for datum in part.datums:
        rows.append(
            (
                f"datum {datum.letter}",
                f"faces {', '.join(map(str, datum.faces)) or 'not found'} ({datum.source})",
            )
        )
    for t in part.tolerances:
        zone = ("Ø" if t.diametral else "") + show(t.zone, "length", system)
        to = f" to {'|'.join(t.datums)}" if t.datums else ""
        at = f" at {t.material} material" if t.material else ""
        more = f", {', '.join(t.modifiers)}" if t.modifiers else ""
        rows.append(("tolerance", f"{t.kind} {zone}{at}{to}{more} ({t.source})"))
    rows += [("limits", f"{limits_words(d, system)} ({d.source})") for d in part.dimensions]
    if not part.tolerances:
        many = part.tolerances_in_file
        rows.append(
            ("tolerances", f"none understood of the {many} in the file" if many else "none in the file")
        )
    for f in part.findings:
        rows.append((f.level, f"{f.what}" + (f" ({f.where})" if f.where else "")))
    return screen.table(rows)


def _against(ours: float, theirs: float | None) -> str:
    if theirs is None:
        return ", the file states none to compare with"
    return f", {abs(ours / theirs - 1.0):.1e} off the file's own" if theirs else ""
