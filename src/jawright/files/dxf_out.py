"""Outlines to DXF text: exact lines and arcs on named layers, the same bytes every time."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence

import ezdxf
from ezdxf import units as dxf_units

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile


def dxf_text(layers: Mapping[str, Sequence[Profile]], *, inch: bool = False) -> bytes:
    """A drawing (DXF release AC1015) with one layer per name.

    Parameters
    ----------
    layers : closed profiles [mm] by layer name
    inch : write inches and say so in ``$INSUNITS``; else millimeters
    """
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no clock and no machine in the bytes
    try:
        doc = ezdxf.new("R2000")
        doc.units = dxf_units.IN if inch else dxf_units.MM
        doc.header["$MEASUREMENT"] = 0 if inch else 1
        space = doc.modelspace()
        scale = 1.0 / 25.4 if inch else 1.0
        for name in layers:
            doc.layers.add(name)
            for profile in layers[name]:
                _draw(space, profile, name, scale)
        stream = io.StringIO()
        doc.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("ascii")


def _draw(space: ezdxf.layouts.Modelspace, profile: Profile, layer: str, scale: float) -> None:
    """One closed polyline: straight runs with bulge 0, arcs with bulge tan(sweep / 4)."""
    points = []
    for c in profile.curves:
        bulge = 0.0 if isinstance(c, Line) else math.tan(c.sweep / 4)
        points.append((c.start[0] * scale, c.start[1] * scale, bulge))
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
