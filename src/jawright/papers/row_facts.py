"""What the sheet says of the further parts beside the one it letters.

Lengths in mm.
"""

from __future__ import annotations

from itertools import pairwise

from jawright.hold.model import Hold
from jawright.jaws.row import spots_of
from jawright.papers.measure import Reader
from jawright.papers.show import Fact


def mirrored_too(hold: Hold) -> bool:
    """Whether mirror images stand beside the part that is lettered."""
    return any(s.mirrored for s in spots_of(hold))


def row_facts(hold: Hold, r: Reader) -> tuple[Fact, ...]:
    """How many parts are clamped at a time, and how far apart; nothing for a part by itself."""
    if not hold.beside:
        return ()
    boxes = sorted((g.outer.box[0], g.outer.box[2]) for g in (hold.outline, *hold.beside))
    free = min(b[0] - a[1] for a, b in pairwise(boxes))
    note = f"side by side, {r.size(free)} between them"
    if mirrored_too(hold):
        note += "; every second one is the mirror image"
    return (Fact("At a time", f"{len(boxes)} parts", "The jaws are cut for a row.", note),)


def row_zero(hold: Hold, r: Reader, *, zero: float, sign: float) -> tuple[Fact, ...]:
    """Where the further parts are in the program's X, from left to right of the vise.

    ``zero`` is the place of X0 along the jaws [mm], ``sign`` -1 where the program's X runs the other way.
    A like part is the lettered one shifted; a mirror image is it mirrored about a line.
    """
    out = []
    for spot in sorted(spots_of(hold), key=lambda s: sign * s.along):
        side = "Right" if sign * spot.along > 0 else "Left"
        if spot.mirrored:
            line = sign * (spot.about + spot.along / 2 - zero)
            out.append(
                Fact(f"{side}, mirrored", f"about X{r.place(line)}", "The lettered part mirrored in X.")
            )
            continue
        by = sign * spot.along
        value = f"{'+' if by > 0 else ''}{r.place(by)} in X"
        out.append(Fact(f"{side}, alike", value, "The same cuts, shifted.", "from the lettered one"))
    return tuple(out)


def load_words(hold: Hold, corner: str) -> tuple[str, str, str]:
    """For the step that loads: what is taken, what is pushed where, what is tapped down."""
    if not hold.beside:
        return "a part", f"it into the {corner} corner", "the part"
    many = f"{len(hold.beside) + 1} parts"
    if not mirrored_too(hold):
        return many, f"each into the {corner} corner of its own pocket", "each part"
    back = corner.split(" ", maxsplit=1)[0]
    return (
        f"{many}, each hand into the pockets cut for it,",
        f"each into the {back} corner at the stop wall of its own pocket (the lettered one: {corner})",
        "each part",
    )
