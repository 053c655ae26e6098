"""How jaws and part are bent under the clamp, everywhere: for a picture of it, drawn larger.

What the patches of the condensed bodies feel is spread over the meshes they were condensed from, and
each mesh is solved once more. The jaws are told against how they stood while their pocket was cut, for
that is what the pocket's nominal shape belongs to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg, sparse
from scipy.sparse.linalg import splu

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.mechanics.condense import Patches, patterns, support
from jawright.mechanics.solid import Floats, Solid, rigid_modes, weights
from jawright.part.model import Part
from jawright.proof.body import jaw_material, part_material
from jawright.proof.elastic import Cut
from jawright.proof.elastic_body import jaw_mesh
from jawright.proof.elastic_join import SIDES, BodyState, Held, Model
from jawright.proof.elastic_part import part_mesh, prism, sliced


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A mesh and the displacement (n, 3) of its nodes [mm]; ``left`` [mm] is what the patches disagree by."""

    solid: Solid
    moved: Floats
    left: float

    def at(self, points: Floats) -> Floats:
        """Displacement (k, 3) [mm] at points (k, 3) on or in the metal [mm]."""
        number, value = weights(self.solid, points)
        return np.asarray(np.einsum("kn,kna->ka", value, self.moved[number]))


def solved(solid: Solid, patches: Patches, *states: BodyState) -> list[Shape]:
    """The displacement of a free body for each state of its patches.

    Forces in balance bend it; as a whole it is put where its patches were found to be.
    """
    load = patterns(solid, patches)
    modes = rigid_modes(solid.nodes - solid.nodes.mean(axis=0))
    dofs = (3 * solid.of_cell[:, :, None] + np.arange(3)).reshape(len(solid.cells), 60)
    rows, columns = np.repeat(dofs, 60, axis=1).ravel(), np.tile(dofs, 60).ravel()
    k = sparse.csc_matrix((solid.stiffness.ravel(), (rows, columns)), shape=(solid.unknowns,) * 2)
    free = np.flatnonzero(~support(solid, modes))
    factor = splu(
        k[free][:, free], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    out = []
    for s in states:
        u = np.zeros(solid.unknowns)
        u[free] = factor.solve((load @ s.force)[free])
        whole = load.T @ modes
        q = linalg.lstsq(whole, s.motion - load.T @ u)[0]
        u += modes @ q
        left = float(np.abs(s.motion - load.T @ u).max())
        u[1::3] -= s.back
        out.append(Shape(solid, u.reshape(-1, 3), left))
    return out


class Bent:
    """Both jaws and the part in use, against how the jaws were cut: shapes in the vise frame [mm]."""

    def __init__(
        self, hold: Hold, jaws: Jaws | None, part: Part, material: str, *, model: Model, cut: Cut, held: Held
    ) -> None:
        self.left = 0.0
        self._jaws: dict[str, tuple[Shape, ...]] = {}
        steel = jaw_material(jaws)
        walls = [model.jaws[s].walls for s in SIDES]
        for j, side in enumerate(SIDES):
            used = held.states[j]
            states = [BodyState(used.force, used.motion)]  # the floating jaw where the part has it
            if cut.held is not None:
                states.append(cut.held.states[j])
            mesh, patches = jaw_mesh(hold, jaws, side, steel, wall=walls[j])
            self._jaws[side] = self._kept(solved(mesh, patches, *states))
        work = part_material(material)
        assert work is not None  # a model was made of it
        body = sliced(hold, part, walls) if model.solid else prism(hold, part, walls)
        mesh, patches = part_mesh(body, walls, work)
        (self._part,) = self._kept(solved(mesh, patches, held.states[2]))

    def _kept(self, shapes: list[Shape]) -> tuple[Shape, ...]:
        self.left = max(self.left, *(s.left for s in shapes))
        return tuple(shapes)

    def at(self, body: str, points: Floats) -> Floats:
        """Displacement (k, 3) [mm] of "fixed", "floating" or "part" at points (k, 3) of its surface [mm]."""
        if body == "part":
            return self._part.at(points)
        used, *cut = self._jaws[body]
        return used.at(points) - sum((c.at(points) for c in cut), np.zeros((len(points), 3)))
