"""The unit of every number in a record, by dataclass and field: the last part of its key in the file."""

from __future__ import annotations

import tomllib
from importlib.resources import files


def _read() -> tuple[dict[tuple[str, str], str], dict[tuple[str, str], tuple[str, ...]]]:
    data = tomllib.loads(files("jawright.data").joinpath("record_units.toml").read_text("utf-8"))
    units: dict[tuple[str, str], str] = {}
    for owner, groups in data["units"].items():
        for unit, names in groups.items():
            for name in names.split():
                # a key "money_money" would say nothing more than "money"
                units[(owner, name)] = "" if unit in ("plain", name) else unit
    positions = {
        (owner, name): tuple(places)
        for owner, groups in data["positions"].items()
        for name, places in groups.items()
    }
    return units, positions


UNITS, POSITIONS = _read()
