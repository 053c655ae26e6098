"""How proofs word lengths: in the job's own unit, no finer than a machinist reads them."""

from __future__ import annotations

from dataclasses import dataclass

from jawright.units import System, reading, show


@dataclass(frozen=True, slots=True)
class Say:
    """Lengths [mm] as text for one reader.

    ``fine`` for deviations and air (0.019 mm, 0.0007 in), ``near`` for clearances (0.59 mm,
    0.023 in), ``coarse`` for places and sizes (28.8 mm, 1.13 in); ``given`` for numbers somebody
    set (0.3 mm, 0.0118 in), without zeros behind.
    """

    units: System = "mm"

    def fine(self, mm: float, *, unit: bool = True) -> str:
        """A length [mm] in the user's unit with all the digits that tell."""
        return self._cut(show(mm, "length", self.units), unit)

    def near(self, mm: float, *, unit: bool = True) -> str:
        """A length [mm] in the user's unit to a hundredth of a millimeter or a thousandth of an inch."""
        return self._cut(show(mm, "length", self.units, digits=2 if self.units == "mm" else 3), unit)

    def coarse(self, mm: float, *, unit: bool = True) -> str:
        """A length [mm] in the user's unit to a tenth of a millimeter or a hundredth of an inch."""
        return self._cut(show(mm, "length", self.units, digits=1 if self.units == "mm" else 2), unit)

    def given(self, mm: float, *, unit: bool = True) -> str:
        """A length [mm] in the user's unit as it was typed."""
        value, name = reading(mm, "length", self.units)
        text = f"{round(value, 4):g}"
        return f"{text} {name}" if unit else text

    def at(self, x: float, y: float) -> str:
        """A plan point: (12.5, -3.0) mm."""
        return f"({self.coarse(x, unit=False)}, {self.coarse(y, unit=False)}) {self.name}"

    @property
    def name(self) -> str:
        """Name of the user's unit of length."""
        return reading(0.0, "length", self.units)[1]

    @staticmethod
    def _cut(text: str, unit: bool) -> str:
        return text if unit else text.split(" ", 1)[0]


def small(value: float, system: System) -> str:
    """A small length [mm] in words: nought is never claimed."""
    least = 0.001 if system == "mm" else 0.00254
    few = value < least / 2
    return f"{'less than ' if few else ''}{show(least if few else value, 'length', system)}"
