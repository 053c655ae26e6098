"""Input decks for CalculiX (a separate finite-element program) from our own meshes, and what it answers.

``builders/calculix_jaw.py`` makes the jaw problems of them. The tests read what is kept in
``tests/authorities/calculix``, word for word as ``ccx`` wrote it; only a long test runs the program.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent)]

from jawright.mechanics import brick  # noqa: E402
from jawright.mechanics.solid import Floats, Solid  # noqa: E402

KEPT = HERE.parent / "authorities" / "calculix"

# The node order of a 20-node brick in the program's manual, as places in our reference cell.
ORDER = (
    (-1, -1, -1), (1, -1, -1), (1, 1, -1), (-1, 1, -1), (-1, -1, 1), (1, -1, 1), (1, 1, 1), (-1, 1, 1),
    (0, -1, -1), (1, 0, -1), (0, 1, -1), (-1, 0, -1), (0, -1, 1), (1, 0, 1), (0, 1, 1), (-1, 0, 1),
    (-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0),
)  # fmt: skip
FACE_BACK, FACE_FRONT = "S5", "S3"
"""The faces toward +Y (nodes 3-7-8-4) and -Y (1-5-6-2) in the manual's numbering."""


@dataclass(frozen=True)
class Backing:
    """A rigid block at ``y`` from ``low`` to ``high`` [mm] that a solid's face touches one-sidedly."""

    y: float
    low: float
    high: float
    stiffness: float = 1e7  # of the contact [N/mm³]


def deck(
    solid: Solid,
    *,
    E: float,
    nu: float,
    held: NDArray[np.bool_],
    load: Floats,
    read: Iterable[int],
    backing: Backing | None = None,
) -> str:
    """An input deck: our nodes and cells, ``held`` (3n,), ``load`` (3n,) [N]; nodes ``read`` come back."""
    if not np.all(solid.fill > 1 - 1e-9):
        raise ValueError("only a mesh of whole cells is the same mesh there")
    out = ["*NODE, NSET=ALL"]
    out += [f"{i + 1}, {x:.12g}, {y:.12g}, {z:.12g}" for i, (x, y, z) in enumerate(solid.nodes)]
    places = [tuple(int(v) for v in p) for p in brick.PLACES]
    order = [places.index(p) for p in ORDER]
    out.append("*ELEMENT, TYPE=C3D20, ELSET=BODY")
    for k, cell in enumerate(solid.of_cell[:, order] + 1):
        out += [f"{k + 1}, " + ", ".join(map(str, cell[:10])) + ",", ", ".join(map(str, cell[10:]))]
    out += ["*MATERIAL, NAME=METAL", "*ELASTIC", f"{E:.12g}, {nu:.12g}"]
    out.append("*SOLID SECTION, ELSET=BODY, MATERIAL=METAL")
    read = [i + 1 for i in read]
    out += ["*NSET, NSET=READ", *(f"{i}," for i in read)]
    if backing is not None:
        out += _contact(solid, backing)
    out.append("*BOUNDARY")
    out += [f"{i // 3 + 1}, {i % 3 + 1}, {i % 3 + 1}" for i in np.flatnonzero(held)]
    out += ["*STEP, NLGEOM=NO" if backing is None else "*STEP, INC=200", "*STATIC"]
    if backing is not None:
        out.append("1., 1.")
    out.append("*CLOAD")
    out += [f"{i // 3 + 1}, {i % 3 + 1}, {load[i]:.11e}" for i in np.flatnonzero(load)]
    out += ["*NODE PRINT, NSET=READ", "U", "*END STEP", ""]
    return "\n".join(out)


def _contact(solid: Solid, b: Backing) -> list[str]:
    """A block of one brick behind the face, all its nodes held, and the contact with it."""
    middle = np.array([solid.nodes[c].mean(axis=0) for c in solid.of_cell])
    top = np.array([solid.nodes[c][:, 1].max() for c in solid.of_cell])
    own = np.flatnonzero((np.abs(top - b.y) < 1e-9) & (middle[:, 2] > b.low) & (middle[:, 2] < b.high))
    x0, x1 = solid.nodes[:, 0].min() - 1.0, solid.nodes[:, 0].max() + 1.0
    n, m = len(solid.nodes), len(solid.of_cell)
    corners = [
        (x, y, z)
        for z in (b.low - 1.0, b.high)
        for x, y in ((x0, b.y), (x1, b.y), (x1, b.y + 20.0), (x0, b.y + 20.0))
    ]
    out = ["*NODE, NSET=BLOCK"]
    out += [f"{n + 1 + i}, {x:.12g}, {y:.12g}, {z:.12g}" for i, (x, y, z) in enumerate(corners)]
    out += ["*ELEMENT, TYPE=C3D8, ELSET=VISE", f"{m + 1}, " + ", ".join(str(n + 1 + i) for i in range(8))]
    out += ["*SOLID SECTION, ELSET=VISE, MATERIAL=METAL"]
    out += ["*SURFACE, NAME=SLAVE, TYPE=ELEMENT", *(f"{k + 1}, {FACE_BACK}" for k in own)]
    out += ["*SURFACE, NAME=MASTER, TYPE=ELEMENT", f"{m + 1}, {FACE_FRONT}"]
    out += [
        "*SURFACE INTERACTION, NAME=TOUCH",
        "*SURFACE BEHAVIOR, PRESSURE-OVERCLOSURE=LINEAR",
        f"{b.stiffness:.6g}, 1e-9",
        "*CONTACT PAIR, INTERACTION=TOUCH, TYPE=SURFACE TO SURFACE",
        "SLAVE, MASTER",
        "*BOUNDARY",
        "BLOCK, 1, 3",
    ]
    return out


def ccx() -> str | None:
    """Where the program is; None when it is not installed."""
    return shutil.which("ccx")


def solve(text: str, *, threads: int = 1) -> str:
    """Run the program on a deck; what it wrote into its results file."""
    program = ccx()
    assert program is not None
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.inp").write_text(text, encoding="ascii")
        done = subprocess.run(
            [program, "job"],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            env={"OMP_NUM_THREADS": str(threads), "PATH": ""},
        )
        made = Path(folder) / "job.dat"
        if done.returncode != 0 or not made.exists() or not made.read_text().strip():
            raise RuntimeError(done.stdout[-2000:])
        return made.read_text(encoding="ascii")


def displacements(text: str) -> dict[int, tuple[float, float, float]]:
    """Node number from 0 to its displacement [mm], the last time printed."""
    out: dict[int, tuple[float, float, float]] = {}
    for line in text.splitlines():
        words = line.split()
        if len(words) == 4 and words[0].isdigit():
            out[int(words[0]) - 1] = (float(words[1]), float(words[2]), float(words[3]))
    return out
