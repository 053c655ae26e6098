"""Drawings the tests write themselves, with a general-purpose library."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
from ezdxf.enums import TextEntityAlignment

VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")
MM, INCH = 4, 1
ROUNDED = 40.0 * 20.0 - (4.0 - math.pi) * 3.0**2
"""Area of the rounded plate below."""


def drawn(
    path: Path, draw: Callable[[Any, Any], None], *, version: str = "R2000", unit: int | None = MM
) -> Path:
    """A drawing at ``path``; ``unit`` is the code of $INSUNITS, None leaves it out."""
    doc = ezdxf.new(version)
    draw(doc.modelspace(), doc)
    doc.header["$INSUNITS"] = 0 if unit is None else unit
    doc.saveas(path)
    text = path.read_text(encoding="utf-8")
    if unit is None or version == "R12":  # release 12 has no such variable
        lines = text.split("\n")
        for k, line in enumerate(lines):
            if line.strip() == "$INSUNITS":
                del lines[k - 1 : k + 3]
                break
        text = "\n".join(lines)
        if version == "R12" and unit is not None:  # programs write it there all the same
            text = text.replace("HEADER\n", f"HEADER\n  9\n$INSUNITS\n 70\n{unit}\n", 1)
        path.write_text(text, encoding="utf-8")
    return path


def rounded(space: Any, *, as_soup: bool = True, at: tuple[float, float] = (0.0, 0.0)) -> None:
    """A plate 40 × 20 with corners of radius 3, its lower left at ``at``."""
    x, y = at
    if as_soup:
        lines = [((3, 0), (37, 0)), ((40, 17), (40, 3)), ((37, 20), (3, 20)), ((0, 3), (0, 17))]
        for a, b in lines:
            space.add_line((x + a[0], y + a[1]), (x + b[0], y + b[1]))
        for c, start in (((37, 3), 270), ((3, 3), 180), ((37, 17), 0), ((3, 17), 90)):
            space.add_arc((x + c[0], y + c[1]), 3.0, start, start + 90)
        return
    b = math.tan(math.pi / 8)
    rows = [(3, 0, 0), (37, 0, b), (40, 3, 0), (40, 17, b), (37, 20, 0), (3, 20, b), (0, 17, 0), (0, 3, b)]
    points = [(x + u, y + v, w) for u, v, w in rows]
    if space.doc.dxfversion <= "AC1009":
        space.add_polyline2d(points, format="xyb", close=True)
    else:
        space.add_lwpolyline(points, format="xyb", close=True)


def clutter(space: Any) -> None:
    """What every drawing has beside its outline."""
    space.add_text("8 OFF").set_placement((5, 30), align=TextEntityAlignment.LEFT)
    space.add_point((1, 1))
    space.add_point((2, 1))
    space.add_linear_dim(base=(0, -5), p1=(0, 0), p2=(40, 0)).render()
