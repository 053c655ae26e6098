"""Parts whose underside has several levels, and the jobs that ask for them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib import resources
from pathlib import Path

import jawright
from jawright import kernel
from jawright.geometry.profile import Region, rectangle
from jawright.job.model import Job
from jawright.shop.model import Shop

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
Z = (0.0, 0.0, 1.0)
HEAD = """units = "mm"
[job]
name = "{name}"
part_number = "DW-23"
operation = "OP 20"
quantity = 20
[part]
file = "{name}.step"
material = "6061-T6"
[hold]
up = "+Z"
kind = "soft jaws"
{hold}
[incoming]
profile = "0.10 mm"
edge_break = "0.30 mm"
"""
DATUM = '[[datum]]\nletter = "{}"\nat = [{}, {}, {}]\n'
BORE = '[[feature]]\nname = "bore"\nkind = "bore"\nat = [{}, {}, {}]\n'


def box(x0: float, y0: float, x1: float, y1: float, low: float, high: float) -> bytes:
    return kernel.extrude(Region(rectangle(x0, y0, x1, y1)), low, high)


def cover() -> bytes:
    """Bearing cover 70 × 44 × 14 with a hub of 24 that reaches 5 below its flange; bore 12."""
    body = kernel.fuse(box(-35, -22, 35, 22, 5.0, 19.0), kernel.cylinder((0, 0, 0), Z, 12.0, 6.0))
    return kernel.cut(body, kernel.cylinder((0, 0, -1), Z, 6.0, 30.0))


def step_plate() -> bytes:
    """Step plate 64 × 36 × 18: its left 28 reach 4 lower than the rest; a bore of 8 on the right."""
    body = kernel.fuse(box(-32, -18, 32, 18, 4.0, 18.0), box(-32, -18, -4, 18, 0.0, 5.0))
    return kernel.cut(body, kernel.cylinder((16, 0, -1), Z, 4.0, 30.0))


def stepped_lever() -> bytes:
    """Lever with bosses of 26 and 18, the small one 3 shorter below; the arm between them hangs at 7."""
    body = box(0, -6, 60, 6, 7.0, 12.0)
    bosses = kernel.cylinder((0, 0, 0), Z, 13.0, 16.0), kernel.cylinder((60, 0, 3), Z, 9.0, 13.0)
    body = kernel.fuse(body, *bosses)
    bores = kernel.cylinder((0, 0, -1), Z, 5.0, 30.0), kernel.cylinder((60, 0, -1), Z, 2.5, 30.0)
    return kernel.cut(body, *bores)


MADE = {
    "cover": (cover, [("A", 25, -10, 5), ("B", 0, 22, 10), ("C", -35, 0, 10)], (6, 0, 10)),
    "step": (step_plate, [("A", 20, 10, 4), ("B", 0, 18, 10)], (20, 0, 10)),
    "lever": (stepped_lever, [("A", 8, 0, 0)], (5, 0, 7)),
}


@cache
def asked(name: str, folder: Path, floor: str = "", *, datums: bool = True) -> tuple[Job, Shop]:
    """The job of one of these parts, written to ``folder``, and the demo's shop."""
    build, letters, bore = MADE[name]
    (folder / f"{name}.step").write_bytes(kernel.step_text({name: build()}, title=name))
    text = HEAD.format(name=name, hold=f'floor = "{floor}"' if floor else "")
    text += "".join(DATUM.format(*d) for d in letters) if datums else ""
    (folder / f"{name}.toml").write_text(text + BORE.format(*bore), encoding="utf-8")
    job = jawright.read_job(folder / f"{name}.toml")
    return replace(job, features_assumed=False), jawright.read_shop(DEMO / "shop.toml")
