"""What an outline asks of the jaws before a blank, a gap and a stack are chosen. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from jawright.jaws.spacers import NARROWEST

CLEAR_OF = 0.2  # [mm] a wall lies deeper by this than what the cutter clears at a jaw's face


@dataclass(frozen=True, slots=True)
class Needs:
    """What the outline asks of the jaws. Outline frame: turned, not shifted yet."""

    box: tuple[float, float, float, float]  # x0 y0 x1 y1 [mm]
    fixed_depth: float  # least depth of pocket in the fixed jaw along Y [mm]
    floating_depth: float
    least: tuple[float, float]  # depths below which too little wall would bear: fixed, floating [mm]
    grip_depth: float
    beyond: float  # how far pocket and reliefs reach outside the outline along X [mm]
    beyond_y: float  # and along Y
    grip_x: float  # X of the middle of the grip [mm]
    well_depth: float  # how far clearance goes below the floor [mm], 0 when nothing does
    well_in_gap: bool
    holes: tuple[tuple[float, float, float], ...]  # (x, y, radius) of the wells
    shift: float | None  # pinned shift along X [mm]
    spacer_height: float | None = None  # pinned middle of the spacers above the bed [mm]
    spacers: tuple[str, ...] = ()  # pinned parallels of the stack, by id
    groove: float = 0.0  # depth of grooves below the floor, run out into the gap [mm]
    over: float = 0.0  # how far jaws are cut down beside the outline along Y, below the floor [mm]
    run_out: float = 0.0  # the cutter clears so far from the other jaw's face, beside the part [mm]
    deepest: tuple[float, float] = (0.0, 0.0)  # of the walls that bear: how deep the deepest lies [mm]
    deepest_least: tuple[float, float] = (0.0, 0.0)  # of those that bear with ``least``
    near: bool = False  # the floating jaw grips the far end of a leg only, no wall further in
    least_gap: float = NARROWEST  # that leaves enough between the jaws with the smallest part clamped [mm]

    def at(self, gap: float) -> Needs:
        """In a narrow gap: its walls lie deeper than the cutter clears the jaws' faces."""
        out = self.run_out - gap + CLEAR_OF
        a, b = self.deepest
        if out <= 0.0:
            return self
        return replace(
            self, fixed_depth=max(self.fixed_depth, a + out), floating_depth=max(self.floating_depth, b + out)
        )
