"""Reading an annotated part of 2 MB against the solid kernel's own bare reader of the same file.

    python benchmarks/part_bench.py [STEP file ...]

Without files a plate with bores, blind holes and rounded corners is written here, its annotations and
drawn notes filled up to 2 MB. Baseline: the kernel reads and transfers the file and measures nothing.
Ours reads the text as well, checks the solid and measures every face; a part of it runs beside the
rest. Processor time, and the time of the longer way where two run side by side; judges nothing.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS)]

from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet  # noqa: E402
from OCP.STEPControl import STEPControl_Reader  # noqa: E402
from OCP.TopoDS import TopoDS  # noqa: E402

from jawright import kernel  # noqa: E402
from jawright.files import limits, step  # noqa: E402
from jawright.files.annotations import read_annotations  # noqa: E402
from jawright.files.part21 import statements  # noqa: E402
from jawright.geometry.profile import Region, circle, rectangle  # noqa: E402
from jawright.kernel.border import EDGE, loose_box, open_shape, pack, parts  # noqa: E402

BYTES = 2_000_000
FIRST = 900_000
ROUNDS = 3


def plate() -> bytes:
    """A plate 220 × 120 × 20 mm with 60 through holes, 60 blind ones, and its upright edges rounded."""
    places = [(18.0 * i - 99.0, 20.0 * j - 45.0) for i in range(12) for j in range(5)]
    through = tuple(circle(p, 3.0).reversed() for p in places)
    solid = kernel.extrude(Region(rectangle(-110, -60, 110, 60), through), 0.0, 20.0)
    blind = [kernel.cylinder((x + 8.0, y + 8.0, 10.0), (0.0, 0.0, 1.0), 2.0, 15.0) for x, y in places]
    solid = kernel.cut(solid, *blind)
    shape = open_shape(solid).shape
    fillet = BRepFilletAPI_MakeFillet(shape)
    for edge in parts(shape, EDGE):
        box = loose_box(edge)
        corner = abs(abs(box[0]) - 110.0) < 1e-6 and abs(abs(box[1]) - 60.0) < 1e-6
        if corner and box[5] - box[2] > 19.0:
            fillet.Add(8.0, TopoDS.Edge(edge))
    return pack(fillet.Shape())


def annotated(path: Path) -> Path:
    """The plate as a STEP file of 2 MB: a position and limits for every hole, and drawn notes."""
    kernel.write_step({"plate": plate()}, path)
    text = path.read_text(encoding="utf-8")
    faces = [n for n, s in statements(text).items() if "ADVANCED_FACE" in s.types]
    out = [
        f"#{FIRST}=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));",
        f"#{FIRST + 1}=PRODUCT_DEFINITION_SHAPE('','',$);#{FIRST + 2}=DATUM('',$,#{FIRST + 1},.F.,'A');",
        f"#{FIRST + 3}=DATUM_SYSTEM('',$,#{FIRST + 1},.F.,(#{FIRST + 4}));",
        f"#{FIRST + 4}=DATUM_REFERENCE_COMPARTMENT('',$,#{FIRST + 1},.F.,#{FIRST + 2},$);",
    ]
    n = FIRST + 10
    for face in faces:
        a = n
        out.append(
            f"#{a}=SHAPE_ASPECT('','',#{FIRST + 1},.T.);"
            f"#{a + 1}=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#{a},$,#{face});"
            f"#{a + 2}=(GEOMETRIC_TOLERANCE('','',#{a + 3},#{a})"
            f"GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#{FIRST + 3}))POSITION_TOLERANCE());"
            f"#{a + 3}=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.2),#{FIRST});"
            f"#{a + 4}=TOLERANCE_ZONE('',$,#{FIRST + 1},.F.,(#{a + 2}),#{a + 5});"
            f"#{a + 5}=TOLERANCE_ZONE_FORM('within a cylinder');"
        )
        n += 6
    size = len(text) + sum(map(len, out))
    k = 0
    while size < BYTES:
        points = ",".join(f"({math.cos(k + i):.6f},{math.sin(k + i):.6f},{0.1 * i:.6f})" for i in range(60))
        line = f"#{n}=COORDINATES_LIST('',60,({points}));#{n + 1}=TESSELLATED_CURVE_SET('',#{n},((1,2,3)));"
        out.append(line)
        size += len(line)
        n, k = n + 2, k + 1
    head, end, tail = text.rpartition("ENDSEC;")
    path.write_text("\n".join([head, *out, end + tail]), encoding="utf-8")
    return path


def best(work: Callable[[], object]) -> float:
    """Least processor time of a few rounds [s]."""
    took = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took)


def bare(path: str) -> None:
    reader = STEPControl_Reader()
    reader.ReadFile(path)
    reader.TransferRoots()
    reader.OneShape()


def show(path: Path) -> None:
    """Times of one file."""
    text = path.read_text(encoding="utf-8", errors="replace")
    base = best(lambda: bare(str(path)))
    words = best(lambda: read_annotations(statements(text)))
    found = kernel.read_step(str(path), limits.SOLIDS)
    solid = best(lambda: kernel.read_step(str(path), limits.SOLIDS))
    name = f"{len(text) / 1e6:.1f} MB"
    print(f"{name}: kernel's bare reader {base:.2f} s")
    print(f"{name}: solid read and checked {solid:.2f} s, {solid / base:.2f} of it")
    print(f"{name}: text and annotations {words:.2f} s, {words / base:.2f} of it")
    if len(found.solids) != 1 or not found.solids[0].valid:
        return
    shape = found.solids[0].shape
    count = kernel.face_count(shape)
    faces = best(lambda: kernel.faces(shape))
    half = best(lambda: kernel.faces(shape, 0, count // 2))
    longest = max(solid, words) + half if count >= step.FEW_FACES else max(solid, words) + faces
    print(f"{name}: {count} faces measured {faces:.2f} s, {faces / base:.2f} of it")
    print(f"{name}: all of it {solid + words + faces:.2f} s, {(solid + words + faces) / base:.2f} of it")
    print(f"{name}: the longer way with two cores free {longest:.2f} s, {longest / base:.2f} of it")


def main(files: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for path in map(Path, files) if files else [annotated(Path(folder) / "plate.step")]:
            show(path)


if __name__ == "__main__":
    main(sys.argv[1:])
