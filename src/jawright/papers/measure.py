"""How numbers read on paper: the user's unit, and decimals by rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.units import read_unit, reading, show


@dataclass(frozen=True, slots=True)
class Reader:
    """Prints inside values for one reader.

    The rule for lengths: sizes and heights to hundredths of a millimeter or thousandths of
    an inch, one place more when a nominal value is exact there (9.525 mm, 0.3125 in); places,
    limits and deviations to thousandths of a millimeter or ten-thousandths of an inch. Zeros are
    neither dropped nor added beyond the rule, since the trade reads them as a tolerance.
    """

    units: Literal["mm", "inch"]

    def size(self, mm: float | None, *, unit: bool = True) -> str:
        """A size or height [mm], 12.70 mm or 0.500 in."""
        places = 2 if self.units == "mm" else 3
        if mm is not None:
            value = reading(mm, "mm", self.units)[0]
            step = 10.0 ** -(places + 1)
            finer = round(value, places + 1)
            if abs(finer - value) < 1e-4 * step and abs(round(value, places) - value) > 0.5 * step:
                places += 1
        return self._cut(show(mm, "mm", self.units, digits=places), unit)

    def near(self, mm: float | None) -> str:
        """A clearance found by computing [mm]: never more decimals than it deserves."""
        return show(mm, "mm", self.units, digits=2 if self.units == "mm" else 3)

    def place(self, mm: float | None, *, unit: bool = True) -> str:
        """A coordinate or limit [mm], 12.700 mm or 0.5000 in."""
        return self._cut(show(mm, "mm", self.units), unit)

    def span(self, low: float, high: float) -> str:
        """Two limits [mm] with one unit."""
        return f"{self.place(low, unit=False)} to {self.place(high)}"

    def value(self, value: float | None, unit: str, *, digits: int | None = None) -> str:
        """A value given in any unit, in the reader's unit."""
        return show(value, unit, self.units, digits=digits)

    def torque(self, nm: float | None, *, unit: bool = True) -> str:
        """A torque [N·m] in whole N·m or lbf·ft: a wrench reads no finer."""
        return self._cut(show(nm, "N·m", self.units, digits=0), unit)

    @property
    def length_unit(self) -> str:
        """Name of the reader's unit of length."""
        return read_unit("length", self.units)

    @property
    def torque_unit(self) -> str:
        """Name of the reader's unit of torque."""
        return read_unit("torque", self.units)

    @staticmethod
    def _cut(text: str, unit: bool) -> str:
        return text if unit else text.split(" ", 1)[0]
