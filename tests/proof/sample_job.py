"""An invented job for the pawl of ``samples.hold``: second operation, 40 off."""

from __future__ import annotations

from pathlib import Path

from jawright.job.model import Feature, Given, HoldAsk, Incoming, Job


def job(*, profile: float = 0.2, wall_form: float = 0.01, edge_break: float = 0.3) -> Job:
    return Job(
        name="pawl, second side",
        part_number="DW-114",
        revision="B",
        operation="OP20",
        quantity=40,
        units="mm",
        part_file=Path("pawl.step"),
        part_unit="",
        thickness=None,
        body=None,
        material="6061-T6",
        up=(0.0, 0.0, 1.0),
        datums=(),
        features=(Feature("pivot bore", "bore", None),),
        features_assumed=False,
        tolerances=(),
        incoming=Incoming(
            Given(profile, "job"),
            Given(wall_form, "default"),
            Given(edge_break, "default"),
            Given(0.8, "job"),
        ),
        hold=HoldAsk(),
    )
