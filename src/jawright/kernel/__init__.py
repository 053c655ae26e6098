"""The only package that touches the solid kernel. Shapes cross its border as bytes.

Importing it loads the kernel (about half a second), so doors import it late. All lengths
are mm. Its functions take shapes that were proven valid in the reading child or were built
here; ``read_step`` alone opens foreign files and belongs into ``files.child``.
"""

from jawright.kernel.border import Box
from jawright.kernel.build import ball, cone, cut, cylinder, extrude, fuse, moved, solids, torus
from jawright.kernel.exchange import SEW, ReadFile, ReadSolid, read_step, step_text, write_step
from jawright.kernel.level import Section, flat_face, section
from jawright.kernel.measure import (
    Round,
    SolidFace,
    area,
    box,
    centroid,
    distance,
    face_boxes,
    faces,
    inside,
    is_valid,
    rounds,
    volume,
)
from jawright.kernel.views import View, mesh, view

__all__ = [
    "SEW",
    "Box",
    "ReadFile",
    "ReadSolid",
    "Round",
    "Section",
    "SolidFace",
    "View",
    "area",
    "ball",
    "box",
    "centroid",
    "cone",
    "cut",
    "cylinder",
    "distance",
    "extrude",
    "face_boxes",
    "faces",
    "flat_face",
    "fuse",
    "inside",
    "is_valid",
    "mesh",
    "moved",
    "read_step",
    "rounds",
    "section",
    "solids",
    "step_text",
    "torus",
    "view",
    "volume",
    "write_step",
]
