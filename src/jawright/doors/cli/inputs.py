"""Find and read the files a command names."""

from __future__ import annotations

import sys
from dataclasses import replace
from importlib import resources
from pathlib import Path

from jawright.job.gaps import check_names
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.shop.model import Shop
from jawright.shop.read import read_shop


def demo_folder() -> Path:
    """The demo's files inside the installed package."""
    return Path(str(resources.files("jawright.data").joinpath("demo")))


def read(job_file: str, shop_file: str | None, units: str | None) -> tuple[Job, Shop]:
    """The job and its shop: the one named, else shop.toml beside the job file, else the demo's.

    Raises ``JawrightError`` also when the job names a vise, blank or cutter the shop has not.
    """
    path = Path(job_file)
    job = read_job(path)
    if units:
        job = replace(job, units="inch" if units == "inch" else "mm")
    beside = path.parent / "shop.toml"
    if shop_file is not None:
        shop = read_shop(Path(shop_file))
    elif beside.exists():
        shop = read_shop(beside)
    else:
        shop = read_shop(demo_folder() / "shop.toml")
        print(
            f"jawright: no shop file: the demo workshop ({shop.name}) stands in for yours; "
            "put a shop.toml beside the job file or name one with --shop",
            file=sys.stderr,
        )
    check_names(
        job,
        vises=[v.id for v in shop.vises],
        blanks=[b.id for b in shop.blanks],
        cutters=[c.id for c in shop.cutters],
        parallels=[p.id for p in shop.parallels],
    )
    return job, shop
