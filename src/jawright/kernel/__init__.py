"""The only package that touches the solid kernel. Shapes cross its border as bytes.

Importing it loads the kernel (about half a second), so doors import it late. All lengths
are mm. Its functions take shapes that were proven valid in the reading child or were built
here; ``read_step`` alone opens foreign files and belongs into ``files.child``.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from jawright.kernel.border import Box
from jawright.kernel.build import ball, cone, cut, cylinder, extrude, fuse, moved, solids, torus
from jawright.kernel.edges import SolidEdge, edges, open_to, rim
from jawright.kernel.exchange import SEW, ReadFile, ReadSolid, read_step, step_text, write_step
from jawright.kernel.measure import (
    Round,
    SolidFace,
    area,
    box,
    centroid,
    distance,
    face_boxes,
    face_count,
    face_places,
    faces,
    inside,
    is_valid,
    rounds,
    volume,
)
from jawright.kernel.views import View, mesh, view

if TYPE_CHECKING:
    from jawright.kernel.level import Section, flat_face, section

__all__ = [
    "SEW",
    "Box",
    "ReadFile",
    "ReadSolid",
    "Round",
    "Section",
    "SolidEdge",
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
    "edges",
    "extrude",
    "face_boxes",
    "face_count",
    "face_places",
    "faces",
    "flat_face",
    "fuse",
    "inside",
    "is_valid",
    "mesh",
    "moved",
    "open_to",
    "read_step",
    "rim",
    "rounds",
    "section",
    "solids",
    "step_text",
    "torus",
    "view",
    "volume",
    "write_step",
]


def __getattr__(name: str) -> Any:
    """Level cuts, loaded when first asked for: fitting curves brings a numerical library along, which
    takes longer to load than the solid kernel, and the reading child never cuts."""
    if name in ("Section", "flat_face", "section"):
        return getattr(import_module("jawright.kernel.level"), name)
    raise AttributeError(name)
