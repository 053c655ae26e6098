"""Jawright: a vise hold that is proven before metal is cut.

>>> import jawright
>>> record = jawright.plan(jawright.read_job("job.toml"), jawright.read_shop("shop.toml"))  # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jawright.conductor import plan as plan
    from jawright.job.read import read_job as read_job
    from jawright.record import Record as Record
    from jawright.shop.read import read_shop as read_shop

__version__ = "0.1.0"
__all__ = ["Record", "plan", "read_job", "read_shop"]


def __getattr__(name: str) -> Any:
    """The public names, imported when first asked for: importing the package alone costs nothing."""
    if name == "plan":
        from jawright.conductor import plan

        return plan
    if name == "read_job":
        from jawright.job.read import read_job

        return read_job
    if name == "read_shop":
        from jawright.shop.read import read_shop

        return read_shop
    if name == "Record":
        from jawright.record import Record

        return Record
    raise AttributeError(f"module 'jawright' has no attribute {name!r}")
